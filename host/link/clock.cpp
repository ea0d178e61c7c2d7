#include "link/clock.hpp"

#include <algorithm>

namespace breakstep {

namespace {

constexpr std::int64_t second = 1'000'000'000;

/// Crystals stay within 300 ppm of the truth; ceramic resonators may not, so the first fits allow 1 %.
constexpr double first_range = 0.01;
constexpr double settled_range = 300e-6;
/// After this span of readings the rate itself is known to well under 100 ppm on every link.
constexpr double settling_span = 5e9;
/// A rate this close to 1 is a crystal's.
constexpr double crystal_range = 200e-6;
constexpr int golden_steps = 36;
constexpr double golden_ratio = 0.6180339887498949;
/// The newest readings that must agree among themselves when older ones contradict them.
constexpr std::int64_t recent_span = 15 * second;
/// Both stamps of the rig are cut to whole ticks of 500 ns.
constexpr double tick = 500;

}  // namespace

RigClock::RigClock(bool slow_latency_timer)
    : widening_(slow_latency_timer ? 1.0 : 1.0),
      latest_(envelope::Direction::upper, second, 60),
      earliest_(envelope::Direction::lower, second, 60),
      range_(first_range) {}

void RigClock::begin(BootId boot) {
    boot_ = boot;
    latest_.clear();
    earliest_.clear();
    centre_ = 0;
    range_ = first_range;
    has_fit_ = false;
}

void RigClock::was_at_latest(TargetTime at, HostTime latest) {
    latest_.add((at - TargetTime{boot_, Duration{0}}).count(), latest.time_since_epoch().count());
}

void RigClock::was_at_earliest(TargetTime at, HostTime earliest) {
    earliest_.add((at - TargetTime{boot_, Duration{0}}).count(), earliest.time_since_epoch().count());
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

/// Within both bounds and the drift since: then the older readings were bent away (a clock being steered), and no clock
/// jumped.
bool RigClock::agrees_with_last_fit(envelope::Point reference, const Line& line) const {
    if (!has_fit_) return false;
    const std::int64_t dx = reference.x - reference_.x;
    const double expected = static_cast<double>(reference_.y - reference.y + dx) + excess_ * static_cast<double>(dx);
    const double middle = (line.upper - line.lower) / 2;
    const double difference = expected > middle ? expected - middle : middle - expected;
    return difference <= bound_at(static_cast<double>(dx)) + line.slack() / 2;
}

RigClock::Fit RigClock::fit() {
    if (latest_.empty() || earliest_.empty()) return Fit::none;
    // The host time is only a place to count from, near the line so that differences are small.
    envelope::Point reference = has_fit_ ? reference_ : latest_.newest();
    const std::int64_t newest_x = std::max(latest_.newest_x(), earliest_.newest_x());
    reference.y += newest_x - reference.x;
    reference.x = newest_x;
    const auto fit_hulls = [&] {
        latest_.hull(reference, upper_hull_);
        earliest_.hull(reference, lower_hull_);
        return widest_line();
    };
    Line line = fit_hulls();
    if (line.slack() < 0) {
        latest_.forget_before(reference.x - recent_span);
        earliest_.forget_before(reference.x - recent_span);
        if (!latest_.empty() && !earliest_.empty()) line = fit_hulls();
        if (line.slack() < 0 || !agrees_with_last_fit(reference, line)) {
            begin(boot_);
            return Fit::jumped;
        }
    }
    const std::int64_t oldest = std::max(latest_.oldest_x(), earliest_.oldest_x());
    const auto span = static_cast<double>(reference.x - oldest);
    excess_ = line.excess;
    half_slack_ = line.slack() / 2;
    reference_ = {reference.x, reference.y + envelope::rounded((line.upper - line.lower) / 2)};
    // The line's far end may be off by the bound one way while the near end is off the other way.
    rate_doubt_ = std::min(range_, 2 * half_slack_ / std::max(span, 1.0));
    has_fit_ = true;
    settle(span);
    return Fit::fitted;
}

void RigClock::settle(double span) {
    if (range_ != first_range || span < settling_span) return;
    const bool is_crystal = excess_ < crystal_range && excess_ > -crystal_range;
    centre_ = is_crystal ? 0 : excess_;
    range_ = settled_range;
}

double RigClock::bound_at(double distance) const {
    const double away = distance < 0 ? -distance : distance;
    return half_slack_ * widening_ + tick + rate_doubt_ * away + envelope::relaxation(away);
}

HostReading RigClock::host_time_from(TargetTime time) const {
    const std::int64_t dx = (time - newest()).count();
    const auto away = static_cast<double>(dx);
    return {HostTime{Duration{reference_.y + dx + envelope::rounded(excess_ * away)}},
            Uncertainty{envelope::rounded(bound_at(away))}};
}

TargetReading RigClock::target_time_from(HostTime time) const {
    const std::int64_t dy = time.time_since_epoch().count() - reference_.y;
    const auto away = static_cast<double>(dy);
    const std::int64_t correction = envelope::rounded(away * excess_ / (1 + excess_));
    return {newest() + Duration{dy - correction}, Uncertainty{envelope::rounded(bound_at(away))}};
}

Uncertainty RigClock::bound() const {
    return has_fit_ ? Uncertainty{envelope::rounded(bound_at(0))} : unknown_uncertainty;
}

}  // namespace breakstep
