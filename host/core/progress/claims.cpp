#include "core/progress/claims.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/progress/distributions.hpp"

namespace breakstep::progress {
namespace {

constexpr double end_of_term_p = 0.025;
constexpr double weekly_p = 0.0125;
constexpr std::size_t compared_evenings = 3;

/// P(slope this high or higher | no change), of the line's own slope or of the line turned over.
double p_of(double slope, const StraightLine& line) {
    const double degrees = static_cast<double>(line.evenings) - 2;
    if (line.slope_error > 0) return student_upper(slope / line.slope_error, degrees);
    return slope > 0 ? 0 : slope < 0 ? 1 : 0.5;
}

/// The line and both p-values; the claim is left to the caller.
TermClaim looked_at(std::span<const EveningValue> evenings, Better better) {
    TermClaim look;
    look.evenings = evenings.size();
    look.line = straight_line(evenings);
    if (!look.line) return look;
    look.p_better = p_of(look.line->slope, *look.line);
    look.p_worse = p_of(-look.line->slope, *look.line);
    if (better == Better::lower) std::swap(look.p_better, look.p_worse);
    if (look.evenings >= fewest_evenings) look.claim = Claim::no_clear_change;
    return look;
}

bool may_be_looked_at(std::span<const EveningValue> evenings) {
    return evenings.size() >= fewest_evenings && evenings.back().day - evenings.front().day >= first_look_days;
}

}  // namespace

std::string_view word(Claim claim) {
    switch (claim) {
        case Claim::too_few:
            return "too few evenings";
        case Claim::improved:
            return "improved";
        case Claim::no_clear_change:
            return "no clear change";
        case Claim::worse:
            return "worse";
    }
    return "";
}

double TermClaim::p_two_sided() const { return std::min(1.0, 2 * std::min(p_better, p_worse)); }

std::optional<StraightLine> straight_line(std::span<const EveningValue> evenings) {
    if (evenings.size() < 3) return std::nullopt;
    const auto n = static_cast<double>(evenings.size());
    double mean_day = 0, mean_value = 0;
    for (const EveningValue& evening : evenings) {
        mean_day += evening.day / n;
        mean_value += evening.value / n;
    }
    double days_square = 0, products = 0;
    for (const EveningValue& evening : evenings) {
        days_square += (evening.day - mean_day) * (evening.day - mean_day);
        products += (evening.day - mean_day) * (evening.value - mean_value);
    }
    const auto [first, last] = std::minmax_element(evenings.begin(), evenings.end(),
                                                   [](const auto& a, const auto& b) { return a.day < b.day; });
    if (first->day == last->day) return std::nullopt;
    // Equal values leave nothing but the rounding of their mean, which is neither slope nor scatter.
    const bool flat = std::all_of(evenings.begin(), evenings.end(),
                                  [&](const auto& evening) { return evening.value == evenings.front().value; });
    StraightLine line;
    line.evenings = evenings.size();
    line.first_day = first->day;
    line.last_day = last->day;
    line.slope = flat ? 0 : products / days_square;
    line.intercept = mean_value - line.slope * mean_day;
    double squares = 0;
    for (const EveningValue& evening : evenings) {
        const double rest = evening.value - mean_value - line.slope * (evening.day - mean_day);
        squares += flat ? 0 : rest * rest;
    }
    line.scatter = std::sqrt(squares / (n - 2));
    line.slope_error = line.scatter / std::sqrt(days_square);
    const double reach = student_quantile(1 - end_of_term_p, n - 2) * line.slope_error;
    line.slope_interval = {line.slope - reach, line.slope + reach};
    return line;
}

TermClaim claim_at_end_of_term(std::span<const EveningValue> evenings, Better better) {
    TermClaim claim = looked_at(evenings, better);
    if (claim.claim == Claim::too_few) return claim;
    if (claim.p_better < end_of_term_p) claim.claim = Claim::improved;
    if (claim.p_worse < end_of_term_p) claim.claim = Claim::worse;
    return claim;
}

TermClaim claim_this_week(std::span<const EveningValue> evenings, Better better) {
    TermClaim claim = looked_at(evenings, better);
    claim.provisional = true;
    if (claim.claim == Claim::too_few) return claim;
    const auto before_last = evenings.first(evenings.size() - 1);
    if (!may_be_looked_at(before_last)) return claim;
    const TermClaim before = looked_at(before_last, better);
    if (claim.p_better < weekly_p && before.p_better < weekly_p) claim.claim = Claim::improved;
    if (claim.p_worse < weekly_p && before.p_worse < weekly_p) claim.claim = Claim::worse;
    return claim;
}

std::optional<BaselineAndNow> baseline_and_now(std::span<const EveningValue> evenings) {
    if (evenings.size() < 2 * compared_evenings) return std::nullopt;
    BaselineAndNow both;
    for (std::size_t i = 0; i < compared_evenings; ++i) {
        both.baseline += evenings[i].value / compared_evenings;
        both.now += evenings[evenings.size() - 1 - i].value / compared_evenings;
    }
    return both;
}

}  // namespace breakstep::progress
