// The line between a rig and the host, in virtual time: bytes take their time, adapters hold them back and hand them
// over in lumps, some frames are damaged, and the cable can be pulled.
//
// Pure: true times are handed in; owned by SimulatedTarget or a test; one thread; calls in order of time. The same seed
// and the same calls give the same lumps. Bytes that are under way when the cable is pulled are lost, and counted.
#pragma once

#include <cstddef>
#include <cstdint>
#include <deque>
#include <optional>
#include <span>
#include <vector>

#include "core/random.hpp"
#include "core/time.hpp"

namespace breakstep {

/// How the adapter passes bytes on.
enum class AdapterKind : std::uint8_t {
    pty,               ///< at once, but for the computer's own scheduling
    usb_cdc,           ///< within a fraction of a millisecond
    one_millisecond,   ///< both ways only at the ticks of a 1 ms frame
    latency_timer_16,  ///< to the host when 16 ms have passed or 62 bytes are together; to the rig at 1 ms ticks
};

struct LinkModelSettings {
    std::uint64_t seed = 1;
    AdapterKind adapter = AdapterKind::usb_cdc;
    Duration byte_time = 20us;  ///< 0 on a pty
    double damage_to_host = 0;  ///< share of frames damaged, 0 .. 1
    double damage_to_rig = 0;
    double stall = 0.001;  ///< share of lumps to the host that its scheduling holds back by 1 to 20 ms
};

class LinkModel {
  public:
    explicit LinkModel(const LinkModelSettings& settings);

    /// The first of these bytes is written now, or waits for those before it.
    void from_host(HostTime now, std::span<const std::uint8_t> bytes);
    void from_rig(HostTime now, std::span<const std::uint8_t> bytes);
    /// When the next lump arrives at that end.
    [[nodiscard]] std::optional<HostTime> next_to_rig() const { return next_of(to_rig_); }
    [[nodiscard]] std::optional<HostTime> next_to_host() const { return next_of(to_host_); }
    /// Moves what has arrived by `now`; to the rig one frame at a time, so that the rig stamps each at its own end.
    struct Arrival {
        HostTime at;
        std::vector<std::uint8_t> bytes;
    };
    [[nodiscard]] std::optional<Arrival> to_rig(HostTime now);
    [[nodiscard]] std::optional<Arrival> to_host(HostTime now);

    void plug(bool in);
    [[nodiscard]] bool plugged() const { return plugged_; }

    struct Counters {
        std::uint64_t damaged_to_host = 0, damaged_to_rig = 0;  ///< frames
        std::uint64_t bytes_lost = 0;                           ///< sent while unplugged, or under way then
    };
    [[nodiscard]] const Counters& counters() const { return counters_; }

  private:
    struct Direction {
        HostTime line_free{};
        std::deque<Arrival> lumps;  ///< by arrival
        bool inside_frame = false;
    };
    [[nodiscard]] static std::optional<HostTime> next_of(const Direction& direction) {
        if (direction.lumps.empty()) return std::nullopt;
        return direction.lumps.front().at;
    }
    /// Damages whole frames with the given chance; a frame given in parts is judged by its first.
    [[nodiscard]] std::vector<std::uint8_t> damaged(std::span<const std::uint8_t> bytes, double chance,
                                                    Direction& direction, std::uint64_t& counter);
    void damage_one(std::span<const std::uint8_t> frame, std::vector<std::uint8_t>& out);
    [[nodiscard]] HostTime handed_to_host(HostTime ready);
    [[nodiscard]] HostTime handed_to_line(HostTime written);

    LinkModelSettings settings_;
    Random random_;
    Direction to_rig_, to_host_;
    Counters counters_;
    bool plugged_ = true;
};

}  // namespace breakstep
