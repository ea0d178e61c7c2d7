#include "core/leading/own_forecast.hpp"

#include <algorithm>
#include <cmath>

#include "core/reading/law.hpp"

namespace breakstep::leading {
namespace {

constexpr double short_shift = 0.20;
constexpr double free_forgetting = 0.95;
constexpr double wide_spread = 0.45;
constexpr double wide_prior_count = 4.0;
constexpr double wide_forgetting = 0.95;
constexpr double pace_forgetting = 0.85;  // of the tempo test's pace account
constexpr double kept = 0.96;
constexpr double least_density = 1e-9;
constexpr std::array<double, 9> priors{2.0 / 22, 4.0 / 22, 3.0 / 22, 3.0 / 22, 3.0 / 22,
                                       2.0 / 22, 2.0 / 22, 1.0 / 22, 2.0 / 22};

double bell_density(const reading::Bet& bet, double logarithm) {
    return reading::t9_density((logarithm - bet.centre) / bet.spread) / bet.spread;
}
double bell_survival(const reading::Bet& bet, double logarithm) {
    return std::max(0.0, reading::t9_above((logarithm - bet.centre) / bet.spread));
}

}  // namespace

double OwnForecast::Free::density(double interval) const {
    const double beyond = interval - shift;
    return beyond <= 0 ? 0.0 : interval * shape / scale * std::pow(scale / (scale + beyond), shape + 1.0);
}

double OwnForecast::Free::survival(double interval) const {
    const double beyond = interval - shift;
    return beyond <= 0 ? 1.0 : std::pow(scale / (scale + beyond), shape);
}

void OwnForecast::Free::learn(double interval) {
    shape = 2.0 + free_forgetting * (shape - 2.0) + 1.0;
    scale = 1.5 + free_forgetting * (scale - 1.5) + std::max(interval - shift, 0.0);
}

OwnForecast::OwnForecast(double shortest) : free_{Free{short_shift}, Free{shortest}}, weights_(priors) { look_ahead(); }

void OwnForecast::look_ahead() {
    bets_ = accounts_.bets(history_);
    const reading::Bet& pace = bets_[static_cast<std::size_t>(reading::Account::pace)];
    wide_bet_ = {};
    if (pace.has_centre)
        wide_bet_ = {true, pace.centre,
                     std::sqrt((wide_prior_count * wide_spread * wide_spread + wide_squares_) /
                               (wide_prior_count + wide_count_) * (1.0 + 1.0 / pace_weight_)),
                     0};
    shares_ = weights_;
    if (!wide_bet_.has_centre) shares_[wide] = 0;
    for (std::size_t k = bells; k < members; ++k)
        if (!bets_[k - bells].has_centre) shares_[k] = 0;
    double sum = 0;
    for (const double share : shares_) sum += share;
    for (double& share : shares_) share /= sum;
}

OwnForecast::Each OwnForecast::densities(double interval) const {
    const double logarithm = std::log(interval);
    Each each{};
    each[free_short] = free_[0].density(interval);
    each[free_own] = free_[1].density(interval);
    if (wide_bet_.has_centre) each[wide] = bell_density(wide_bet_, logarithm);
    for (std::size_t k = bells; k < members; ++k)
        if (bets_[k - bells].has_centre) each[k] = bell_density(bets_[k - bells], logarithm);
    return each;
}

double OwnForecast::mixed(const Each& of_members) const {
    double sum = 0;
    for (std::size_t k = 0; k < members; ++k) sum += shares_[k] * of_members[k];
    return sum;
}

double OwnForecast::density(double interval) const { return std::max(mixed(densities(interval)), least_density); }

double OwnForecast::survival(double interval) const {
    if (interval <= 0) return 1.0;
    const double logarithm = std::log(interval);
    Each each{};
    each[free_short] = free_[0].survival(interval);
    each[free_own] = free_[1].survival(interval);
    if (wide_bet_.has_centre) each[wide] = bell_survival(wide_bet_, logarithm);
    for (std::size_t k = bells; k < members; ++k)
        if (bets_[k - bells].has_centre) each[k] = bell_survival(bets_[k - bells], logarithm);
    return mixed(each);
}

void OwnForecast::learn_wide(double logarithm) {
    if (wide_bet_.has_centre) {
        const double error = logarithm - wide_bet_.centre;
        wide_squares_ = wide_forgetting * wide_squares_ + error * error * pace_weight_ / (pace_weight_ + 1.0);
        wide_count_ = wide_forgetting * wide_count_ + 1.0;
    }
    pace_weight_ = pace_forgetting * pace_weight_ + 1.0;
}

void OwnForecast::learn(double interval) {
    const Each said = densities(interval);
    const double all = std::max(mixed(said), least_density);
    for (std::size_t k = 0; k < members; ++k) {
        if (shares_[k] > 0) weights_[k] *= said[k] / all;
        weights_[k] = kept * weights_[k] + (1.0 - kept) * priors[k];
    }
    for (Free& member : free_) member.learn(interval);
    const double logarithm = std::log(interval);
    learn_wide(logarithm);
    accounts_.learn(bets_, history_, logarithm, true);
    history_.add(interval, logarithm, true);
    look_ahead();
}

}  // namespace breakstep::leading
