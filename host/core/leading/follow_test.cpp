#include "core/leading/follow_test.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/error.hpp"
#include "core/reading/seconds.hpp"
#include "core/trade/rules.hpp"

namespace breakstep::leading {
namespace {

constexpr std::size_t cash = lag_account_count;
constexpr double kept = 0.98;
constexpr std::size_t compared_at_most = 24;
constexpr double window_reach = 0.3;  // of ln lag
constexpr double tell_x = tell_wealth, hunch_share = hunch_wealth / tell_wealth, hunch_x = hunch_wealth;

constexpr std::array<double, lag_account_count + 1> priors = [] {
    std::array<double, lag_account_count + 1> all{};
    all.fill(0.9 / lag_account_count);
    all[cash] = 0.1;
    return all;
}();

double growth(const std::array<double, lag_account_count + 1>& shares, const Gains& gains) {
    double sum = shares[cash];
    for (std::size_t a = 0; a < lag_account_count; ++a) sum += shares[a] * gains[a];
    return sum;
}

}  // namespace

double wealth_from(double logarithm) {
    static const double most = std::log(1e300);
    return logarithm >= most ? 1e300 : std::exp(logarithm);
}

FollowTest::FollowTest(Duration shortest, double tell)
    : own_(reading::seconds_from(shortest)),
      log_tell_(std::log(tell)),
      log_hunch_(std::log(hunch_share * tell)),
      shares_(priors) {}

void FollowTest::require_order(Duration at) {
    if (latest_ && at < *latest_) broken_invariant("acts of a bout were told out of order");
    latest_ = at;
}

void FollowTest::acted(Duration at) {
    require_order(at);
    if (last_act_ && at - *last_act_ < same_act) {
        ++merged_;
        return;
    }
    last_act_ = at;
    ++acts_;
    if (began_ && at > *began_) open_acts_.push_back(reading::seconds_from(at - *began_));
}

void FollowTest::entered(Duration at) {
    require_order(at);
    if (began_ == at) return;
    if (began_) settle(reading::seconds_from(at - *began_));
    began_ = at;
    open_acts_.clear();
}

void FollowTest::interrupted() {
    began_.reset();
    open_acts_.clear();
}

Gains FollowTest::mean_gains(const Gains& of_this, double length) const {
    Gains sum = of_this;
    std::size_t compared = 0;
    for (auto past = past_.rbegin(); past != past_.rend() && compared < compared_at_most; ++past) {
        if (past->length < length - reaction_seconds) continue;
        ++compared;
        const Gains other = gains_of(past->acts, length, own_);
        for (std::size_t a = 0; a < lag_account_count; ++a) sum[a] += other[a];
    }
    for (double& gain : sum) gain /= static_cast<double>(compared + 1);
    return sum;
}

std::size_t FollowTest::leading_lag_index() const {
    std::size_t best = 0;
    double most = -1;
    for (std::size_t l = 0; l < lag_count; ++l) {
        double share = 0;
        for (std::size_t f = 0; f < stake_count; ++f) share += shares_[l * stake_count + f];
        if (share > most) {
            most = share;
            best = l;
        }
    }
    return best;
}

void FollowTest::tally(double length) {
    const double lag = leading_lag();
    const double low = lag * std::exp(-window_reach), high = lag * std::exp(window_reach);
    for (std::size_t k = 0; k < open_acts_.size(); ++k) {
        const double act = open_acts_[k], works = act + reaction_seconds;
        if (works >= length) break;
        const double next = k + 1 < open_acts_.size() ? open_acts_[k + 1] + reaction_seconds : length;
        const double cut = next < length ? next : std::numeric_limits<double>::infinity();
        if (cut <= act + low) continue;
        ++count_.of;
        count_.chance += (own_.survival(std::max(works, act + low)) - own_.survival(std::min(act + high, cut))) /
                         own_.survival(works);
        if (cut < length || length < act + low || length > act + high) continue;
        ++count_.hits;
        hit_lags_.push_back(length - act);
    }
}

void FollowTest::settle(double length) {
    const Gains gains = gains_of(open_acts_, length, own_);
    tally(length);
    const double grown = growth(shares_, gains);
    log_x_.add(std::log(grown / growth(shares_, mean_gains(gains, length))));
    log_e_.add(std::log(grown));
    for (std::size_t a = 0; a < lag_account_count; ++a) shares_[a] *= gains[a];
    for (std::size_t a = 0; a <= cash; ++a) shares_[a] = kept * shares_[a] / grown + (1.0 - kept) * priors[a];
    own_.learn(length);
    past_.push_back({length, open_acts_});
    judge();
}

void FollowTest::judge() {
    static const double log_tell_x = std::log(tell_x), log_hunch_x = std::log(hunch_x);
    most_log_e_ = std::max(most_log_e_, log_e());
    most_log_x_ = std::max(most_log_x_, log_x());
    if (!hunch_at_ && most_log_e_ >= log_hunch_ && most_log_x_ >= log_hunch_x) hunch_at_ = past_.size();
    if (!tell_at_ && most_log_e_ >= log_tell_ && most_log_x_ >= log_tell_x) tell_at_ = past_.size();
}

std::optional<double> FollowTest::lag() const {
    if (hit_lags_.empty()) return std::nullopt;
    std::vector<double> sorted = hit_lags_;
    std::sort(sorted.begin(), sorted.end());
    const std::size_t middle = sorted.size() / 2;
    return sorted.size() % 2 == 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2.0;
}

}  // namespace breakstep::leading
