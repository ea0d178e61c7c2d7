// What a pad's sensor gives after a blow: a straight rise to the peak, then an exponential fall, over its resting
// level, with noise. Several blows add up, and the converter ends at 1023. Plain values; single thread; cannot fail.
#pragma once

#include <cmath>
#include <cstdint>
#include <vector>

namespace board {

/// Small and the same everywhere: xorshift64* (Vigna 2016).
class Noise {
  public:
    explicit Noise(std::uint64_t seed) : state_(seed * 0x9E3779B97F4A7C15ULL + 0x2545F4914F6CDD1DULL) {
        if (state_ == 0) state_ = 1;
    }
    std::uint32_t next() {
        state_ ^= state_ >> 12;
        state_ ^= state_ << 25;
        state_ ^= state_ >> 27;
        return static_cast<std::uint32_t>((state_ * 0x2545F4914F6CDD1DULL) >> 32);
    }

  private:
    std::uint64_t state_;
};

struct Blow {
    std::uint64_t at = 0;
    double peak = 0, rise = 1, fall = 1;  ///< level, cycles, cycles

    [[nodiscard]] double level(std::uint64_t cycle) const {
        if (cycle < at) return 0;
        const auto since = static_cast<double>(cycle - at);
        return since < rise ? peak * since / rise : peak * std::exp((rise - since) / fall);
    }
    [[nodiscard]] bool faded(std::uint64_t cycle) const {
        return cycle > at && static_cast<double>(cycle - at) > rise + 12 * fall;
    }
};

class PadSignal {
  public:
    double rest = 0;
    std::uint32_t noise = 2;

    void strike(const Blow& blow) { blows_.push_back(blow); }

    std::uint32_t level(std::uint64_t cycle, Noise& noise_source) {
        std::erase_if(blows_, [cycle](const Blow& blow) { return blow.faded(cycle); });
        double sum = rest;
        for (const Blow& blow : blows_) sum += blow.level(cycle);
        if (noise != 0) sum += noise_source.next() % (noise + 1);
        return sum >= 1023 ? 1023 : static_cast<std::uint32_t>(sum);
    }

  private:
    std::vector<Blow> blows_;
};

}  // namespace board
