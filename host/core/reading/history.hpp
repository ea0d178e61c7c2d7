// The last intervals of one clock, and their logarithms, in a fixed ring: what the accounts of the tempo test look back
// on. Nothing is allocated. Owned by one TempoTest; one thread; cannot fail.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace breakstep::reading {

class IntervalHistory {
  public:
    /// How many past intervals the nearest-neighbour account compares with.
    static constexpr std::size_t looked_back = 256;

    /// `interval` in seconds, above 0; `observed` is false for an imputed one.
    void add(double interval, double logarithm, bool observed);

    /// All that were ever added.
    [[nodiscard]] std::uint64_t size() const { return size_; }
    /// The interval `back` steps ago (1 is the last one); `back` is at most size() and kept().
    [[nodiscard]] double interval(std::size_t back) const { return intervals_[slot(back)]; }
    [[nodiscard]] double logarithm(std::size_t back) const { return logarithms_[slot(back)]; }
    [[nodiscard]] bool observed(std::size_t back) const { return observed_[slot(back)]; }
    /// How many can still be asked for.
    [[nodiscard]] std::size_t kept() const { return size_ < kept_max ? static_cast<std::size_t>(size_) : kept_max; }

    /// Median of the last `count` intervals that lie `stride` steps apart, the last of them `stride` steps ago; an even
    /// count gives the mean of the middle two. 1 <= count <= 8.
    [[nodiscard]] double median(std::size_t count, std::size_t stride) const;
    /// Median of the observed intervals still kept that are longer than `threshold`; 0 if there is none.
    [[nodiscard]] double median_above(double threshold) const;
    /// Median of what followed the three pasts nearest (L1) to the last two logarithms, or of as many as there are;
    /// equal distances go to the older. Needs size() >= 3.
    [[nodiscard]] double median_after_nearest() const;

  private:
    static constexpr std::size_t kept_max = 512;  // a power of two that holds looked_back and the pasts of the oldest
    [[nodiscard]] std::size_t slot(std::size_t back) const {
        return static_cast<std::size_t>(size_ - back) & (kept_max - 1);
    }

    std::uint64_t size_ = 0;
    std::array<double, kept_max> intervals_{};
    std::array<double, kept_max> logarithms_{};
    std::array<bool, kept_max> observed_{};
};

}  // namespace breakstep::reading
