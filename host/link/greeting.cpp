#include "link/greeting.hpp"

#include <algorithm>

namespace breakstep {

namespace {

constexpr std::uint8_t pad_role_count = static_cast<std::uint8_t>(PadRole::low_right) + 1;

}  // namespace

ChannelMap::ChannelMap(const std::vector<Channel>& channels) {
    for (const Channel& channel : channels) {
        const auto put = [&](Roles& roles, std::uint8_t known) {
            if (channel.role < known) roles.at(channel.index) = channel.role;
        };
        switch (channel.kind) {
            case ChannelKind::pad:
                put(pads_, pad_role_count);
                break;
            case ChannelKind::gate:
                put(gates_, gate_role_count);
                break;
            case ChannelKind::lamp:
                put(lamps_, lamp_role_count);
                break;
            case ChannelKind::sync:
                has_sync_ = true;
                break;
        }
    }
}

std::optional<PadRole> ChannelMap::pad(std::uint8_t index) const {
    if (index >= pads_.size() || !pads_[index]) return std::nullopt;
    return static_cast<PadRole>(*pads_[index]);
}

std::optional<GateRole> ChannelMap::gate(std::uint8_t index) const {
    if (index >= gates_.size() || !gates_[index]) return std::nullopt;
    return static_cast<GateRole>(*gates_[index]);
}

std::uint8_t ChannelMap::turned(const Roles& roles, std::uint8_t indices) {
    unsigned bits = 0;
    for (std::size_t i = 0; i < roles.size(); ++i) {
        if (roles[i] && (indices >> i & 1U) != 0) bits |= 1U << *roles[i];
    }
    return static_cast<std::uint8_t>(bits);
}

std::uint8_t ChannelMap::lamp_indices(std::uint8_t roles) const {
    unsigned bits = 0;
    for (std::size_t i = 0; i < lamps_.size(); ++i) {
        if (lamps_[i] && (roles >> *lamps_[i] & 1U) != 0) bits |= 1U << i;
    }
    return static_cast<std::uint8_t>(bits);
}

void Greeting::take_hello(const Hello& hello) {
    const bool is_known = hello_ && hello_->board == hello.board && hello_->boot == hello.boot;
    if (!is_known) {
        for (auto& of_kind : channels_) of_kind.fill(std::nullopt);
    }
    hello_ = hello;
}

std::size_t Greeting::announced(std::size_t kind) const {
    const std::array<std::uint8_t, kinds> counts{hello_->pads, hello_->gates, hello_->lamps, hello_->syncs};
    return std::min<std::size_t>(counts.at(kind), channels_[kind].size());
}

bool Greeting::take_channel(const wire_message& message) {
    const auto& from = message.as.channel;
    const std::size_t kind = from.kind - std::size_t{1};
    if (!hello_ || kind >= kinds || from.index >= announced(kind)) return false;
    channels_[kind][from.index] =
        Channel{static_cast<ChannelKind>(from.kind), from.index, from.role, (from.flags & WIRE_CHANNEL_OPTIONAL) != 0,
                Duration{std::int64_t{from.bound_ticks} * WIRE_TICK_NS}};
    return true;
}

bool Greeting::is_whole() const {
    if (!hello_) return false;
    for (std::size_t kind = 0; kind < kinds; ++kind) {
        for (std::size_t i = 0; i < announced(kind); ++i) {
            if (!channels_[kind][i]) return false;
        }
    }
    return true;
}

std::vector<Channel> Greeting::channels() const {
    std::vector<Channel> whole;
    for (const auto& of_kind : channels_) {
        for (const auto& channel : of_kind) {
            if (channel) whole.push_back(*channel);
        }
    }
    return whole;
}

}  // namespace breakstep
