#include "core/reading/tempo_test.hpp"

#include <algorithm>
#include <cmath>

#include "core/error.hpp"
#include "core/reading/law.hpp"
#include "core/reading/seconds.hpp"

namespace breakstep::reading {
namespace {

constexpr std::size_t cash = account_count;
constexpr double cash_prior = 0.02;
constexpr double kept_share = 0.96;  // of each account after an interval; the rest is shared out by prior
constexpr double merit_kept = 0.97;
constexpr Duration longest_paced = 4s;

std::array<double, account_count + 1> scaled_priors() {
    double total = 0;
    for (const double prior : account_priors) total += prior;
    std::array<double, account_count + 1> scaled{};
    for (std::size_t a = 0; a < account_count; ++a) scaled[a] = account_priors[a] / total * (1.0 - cash_prior);
    scaled[cash] = cash_prior;
    return scaled;
}

}  // namespace

std::string_view word(TempoCause cause) {
    switch (cause) {
        case TempoCause::one_beat:
            return "one beat";
        case TempoCause::favourite_beat:
            return "favourite beat";
        case TempoCause::long_short:
            return "long-short";
        case TempoCause::three_beat:
            return "three-beat";
        case TempoCause::pattern:
            return "pattern";
    }
    return "unknown";
}

TempoTest::TempoTest() : priors_(scaled_priors()), shares_(priors_), earned_(priors_) {}

void TempoTest::require_open() {
    if (!open_) broken_invariant("an interval was settled that the tempo test had not begun");
    open_ = false;
}

double TempoTest::pace_seconds(Duration shortest) const {
    const double mean_beyond = seconds_from(beyond_shortest_) / static_cast<double>(std::max<std::uint64_t>(paced_, 1));
    return seconds_from(shortest) + std::max(mean_beyond, 0.05);
}

void TempoTest::announce() {
    forecast_ = {};
    if (history_.size() < 3) return;
    std::size_t best = account_count;
    for (std::size_t a = 0; a < account_count; ++a)
        if (bets_[a].has_centre && (best == account_count || merit_[a] > merit_[best])) best = a;
    if (best == account_count) return;
    const double centre = std::exp(bets_[best].centre);
    const double from = centre - window_half_seconds;
    const double to = centre + window_half_seconds;
    forecast_.window = Window{duration_from(from), duration_from(to)};
    forecast_.chance = chance_of(from, to, pace_seconds(shortest_), seconds_from(shortest_));
    forecast_.by = static_cast<Account>(best);
}

const Forecast& TempoTest::predict(Duration shortest) {
    if (open_) broken_invariant("the tempo test was asked for a second forecast of one interval");
    open_ = true;
    shortest_ = shortest;
    bets_ = accounts_.bets(history_);
    announce();
    return forecast_;
}

void TempoTest::take(const Multipliers& multipliers) {
    double total = shares_[cash];
    earned_[cash] = shares_[cash];
    for (std::size_t a = 0; a < account_count; ++a) {
        earned_[a] = shares_[a] * multipliers[a];
        total += earned_[a];
        merit_[a] = merit_kept * merit_[a] + std::log(multipliers[a]);
    }
    log_wealth_.add(std::log(total));
    for (std::size_t a = 0; a <= account_count; ++a) {
        earned_[a] /= total;
        shares_[a] = kept_share * earned_[a] + (1.0 - kept_share) * priors_[a];
    }
}

void TempoTest::close(double interval, bool observed) {
    const double logarithm = std::log(interval);
    accounts_.learn(bets_, history_, logarithm, observed);
    history_.add(interval, logarithm, observed);
}

std::optional<WindowOutcome> TempoTest::entered(Duration length) {
    require_open();
    const double interval = seconds_from(length);
    const double logarithm = std::log(interval);
    const double per_bound = inverse_bound(interval, seconds_from(shortest_));
    Multipliers multipliers;
    for (std::size_t a = 0; a < account_count; ++a) {
        const Bet& bet = bets_[a];
        multipliers[a] = 1.0 - bet.fraction +
                         bet.fraction * t9_density((logarithm - bet.centre) / bet.spread) / bet.spread * per_bound;
    }
    take(multipliers);
    close(interval, true);
    beyond_shortest_ += std::max(std::min(length, longest_paced) - shortest_, Duration{0});
    paced_ += length <= longest_paced ? 1 : 0;
    if (!forecast_.window) return std::nullopt;
    return WindowOutcome{*forecast_.window, forecast_.window->holds(length), forecast_.chance};
}

std::optional<WindowOutcome> TempoTest::cut(Duration cue, std::optional<Duration> beyond) {
    if (cue <= shortest_) {
        nothing();
        return std::nullopt;
    }
    require_open();
    const double logarithm = std::log(seconds_from(cue));
    Multipliers multipliers;
    for (std::size_t a = 0; a < account_count; ++a) {
        const Bet& bet = bets_[a];
        multipliers[a] = 1.0 - bet.fraction + bet.fraction * t9_above((logarithm - bet.centre) / bet.spread);
    }
    take(multipliers);
    const double threshold = seconds_from(beyond.value_or(cue));
    const double usual = history_.median_above(threshold);
    close(usual > 0 ? usual : 1.15 * threshold, false);
    beyond_shortest_ += std::max(std::min(cue, longest_paced) - shortest_, Duration{0});
    if (!forecast_.window || forecast_.window->to >= cue) return std::nullopt;
    return WindowOutcome{*forecast_.window, false, forecast_.chance};
}

void TempoTest::nothing(std::optional<Duration> observed) {
    require_open();
    if (!observed) return;
    close(seconds_from(*observed), true);
    beyond_shortest_ += std::max(std::min(*observed, longest_paced) - shortest_, Duration{0});
    paced_ += *observed <= longest_paced ? 1 : 0;
}

double TempoTest::wealth() const { return std::exp(std::min(log_wealth_.value(), 690.0)); }

TempoCause TempoTest::cause() const {
    const auto share = [this](Account account) { return earned_[static_cast<std::size_t>(account)]; };
    const double median = share(Account::median);
    const double pace = share(Account::pace);
    const double mode = share(Account::mode);
    const std::array<double, 4> groups{median + pace + mode, share(Account::every_second), share(Account::every_third),
                                       share(Account::neighbours)};
    const auto most = std::max_element(groups.begin(), groups.end()) - groups.begin();
    switch (most) {
        case 1:
            return TempoCause::long_short;
        case 2:
            return TempoCause::three_beat;
        case 3:
            return TempoCause::pattern;
        default:
            return mode > median && mode > pace ? TempoCause::favourite_beat : TempoCause::one_beat;
    }
}

}  // namespace breakstep::reading
