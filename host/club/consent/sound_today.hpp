// Whether what was said of an athlete can be so today: a yes of a day to come, a birth year that nobody training now
// has, a child's own yes in the place of a guardian's.
//
// Asked of what a person says or a list brings in, before it is kept; what was kept earlier is judged by
// consent_state(). Pure; any thread. `today` is this computer's date.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

#include "core/error.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

struct Unsound {
    enum class Of : std::uint8_t { birth_year, consent_on, consent_share_on, consent_by };
    Of of{};
    Error error;
};
/// nullopt: nothing is wrong with it.
[[nodiscard]] std::optional<Unsound> unsound_today(const Athlete& athlete, std::string_view today);

}  // namespace breakstep
