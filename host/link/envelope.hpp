// One side of an envelope of clock readings: pairs (x, y) of which each says "the other clock showed y at the latest
// when this one showed x" (upper side), or "at the earliest" (lower side, kept with its sign turned, so that one code
// serves both).
//
// Only points on the lower convex hull of (x, y + curvature * x^2) can ever touch a line from below, whatever its rate
// and whatever the time from which age is counted: shifting that time adds a linear term, which moves no point onto or
// off the hull. So the hull loses nothing, and a side stays small however many readings come. It is kept in blocks of
// time, so that old readings leave by whole blocks. A reading that is left out only makes the bound wider, never wrong.
//
// Plain values, one owner, any one thread; no allocation after construction. Cannot fail.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace breakstep::envelope {

/// Integer ns on both clocks.
struct Point {
    std::int64_t x = 0, y = 0;
};

/// A point relative to a reference, in ns, with the rate of 1 and the relaxation by age taken in, so that its distance
/// from the line through the reference is y - excess * x, with excess = rate - 1. Points of a lower side are turned in
/// both axes, which keeps the line's rate.
struct LocalPoint {
    double x = 0, y = 0;
};

/// How much a reading of `age` ns is relaxed, ns: 0.025e-6 * age^2 with both in seconds. It covers the drift of two
/// crystals that warm up.
inline constexpr double relaxation_per_square = 0.025e-6 * 1e-9;
[[nodiscard]] constexpr double relaxation(double age) { return relaxation_per_square * age * age; }

enum class Direction : std::uint8_t { upper, lower };

class Side {
  public:
    /// Readings leave once they are older than `block_length` * `blocks` ns.
    Side(Direction direction, std::int64_t block_length, std::size_t blocks);

    /// Readings come in order of x; one that is not later than the newest is passed over: it arrived later and says
    /// less. So is one farther from zero than any clock goes.
    void add(std::int64_t x, std::int64_t y);
    void clear();
    /// Keeps only blocks that begin at or after `x`.
    void forget_before(std::int64_t x);

    [[nodiscard]] bool empty() const { return used_ == 0; }
    [[nodiscard]] std::int64_t oldest_x() const;
    /// The newest reading as it came, its y not turned.
    [[nodiscard]] Point newest() const { return newest_; }

    /// The hull of all blocks, relative to (x, y), in order of x.
    void hull(Point reference, std::vector<LocalPoint>& out) const;
    /// For each block the least distance of its readings from the line through `reference` with rate 1 + excess.
    void block_minima(Point reference, double excess, std::vector<double>& out) const;
    [[nodiscard]] std::size_t blocks() const { return used_; }

  private:
    /// A hull of n random points has about 2 ln n corners; a second of events at full line rate has some 16.
    static constexpr std::size_t corners_max = 32;
    struct Block {
        std::int64_t begin = 0;
        std::size_t size = 0;
        std::array<Point, corners_max> corners{};
    };
    [[nodiscard]] const Block& block(std::size_t i) const { return ring_[(first_ + i) % ring_.size()]; }
    [[nodiscard]] LocalPoint local(Point point, Point reference) const;
    void push(Block& block, Point point) const;

    Direction direction_;
    std::int64_t block_length_;
    std::vector<Block> ring_;
    std::size_t first_ = 0, used_ = 0;
    Point newest_;
};

/// The least of y - excess * x over a hull; a very large number if it is empty.
[[nodiscard]] double least_distance(const std::vector<LocalPoint>& hull, double excess);

/// The farthest from zero that a time can lie, in ns: 54 years. A difference of two differences of such times
/// still fits into 64 bits.
inline constexpr std::int64_t farthest = std::int64_t{3} << 59U;
[[nodiscard]] constexpr std::int64_t within_reach(std::int64_t time) {
    return time > farthest ? farthest : time < -farthest ? -farthest : time;
}

/// `value` to the nearest integer, halves away from zero; what lies beyond `farthest` is that.
[[nodiscard]] constexpr std::int64_t rounded(double value) {
    constexpr auto limit = static_cast<double>(farthest);
    if (!(value > -limit)) return -farthest;
    if (value > limit) return farthest;
    return static_cast<std::int64_t>(value < 0 ? value - 0.5 : value + 0.5);
}

}  // namespace breakstep::envelope
