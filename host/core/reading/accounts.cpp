#include "core/reading/accounts.hpp"

#include <algorithm>
#include <cmath>

#include "core/reading/law.hpp"

namespace breakstep::reading {
namespace {

constexpr std::size_t median_span = 8;
constexpr std::size_t phase_span = 3;
constexpr double prior_count = 8.0;  // a spread starts as if it had been seen in this many intervals

std::size_t phase_samples(const IntervalHistory& past, std::size_t period) {
    return std::min<std::size_t>(phase_span, static_cast<std::size_t>(past.size()) / period);
}

Bet neighbours_bet(const IntervalHistory& past) {
    if (past.size() < 3) return {};
    return {true, std::log(past.median_after_nearest()), 0.07, 0.9};
}

Bet mode_bet(const IntervalHistory& past) {
    constexpr std::size_t span = 12;
    constexpr double width = 0.2 + 1e-12;
    if (past.size() < 2) return {};
    const auto count = static_cast<std::size_t>(std::min<std::uint64_t>(past.size(), span));
    std::array<double, span> sorted;
    for (std::size_t i = 0; i < count; ++i) sorted[i] = past.logarithm(i + 1);
    std::sort(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(count));
    std::size_t first = 0;
    std::size_t most = 0;
    for (std::size_t low = 0, high = 0; low < count; ++low) {
        while (high < count && sorted[high] <= sorted[low] + width) ++high;
        if (high - low > most) {
            most = high - low;
            first = low;
        }
    }
    if (most < 2) return {};
    const auto inside = static_cast<double>(most);
    double sum = 0;
    for (std::size_t i = first; i < first + most; ++i) sum += sorted[i];
    const double centre = sum / inside;
    double squares = prior_count * 0.07 * 0.07;
    for (std::size_t i = first; i < first + most; ++i) squares += (sorted[i] - centre) * (sorted[i] - centre);
    const double spread = std::sqrt(squares / (prior_count - 1.0 + inside) * (1.0 + 1.0 / inside));
    return {true, centre, spread, std::min(0.97, (inside - 0.5) / (static_cast<double>(count) + 1.0))};
}

}  // namespace

std::string_view word(TempoMethod method) { return method == TempoMethod::plain ? "plain" : "tight"; }

const AccountSettings& settings_of(TempoMethod method) {
    static constexpr AccountSettings plain{{6.0, 3.0, 2.5, 3.5, 1.0, 5.0, 0.0}, 0.11, 0.13, 8.0, 0.85, 0.0};
    // Chosen on simulated drills whose seeds are not those of the published table.
    static constexpr AccountSettings tight{{6.0, 4.0, 3.5, 3.5, 1.0, 5.0, 0.0}, 0.13, 0.15, 16.0, 0.90, 0.25};
    return method == TempoMethod::plain ? plain : tight;
}

Bet Accounts::median_bet(const IntervalHistory& past) const {
    if (past.size() < 1) return {};
    const auto count = static_cast<std::size_t>(std::min<std::uint64_t>(past.size(), median_span));
    const double spread = settings_->median_spread * std::sqrt(1.0 + 0.5 / static_cast<double>(count));
    return {true, std::log(past.median(count, 1)), spread, 0.9};
}

Bet Accounts::pace_bet() const {
    if (pace_weight_ <= 0) return {};
    const double prior = settings_->pace_count;
    const double spread = std::sqrt((prior * settings_->pace_spread * settings_->pace_spread + pace_squares_) /
                                    (prior + pace_count_) * (1.0 + 1.0 / pace_weight_));
    return {true, pace_mean_, spread, stake_for(spread)};
}

Bet Accounts::phase_bet(const Phase& phase, const IntervalHistory& past, std::size_t period) const {
    if (past.size() < period) return {};
    auto samples = static_cast<double>(phase_samples(past, period));
    double centre = std::log(past.median(phase_samples(past, period), period));
    if (settings_->pooled > 0) {
        double sum = 0;
        double alike = 0;
        const auto last = std::min<std::uint64_t>(past.size(), phase_span * period);
        for (std::size_t back = 1; back <= last; ++back) {
            if (std::abs(past.logarithm(back) - centre) >= settings_->pooled) continue;
            sum += past.logarithm(back);
            alike += 1.0;
        }
        if (alike > samples) {
            centre = sum / alike;
            samples = alike;
        }
    }
    const double spread =
        std::sqrt((prior_count * 0.07 * 0.07 + phase.squares) / (prior_count + phase.count) * (1.0 + 1.0 / samples));
    return {true, centre, spread, stake_for(spread)};
}

Bets Accounts::bets(const IntervalHistory& past) const {
    return {median_bet(past), pace_bet(), phase_bet(second_, past, 2), phase_bet(third_, past, 3), neighbours_bet(past),
            mode_bet(past),   Bet{}};
}

void Accounts::learn_phase(Phase& phase, const Bet& placed, const IntervalHistory& past, std::size_t period,
                           double logarithm) {
    if (!placed.has_centre) return;
    const auto samples = static_cast<double>(phase_samples(past, period));
    const double error = logarithm - placed.centre;
    phase.squares = 0.9 * phase.squares + std::min(error * error, 0.04) * samples / (samples + 1.0);
    phase.count = 0.9 * phase.count + 1.0;
}

void Accounts::learn(const Bets& placed, const IntervalHistory& past, double logarithm, bool observed) {
    const double forgetting = settings_->pace_forgetting;
    const double error = logarithm - pace_mean_;
    if (observed) {
        if (pace_weight_ > 0) {
            pace_squares_ =
                forgetting * pace_squares_ + std::min(error * error, 0.16) * pace_weight_ / (pace_weight_ + 1.0);
            pace_count_ = forgetting * pace_count_ + 1.0;
        }
        learn_phase(second_, placed[static_cast<std::size_t>(Account::every_second)], past, 2, logarithm);
        learn_phase(third_, placed[static_cast<std::size_t>(Account::every_third)], past, 3, logarithm);
    }
    pace_weight_ = forgetting * pace_weight_ + 1.0;
    pace_mean_ += error / pace_weight_;
}

}  // namespace breakstep::reading
