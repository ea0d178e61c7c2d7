#include "core/reading/tempo_test.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

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

std::array<double, account_count + 1> scaled_priors(TempoMethod method, const KnownAthlete& known) {
    const auto& priors = settings_of(method).priors;
    const double total = std::accumulate(priors.begin(), priors.end(), 0.0);
    const double strange = 1.0 - known.trust;
    std::array<double, account_count + 1> scaled{};
    for (std::size_t a = 0; a < account_count; ++a) {
        // Half of what is not given to the known law follows what earlier sessions earned.
        const double usual = priors[a] / total;
        const double learnt = known.sessions > 0 ? 0.5 * usual + 0.5 * known.shares[a] : usual;
        scaled[a] = strange * learnt * (1.0 - cash_prior);
    }
    scaled[static_cast<std::size_t>(Account::known)] = known.trust * (1.0 - cash_prior);
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

TempoTest::TempoTest(TempoMethod method, const KnownAthlete& known)
    : method_(method),
      accounts_(method),
      known_(known),
      priors_(scaled_priors(method, known)),
      shares_(priors_),
      earned_(priors_) {}

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
    // Of a stranger too little is known before the fourth interval.
    if (history_.size() < 3 && known_.period() == 0) return;
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

double TempoTest::density_of(std::size_t account, double logarithm) const {
    if (account == static_cast<std::size_t>(Account::known)) return known_.density(logarithm);
    const Bet& bet = bets_[account];
    return t9_density((logarithm - bet.centre) / bet.spread) / bet.spread;
}

void TempoTest::lay_tight_bet(double needed) {
    constexpr double reach = 5.0;  // spreads above a centre for which bins are laid
    constexpr double cut_off =
        7.0;  // spreads beyond which a bell is taken as nought: a bet given away, never one too many
    constexpr double negligible = 1e-6;
    double high = -1e300;
    double idle = shares_[cash];
    for (std::size_t a = 0; a < account_count; ++a) {
        const Bet& bet = bets_[a];
        const double staked = shares_[a] * bet.fraction;
        idle += shares_[a] - staked;
        if (staked > negligible) high = std::max(high, bet.centre + reach * bet.spread);
    }
    tight_bet_.lay(seconds_from(shortest_), high);
    TightBet::Densities wanted{};
    for (std::size_t a = 0; a < account_count; ++a) {
        const Bet& bet = bets_[a];
        const double staked = shares_[a] * bet.fraction;
        if (staked <= negligible) continue;
        const bool one_bell = a != static_cast<std::size_t>(Account::known);
        const std::size_t first = one_bell ? tight_bet_.bin_at(bet.centre - cut_off * bet.spread) : 0;
        const std::size_t last = one_bell ? tight_bet_.bin_at(bet.centre + cut_off * bet.spread) : TightBet::bins - 1;
        for (std::size_t b = first; b <= last; ++b) wanted[b] += staked * density_of(a, tight_bet_.middle(b));
    }
    const double wealth_now = wealth();
    // A hair more than needed, so that a full payoff does not end below it for rounding.
    const double most = needed > wealth_now ? needed / wealth_now * (1.0 + 1e-9) : 1e300;
    tight_bet_.place(wanted, idle, most);
}

const Forecast& TempoTest::predict(Duration shortest, double needed) {
    if (open_) broken_invariant("the tempo test was asked for a second forecast of one interval");
    open_ = true;
    shortest_ = shortest;
    bets_ = accounts_.bets(history_);
    bets_[static_cast<std::size_t>(Account::known)] = known_.bet();
    announce();
    if (method_ == TempoMethod::tight) lay_tight_bet(needed);
    return forecast_;
}

TempoTest::Shares TempoTest::settled(double interval, double logarithm) const {
    const double per_bound = inverse_bound(interval, seconds_from(shortest_));
    Shares multiplied = shares_;
    for (std::size_t a = 0; a < account_count; ++a) {
        const double stake = bets_[a].fraction;
        if (stake > 0) multiplied[a] *= 1.0 - stake + stake * density_of(a, logarithm) * per_bound;
    }
    return multiplied;
}

TempoTest::Shares TempoTest::settled_beyond(double logarithm) const {
    Shares multiplied = shares_;
    for (std::size_t a = 0; a < account_count; ++a) {
        const Bet& bet = bets_[a];
        if (bet.fraction <= 0) continue;
        const double above = a == static_cast<std::size_t>(Account::known)
                                 ? known_.above(logarithm)
                                 : t9_above((logarithm - bet.centre) / bet.spread);
        multiplied[a] *= 1.0 - bet.fraction + bet.fraction * above;
    }
    return multiplied;
}

double TempoTest::multiplier_at(Duration length) const {
    const double interval = seconds_from(length);
    const double logarithm = std::log(interval);
    if (method_ == TempoMethod::tight) return tight_bet_.multiplier(logarithm);
    const Shares multiplied = settled(interval, logarithm);
    return std::accumulate(multiplied.begin(), multiplied.end(), 0.0);
}

void TempoTest::take(const Shares& multiplied, double paid) {
    const double total = std::accumulate(multiplied.begin(), multiplied.end(), 0.0);
    for (std::size_t a = 0; a < account_count; ++a)
        merit_[a] = merit_kept * merit_[a] + (bets_[a].fraction > 0 ? std::log(multiplied[a] / shares_[a]) : 0.0);
    log_wealth_.add(std::log(method_ == TempoMethod::tight ? paid : total));
    for (std::size_t a = 0; a <= account_count; ++a) {
        earned_[a] = multiplied[a] / total;
        shares_[a] = kept_share * earned_[a] + (1.0 - kept_share) * priors_[a];
    }
}

void TempoTest::close(double interval, bool observed) {
    const double logarithm = std::log(interval);
    accounts_.learn(bets_, history_, logarithm, observed);
    known_.learn(logarithm, observed);
    history_.add(interval, logarithm, observed);
}

std::optional<WindowOutcome> TempoTest::entered(Duration length) {
    require_open();
    const double interval = seconds_from(length);
    const double logarithm = std::log(interval);
    take(settled(interval, logarithm), tight_bet_.multiplier(logarithm));
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
    take(settled_beyond(logarithm), tight_bet_.multiplier_beyond(logarithm));
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
    std::array<double, 4> groups{median + pace + mode, share(Account::every_second), share(Account::every_third),
                                 share(Account::neighbours)};
    if (known_.period() > 0) groups[known_.period() - 1] += share(Account::known);
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
