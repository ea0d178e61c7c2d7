// What is said of athletes' consent: why nothing of somebody is kept or shown, how that is changed, whose consent ends.
//
// Main thread; cannot fail. Dates are ISO, `today` this computer's.
#pragma once

#include <string>
#include <vector>

#include "core/error.hpp"
#include "store/consent.hpp"

namespace breakstep {

/// The date on this computer.
[[nodiscard]] std::string today_here();

/// "the consent to keep results of Heron ran out after 2025-09-30", and so on for each reason not to keep them.
[[nodiscard]] std::string why_not_kept(const Athlete& athlete, const std::string& today);
/// "renew it: `breakstep athletes change Heron --consent-on ...`".
[[nodiscard]] std::string how_to_renew(const Athlete& athlete, const std::string& today);

/// That nothing of the athlete is shown, and how that is changed.
[[nodiscard]] Error not_shown_error(const Athlete& athlete, const std::string& today);

/// "Consent ends this month: Heron (2026-11-30), Rook (2026-11-12)."; "" if nobody's does.
[[nodiscard]] std::string whose_consent_ends(const std::vector<Athlete>& athletes, const std::string& today);

/// With the real name beside the call-sign, where there is one: only where real names were asked for.
[[nodiscard]] Athlete with_real_name(Athlete athlete);

}  // namespace breakstep
