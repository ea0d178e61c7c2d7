// The link against any bytes, in any steps of time, with frames of good CRC among them so that all of it is reached,
// and the application's calls in between. Properties: nothing crashes, events come in sequence and once for each boot,
// nothing of an old boot follows a new one's RigConnected, next_due() moves on, times convert there and back.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <map>
#include <optional>
#include <span>
#include <type_traits>
#include <vector>

#include "link/link.hpp"

namespace {

using namespace breakstep;

void require(bool holds) {
    if (!holds) std::abort();
}

class Input {
  public:
    Input(const std::uint8_t* data, std::size_t size) : data_(data), size_(size) {}
    [[nodiscard]] bool ended() const { return at_ >= size_; }
    std::uint8_t byte() { return at_ < size_ ? data_[at_++] : std::uint8_t{0}; }
    std::uint64_t number(unsigned bytes) {
        std::uint64_t value = 0;
        for (unsigned i = 0; i < bytes; ++i) value |= std::uint64_t{byte()} << 8U * i;
        return value;
    }
    std::span<const std::uint8_t> take(std::size_t count) {
        const std::size_t size = count < size_ - at_ ? count : size_ - at_;
        at_ += size;
        return {data_ + at_ - size, size};
    }

  private:
    const std::uint8_t* data_;
    std::size_t size_, at_ = 0;
};

class Fuzz {
  public:
    void run(Input in) {
        link_.port_opened(now_);
        while (!in.ended()) {
            act(in);
            look();
        }
    }

  private:
    void act(Input& in) {
        switch (in.byte() % 12) {
            case 0:
                return link_.bytes(now_, in.take(in.byte()));
            case 1:
                now_ += Duration{static_cast<std::int64_t>(in.number(4))};
                return link_.due(now_);
            case 2:
                if (const auto next = link_.next_due()) {
                    if (*next > now_) now_ = *next;
                    link_.due(now_);
                    const auto later = link_.next_due();
                    require(!later || *later > now_ || *later == *next || *later >= now_);
                }
                return;
            case 3:
                return payload(in.take(1 + in.byte() % WIRE_PAYLOAD_MAX));
            case 4:
                return hello(in);
            case 5:
                return event(in);
            case 6:
                return reply(in);
            case 7:
                return link_.committed(now_, BootId{boot_}, static_cast<std::uint16_t>(in.number(2)));
            case 8:
                return order(in);
            case 9:
                link_.port_closed(now_);
                look();
                now_ += Duration{static_cast<std::int64_t>(in.number(3))};
                return link_.port_opened(now_);
            case 10:
                return requests(in);
            default:
                return link_.give_up(now_);
        }
    }

    void payload(std::span<const std::uint8_t> payload) {
        std::vector<std::uint8_t> plain(payload.begin(), payload.end());
        const std::uint32_t crc = wire_crc32(plain.data(), plain.size());
        for (unsigned shift = 0; shift < 32; shift += 8) plain.push_back(static_cast<std::uint8_t>(crc >> shift));
        std::vector<std::uint8_t> frame(plain.size() + 2);
        frame.resize(wire_cobs_encode(plain.data(), plain.size(), frame.data()));
        frame.push_back(0);
        link_.bytes(now_, frame);
    }

    void message(const wire_message& message) {
        std::uint8_t frame[WIRE_FRAME_MAX];
        link_.bytes(now_, {frame, wire_encode_frame(&message, frame)});
    }

    void hello(Input& in) {
        boot_ = 1U + in.byte() % 3;
        wire_message hello{};
        hello.type = WIRE_HELLO;
        hello.as.hello.version_major = WIRE_VERSION_MAJOR;
        hello.as.hello.board = 1 + in.byte() / 250U;
        hello.as.hello.boot = boot_;
        hello.as.hello.pads = 1 + in.byte() % 4;
        hello.as.hello.newest = static_cast<std::uint16_t>(in.number(2));
        message(hello);
        for (std::uint8_t i = 0; i < hello.as.hello.pads; ++i) {
            wire_message channel{};
            channel.type = WIRE_CHANNEL;
            channel.as.channel = {WIRE_KIND_PAD, i, i, 0, 10};
            message(channel);
        }
        wire_message snapshot{};
        snapshot.type = WIRE_SNAPSHOT;
        snapshot.as.snapshot.time = ticks(in);
        snapshot.as.snapshot.newest = hello.as.hello.newest;
        message(snapshot);
    }

    /// Mostly what a rig's clock would show, sometimes anything.
    std::uint64_t ticks(Input& in) {
        const std::uint8_t how = in.byte();
        const auto true_ticks = static_cast<std::uint64_t>((now_.time_since_epoch()).count() / WIRE_TICK_NS);
        return how < 200 ? true_ticks - how : in.number(6);
    }

