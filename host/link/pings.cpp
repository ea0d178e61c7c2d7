#include "link/pings.hpp"

#include "link/envelope.hpp"

namespace breakstep {

namespace {

constexpr double jitter = 0.2;

}  // namespace

Pings::Pings(const PingPlan& plan, std::uint64_t seed) : plan_(plan), random_(seed, 1) {
    last_id_ = static_cast<std::uint16_t>(random_.next());
}

void Pings::begin(HostTime now) {
    next_ = now;
    burst_left_ = plan_.burst;
    quiet_ = false;
}

void Pings::stop() {
    next_.reset();
    for (Flight& flight : flights_) flight.is_open = false;
}

Duration Pings::jittered(Duration period) {
    return Duration{envelope::rounded(static_cast<double>(period.count()) * random_.uniform(1 - jitter, 1 + jitter))};
}

void Pings::made(FrameId frame, HostTime now, bool clock_is_good) {
    ++last_id_;
    flights_[last_id_ % flights_.size()] = {last_id_, frame, std::nullopt, true};
    if (burst_left_ > 0) --burst_left_;
    if (quiet_) ++quiet_pings_;
    const bool is_close = burst_left_ > 0 || !clock_is_good;
    next_ = now + jittered(quiet_ ? plan_.quiet_period : is_close ? plan_.burst_period : plan_.period);
}

void Pings::sent(FrameId frame, HostTime at) {
    for (Flight& flight : flights_) {
        if (flight.is_open && flight.frame == frame) flight.sent = at;
    }
}

std::optional<HostTime> Pings::answered(std::uint16_t id) {
    Flight& flight = flights_[id % flights_.size()];
    if (!flight.is_open || flight.id != id) return std::nullopt;
    flight.is_open = false;
    return flight.sent;
}

std::int32_t Pings::listen(HostTime now) {
    if (!quiet_) {
        quiet_ = true;
        quiet_pings_ = 0;
        next_ = now;
    }
    return quiet_pings_;
}

}  // namespace breakstep
