#include "core/leading/lag_bets.hpp"

#include <algorithm>
#include <cmath>

#include "core/reading/law.hpp"

namespace breakstep::leading {
namespace {

constexpr double spread = 0.18;

struct Lag {
    double seconds, logarithm, beyond_reaction;  // the last is R0
};

const std::array<Lag, lag_count>& lags() {
    static const std::array<Lag, lag_count> all = [] {
        std::array<Lag, lag_count> made{};
        double seconds = 0.25;
        for (Lag& lag : made) {
            const double logarithm = std::log(seconds);
            lag = {seconds, logarithm, reading::t9_above((std::log(reaction_seconds) - logarithm) / spread)};
            seconds *= 1.2;
        }
        return made;
    }();
    return all;
}

void multiply(Gains& gains, std::size_t lag, double x) {
    for (std::size_t f = 0; f < stake_count; ++f) gains[lag * stake_count + f] *= 1.0 - stakes[f] + stakes[f] * x;
}

}  // namespace

double lag_seconds(std::size_t lag) { return lags()[lag].seconds; }

Gains gains_of(std::span<const double> acts, double interval, const OwnForecast& own) {
    Gains gains;
    gains.fill(1.0);
    std::size_t working = 0;
    while (working < acts.size() && acts[working] + reaction_seconds < interval) ++working;
    if (working == 0) return gains;
    double survived = own.survival(acts[0] + reaction_seconds);
    for (std::size_t k = 0; k + 1 < working; ++k) {
        const double cut = acts[k + 1] + reaction_seconds;
        const double survived_cut = own.survival(cut);
        const double log_seen = std::log(cut - acts[k]);
        for (std::size_t l = 0; l < lag_count; ++l) {
            const Lag& lag = lags()[l];
            const double later = std::max(0.0, reading::t9_above((log_seen - lag.logarithm) / spread));
            multiply(gains, l, later / lag.beyond_reaction * survived / survived_cut);
        }
        survived = survived_cut;
    }
    const double after = interval - acts[working - 1];
    const double log_after = std::log(after);
    const double own_part = own.density(interval) / (interval * survived);
    for (std::size_t l = 0; l < lag_count; ++l) {
        const Lag& lag = lags()[l];
        const double density = reading::t9_density((log_after - lag.logarithm) / spread) / (spread * after);
        multiply(gains, l, density / lag.beyond_reaction / own_part);
    }
    return gains;
}

}  // namespace breakstep::leading
