// When to ping, and when each ping was sent. A burst at first, which goes on while the clock is not good: on a loaded
// computer few replies are quick, and only those tell anything. Then a slower, jittered beat that locks to nothing; a
// faster one while the rig is quiet, to tell a lost reply from a lost rig.
//
// Part of the link; its thread; the seed is handed in.
#pragma once

#include <array>
#include <cstdint>
#include <optional>

#include "core/random.hpp"
#include "core/time.hpp"
#include "link/outbox.hpp"

namespace breakstep {

struct PingPlan {
    Duration burst_period{}, period{}, quiet_period{};
    std::int32_t burst = 0;
};

class Pings {
  public:
    Pings(const PingPlan& plan, std::uint64_t seed);

    void begin(HostTime now);
    /// After the burst.
    void set_period(Duration period) { plan_.period = period; }
    void stop();
    [[nodiscard]] std::optional<HostTime> next_due() const { return next_; }
    /// True if a ping is due: then made() follows, with the frame that carries next_id(). The next one is as close as
    /// in the burst unless the clock is good.
    [[nodiscard]] bool is_due(HostTime now) const { return next_ && now >= *next_; }
    [[nodiscard]] std::uint16_t next_id() const { return static_cast<std::uint16_t>(last_id_ + 1); }
    void made(FrameId frame, HostTime now, bool clock_is_good);
    void sent(FrameId frame, HostTime at);
    /// When the ping of this id was sent; nullopt if it is not known (any more), or was answered before.
    std::optional<HostTime> answered(std::uint16_t id);

    /// Nothing has been heard for a while: pings come fast until hear(). Returns how many were made since then.
    std::int32_t listen(HostTime now);
    void hear() { quiet_ = false; }

  private:
    struct Flight {
        std::uint16_t id = 0;
        FrameId frame{};
        std::optional<HostTime> sent;
        bool is_open = false;
    };
    [[nodiscard]] Duration jittered(Duration period);

    PingPlan plan_;
    Random random_;
    std::optional<HostTime> next_;
    std::int32_t burst_left_ = 0;
    bool quiet_ = false;
    std::int32_t quiet_pings_ = 0;
    std::uint16_t last_id_ = 0;
    /// By id: 64 pings are 1.3 s at the burst's pace, more than any reply takes.
    std::array<Flight, 64> flights_{};
};

}  // namespace breakstep
