// Athletes, and what an import, a restore or a rescue did, as JSON. One object with a line end each. Pure; any thread.
#pragma once

#include <string>
#include <vector>

#include "store/rescue.hpp"
#include "store/restore.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

/// {"athletes": [...]}; `today` (ISO) decides whether a consent has run out.
[[nodiscard]] std::string athletes_json(const std::vector<Athlete>& athletes, const std::string& today);

/// "none", "given" or "expired".
[[nodiscard]] std::string consent_word(const std::optional<Consent>& consent, const std::string& today);

struct ImportReport {
    std::size_t values = 0;
    std::vector<std::string> measures, athletes_added;
};
[[nodiscard]] std::string import_json(const ImportReport& report);

struct EraseReport {
    std::string call_sign;
    std::int64_t sessions = 0, reps = 0, measures = 0;
    OtherCopies copies;
    std::vector<std::filesystem::path> also_erased_from;  ///< stores that a restore had put aside
};
[[nodiscard]] std::string erase_json(const EraseReport& report);
[[nodiscard]] std::string restore_json(const RestoreReport& report);
[[nodiscard]] std::string check_json(const Verified& verified);
[[nodiscard]] std::string rescue_json(const RescueReport& report);

}  // namespace breakstep
