// A link and a rig joined by two lines in virtual time: bytes take 20 us each and some delay, frames are damaged at a
// chosen rate, the port can be pulled. Everything is seeded; nothing waits. One owner, one thread.
#pragma once

#include <algorithm>
#include <cstdint>
#include <deque>
#include <functional>
#include <optional>
#include <set>
#include <type_traits>
#include <utility>
#include <vector>

#include "core/random.hpp"
#include "link/link.hpp"
#include "support/model_rig.hpp"

namespace breakstep::test {

struct BenchSettings {
    double damage = 0;              ///< share of frames damaged, each way
    double twice = 0;               ///< share of the rig's frames that come twice
    Duration delay = 200us;         ///< mean of an exponential delay of each chunk, each way
    std::size_t chunk_max = 64;     ///< bytes handed over at once, at random up to this
    Duration commit_within = 50ms;  ///< how long the application takes to keep an event, at most
    bool commits = true;
    Duration byte_time = 20us;  ///< 0: a pty
    Duration handover{};        ///< the adapter hands bytes to the host only so often; 0: at once
};

class LinkBench {
  public:
    LinkBench(const LinkSettings& link_settings, const ModelRigSettings& rig_settings, const BenchSettings& settings,
              std::uint64_t seed)
        : link(link_settings, seed), rig(rig_settings, seed + 1), settings_(settings), random_(seed, 5) {}

    Link link;
    ModelRig rig;
    std::vector<LinkEvent> events;
    /// Whole frames of the rig's events that reached the link while it had given that boot leave through this port.
    std::set<ModelRig::Key> reached_host;
    std::size_t frames_in_10_ms_max = 0;
    std::uint64_t frames_to_rig = 0;
    /// Called with each event as the link tells it.
    std::function<void(const LinkEvent&, HostTime)> on_event;
    /// Called when all events so far have been told.
    std::function<void()> on_taken;

    [[nodiscard]] HostTime now() const { return now_; }

    void plug() {
        is_open_ = true;
        link.port_opened(now_);
        pump();
    }
    void unplug() {
        is_open_ = false;
        to_host_.clear();
        to_rig_.clear();
        reader_ = {};
        leave_seen_ = 0;
        link.port_closed(now_);
        pump();
    }
    /// The line carries nothing for a while, without the host being told.
    void set_silent(bool silent) { silent_ = silent; }
    void set_damage(double damage) { settings_.damage = damage; }
    /// Damages the next whole frame of this type from the rig.
    void damage_next(std::uint8_t type) { damage_next_ = type; }
    /// Something was done to link or rig from outside.
    void pump() {
        take_from_link();
        take_from_rig();
    }
    void run(Duration span) {
        const HostTime end = now_ + span;
        while (step(end)) {
        }
        now_ = end;
    }
    template <class Condition>
    bool run_until(Duration limit, Condition condition) {
        const HostTime end = now_ + limit;
        while (!condition()) {
            if (!step(end)) {
                now_ = end;
                return condition();
            }
        }
        return true;
    }

    template <class Event>
    [[nodiscard]] std::vector<Event> all_of() const {
        std::vector<Event> found;
        for (const LinkEvent& event : events) {
            if (const auto* one = std::get_if<Event>(&event)) found.push_back(*one);
        }
        return found;
    }

  private:
    struct Chunk {
        HostTime at;
        std::vector<std::uint8_t> bytes;
    };
    struct Commit {
        HostTime at;
        BootId boot{};
        std::uint16_t through = 0;
    };

    bool step(HostTime end) {
        std::optional<HostTime> next;
        const auto earlier = [&](const std::optional<HostTime>& time) {
            if (time && (!next || *time < *next)) next = time;
        };
        if (!to_host_.empty()) earlier(to_host_.front().at);
        if (!to_rig_.empty()) earlier(to_rig_.front().at);
        if (!commits_.empty()) earlier(commits_.front().at);
        earlier(link.next_due());
        earlier(rig.next_due());
        if (!next || *next > end) return false;
        now_ = std::max(now_, *next);
        while (!to_host_.empty() && to_host_.front().at <= now_) {
            const Chunk chunk = std::move(to_host_.front());
            to_host_.pop_front();
            note_reached(chunk.bytes);
            link.bytes(now_, chunk.bytes);
            take_from_link();
        }
        while (!to_rig_.empty() && to_rig_.front().at <= now_) {
            const Chunk chunk = std::move(to_rig_.front());
            to_rig_.pop_front();
            rig.bytes(now_, chunk.bytes);
            take_from_rig();
        }
        while (!commits_.empty() && commits_.front().at <= now_) {
            link.committed(now_, commits_.front().boot, commits_.front().through);
            commits_.pop_front();
        }
        if (rig.next_due() && *rig.next_due() <= now_) {
            rig.due(now_);
            take_from_rig();
        }
        if (link.next_due() && *link.next_due() <= now_) {
            link.due(now_);
            take_from_link();
        }
        return true;
    }

