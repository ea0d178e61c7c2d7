// The rig's account of itself: hello, its channels, collected until the list is whole, whatever frames were lost
// between.
//
// Part of the link; its thread.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "core/journal/events.hpp"
#include "wire/wire.h"

namespace breakstep {

/// Which role each channel has, both ways. Roles that this program does not know are left out.
class ChannelMap {
  public:
    ChannelMap() = default;
    explicit ChannelMap(const std::vector<Channel>& channels);

    [[nodiscard]] std::optional<PadRole> pad(std::uint8_t index) const;
    [[nodiscard]] std::optional<GateRole> gate(std::uint8_t index) const;
    [[nodiscard]] bool has_sync() const { return has_sync_; }
    /// Bits by channel index to bits by role; unknown ones are left out.
    [[nodiscard]] std::uint8_t pad_roles(std::uint8_t indices) const { return turned(pads_, indices); }
    [[nodiscard]] std::uint8_t lamp_roles(std::uint8_t indices) const { return turned(lamps_, indices); }
    /// Bits by role to bits by channel index.
    [[nodiscard]] std::uint8_t lamp_indices(std::uint8_t roles) const;

  private:
    using Roles = std::array<std::optional<std::uint8_t>, 8>;
    [[nodiscard]] static std::uint8_t turned(const Roles& roles, std::uint8_t indices);
    Roles pads_{}, gates_{}, lamps_{};
    bool has_sync_ = false;
};

class Greeting {
  public:
    using Hello = decltype(wire_message{}.as.hello);

    void forget() { hello_.reset(); }
    /// A hello of another board or boot than the last one begins a new list.
    void take_hello(const Hello& hello);
    /// False if there was no hello, or the channel is none that it announced.
    bool take_channel(const wire_message& message);

    [[nodiscard]] const std::optional<Hello>& hello() const { return hello_; }
    [[nodiscard]] bool is_whole() const;
    /// Pads, gates, lamps, syncs, each by index. Those with a role unknown here are kept as they are.
    [[nodiscard]] std::vector<Channel> channels() const;

  private:
    static constexpr std::size_t kinds = 4;
    [[nodiscard]] std::size_t announced(std::size_t kind) const;

    std::optional<Hello> hello_;
    std::array<std::array<std::optional<Channel>, 8>, kinds> channels_{};
};

}  // namespace breakstep
