// A small rig after PROTOCOL.md, for tests of the link: it keeps its own account of every event it ever made, so that a
// test can tell what was lost, doubled or altered. Times are handed in; what it sends is taken out as whole frames. Its
// clock runs `rate` fast. One owner, one thread.
#pragma once

#include <algorithm>
#include <cstdint>
#include <deque>
#include <map>
#include <optional>
#include <set>
#include <span>
#include <utility>
#include <vector>

#include "core/random.hpp"
#include "core/time.hpp"
#include "wire/wire.h"

namespace breakstep::test {

struct ModelRigSettings {
    std::uint64_t board = 0xB0A4D;
    std::uint8_t major = WIRE_VERSION_MAJOR, minor = WIRE_VERSION_MINOR;
    std::uint8_t pads = 4, gates = 3, lamps = 4, syncs = 1;
    std::size_t room = 32;           ///< events kept
    double rate = 40e-6;             ///< faster than true time
    std::uint64_t first_ticks = 0;   ///< what the clock shows at power-on, to come near its 48 bits' end
    std::uint16_t first_newest = 0;  ///< as if so many events had been before
};

class ModelRig {
  public:
    using Frame = std::vector<std::uint8_t>;
    /// Of every event ever made: boot and sequence number.
    using Key = std::pair<std::uint32_t, std::uint16_t>;

    ModelRig(const ModelRigSettings& settings, std::uint64_t seed) : settings_(settings), random_(seed, 9) {}

    void power_on(HostTime now) {
        powered_ = now;
        boot_ = random_.next() | 1U;
        newest_ = settings_.first_newest;
        kept_.clear();
        acknowledged_ = newest_;
        has_leave_ = false;
        orders_.clear();
        decided_.clear();
        replies_.clear();
        lit_ = 0;
        levels_ = false;
        receiver_ = {};
        out_.clear();
        is_on_ = true;
        next_hello_ = now;
    }
    void power_off() {
        is_on_ = false;
        out_.clear();
    }
    [[nodiscard]] bool is_on() const { return is_on_; }
    [[nodiscard]] std::uint32_t boot() const { return boot_; }
    [[nodiscard]] std::uint16_t newest() const { return newest_; }
    [[nodiscard]] bool has_leave() const { return has_leave_; }
    [[nodiscard]] bool keeps(std::uint16_t sequence) const {
        return std::any_of(kept_.begin(), kept_.end(), [&](const auto& e) { return e.sequence == sequence; });
    }
    [[nodiscard]] std::uint16_t acknowledged() const { return acknowledged_; }
    [[nodiscard]] std::uint64_t ticks(HostTime now) const {
        const auto since = static_cast<double>((now - powered_).count());
        return settings_.first_ticks + static_cast<std::uint64_t>(since * (1 + settings_.rate) / 500);
    }
    /// Unwrapped, ns since boot, as a TargetTime should tell it.
    [[nodiscard]] TargetTime time(HostTime now) const {
        return {BootId{boot_}, Duration{static_cast<std::int64_t>(ticks(now)) * 500}};
    }
    /// The clock jumps forward.
    void jump(Duration by) { settings_.first_ticks += static_cast<std::uint64_t>(by.count() / 500); }

    const wire_message& strike(HostTime now, std::uint8_t pad, std::uint16_t peak, std::uint8_t echoes = 0) {
        wire_message event{};
        event.type = WIRE_PAD_HIT;
        event.as.pad_hit.pad = pad;
        event.as.pad_hit.peak = peak;
        event.as.pad_hit.echoes = echoes;
        return make(now, event);
    }
    const wire_message& gate(HostTime now, std::uint8_t gate, bool broken) {
        gates_broken_ = static_cast<std::uint8_t>(broken ? gates_broken_ | 1U << gate : gates_broken_ & ~(1U << gate));
        wire_message event{};
        event.type = broken ? WIRE_GATE_BROKEN : WIRE_GATE_RESTORED;
        event.as.gate.gate = gate;
        return make(now, event);
    }
    /// Makes an event of any kind, also one that this version of the host does not know.
    const wire_message& make(HostTime now, wire_message event) {
        event.sequence = ++newest_;
        event.time = ticks(now) & ((std::uint64_t{1} << 48U) - 1);
        all_[{boot_, event.sequence}] = event;
        made_.push_back({boot_, event.sequence});
        kept_.push_back(event);
        if (kept_.size() > settings_.room) {
            const std::uint16_t gone = kept_.front().sequence;
            if (static_cast<std::int16_t>(gone - acknowledged_) > 0) overwritten_.insert({boot_, gone});
            kept_.pop_front();
        }
        if (has_leave_) send_event(event);
        return kept_.back();
    }