    /// The bench reads along: which undamaged events came in while their boot had leave through this port.
    void note_reached(const std::vector<std::uint8_t>& bytes) {
        for (const std::uint8_t byte : bytes) {
            wire_message message{};
            if (wire_receive(&reader_, byte, &message) != WIRE_RECEIVED_MESSAGE || !wire_is_event(message.type))
                continue;
            if (leave_seen_ != 0) reached_host.insert({leave_seen_, message.sequence});
        }
    }

    void commit(BootId boot, std::uint16_t through) {
        if (!settings_.commits) return;
        const auto delay =
            static_cast<std::int64_t>(random_.uniform(0, static_cast<double>(settings_.commit_within.count())));
        const HostTime at = now_ + Duration{delay};
        commits_.push_back({commits_.empty() ? at : std::max(at, commits_.back().at), boot, through});
    }

    void take_from_link() {
        std::vector<LinkEvent> told;
        link.take(told);
        for (LinkEvent& event : told) {
            if (const auto* connected = std::get_if<RigConnected>(&event)) {
                leave_seen_ = static_cast<std::uint32_t>(connected->boot);
            }
            std::visit(
                [&](const auto& one) {
                    if constexpr (requires { one.sequence; }) commit(one.at.boot(), one.sequence);
                    if constexpr (std::is_same_v<std::decay_t<decltype(one)>, EventsLost>) commit(one.boot, one.last);
                },
                event);
            if (on_event) on_event(event, now_);
            events.push_back(std::move(event));
        }
        if (on_taken) on_taken();
        std::vector<OutFrame> frames;
        link.drain(frames);
        for (const OutFrame& frame : frames) {
            link.sent(frame.id, now_);
            note_pace();
            ++frames_to_rig;
            carry({frame.bytes.begin(), frame.bytes.begin() + frame.size}, to_rig_, rig_line_free_);
        }
    }

    void take_from_rig() {
        std::vector<ModelRig::Frame> frames;
        rig.take_frames(frames);
        for (ModelRig::Frame& frame : frames) {
            const bool is_chosen = damage_next_ && frame.size() > 1 && frame[1] == *damage_next_;
            if (is_chosen) {
                damage_next_.reset();
                frame[frame.size() / 2] ^= 0x40U;
            }
            if (random_.chance(settings_.twice)) carry(frame, to_host_, host_line_free_);
            carry(std::move(frame), to_host_, host_line_free_);
        }
    }

    void note_pace() {
        sent_.push_back(now_);
        while (now_ - sent_.front() >= 10ms) sent_.pop_front();
        frames_in_10_ms_max = std::max(frames_in_10_ms_max, sent_.size());
    }

    void damage(std::vector<std::uint8_t>& bytes) {
        const std::size_t at = random_.below(static_cast<std::uint32_t>(bytes.size()));
        switch (random_.below(4)) {
            case 0:  // a flipped bit
                bytes[at] = static_cast<std::uint8_t>(bytes[at] ^ 1U << random_.below(8));
                return;
            case 1:  // a byte that was not fetched in time
                bytes.erase(bytes.begin() + static_cast<std::ptrdiff_t>(at));
                return;
            case 2:  // noise that looks like a byte
                bytes.insert(bytes.begin() + static_cast<std::ptrdiff_t>(at),
                             static_cast<std::uint8_t>(random_.next()));
                return;
            default:  // the rest of the frame is gone
                bytes.resize(at);
        }
    }

    void carry(std::vector<std::uint8_t> bytes, std::deque<Chunk>& line, HostTime& free) {
        if (!is_open_ || silent_) return;
        if (random_.chance(settings_.damage)) damage(bytes);
        free = std::max(free, now_);
        for (std::size_t from = 0; from < bytes.size();) {
            const std::size_t size = std::min<std::size_t>(
                bytes.size() - from, 1 + random_.below(static_cast<std::uint32_t>(settings_.chunk_max)));
            free += static_cast<std::int64_t>(size) * settings_.byte_time;
            const auto mean = static_cast<double>(settings_.delay.count());
            HostTime at = free + Duration{static_cast<std::int64_t>(random_.exponential(mean))};
            if (&line == &to_host_ && settings_.handover > Duration{}) {
                at = HostTime{(at.time_since_epoch() / settings_.handover + 1) * settings_.handover};
            }
            const auto begin = bytes.begin() + static_cast<std::ptrdiff_t>(from);
            line.push_back(
                {line.empty() ? at : std::max(at, line.back().at), {begin, begin + static_cast<std::ptrdiff_t>(size)}});
            from += size;
        }
    }

    BenchSettings settings_;
    Random random_;
    HostTime now_{1s};
    bool is_open_ = false, silent_ = false;
    std::optional<std::uint8_t> damage_next_;
    std::deque<Chunk> to_host_, to_rig_;
    HostTime host_line_free_{}, rig_line_free_{};
    std::deque<Commit> commits_;
    std::deque<HostTime> sent_;
    wire_receiver reader_{};
    std::uint32_t leave_seen_ = 0;
};

}  // namespace breakstep::test
