#include "core/ladder/simulated_rungs.hpp"

#include <algorithm>
#include <cmath>

#include "core/random.hpp"

namespace breakstep::ladder {
namespace {

std::uint32_t reps_of_one(Spoken what, const RungTrial& trial, Rung rung, Random random) {
    const double mean = std::log(trial.rate / (1.0 - trial.rate));
    double rate = 0;
    for (std::uint32_t rep = 0; rep < trial.reps_at_most; ++rep) {
        if (rep % trial.reps_an_evening == 0) {
            rung.end_evening();
            rate = 1.0 / (1.0 + std::exp(-mean - trial.evening_scatter * random.normal()));
        }
        rung.add(random.chance(rate));
        if (what == Spoken::passed ? rung.passed_at() : rung.step_down_at()) return rep + 1;
    }
    return trial.reps_at_most + 1;
}

double quantile(std::vector<std::uint32_t>& values, double q) {
    const auto rank = static_cast<std::size_t>(std::ceil(q * static_cast<double>(values.size())));
    const auto place = values.begin() + static_cast<std::ptrdiff_t>(std::max<std::size_t>(rank, 1) - 1);
    std::nth_element(values.begin(), place, values.end());
    return *place;
}

}  // namespace

std::vector<std::uint32_t> reps_until(Spoken what, const RungTrial& trial, std::uint32_t athletes, std::uint64_t seed) {
    const auto rung = Rung::at(trial.mark);
    if (!rung) broken_invariant("a simulated rung has a mark that no rung can have");
    std::vector<std::uint32_t> reps;
    reps.reserve(athletes);
    for (std::uint32_t athlete = 0; athlete < athletes; ++athlete)
        reps.push_back(reps_of_one(what, trial, *rung, Random(seed, athlete)));
    return reps;
}

Share share_of(const std::vector<std::uint32_t>& reps, std::uint32_t reps_at_most) {
    const auto n = static_cast<double>(reps.size());
    const auto told = std::count_if(reps.begin(), reps.end(), [&](std::uint32_t rep) { return rep <= reps_at_most; });
    const double value = static_cast<double>(told) / n;
    const double inside = std::clamp(value, 1.0 / n, 1.0 - 1.0 / n);
    return {value, std::sqrt(inside * (1.0 - inside) / n)};
}

Quantile quantile_of(const std::vector<std::uint32_t>& reps, double q, std::uint64_t seed) {
    constexpr int samples = 200;
    Random random(seed, 0x626f6f74);
    std::vector<std::uint32_t> sample = reps;
    const double value = quantile(sample, q);
    double sum = 0, squares = 0;
    for (int s = 0; s < samples; ++s) {
        for (std::uint32_t& rep : sample) rep = reps[random.below(static_cast<std::uint32_t>(reps.size()))];
        const double drawn = quantile(sample, q);
        sum += drawn;
        squares += drawn * drawn;
    }
    const double mean = sum / samples;
    return {value, std::sqrt(std::max(0.0, squares / samples - mean * mean))};
}

}  // namespace breakstep::ladder