    void bytes(HostTime now, std::span<const std::uint8_t> received) {
        if (!is_on_) return;
        for (const std::uint8_t byte : received) {
            wire_message message{};
            if (wire_receive(&receiver_, byte, &message) == WIRE_RECEIVED_MESSAGE) take(message, now);
        }
    }

    void due(HostTime now) {
        if (!is_on_) return;
        if (!has_leave_ && now >= next_hello_) introduce(now);
        while (!replies_.empty() && replies_.front().at <= now) {
            wire_message reply = replies_.front().message;
            replies_.pop_front();
            reply.as.ping_reply.replied = ticks(now);
            reply.as.ping_reply.newest = newest_;
            send(reply);
        }
        while (!orders_.empty() && ticks(now) >= orders_.front().at) {
            const auto order = orders_.front();
            orders_.erase(orders_.begin());
            lit_ = static_cast<std::uint8_t>((lit_ & ~order.affected) | (order.lit & order.affected));
            carried_out_.push_back(order.order);
            wire_message event{};
            event.type = WIRE_LAMPS_SET;
            event.as.lamp.order = order.order;
            event.as.lamp.lit = lit_;
            make(now, event);
        }
    }
    [[nodiscard]] std::optional<HostTime> next_due() const {
        if (!is_on_) return std::nullopt;
        std::optional<HostTime> next;
        const auto earlier = [&](HostTime time) { next = next ? std::min(*next, time) : time; };
        if (!has_leave_) earlier(next_hello_);
        if (!replies_.empty()) earlier(replies_.front().at);
        if (!orders_.empty()) {
            const auto left = static_cast<double>(orders_.front().at - settings_.first_ticks) * 500;
            earlier(powered_ + Duration{static_cast<std::int64_t>(left / (1 + settings_.rate)) + 1000});
        }
        return next;
    }
    void take_frames(std::vector<Frame>& out) {
        for (Frame& frame : out_) out.push_back(std::move(frame));
        out_.clear();
    }

    // The account.
    [[nodiscard]] const std::map<Key, wire_message>& all() const { return all_; }
    [[nodiscard]] const std::vector<Key>& made() const { return made_; }  ///< also where numbers wrapped
    [[nodiscard]] const std::set<Key>& overwritten() const { return overwritten_; }
    [[nodiscard]] const std::vector<std::uint16_t>& carried_out() const { return carried_out_; }
    [[nodiscard]] std::uint64_t orders_taken() const { return orders_taken_; }
    [[nodiscard]] std::size_t orders_waiting_max() const { return orders_waiting_max_; }
    [[nodiscard]] std::uint64_t hellos() const { return hellos_; }
    [[nodiscard]] std::uint64_t settings_asked() const { return settings_asked_; }
    /// What it answers to a setting; nullopt: nothing.
    std::optional<std::uint16_t> setting_value = 60;
    /// Sequence numbers of resends asked, in order of asking.
    [[nodiscard]] const std::vector<std::uint16_t>& resent() const { return resent_; }

    void send(const wire_message& message) {
        Frame frame(WIRE_FRAME_MAX);
        frame.resize(wire_encode_frame(&message, frame.data()));
        out_.push_back(std::move(frame));
    }
    /// A payload of the test's own making, framed and given a good CRC.
    void send_payload(std::span<const std::uint8_t> payload) {
        std::vector<std::uint8_t> plain(payload.begin(), payload.end());
        const std::uint32_t crc = wire_crc32(plain.data(), plain.size());
        for (unsigned shift = 0; shift < 32; shift += 8) plain.push_back(static_cast<std::uint8_t>(crc >> shift));
        Frame frame(plain.size() + 2);
        frame.resize(wire_cobs_encode(plain.data(), plain.size(), frame.data()));
        frame.push_back(0);
        out_.push_back(std::move(frame));
    }

