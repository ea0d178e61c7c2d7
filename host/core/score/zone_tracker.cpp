#include "core/score/zone_tracker.hpp"

#include <cstddef>

namespace breakstep::scoring {
namespace {

constexpr auto near_index = static_cast<std::size_t>(GateRole::near_mark);
constexpr auto far_index = static_cast<std::size_t>(GateRole::far_mark);
constexpr auto back_index = static_cast<std::size_t>(GateRole::back_mark);

}  // namespace

void ZoneTracker::begin_boot(GateSet gates) {
    *this = ZoneTracker{};
    fitted_ = gates;
}

void ZoneTracker::forget() {
    side_.fill(Side::unknown);
    beam_.fill(Beam::unknown);
}

BreakSeen ZoneTracker::broken(GateRole gate, Duration at) {
    const auto index = static_cast<std::size_t>(gate);
    BreakSeen seen;
    seen.impossible = beam_[index] == Beam::broken || two_places(gate, at);
    seen.pass_began = !last_break_[index] || at - *last_break_[index] >= pass_window;
    beam_[index] = Beam::broken;
    last_break_[index] = at;
    if (index >= mark_count || !seen.pass_began) return seen;

    seen.inward = side_[index] == Side::outer;
    seen.outward = side_[index] == Side::inner;
    if (seen.inward) side_[index] = Side::inner;
    if (seen.outward) side_[index] = Side::outer;
    // Only the first break of a pass proves the other marks: a second leg may follow when the first is past the next.
    for (std::size_t nearer = 0; nearer < index; ++nearer) side_[nearer] = Side::outer;
    for (std::size_t farther = index + 1; farther < mark_count; ++farther) side_[farther] = Side::inner;
    return seen;
}

void ZoneTracker::restored(GateRole gate) { beam_[static_cast<std::size_t>(gate)] = Beam::whole; }

void ZoneTracker::contact() { side_.fill(Side::inner); }

bool ZoneTracker::two_places(GateRole gate, Duration at) const {
    const auto close_to = [&](std::size_t other) {
        return last_break_[other] && at - *last_break_[other] <= two_places_window;
    };
    return (gate == GateRole::near_mark && close_to(back_index)) ||
           (gate == GateRole::back_mark && close_to(near_index));
}

Zone ZoneTracker::zone() const {
    const auto fitted = [this](GateRole role) { return (fitted_ & gate_bit(role)) != 0; };
    if (fitted(GateRole::near_mark) && side_[near_index] == Side::inner) return Zone::inside;
    if (fitted(GateRole::far_mark) && side_[far_index] == Side::outer)
        return fitted(GateRole::back_mark) && side_[back_index] == Side::outer ? Zone::back : Zone::beyond;
    const bool not_beyond = !fitted(GateRole::far_mark) || side_[far_index] == Side::inner;
    if (fitted(GateRole::near_mark) && side_[near_index] == Side::outer && not_beyond) return Zone::between;
    return Zone::unknown;
}

}  // namespace breakstep::scoring
