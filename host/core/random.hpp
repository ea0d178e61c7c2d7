// Our own random numbers: the same seed gives the same draws with every compiler and library, which std's
// distributions do not promise. PCG32 (O'Neill 2014, "PCG: A Family of Simple Fast Space-Efficient Statistically Good
// Algorithms for Random Number Generation", HMC-CS-2014-0905; XSH-RR variant).
// A value; owned by whoever draws; not shared between threads. Draws use + - * / and our own log only where noted.
#pragma once

#include <cstdint>
#include <utility>

namespace breakstep {

/// Where a generator stands, so that its draws can go on in another process.
struct RandomState {
    std::uint64_t state = 0, increment = 1;
    double kept_normal = 0;
    bool has_kept_normal = false;
    template <class Archive>
    void fields(Archive& archive) {
        archive(state, increment, kept_normal, has_kept_normal);
    }
    bool operator==(const RandomState&) const = default;
};

class Random {
  public:
    /// `stream` separates generators that share a seed (0 .. 2^63 - 1).
    explicit Random(std::uint64_t seed, std::uint64_t stream = 0);
    /// Goes on where another one stood.
    explicit Random(const RandomState& at)
        : state_(at.state),
          increment_(at.increment),
          kept_normal_(at.kept_normal),
          has_kept_normal_(at.has_kept_normal) {}
    [[nodiscard]] RandomState state() const { return {state_, increment_, kept_normal_, has_kept_normal_}; }

    [[nodiscard]] std::uint32_t next();
    /// Uniform in [0, bound), without bias; bound at least 1.
    [[nodiscard]] std::uint32_t below(std::uint32_t bound);
    /// Uniform in [0, 1), 53 bits.
    [[nodiscard]] double unit();
    [[nodiscard]] double uniform(double low, double high) { return low + (high - low) * unit(); }
    /// Exponential of the given mean.
    [[nodiscard]] double exponential(double mean);
    /// Standard normal (Box-Muller, the second of the pair is kept for the next call).
    [[nodiscard]] double normal();
    /// Lognormal with the given mean and coefficient of variation (0 gives the mean itself).
    [[nodiscard]] double lognormal(double mean, double coefficient_of_variation);
    [[nodiscard]] bool chance(double probability) { return unit() < probability; }

    /// Fisher-Yates, in place.
    template <class Container>
    void shuffle(Container& items) {
        for (auto i = static_cast<std::uint32_t>(items.size()); i > 1; --i) {
            using std::swap;
            swap(items[i - 1], items[below(i)]);
        }
    }

  private:
    std::uint64_t state_ = 0;
    std::uint64_t increment_;
    double kept_normal_ = 0;
    bool has_kept_normal_ = false;
};

}  // namespace breakstep