  private:
    struct Reply {
        HostTime at;
        wire_message message;
    };
    using Order = decltype(wire_message{}.as.lamp_order);

    void send_event(const wire_message& event) {
        if (event.type <= WIRE_LAMP_CANCELLED) return send(event);
        // Of a newer version: head and two bytes that an older host knows nothing of.
        std::vector<std::uint8_t> payload{event.type, static_cast<std::uint8_t>(event.sequence),
                                          static_cast<std::uint8_t>(event.sequence >> 8U)};
        for (unsigned i = 0; i < 6; ++i) payload.push_back(static_cast<std::uint8_t>(event.time >> 8U * i));
        payload.push_back(1);
        payload.push_back(2);
        send_payload(payload);
    }

    void introduce(HostTime now) {
        ++hellos_;
        next_hello_ = now + 500ms;
        wire_message hello{};
        hello.type = WIRE_HELLO;
        hello.as.hello = {settings_.major, settings_.minor, settings_.board, boot_,   settings_.pads,
                          settings_.gates, settings_.lamps, settings_.syncs, newest_, oldest_kept()};
        send(hello);
        const std::uint8_t counts[] = {settings_.pads, settings_.gates, settings_.lamps, settings_.syncs};
        for (std::uint8_t kind = 0; kind < 4; ++kind) {
            for (std::uint8_t index = 0; index < counts[kind]; ++index) {
                wire_message channel{};
                channel.type = WIRE_CHANNEL;
                channel.as.channel = {static_cast<std::uint8_t>(kind + 1), index, kind == 3 ? std::uint8_t{0} : index,
                                      0, 20};
                send(channel);
            }
        }
        wire_message snapshot{};
        snapshot.type = WIRE_SNAPSHOT;
        snapshot.as.snapshot = {ticks(now) & ((std::uint64_t{1} << 48U) - 1), gates_broken_, lit_, newest_};
        send(snapshot);
    }

    [[nodiscard]] std::uint16_t oldest_kept() const {
        return kept_.empty() ? static_cast<std::uint16_t>(newest_ + 1) : kept_.front().sequence;
    }

    void take(const wire_message& message, HostTime now) {
        switch (message.type) {
            case WIRE_HELLO_REQUEST:
                levels_ = false;
                return introduce(now);
            case WIRE_PING: {
                wire_message reply{};
                reply.type = WIRE_PING_REPLY;
                reply.as.ping_reply.id = message.as.ping.id;
                reply.as.ping_reply.boot = boot_;
                reply.as.ping_reply.received = ticks(now);
                const HostTime at = now + Duration{static_cast<std::int64_t>(random_.uniform(0, 2e6))};
                replies_.push_back({replies_.empty() ? at : std::max(at, replies_.back().at), reply});
                return;
            }
            case WIRE_ACKNOWLEDGE:
                return acknowledge(message.as.acknowledge.boot, message.as.acknowledge.through);
            case WIRE_RESEND:
                return resend(message.as.resend.boot, message.as.resend.first, message.as.resend.count);
            case WIRE_LAMP_ORDER:
                return order(message.as.lamp_order, now);
            case WIRE_LAMP_CANCEL:
                return cancel(message.as.lamp_cancel.boot, message.as.lamp_cancel.order, now);
            case WIRE_SETTING_SET:
            case WIRE_SETTING_GET: {
                ++settings_asked_;
                if (!setting_value) return;
                wire_message answer{};
                answer.type = WIRE_SETTING_VALUE;
                answer.as.setting = message.as.setting;
                answer.as.setting.status = WIRE_SETTING_OK;
                if (message.type == WIRE_SETTING_GET) answer.as.setting.value = *setting_value;
                return send(answer);
            }
            case WIRE_COUNTERS_REQUEST: {
                wire_message answer{};
                answer.type = WIRE_COUNTERS;
                answer.as.counters.values[WIRE_COUNT_RESENT] = static_cast<std::uint16_t>(resent_.size());
                return send(answer);
            }
            case WIRE_LEVELS:
                levels_ = message.as.levels.on != 0;
                return;
            default:
                return;
        }
    }

