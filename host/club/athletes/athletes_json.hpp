// Athletes, and what an import, a restore or a rescue did, as JSON. One object with a line end each. Pure; any thread.
#pragma once

#include <string>
#include <vector>

#include "club/athletes/own_files.hpp"
#include "store/damaged/rescue.hpp"
#include "store/restore.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

/// Whether real names and notes are in it: what leaves this computer has them only where that was asked for.
enum class Names { call_signs_alone, real };

/// {"athletes": [...]}; `today` (ISO) decides whether a consent has run out.
[[nodiscard]] std::string athletes_json(const std::vector<Athlete>& athletes, const std::string& today,
                                        Names names = Names::real);

struct ImportReport {
    std::size_t values = 0;
    std::vector<std::string> measures, athletes_added;
};
[[nodiscard]] std::string import_json(const ImportReport& report);

struct EraseReport {
    std::string call_sign;
    std::int64_t sessions = 0, reps = 0, measures = 0;
    OtherCopies copies;
    std::vector<std::filesystem::path> also_erased_from;  ///< stores that a restore had put aside, daily backups
    OwnFiles files;                                       ///< those of the athlete alone are deleted
};
[[nodiscard]] std::string erase_json(const EraseReport& report);
[[nodiscard]] std::string restore_json(const RestoreReport& report);
[[nodiscard]] std::string check_json(const Verified& verified);
[[nodiscard]] std::string rescue_json(const RescueReport& report);

}  // namespace breakstep