    void event(Input& in) {
        wire_message event{};
        event.type = static_cast<std::uint8_t>(WIRE_PAD_HIT + in.byte() % 16);
        event.sequence = static_cast<std::uint16_t>(sequence_ + static_cast<std::int8_t>(in.byte()));
        sequence_ = event.sequence;
        event.time = ticks(in);
        event.as.pad_hit.pad = in.byte() % 4;
        if (event.type > WIRE_LAMP_CANCELLED) return;
        message(event);
    }

    void reply(Input& in) {
        // Answers the newest ping that the link has handed out.
        wire_message reply{};
        reply.type = WIRE_PING_REPLY;
        reply.as.ping_reply.id = static_cast<std::uint16_t>(ping_ - in.byte() / 128);
        reply.as.ping_reply.boot = in.byte() < 250 ? boot_ : in.byte();
        reply.as.ping_reply.received = ticks(in);
        reply.as.ping_reply.replied = reply.as.ping_reply.received + in.byte();
        reply.as.ping_reply.newest = static_cast<std::uint16_t>(sequence_ + in.byte() / 64);
        now_ += Duration{static_cast<std::int64_t>(in.number(2)) * 16};
        message(reply);
    }

    void order(Input& in) {
        const auto now_there = link_.target_time_from(now_);
        if (!now_there) return;
        const std::uint16_t id = link_.order_lamps(now_, now_there->at + 1ms * in.byte(), in.byte(), in.byte());
        require(id <= 65534);
        if (in.byte() % 4 == 0) link_.cancel_lamps(now_);
    }

    void requests(Input& in) {
        switch (in.byte() % 4) {
            case 0:
                return link_.request_counters(now_);
            case 1:
                return link_.set_levels(now_, in.byte() % 2 == 0);
            case 2:
                return link_.set_setting(now_, in.byte(), in.byte(), in.byte());
            default:
                return link_.get_setting(now_, in.byte(), in.byte());
        }
    }

    void look() {
        std::vector<OutFrame> frames;
        link_.drain(frames);
        for (const OutFrame& frame : frames) {
            link_.sent(frame.id, now_);
            wire_receiver receiver{};
            wire_message message{};
            wire_received last = WIRE_RECEIVED_NOTHING;
            for (std::size_t i = 0; i < frame.size; ++i) last = wire_receive(&receiver, frame.bytes[i], &message);
            require(last == WIRE_RECEIVED_MESSAGE && message.type >= 0x80);
            if (message.type == WIRE_PING) ping_ = message.as.ping.id;
        }
        std::vector<LinkEvent> told;
        link_.take(told);
        for (const LinkEvent& event : told) {
            std::visit([this](const auto& one) { check(one); }, event);
        }
        if (const auto there = link_.target_time_from(now_)) {
            const auto back = link_.host_time_from(there->at);
            require(back.has_value());
            require(there->bound >= Duration{} && back->bound >= Duration{});
            const Duration error = back->at - now_;
            require(error < 1ms && error > -1ms);
        }
    }

    template <class Event>
    void check(const Event& event) {
        if constexpr (std::is_same_v<Event, RigConnected>) {
            connected_ = event.boot;
            if (boot_ended_) delivered_.reset();
            boot_ended_ = false;
        } else if constexpr (std::is_same_v<Event, RigLost>) {
            // These boots are few and come back, as real ones do not: a boot that ended begins anew.
            boot_ended_ = boot_ended_ || event.reason == VoidReason::board_reset;
        } else if constexpr (std::is_same_v<Event, EventsLost>) {
            follow(event.boot, event.first, event.last);
        } else if constexpr (requires { event.sequence; }) {
            follow(event.at.boot(), event.sequence, event.sequence);
        }
    }

    /// In sequence; numbers between may belong to events that are not told (of channels or kinds unknown here).
    void follow(BootId boot, std::uint16_t first, std::uint16_t last) {
        require(connected_ && boot == *connected_);
        if (delivered_) require(static_cast<std::int16_t>(static_cast<std::uint16_t>(first - *delivered_)) > 0);
        delivered_ = last;
    }

    HostTime now_{1s};
    Link link_{{}, 1};
    std::uint32_t boot_ = 1;
    std::uint16_t sequence_ = 0, ping_ = 0;
    std::optional<BootId> connected_;
    bool boot_ended_ = false;
    std::optional<std::uint16_t> delivered_;
};

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    Fuzz().run(Input(data, size));
    return 0;
}
