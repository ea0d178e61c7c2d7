#include "devices/stage/cadence.hpp"

#include <algorithm>
#include <vector>

namespace breakstep {
namespace {

/// Shorter intervals mean that presenting does not wait, or waits for a screen so fast that sixty frames a second are
/// enough for it.
constexpr Duration shortest_period{10'000'000};
constexpr Duration longest_period{45'000'000};

}  // namespace

void Cadence::presented(HostTime at, HostTime expected, bool follows_directly) {
    if (follows_directly) learn(at - last_presented_);
    last_presented_ = at;
    // Paced by ourselves, frames keep to a grid: waking up late once must not delay all that follow.
    last_ = warm() && !waits_ && at < expected + sixtieth / 2 ? expected : at;
}

void Cadence::learn(Duration interval) {
    // A stall says nothing about the screen.
    if (warm() && interval > 2 * period_) return;
    intervals_[count_ % intervals_.size()] = interval;
    ++count_;
    if (count_ == warm_up_frames) waits_ = median() >= shortest_period && median() <= longest_period;
    if (!warm() || !waits_) return;
    period_ = std::clamp(median(), shortest_period, longest_period);
    // A window that is hidden may stop waiting.
    too_early_ = interval < period_ / 2 ? too_early_ + 1 : 0;
    if (too_early_ >= 5) waits_ = false;
}

Duration Cadence::median() const {
    const std::size_t count = std::min(count_, intervals_.size());
    if (count == 0) return sixtieth;
    std::vector<Duration> sorted(intervals_.begin(), intervals_.begin() + static_cast<std::ptrdiff_t>(count));
    const auto middle = sorted.begin() + static_cast<std::ptrdiff_t>(count / 2);
    std::nth_element(sorted.begin(), middle, sorted.end());
    return *middle;
}

HostTime Cadence::expected(HostTime now) const {
    const HostTime next = last_ + period();
    if (next >= now) return next;
    if (!waits_) return now;
    // Late for that one: the next refresh of the screen after now.
    const auto missed = (now - next) / period() + 1;
    return next + missed * period();
}

}  // namespace breakstep
