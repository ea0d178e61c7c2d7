#include "link/event_sequence.hpp"

#include <algorithm>

namespace breakstep {

namespace {

constexpr std::uint16_t after(std::uint16_t sequence) { return static_cast<std::uint16_t>(sequence + 1); }

}  // namespace

void EventSequence::begin(std::uint16_t through) {
    for (auto& event : held_) event.reset();
    ready_.clear();
    delivered_ = newest_ = through;
    forget_asks();
}

void EventSequence::forget_asks() {
    asked_through_ = delivered_;
    asked_at_.reset();
    unanswered_ = false;
}

bool EventSequence::is_held(std::uint16_t sequence) const {
    const auto& event = held_[sequence % held_max];
    return event && event->sequence == sequence;
}

EventSequence::Taken EventSequence::receive(const wire_message& event) {
    const std::int32_t ahead = sequence_distance(event.sequence, delivered_);
    if (ahead <= 0 || is_held(event.sequence)) return Taken::doubled;
    newest_is(event.sequence);
    unanswered_ = false;
    if (ahead > static_cast<std::int32_t>(held_max)) return Taken::too_far;
    slot(event.sequence) = event;
    deliver_held();
    return ahead == 1 ? Taken::in_sequence : Taken::held;
}

void EventSequence::newest_is(std::uint16_t sequence) {
    if (sequence_distance(sequence, newest_) > 0 && sequence_distance(sequence, delivered_) > 0) newest_ = sequence;
}

void EventSequence::deliver_held() {
    for (std::uint16_t next = after(delivered_); is_held(next); next = after(next)) {
        ready_.emplace_back(*slot(next));
        slot(next).reset();
        delivered_ = next;
    }
    if (sequence_distance(asked_through_, delivered_) <= 0) {
        asked_through_ = delivered_;
        asked_at_.reset();
    }
}

void EventSequence::deliver_through(std::uint16_t last) {
    while (sequence_distance(last, delivered_) > 0) {
        deliver_held();
        LostSpan hole{after(delivered_), delivered_};
        while (sequence_distance(last, hole.last) > 0 && !is_held(after(hole.last))) hole.last = after(hole.last);
        if (hole.last == delivered_) continue;
        ready_.emplace_back(hole);
        delivered_ = hole.last;
    }
    deliver_held();
}

bool EventSequence::overwritten(std::uint16_t first, std::uint16_t last) {
    const bool reaches_the_next = sequence_distance(first, after(delivered_)) <= 0;
    const bool is_missing = sequence_distance(last, delivered_) > 0 && sequence_distance(newest_, last) >= 0;
    if (!reaches_the_next || !is_missing) return false;
    unanswered_ = false;
    deliver_through(last);
    return true;
}

void EventSequence::let_go() {
    std::uint16_t last = delivered_;
    for (const auto& event : held_) {
        if (event && sequence_distance(event->sequence, last) > 0) last = event->sequence;
    }
    deliver_through(last);
}

std::optional<LostSpan> EventSequence::rest() const {
    if (sequence_distance(newest_, delivered_) <= 0) return std::nullopt;
    return LostSpan{after(delivered_), newest_};
}

void EventSequence::take(std::vector<Item>& out) {
    out.insert(out.end(), ready_.begin(), ready_.end());
    ready_.clear();
}

void EventSequence::ask(HostTime now, std::vector<Ask>& out) {
    if (sequence_distance(newest_, delivered_) <= 0) return;
    const bool again = asked_at_ && now - *asked_at_ >= repeat_;
    if (again) asked_through_ = delivered_;
    std::int32_t room = asked_max - sequence_distance(asked_through_, delivered_);
    std::uint16_t sequence = after(asked_through_);
    bool asked = false;
    for (; room > 0 && sequence_distance(newest_, sequence) >= 0; --room, sequence = after(sequence)) {
        asked_through_ = sequence;
        if (is_held(sequence)) continue;
        if (!out.empty() && asked && static_cast<std::uint16_t>(out.back().first + out.back().count) == sequence) {
            ++out.back().count;
        } else {
            out.push_back({sequence, 1});
        }
        asked = true;
    }
    if (!asked) return;
    unanswered_ = again;
    asked_at_ = now;
}

std::optional<HostTime> EventSequence::next_ask() const {
    if (sequence_distance(newest_, delivered_) <= 0 || !asked_at_) return std::nullopt;
    return *asked_at_ + repeat_;
}

}  // namespace breakstep
