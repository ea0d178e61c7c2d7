// What an athlete's consent allows: whether results are kept for good or for this evening only, whether they may be
// shown, shared.
//
// Kept where it was given and has not run out, and where nobody was asked yet; but not of a junior, of whom a guardian
// decides: there, and after a no, results stay in the evening's own file (tonight.hpp). Pure; any thread; cannot fail.
// Dates are ISO; `today` is this computer's.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

#include "store/store_rows.hpp"

namespace breakstep {

enum class ConsentState : std::uint8_t { given, expired, refused, not_asked };
/// "given", "expired", "refused", "not asked".
[[nodiscard]] std::string_view word(ConsentState state);
[[nodiscard]] ConsentState consent_state(const Athlete& athlete, std::string_view today);

/// Younger than this a guardian answers. By years alone: a birth year tells no more.
inline constexpr std::int32_t guardian_until_years = 16;
[[nodiscard]] bool guardian_answers(const Athlete& athlete, std::string_view today);

/// A yes that an athlete under that age, on the day of it, gave in their own name: by call-sign, real name, or as "the
/// athlete". It is none: consent_state() takes it as not asked.
[[nodiscard]] bool is_childs_own_yes(const Athlete& athlete);

/// False: results are the evening's only, and nothing of the athlete is shown.
[[nodiscard]] bool may_keep(const Athlete& athlete, std::string_view today);
/// With a server: a yes of its own, beside a consent that holds.
[[nodiscard]] bool may_share(const Athlete& athlete, std::string_view today);
/// Of a consent that holds: its last day lies in today's month.
[[nodiscard]] bool ends_this_month(const Athlete& athlete, std::string_view today);

}  // namespace breakstep
