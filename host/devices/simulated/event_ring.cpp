#include "devices/simulated/event_ring.hpp"

namespace breakstep {
namespace {

// Half the numbers lie behind the newest, half before it: what serial numbers that wrap can tell apart.
constexpr std::uint16_t half = 0x8000;

std::uint16_t distance(std::uint16_t from, std::uint16_t to) { return static_cast<std::uint16_t>(to - from); }

}  // namespace

const wire_message& EventRing::add(wire_message event) {
    event.sequence = ++newest_;
    if (kept_.size() == capacity_) {
        kept_.pop_front();
        ++overwritten_;
    }
    kept_.push_back(event);
    return kept_.back();
}

void EventRing::acknowledge(std::uint16_t through) {
    if (distance(through, newest_) >= half) return;  // never numbered yet
    while (!kept_.empty() && distance(kept_.front().sequence, through) < half) kept_.pop_front();
}

std::optional<EventRing::Gone> EventRing::find(std::uint16_t first, std::uint8_t count,
                                               std::vector<wire_message>& found) const {
    std::optional<Gone> gone;
    for (std::uint16_t i = 0; i < count; ++i) {
        const auto wanted = static_cast<std::uint16_t>(first + i);
        if (distance(wanted, newest_) >= half) break;
        const std::uint16_t behind = distance(wanted, newest_);
        if (behind < kept_.size()) {
            found.push_back(kept_[kept_.size() - 1U - behind]);
        } else {
            gone = gone ? Gone{gone->first, wanted} : Gone{wanted, wanted};
        }
    }
    return gone;
}

std::uint16_t EventRing::oldest_kept() const {
    return kept_.empty() ? static_cast<std::uint16_t>(newest_ + 1) : kept_.front().sequence;
}

}  // namespace breakstep