    void acknowledge(std::uint32_t boot, std::uint16_t through) {
        if (boot != boot_) return;
        has_leave_ = true;
        const bool is_sane =
            static_cast<std::int16_t>(newest_ - through) >= 0 && static_cast<std::int16_t>(through - acknowledged_) > 0;
        if (!is_sane) return;
        acknowledged_ = through;
        while (!kept_.empty() && static_cast<std::int16_t>(through - kept_.front().sequence) >= 0) kept_.pop_front();
    }

    void resend(std::uint32_t boot, std::uint16_t first, std::uint8_t count) {
        if (boot != boot_ || !has_leave_ || count == 0) return;
        std::optional<std::pair<std::uint16_t, std::uint16_t>> gone;
        for (std::uint16_t i = 0; i < count; ++i) {
            const auto sequence = static_cast<std::uint16_t>(first + i);
            if (static_cast<std::int16_t>(sequence - oldest_kept()) >= 0) break;
            gone = {gone ? gone->first : sequence, sequence};
        }
        if (gone) {
            wire_message message{};
            message.type = WIRE_OVERWRITTEN;
            message.as.overwritten = {gone->first, gone->second};
            send(message);
        }
        for (const wire_message& event : kept_) {
            if (static_cast<std::uint16_t>(event.sequence - first) >= count) continue;
            resent_.push_back(event.sequence);
            send_event(event);
        }
    }

    void answer_accepted(std::uint16_t id) {
        wire_message answer{};
        answer.type = WIRE_LAMP_ACCEPTED;
        answer.as.lamp_accepted = {boot_, id};
        send(answer);
    }

    void order(const Order& order, HostTime now) {
        if (order.boot != boot_ || order.order == 0 || order.order == 65535) return;
        for (const auto& [id, was_accepted] : decided_) {
            if (id != order.order) continue;
            if (was_accepted) answer_accepted(id);
            return;
        }
        ++orders_taken_;
        const std::uint8_t reason = order.affected >> settings_.lamps != 0 ? std::uint8_t{WIRE_REFUSED_NO_LAMP}
                                    : order.at <= ticks(now)               ? std::uint8_t{WIRE_REFUSED_TOO_LATE}
                                    : orders_.size() >= 16                 ? std::uint8_t{WIRE_REFUSED_QUEUE_FULL}
                                                                           : std::uint8_t{0};
        decided_.push_back({order.order, reason == 0});
        if (decided_.size() > 32) decided_.pop_front();
        if (reason != 0) {
            wire_message event{};
            event.type = WIRE_LAMP_REFUSED;
            event.as.lamp.order = order.order;
            event.as.lamp.reason = reason;
            make(now, event);
            return;
        }
        orders_.push_back(order);
        std::stable_sort(orders_.begin(), orders_.end(), [](const Order& a, const Order& b) { return a.at < b.at; });
        orders_waiting_max_ = std::max(orders_waiting_max_, orders_.size());
        answer_accepted(order.order);
    }

    void cancel(std::uint32_t boot, std::uint16_t id, HostTime now) {
        if (boot != boot_) return;
        std::vector<std::uint16_t> hit;
        std::erase_if(orders_, [&](const Order& order) {
            const bool is_hit = id == 65535 || id == order.order;
            if (is_hit) hit.push_back(order.order);
            return is_hit;
        });
        for (const std::uint16_t order : hit) {
            wire_message event{};
            event.type = WIRE_LAMP_CANCELLED;
            event.as.lamp.order = order;
            make(now, event);
        }
    }

    ModelRigSettings settings_;
    Random random_;
    bool is_on_ = false;
    HostTime powered_{};
    std::uint32_t boot_ = 0;
    std::uint16_t newest_ = 0, acknowledged_ = 0;
    std::deque<wire_message> kept_;
    bool has_leave_ = false, levels_ = false;
    std::uint8_t gates_broken_ = 0, lit_ = 0;
    std::vector<Order> orders_;
    std::deque<std::pair<std::uint16_t, bool>> decided_;
    std::deque<Reply> replies_;
    wire_receiver receiver_{};
    HostTime next_hello_{};
    std::vector<Frame> out_;

    std::map<Key, wire_message> all_;
    std::vector<Key> made_;
    std::set<Key> overwritten_;
    std::vector<std::uint16_t> carried_out_, resent_;
    std::uint64_t orders_taken_ = 0, hellos_ = 0, settings_asked_ = 0;
    std::size_t orders_waiting_max_ = 0;
};

}  // namespace breakstep::test
