#include "core/ladder/rung_account.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "core/error.hpp"
#include "core/trade/rules.hpp"

namespace breakstep::ladder {
namespace {

constexpr double evening_scatter = 0.30;
// Gauss-Hermite, five nodes, scaled to a standard normal (Abramowitz & Stegun 25.4.46).
constexpr std::array<double, 5> node_places{-2.8569700138728056, -1.3556261799742659, 0.0, 1.3556261799742659,
                                            2.8569700138728056};
constexpr std::array<double, 5> node_weights{.0112574113277207, .2220759220056126, .5333333333333333, .2220759220056126,
                                             .0112574113277207};
constexpr std::array<double, 3> step_sizes{0.45, 0.90, 1.60};
constexpr double nothing = -std::numeric_limits<double>::infinity();  // ln 0

double log_sum(double a, double b) {
    const double larger = std::max(a, b);
    return larger == nothing ? nothing : larger + std::log1p(std::exp(std::min(a, b) - larger));
}

double logit(double rate) { return std::log(rate) - std::log1p(-rate); }
/// ln logistic(x), also where logistic(x) is too small for a double.
double log_logistic(double x) { return x >= 0 ? -std::log1p(std::exp(-x)) : x - std::log1p(std::exp(x)); }

}  // namespace

RungAccount::Law::Law(double mean) {
    for (std::size_t m = 0; m < nodes; ++m) {
        const double place = mean + evening_scatter * node_places[m];
        log_hit[m] = log_logistic(place);
        log_miss[m] = log_logistic(-place);
    }
    begin();
}

void RungAccount::Law::begin() {
    for (std::size_t m = 0; m < nodes; ++m) log_likelihood[m] = std::log(node_weights[m]);
}

void RungAccount::Law::add(bool hit) {
    const auto& change = hit ? log_hit : log_miss;
    for (std::size_t m = 0; m < nodes; ++m) log_likelihood[m] += change[m];
}

double RungAccount::Law::log_chance() const {
    const double largest = *std::max_element(log_likelihood.begin(), log_likelihood.end());
    double sum = 0;
    for (const double term : log_likelihood) sum += std::exp(term - largest);
    return largest + std::log(sum);
}

RungAccount::RungAccount(double mark, Beyond side) : mark_(mark) {
    if (!(mark > 0 && mark < 1)) broken_invariant("a rung's mark must lie between 0 and 1");
    const double centre = logit(mark);
    null_ = Law(centre);
    for (std::size_t d = 0; d < steps; ++d)
        rivals_[d] = Law(side == Beyond::above ? centre + step_sizes[d] : centre - step_sizes[d]);
    log_earned_.fill(nothing);
}

double RungAccount::log_fresh() const {
    const auto evening = static_cast<double>(evenings_);
    return evenings_ == 1 ? std::log(0.75) : std::log(0.25) - std::log((evening - 1.0) * evening);
}

void RungAccount::begin_evening() {
    open_ = true;
    ++evenings_;
    null_.begin();
    for (std::size_t d = 0; d < steps; ++d) {
        rivals_[d].begin();
        log_staked_[d] = log_sum(log_earned_[d], log_fresh());
    }
}

void RungAccount::reckon() {
    const double log_null = null_.log_chance();
    double log_total = std::log(0.25) - std::log(static_cast<double>(evenings_));  // what later evenings open with
    for (std::size_t d = 0; d < steps; ++d) {
        log_earned_[d] = log_staked_[d] + rivals_[d].log_chance() - log_null;
        log_total = log_sum(log_total, log_earned_[d] - std::log(static_cast<double>(steps)));
    }
    log_wealth_ = log_total;
    ever_had_enough_ = ever_had_enough_ || has_enough();
}

void RungAccount::add(bool hit) {
    if (!open_) begin_evening();
    null_.add(hit);
    for (Law& rival : rivals_) rival.add(hit);
    hits_ += hit ? 1 : 0;
    ++reps_;
    reckon();
}

void RungAccount::end_evening() { open_ = false; }

bool RungAccount::has_enough() const {
    static const double enough = std::log(tell_wealth);
    return log_wealth_ >= enough;
}

double RungAccount::wealth() const {
    static const double most = std::log(1e300);
    return log_wealth_ >= most ? 1e300 : std::exp(log_wealth_);
}

}  // namespace breakstep::ladder
