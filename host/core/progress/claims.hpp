// Who improved beyond noise: the one claim that is made of an athlete's measure over a term, and what it rests on.
//
// A measure has one value an evening. Improved: the slope b of the straight line through the evenings, over days and
// unweighted, has b / sqrt(s^2 / Sxx) > t(.975, n - 2), s^2 from the athlete's own scatter about that line, at least
// six evenings; worse is the same of -b. Only an athlete's own evenings show how much they differ without any change:
// sampling error alone would claim improvement of 11 in 100 who did not improve, slopes shrunk to the squad of 27. At
// weekly looks, from the sixth week on, a claim needs a one-sided p under .0125 at two looks in a row, and is called
// provisional.
//
// Which measure it is must be fixed beforehand, one an athlete; twelve looked at freely give false claims of one in
// four. Pure; any thread; too few evenings are said as such.
#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>
#include <vector>

#include "core/progress/summary.hpp"

namespace breakstep::progress {

/// An athlete's value of one measure on one evening.
struct EveningValue {
    double day = 0;  ///< days since any fixed date; whole in practice
    double value = 0;
    bool operator==(const EveningValue&) const = default;
};

enum class Better { lower, higher };

enum class Claim { too_few, improved, no_clear_change, worse };
/// "improved", "no clear change", "worse", "too few evenings".
[[nodiscard]] std::string_view word(Claim claim);

inline constexpr std::size_t fewest_evenings = 6;
/// Weekly looks begin when the sixth week does.
inline constexpr double first_look_days = 35;

struct StraightLine {
    std::size_t evenings = 0;
    double slope = 0, slope_error = 0;  ///< per day, standard error
    double intercept = 0;               ///< at day 0
    double scatter = 0;                 ///< s: day-to-day scatter about the line
    double first_day = 0, last_day = 0;
    Interval slope_interval;  ///< 95 %, Student's t with n - 2 degrees

    /// How far the line rises from the first evening to the last.
    [[nodiscard]] double rise() const { return slope * (last_day - first_day); }
};
/// nullopt under three evenings or where all are on one day.
[[nodiscard]] std::optional<StraightLine> straight_line(std::span<const EveningValue> evenings);

struct TermClaim {
    Claim claim = Claim::too_few;
    bool provisional = false;          ///< a weekly look, not the end of the term
    std::size_t evenings = 0;          ///< how many there are
    std::optional<StraightLine> line;  ///< also shown without a claim; null where there is none
    double p_better = 1, p_worse = 1;  ///< one-sided; 1 without a line
    [[nodiscard]] double p_two_sided() const;
};
/// By the end-of-term rule. Evenings in order of days, one value an evening.
[[nodiscard]] TermClaim claim_at_end_of_term(std::span<const EveningValue> evenings, Better better);
/// As it stands after the last of these evenings, looking every evening.
[[nodiscard]] TermClaim claim_this_week(std::span<const EveningValue> evenings, Better better);

/// First against last three evenings, which never overlap. For display: the claim rests on all evenings.
struct BaselineAndNow {
    double baseline = 0, now = 0;
};
/// nullopt under six evenings.
[[nodiscard]] std::optional<BaselineAndNow> baseline_and_now(std::span<const EveningValue> evenings);

}  // namespace breakstep::progress
