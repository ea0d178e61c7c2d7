#include "link/clock.hpp"

#include <algorithm>
#include <array>

namespace breakstep {

namespace {

constexpr std::int64_t second = 1'000'000'000;

/// Crystals stay within 300 ppm of the truth; ceramic resonators may not, so the first fits allow 1 %.
constexpr double first_range = 0.01;
constexpr double settled_range = 300e-6;
/// The rate is settled once it is known this well; then what is still open fits into the settled range.
constexpr double settled_half_width = 100e-6;
/// A rate this close to 1 is a crystal's.
constexpr double crystal_range = 200e-6;
constexpr int golden_steps = 36;
constexpr double golden_ratio = 0.6180339887498949;
/// Halvings of a range of 1 % down to 1e-11.
constexpr int edge_steps = 30;
constexpr int spread_steps = 30;
constexpr std::size_t slices = 32;
constexpr double left_outside = 0.01;
/// When older readings contradict the newest, ever fewer of the newest are tried, down to this span.
constexpr std::int64_t least_span = second;
/// Requests are received in order; replies that overtake each other leave them this far out of order at most.
constexpr std::int64_t order_slack = 10'000'000;
/// Both stamps of the rig are cut to whole ticks of 500 ns.
constexpr double tick = 500;

/// Of all lines with one rate the share of the plane they cover: offsets from low to high, evenly.
struct Slice {
    double excess = 0, low = 0, high = 0;
    [[nodiscard]] double width() const { return high - low; }
    /// How much of it is farther than `half_width` from `middle`.
    [[nodiscard]] double outside(double middle, double half_width) const {
        const double above = std::clamp(high - (middle + half_width), 0.0, width());
        const double below = std::clamp((middle - half_width) - low, 0.0, width());
        return above + below;
    }
};

using Slices = std::array<Slice, slices>;

double offset_half_width(const Slices& lines, double middle, double whole) {
    double low = 0;
    double high = 0;
    for (const Slice& slice : lines) high = std::max({high, slice.high - middle, middle - slice.low});
    for (int step = 0; step < spread_steps; ++step) {
        const double half_width = (low + high) / 2;
        double outside = 0;
        for (const Slice& slice : lines) outside += slice.outside(middle, half_width);
        (outside > left_outside * whole ? low : high) = half_width;
    }
    return high;
}

/// The slices are taken as wholes, the outermost first, so that the half-width is rather too large.
double excess_half_width(const Slices& lines, double middle, double whole) {
    double left = left_outside * whole;
    std::size_t first = 0;
    std::size_t last = lines.size() - 1;
    const auto distance = [&](std::size_t i) {
        const double d = lines[i].excess - middle;
        return d < 0 ? -d : d;
    };
    while (first < last) {
        const std::size_t farther = distance(first) > distance(last) ? first : last;
        left -= lines[farther].width();
        if (left < 0) break;
        farther == first ? ++first : --last;
    }
    const double half_slice = (lines[1].excess - lines[0].excess) / 2;
    return std::max(distance(first), distance(last)) + half_slice;
}

}  // namespace

RigClock::RigClock()
    : latest_(envelope::Direction::upper, second, 60),
      earliest_(envelope::Direction::lower, second, 60),
      range_(first_range) {}

void RigClock::begin(BootId boot) {
    boot_ = boot;
    latest_.clear();
    earliest_.clear();
    centre_ = 0;
    range_ = first_range;
    has_fit_ = false;
    went_back_ = false;
}

void RigClock::was_at_latest(TargetTime at, HostTime latest) {
    latest_.add((at - TargetTime{boot_, Duration{0}}).count(), latest.time_since_epoch().count());
}

void RigClock::was_at_earliest(TargetTime at, HostTime earliest) {
    const std::int64_t x = (at - TargetTime{boot_, Duration{0}}).count();
    went_back_ = went_back_ || (!earliest_.empty() && x < earliest_.newest().x - order_slack);
    earliest_.add(x, earliest.time_since_epoch().count());
}

RigClock::Line RigClock::line_with(double excess) const {
    return {excess, envelope::least_distance(upper_hull_, excess), envelope::least_distance(lower_hull_, excess)};
}

RigClock::Line RigClock::widest_line() const {
    double low = centre_ - range_;
    double high = centre_ + range_;
    Line left = line_with(high - golden_ratio * (high - low));
    Line right = line_with(low + golden_ratio * (high - low));
    for (int step = 0; step < golden_steps; ++step) {
        if (left.slack() < right.slack()) {
            low = left.excess;
            left = right;
            right = line_with(low + golden_ratio * (high - low));
        } else {
            high = right.excess;
            right = left;
            left = line_with(high - golden_ratio * (high - low));
        }
    }
    return left.slack() < right.slack() ? right : left;
}

/// The last rate from `fitting` towards `limit` with which a line still fits.
double RigClock::edge(double fitting, double limit) const {
    if (line_with(limit).slack() >= 0) return limit;
    for (int step = 0; step < edge_steps; ++step) {
        const double middle = (fitting + limit) / 2;
        (line_with(middle).slack() < 0 ? limit : fitting) = middle;
    }
    return fitting;
}

RigClock::Estimate RigClock::weigh(const Line& widest) const {
    const double low = edge(widest.excess, centre_ - range_);
    const double high = edge(widest.excess, centre_ + range_);
    Slices lines{};
    double whole = 0;
    double offsets = 0;
    double excesses = 0;
    for (std::size_t i = 0; i < slices; ++i) {
        const Line line = line_with(low + (high - low) * (static_cast<double>(i) + 0.5) / slices);
        const double half = std::max(line.slack(), 0.0) / 2;
        lines[i] = {line.excess, line.middle() - half, line.middle() + half};
        whole += lines[i].width();
        offsets += lines[i].width() * line.middle();
        excesses += lines[i].width() * line.excess;
    }
    // A single line fits: nothing is open.
    if (!(whole > 0)) return {widest.middle(), widest.slack() / 2, widest.excess, (high - low) / 2};
    Estimate mean;
    mean.offset = offsets / whole;
    mean.excess = excesses / whole;
    mean.offset_half_width = offset_half_width(lines, mean.offset, whole);
    mean.excess_half_width = excess_half_width(lines, mean.excess, whole);
    return mean;
}

/// Is the line where the last fit leads to, within both bounds and any drift since? Then no clock has jumped, whatever
/// older readings say: one of the clocks is being steered.
bool RigClock::agrees_with_last_fit(envelope::Point reference, const Line& line) const {
    if (!has_fit_) return true;
    const std::int64_t dx = reference.x - reference_.x;
    const auto away = static_cast<double>(dx);
    const double expected = static_cast<double>(reference_.y - reference.y + dx) + estimate_.excess * away;
    const double difference = expected - line.middle();
    const double drift = settled_range * (away < 0 ? -away : away);
    return (difference < 0 ? -difference : difference) <= bound_at(away) + line.slack() / 2 + drift;
}

RigClock::Fit RigClock::fit() {
    if (went_back_) {
        begin(boot_);
        return Fit::jumped;
    }
    if (latest_.empty() || earliest_.empty()) return Fit::none;
    // The host time is only a place to count from, near the line so that differences are small.
    envelope::Point reference = has_fit_ ? reference_ : latest_.newest();
    const std::int64_t newest_x = std::max(latest_.newest().x, earliest_.newest().x);
    reference.y += newest_x - reference.x;
    reference.x = newest_x;
    const auto widest = [&] {
        latest_.hull(reference, upper_hull_);
        earliest_.hull(reference, lower_hull_);
        return widest_line();
    };
    Line line = widest();
    for (std::int64_t span = 32 * second; line.slack() < 0 && span >= least_span; span /= 2) {
        latest_.forget_before(reference.x - span);
        earliest_.forget_before(reference.x - span);
        if (!latest_.empty() && !earliest_.empty()) line = widest();
    }
    if (line.slack() < 0 || !agrees_with_last_fit(reference, line)) {
        begin(boot_);
        return Fit::jumped;
    }
    estimate_ = weigh(line);
    reference_ = {reference.x, reference.y + envelope::rounded(estimate_.offset)};
    has_fit_ = true;
    settle();
    return Fit::fitted;
}

void RigClock::settle() {
    if (range_ != first_range || estimate_.excess_half_width > settled_half_width) return;
    const bool is_crystal = estimate_.excess < crystal_range && estimate_.excess > -crystal_range;
    centre_ = is_crystal ? 0 : estimate_.excess;
    range_ = settled_range;
}

double RigClock::bound_at(double distance) const {
    const double away = distance < 0 ? -distance : distance;
    return estimate_.offset_half_width + tick + estimate_.excess_half_width * away + envelope::relaxation(away);
}

HostReading RigClock::host_time_from(TargetTime time) const {
    const std::int64_t dx = envelope::within_reach((time - TargetTime{boot_, Duration{0}}).count()) - reference_.x;
    const auto away = static_cast<double>(dx);
    return {HostTime{Duration{reference_.y + dx + envelope::rounded(estimate_.excess * away)}},
            Uncertainty{envelope::rounded(bound_at(away))}};
}

TargetReading RigClock::target_time_from(HostTime time) const {
    const std::int64_t dy = envelope::within_reach(time.time_since_epoch().count()) - reference_.y;
    const auto away = static_cast<double>(dy);
    const std::int64_t correction = envelope::rounded(away * estimate_.excess / (1 + estimate_.excess));
    return {newest() + Duration{dy - correction}, Uncertainty{envelope::rounded(bound_at(away))}};
}

Uncertainty RigClock::bound() const {
    return has_fit_ ? Uncertainty{envelope::rounded(bound_at(0))} : unknown_uncertainty;
}

}  // namespace breakstep
