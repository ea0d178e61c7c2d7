// Athletes, and what an import, a restore or a rescue did, as JSON. One object with a line end each. Pure; any thread.
#pragma once

#include <string>
#include <vector>

#include "club/athletes/bring_in.hpp"
#include "club/athletes/erase.hpp"
#include "store/damaged/rescue.hpp"
#include "store/restore.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

/// Whether real names and notes are in it: what leaves this computer has them only where that was asked for.
enum class Names { call_signs_alone, real };

/// {"athletes": [...]}; `today` (ISO) decides whether a consent has run out.
[[nodiscard]] std::string athletes_json(const std::vector<Athlete>& athletes, const std::string& today,
                                        Names names = Names::real);

[[nodiscard]] std::string import_json(const Imported& imported);
[[nodiscard]] std::string erase_json(const Erasing& erasing);
[[nodiscard]] std::string restore_json(const Restored& report);
[[nodiscard]] std::string check_json(const Verified& verified);
[[nodiscard]] std::string rescue_json(const Rescued& report);

}  // namespace breakstep
