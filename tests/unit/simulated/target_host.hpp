// A small host for a SimulatedTarget in virtual time: connects, acknowledges, asks again for what is missing, and plays
// attacks on the lamps. It is no model of the real one.
#pragma once

#include <array>
#include <map>
#include <utility>
#include <vector>

#include "core/trade/lamp_code.hpp"
#include "core/trade/opponent.hpp"
#include "devices/simulated/simulated_target.hpp"
#include "rig_host.hpp"

namespace breakstep::testing {

class TargetHost {
  public:
    explicit TargetHost(const SimulatedTargetSettings& settings) : target(settings, at(0s)) {}

    void connect() {
        for (int i = 0; i < 20 && boot == 0; ++i) {
            send(message_of(WIRE_HELLO_REQUEST));
            run_for(50ms);
        }
        REQUIRE(boot != 0);
        acknowledge();
        run_for(20ms);
    }
    /// Lamps as ordered at a true time; repeated until the rig took it.
    void order(HostTime when, std::uint8_t lit) {
        wire_message message = message_of(WIRE_LAMP_ORDER);
        const std::uint64_t ticks = target.rig().clock().ticks_at(when);
        message.as.lamp_order = {boot, ++last_order, ticks, all_lamps, lit};
        for (int i = 0; i < 30 && accepted != last_order; ++i) {
            send(message);
            run_for(10ms);
        }
        CHECK(accepted == last_order);
    }
    /// Starts a set by the ready lamp and the count, then plays single kicks with waits between them.
    void play_attacks(int count, const OpponentSettings& opponent = opponent_defaults(Level::intermediate)) {
        order(now + 300ms, lamp_bit(LampRole::ready));
        run_for(4s);
        for (int k = 1; k <= 3; ++k) order(now + 700ms, count_lamps(k));
        order(now + 700ms, 0);
        run_for(1s);
        Random random(77);
        for (int i = 0; i < count; ++i) {
            HostTime border = now + 500ms + Duration(static_cast<std::int64_t>(random.exponential(1.5e9)));
            for (const AttackPhase& phase : draw_attack(opponent, AttackKind::single, 1, random)) {
                order(border, lamps_of(phase.phase));
                border += phase.length;
            }
            run_for(border - now + 700ms);
        }
    }
    void send(const wire_message& message) {
        std::array<std::uint8_t, WIRE_FRAME_MAX> frame{};
        target.host_bytes(now, {frame.data(), wire_encode_frame(&message, frame.data())});
    }
    void run_for(Duration time) {
        const HostTime end = now + time;
        while (now < end) {
            const HostTime step = std::min(end, next_poll_);
            std::optional<HostTime> next = target.next_due();
            now = next && *next < step ? std::max(now, *next) : step;
            if (look_often) {
                target.due(now);
                target.due(now);
            }
            std::vector<std::uint8_t> bytes;
            target.drain(now, bytes);
            all_bytes.insert(all_bytes.end(), bytes.begin(), bytes.end());
            for (const std::uint8_t byte : bytes) take(byte);
            if (now >= next_poll_) poll();
        }
    }

    SimulatedTarget target;
    HostTime now = at(0s);
    bool look_often = false;
    std::uint32_t boot = 0;
    std::uint16_t last_order = 0, accepted = 0;
    std::map<std::uint16_t, wire_message> events;  ///< by sequence
    std::vector<std::uint8_t> all_bytes;

  private:
    void acknowledge() {
        wire_message message = message_of(WIRE_ACKNOWLEDGE);
        message.as.acknowledge = {boot, through_};
        send(message);
    }
    void poll() {
        next_poll_ = now + 20ms;
        if (boot == 0) return;
        while (events.count(static_cast<std::uint16_t>(through_ + 1)) != 0) ++through_;
        acknowledge();
        wire_message ping = message_of(WIRE_PING);
        send(ping);
        if (newest_ == through_) return;
        wire_message resend = message_of(WIRE_RESEND);
        resend.as.resend = {boot, static_cast<std::uint16_t>(through_ + 1), 16};
        send(resend);
    }
    void take(std::uint8_t byte) {
        wire_message message{};
        if (wire_receive(&receiver_, byte, &message) != WIRE_RECEIVED_MESSAGE) return;
        if (message.type == WIRE_HELLO) boot = message.as.hello.boot;
        if (message.type == WIRE_PING_REPLY) newest_ = message.as.ping_reply.newest;
        if (message.type == WIRE_LAMP_ACCEPTED) accepted = message.as.lamp_accepted.order;
        if (wire_is_event(message.type)) events.emplace(message.sequence, message);
    }

    wire_receiver receiver_{};
    HostTime next_poll_ = at(0s);
    std::uint16_t through_ = 0, newest_ = 0;
};

}  // namespace breakstep::testing
