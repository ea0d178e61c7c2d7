// Models of the way between host and rig, for measuring how well a clock estimate works: true time is known here.
//
// Four kinds of link, after what is known of them: a USB adapter that moves bytes on 1 ms ticks both ways; a USB device
// of its own (bulk transfers, no ticks to wait for); an adapter that hands over what came in every 16 ms; a pty. On all
// of them the host stalls now and then, up to 20 ms, and the rig's crystal is up to 200 ppm off and warms up. The rig
// waits a random 0 to 2 ms before each reply, as the protocol asks. Host time is true time. Seeded; plain values.
#pragma once

#include <cmath>
#include <cstdint>
#include <string_view>
#include <vector>

#include "core/random.hpp"

namespace breakstep::test {

enum class LinkKind : std::uint8_t { ticks_both_ways, usb_device, latency_timer, pty };
inline constexpr LinkKind link_kinds[] = {LinkKind::ticks_both_ways, LinkKind::usb_device, LinkKind::latency_timer,
                                          LinkKind::pty};

inline std::string_view name_of(LinkKind kind) {
    switch (kind) {
        case LinkKind::ticks_both_ways:
            return "1 ms both ways, 250 ms";
        case LinkKind::usb_device:
            return "USB CDC, 250 ms";
        case LinkKind::latency_timer:
            return "16 ms latency timer, 100 ms";
        case LinkKind::pty:
            break;
    }
    return "pty, 250 ms";
}

/// One ping and its reply, or an event (then only `replied` and `arrived` hold). Host times in ns, with the time of the
/// bytes on the wire taken off: the request was not received before `sent`, the reply not sent after `arrived`. Rig
/// times in ns, cut to ticks.
struct Reading {
    bool is_event = false;
    double sent = 0, received = 0, replied = 0, arrived = 0;
};

/// The rig's clock against true time, both in ns.
class CrystalModel {
  public:
    explicit CrystalModel(Random& random)
        : offset_(random.uniform(1e9, 1e12)),
          rate_(random.uniform(-200e-6, 200e-6)),
          warming_(random.uniform(-5e-6, 5e-6)) {}
    /// A rate that warms up over two minutes by up to 5 ppm.
    [[nodiscard]] double rig_time(double host) const {
        return offset_ + host + rate_ * host + warming_ * (host - tau * (1 - std::exp(-host / tau)));
    }
    [[nodiscard]] double rig_ticks(double host) const { return std::floor(rig_time(host) / 500) * 500; }

  private:
    static constexpr double tau = 120e9;
    double offset_, rate_, warming_;
};

class LinkModel {
  public:
    LinkModel(LinkKind kind, Random& random)
        : kind_(kind), random_(random), tick_phase_(random.uniform(0, tick)), timer_phase_(random.uniform(0, timer)) {}

    static constexpr double ms = 1e6, us = 1e3;

    [[nodiscard]] double byte_time() const { return kind_ == LinkKind::pty ? 0 : 20 * us; }
    [[nodiscard]] double ping_period() const { return kind_ == LinkKind::latency_timer ? 100 * ms : 250 * ms; }

    /// When the first byte of a request stamped at `stamped` begins on the wire.
    double leaves_host(double stamped) {
        const double written = stamped + stall() + random_.exponential(kind_ == LinkKind::pty ? 8 * us : 20 * us);
        switch (kind_) {
            case LinkKind::ticks_both_ways:
            case LinkKind::latency_timer:
                return next(written, tick, tick_phase_);
            case LinkKind::usb_device:
                return written + 30 * us + random_.uniform(0, 125 * us);
            case LinkKind::pty:
                break;
        }
        return written + 5 * us;
    }

    /// When the host stamps a reply whose last byte came off the wire at `ended`.
    double reaches_host(double ended) {
        double handed_over = ended + 5 * us;
        switch (kind_) {
            case LinkKind::ticks_both_ways:
                handed_over = next(ended, tick, tick_phase_);
                break;
            case LinkKind::usb_device:
                handed_over = ended + 30 * us + random_.uniform(0, 125 * us);
                break;
            case LinkKind::latency_timer:
                handed_over = next(ended, timer, timer_phase_);
                break;
            case LinkKind::pty:
                break;
        }
        return handed_over + stall() + random_.exponential(kind_ == LinkKind::pty ? 8 * us : 20 * us);
    }

  private:
    static constexpr double tick = 1 * ms;
    /// The adapter's own crystal, 30 ppm off: its timer locks to nothing of the host's.
    static constexpr double timer = 16 * ms * (1 + 30e-6);

    static double next(double time, double period, double phase) {
        return std::ceil((time - phase) / period) * period + phase;
    }
    /// One wake-up in a hundred is late, evenly up to 20 ms.
    double stall() { return random_.chance(0.01) ? random_.uniform(0, 20 * ms) : 0; }

    LinkKind kind_;
    Random& random_;
    double tick_phase_, timer_phase_;
};

struct LinkTrace {
    CrystalModel crystal;
    std::vector<Reading> readings;  ///< in order of `arrived`
    double length = 0;
};

/// Pings as the link makes them: 50 about 20 ms apart, then one each period, give or take 20 %; and two events a
/// second.
inline LinkTrace link_trace(LinkKind kind, std::uint64_t seed, double length) {
    constexpr double ping_bytes = 9, reply_bytes = 27, event_bytes = 19;
    Random random(seed, 77);
    const CrystalModel crystal(random);
    LinkModel link(kind, random);
    LinkTrace trace{crystal, {}, length};
    double arrived_last = 0;
    const auto arrive = [&](double ended) {
        const double arrived = std::max(link.reaches_host(ended), arrived_last);
        arrived_last = arrived;
        return arrived;
    };
    double next_event = random.exponential(500e6);
    int pings = 0;
    for (double now = 0; now < length;) {
        for (; next_event < now; next_event += random.exponential(500e6)) {
            Reading event;
            event.is_event = true;
            event.replied = crystal.rig_ticks(next_event);
            event.arrived = arrive(next_event + event_bytes * link.byte_time()) - event_bytes * link.byte_time();
            trace.readings.push_back(event);
        }
        Reading reading;
        const double received = link.leaves_host(now) + ping_bytes * link.byte_time();
        const double replied = received + random.uniform(0, 2e6) + random.exponential(10e3);
        reading.sent = now + ping_bytes * link.byte_time();
        reading.received = crystal.rig_ticks(received);
        reading.replied = crystal.rig_ticks(replied);
        reading.arrived = arrive(replied + reply_bytes * link.byte_time()) - reply_bytes * link.byte_time();
        trace.readings.push_back(reading);
        const double period = ++pings < 50 ? 20e6 : link.ping_period();
        now = std::max(now + period * random.uniform(0.8, 1.2), arrived_last);
    }
    return trace;
}

}  // namespace breakstep::test
