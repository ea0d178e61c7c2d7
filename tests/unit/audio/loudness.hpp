// Loudness as a sound level meter reads it: A-weighted, time weighting "fast" (125 ms), the highest reading
// (IEC 61672-1: A from the poles 20.6, 107.7, 737.9 and 12194 Hz and four zeros at 0; from memory).
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <vector>

namespace loudness {

class OnePole {
  public:
    OnePole(double corner_hz, bool high_pass) : high_pass_(high_pass) {
        const double k = std::tan(3.14159265358979323846 * corner_hz / 48000.0);
        pole_ = (1 - k) / (1 + k);
        gain_ = high_pass ? 1 / (1 + k) : k / (1 + k);
    }
    double operator()(double x) {
        const double y = gain_ * (high_pass_ ? x - last_x_ : x + last_x_) + pole_ * last_y_;
        last_x_ = x;
        last_y_ = y;
        return y;
    }

  private:
    bool high_pass_;
    double pole_, gain_, last_x_ = 0, last_y_ = 0;
};

/// The highest reading in dB below a full-scale sine of 1 kHz.
inline double highest_fast_level(const std::vector<std::int16_t>& samples, double pitch_of_reference = 0) {
    (void)pitch_of_reference;
    std::vector<OnePole> filter{{20.598997, true}, {20.598997, true},  {107.65265, true},
                                {737.86223, true}, {12194.217, false}, {12194.217, false}};
    constexpr double gain_at_1_khz = 1.258925;  // +2.0 dB makes the curve 0 dB at 1 kHz
    double power = 0;
    double highest = 1e-12;
    const double step = 1 - std::exp(-1.0 / (0.125 * 48000));
    for (const std::int16_t sample : samples) {
        double value = sample / 32767.0 * gain_at_1_khz;
        for (OnePole& pole : filter) value = pole(value);
        power += step * (value * value - power);
        highest = std::max(highest, power);
    }
    return 10 * std::log10(highest * 2);
}

}  // namespace loudness
