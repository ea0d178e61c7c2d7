#include "link/envelope.hpp"

#include <algorithm>

namespace breakstep::envelope {

namespace {

/// Is `middle` on or above the line from `left` to `right`? Then no line from below touches it alone.
bool is_hidden(LocalPoint left, LocalPoint middle, LocalPoint right) {
    return (middle.y - left.y) * (right.x - left.x) >= (right.y - left.y) * (middle.x - left.x);
}

}  // namespace

Side::Side(Direction direction, std::int64_t block_length, std::size_t blocks)
    : direction_(direction), block_length_(block_length), ring_(blocks + 1) {}

LocalPoint Side::local(Point point, Point reference) const {
    const std::int64_t dx = point.x - reference.x;
    const std::int64_t from_rate_one = (point.y - reference.y) - dx;
    const auto x = static_cast<double>(dx);
    const double y = static_cast<double>(direction_ == Direction::upper ? from_rate_one : -from_rate_one);
    return {direction_ == Direction::upper ? x : -x, y + relaxation(x)};
}

void Side::push(Block& block, Point point) const {
    const Point reference = block.corners[0];
    while (block.size >= 2) {
        LocalPoint left = local(block.corners[block.size - 2], reference);
        LocalPoint middle = local(block.corners[block.size - 1], reference);
        LocalPoint right = local(point, reference);
        if (direction_ == Direction::lower) std::swap(left, right);
        if (!is_hidden(left, middle, right)) break;
        --block.size;
    }
    if (block.size < corners_max) block.corners[block.size++] = point;
}

void Side::add(std::int64_t x, std::int64_t y) {
    if (x != within_reach(x) || y != within_reach(y)) return;
    if (used_ > 0 && x <= newest_.x) return;
    newest_ = {x, y};
    if (used_ == 0 || x - block(used_ - 1).begin >= block_length_) {
        if (used_ == ring_.size()) {
            first_ = (first_ + 1) % ring_.size();
            --used_;
        }
        Block& fresh = ring_[(first_ + used_++) % ring_.size()];
        fresh.begin = x;
        fresh.size = 0;
        forget_before(x - block_length_ * static_cast<std::int64_t>(ring_.size()));
    }
    push(ring_[(first_ + used_ - 1) % ring_.size()], {x, y});
}

void Side::clear() { used_ = 0; }

void Side::forget_before(std::int64_t x) {
    while (used_ > 0 && block(0).begin < x) {
        first_ = (first_ + 1) % ring_.size();
        --used_;
    }
}

std::int64_t Side::oldest_x() const { return block(0).begin; }

void Side::hull(Point reference, std::vector<LocalPoint>& out) const {
    out.clear();
    for (std::size_t i = 0; i < used_; ++i) {
        const Block& from = block(i);
        for (std::size_t corner = 0; corner < from.size; ++corner) {
            const LocalPoint point = local(from.corners[corner], reference);
            while (out.size() >= 2) {
                const LocalPoint left = out[out.size() - 2];
                const bool hidden = direction_ == Direction::upper ? is_hidden(left, out.back(), point)
                                                                   : is_hidden(point, out.back(), left);
                if (!hidden) break;
                out.pop_back();
            }
            out.push_back(point);
        }
    }
}

void Side::block_minima(Point reference, double excess, std::vector<double>& out) const {
    out.clear();
    for (std::size_t i = 0; i < used_; ++i) {
        const Block& from = block(i);
        double least = 1e300;
        for (std::size_t corner = 0; corner < from.size; ++corner) {
            const LocalPoint point = local(from.corners[corner], reference);
            least = std::min(least, point.y - excess * point.x);
        }
        out.push_back(least);
    }
}

double least_distance(const std::vector<LocalPoint>& hull, double excess) {
    double least = 1e300;
    for (const LocalPoint& point : hull) least = std::min(least, point.y - excess * point.x);
    return least;
}

}  // namespace breakstep::envelope
