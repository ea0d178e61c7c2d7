// What a coach asks of a partner next, as one line of words: "feint, single, nothing" is the list from now on, "+feint"
// comes after what is listed already, "" is as planned. Pure; any thread.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace breakstep {

/// As many as a coach may list.
inline constexpr std::size_t partner_list_most = 12;

/// A choice is the kind of an attack as a number, or this: one cue falls away.
inline constexpr std::int32_t asked_nothing = -1;

struct PartnerList {
    bool after = false;                 ///< after what is listed; else instead of it
    std::vector<std::int32_t> choices;  ///< none, and not `after`: as planned
    bool operator==(const PartnerList&) const = default;
};
/// None: a word that names no kind of attack.
[[nodiscard]] std::optional<PartnerList> partner_list_in(std::string_view text);
/// "feint", "nothing"; "" for a number that is none.
[[nodiscard]] std::string partner_word(std::int32_t choice);

}  // namespace breakstep
