#include "core/reading/families.hpp"

#include <algorithm>
#include <cmath>

namespace breakstep::reading {

const std::array<FamilyDescription, family_count>& families() {
    static constexpr std::array<FamilyDescription, family_count> all{{
        {Family::exponential_short, Truth::unpredictable, "memoryless, 0.4 s + mean 0.3 s"},
        {Family::exponential_middle, Truth::unpredictable, "memoryless, 0.4 s + mean 0.8 s"},
        {Family::exponential_long, Truth::unpredictable, "memoryless, 0.4 s + mean 2 s"},
        {Family::lognormal_50, Truth::unpredictable, "lognormal, CV 50 %"},
        {Family::gamma_2, Truth::unpredictable, "gamma k = 2"},
        {Family::gamma_4, Truth::unpredictable, "gamma k = 4"},
        {Family::wandering, Truth::unpredictable, "lognormal, CV 50 %, mean wanders"},
        {Family::uniform, Truth::outside, "uniform 0.4 to 2.0 s"},
        {Family::shift_5, Truth::outside, "memoryless, shift 0.5 s where 0.4 s is assumed"},
        {Family::metronome_10, Truth::timeable, "metronome 0.9 s, CV 10 %"},
        {Family::human_15, Truth::timeable, "human-like 0.9 s, CV 15 %"},
        {Family::human_20, Truth::timeable, "human-like 0.9 s, CV 20 %"},
        {Family::long_short, Truth::timeable, "long-short 0.7 / 1.3 s"},
        {Family::three_beat, Truth::timeable, "three-beat 0.6 / 0.6 / 1.4 s"},
        {Family::one_beat_60, Truth::timeable, "60 % at one beat"},
        {Family::gamma_20, Truth::timeable, "gamma k = 20"},
        {Family::gamma_50, Truth::timeable, "gamma k = 50"},
        {Family::fixed_in_time, Truth::timeable, "fixed in-time 0.4 s, CV 10 %"},
        {Family::free_then_beat, Truth::timeable, "12 free entries, then a beat"},
        {Family::slow_metronome, Truth::timeable, "slow metronome 1.3 s, CV 12 %"},
        {Family::quick_long_short, Truth::timeable, "quick long-short 0.55 / 0.95 s"},
        {Family::four_beat, Truth::timeable, "four-beat 0.6 / 0.6 / 0.6 / 1.5 s"},
        {Family::drifting_beat, Truth::timeable, "beat drifting by 2 % an entry"},
    }};
    return all;
}

namespace {

constexpr std::uint64_t streams_per_drill = 64;  // room for more families without other draws for these

}  // namespace

InventedAthlete::InventedAthlete(Family family, std::uint64_t seed, std::uint64_t drill)
    : family_(family),
      random_(seed, drill * streams_per_drill + static_cast<std::uint64_t>(family)),
      phase_(random_.below(12)) {
    last_delay_ = random_.normal();
}

double InventedAthlete::human(double mean, double variation) {
    // Clock variance 0.4 and twice a motor variance of 0.3 make 1, with a lag-1 correlation of -0.3.
    const double delay = random_.normal();
    const double deviation = std::sqrt(0.4) * random_.normal() + std::sqrt(0.3) * (delay - last_delay_);
    last_delay_ = delay;
    return mean * (1.0 + variation * deviation);
}

double InventedAthlete::gamma(double shape) {
    // Marsaglia & Tsang 2000, "A simple method for generating gamma variables"; shape at least 1.
    const double d = shape - 1.0 / 3.0;
    const double c = 1.0 / std::sqrt(9.0 * d);
    for (;;) {
        const double x = random_.normal();
        const double v = std::pow(1.0 + c * x, 3.0);
        if (v > 0 && std::log1p(-random_.unit()) < 0.5 * x * x + d - d * v + d * std::log(v)) return d * v;
    }
}

double InventedAthlete::draw() {
    const std::uint64_t step = drawn_++ + phase_;
    switch (family_) {
        case Family::exponential_short:
            return 0.4 + random_.exponential(0.3);
        case Family::exponential_middle:
            return 0.4 + random_.exponential(0.8);
        case Family::exponential_long:
            return 0.4 + random_.exponential(2.0);
        case Family::lognormal_50:
            return random_.lognormal(1.2, 0.5);
        case Family::gamma_2:
            return 0.6 * gamma(2.0);
        case Family::gamma_4:
            return 0.3 * gamma(4.0);
        case Family::wandering:
            wandered_ = std::clamp(wandered_ * std::exp(0.2 * random_.normal()), 0.6, 2.4);
            return random_.lognormal(wandered_, 0.5);
        case Family::uniform:
            return random_.uniform(0.4, 2.0);
        case Family::shift_5:
            return 0.5 + random_.exponential(0.8);
        case Family::metronome_10:
            return around(0.9, 0.10);
        case Family::human_15:
            return human(0.9, 0.15);
        case Family::human_20:
            return human(0.9, 0.20);
        case Family::long_short:
            return around(step % 2 == 0 ? 0.7 : 1.3, 0.07);
        case Family::three_beat:
            return around(step % 3 == 2 ? 1.4 : 0.6, 0.07);
        case Family::one_beat_60:
            return random_.chance(0.6) ? around(0.8, 0.06) : 0.4 + random_.exponential(0.9);
        case Family::gamma_20:
            return gamma(20.0) / 20.0;
        case Family::gamma_50:
            return gamma(50.0) / 50.0;
        case Family::fixed_in_time:
            return around(0.4, 0.10);
        case Family::free_then_beat:
            return drawn_ <= 12 ? 0.4 + random_.exponential(0.8) : around(0.9, 0.06);
        case Family::slow_metronome:
            return around(1.3, 0.12);
        case Family::quick_long_short:
            return around(step % 2 == 0 ? 0.55 : 0.95, 0.09);
        case Family::four_beat:
            return around(step % 4 == 3 ? 1.5 : 0.6, 0.07);
        case Family::drifting_beat:
            return around(0.7 * std::pow(1.02, static_cast<double>(drawn_)), 0.09);
    }
    return 1.0;
}

double InventedAthlete::next() { return std::max(draw(), 0.25); }

}  // namespace breakstep::reading
