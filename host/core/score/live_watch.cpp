#include "core/score/live_watch.hpp"

#include <cstddef>
#include <utility>

namespace breakstep::scoring {

void LiveWatch::begin_boot(GateSet gates) {
    const bool tells_ground = tells_ground_;
    *this = LiveWatch{};
    tells_ground_ = tells_ground;
    tracker_.begin_boot(gates);
}

bool LiveWatch::forget() {
    tracker_.forget();
    stepped_in_.reset();
    last_entry_.reset();
    hand_since_.reset();
    pace_ = {};
    ground_given_ = 0;
    return zone_moved();
}

// Two intervals alike, then one that is not: what came before no longer tells what comes.
bool LiveWatch::changes_pace(Duration entry) {
    const auto before = std::exchange(last_entry_, entry);
    if (!before) return false;
    const Duration interval = entry - *before;
    bool changed = false;
    if (pace_[0] && pace_[1]) {
        const auto a = static_cast<double>(pace_[0]->count()), b = static_cast<double>(pace_[1]->count());
        const double now = static_cast<double>(interval.count()), mean = (a + b) / 2;
        const bool alike = a <= same_pace * b && b <= same_pace * a;
        changed = alike && (now >= other_pace * mean || now * other_pace <= mean);
    }
    pace_ = {pace_[1], interval};
    if (changed) pace_ = {};
    return changed;
}

bool LiveWatch::zone_moved() { return std::exchange(zone_, tracker_.zone()) != tracker_.zone(); }

Seen LiveWatch::edge(GateRole gate, Duration at, bool broken) {
    auto& last = last_edge_[static_cast<std::size_t>(gate)];
    if (last && at < *last) return {};
    last = at;
    if (!broken) {
        tracker_.restored(gate);
        Seen told;
        if (gate == GateRole::hands) {
            const auto since = std::exchange(hand_since_, std::nullopt);
            told.hand_hidden = since && at - *since >= hand_shown_from;
        }
        return told;
    }
    const BreakSeen seen = tracker_.broken(gate, at);
    last_mark_ = at;
    Seen told = seen.pass_began ? acts_of(gate, at, seen) : Seen{};
    told.zone_changed = zone_moved();
    return told;
}

Seen LiveWatch::contact(Duration at) {
    // A pad tells its hit some milliseconds late; a mark broken since then knows better where the athlete is.
    if (last_mark_ && at < *last_mark_) return {};
    tracker_.contact();
    Seen told;
    told.zone_changed = zone_moved();
    return told;
}

Seen LiveWatch::acts_of(GateRole gate, Duration at, const BreakSeen& seen) {
    Seen told;
    switch (gate) {
        case GateRole::near_mark:
            stepped_in_.reset();
            told.entry = seen.inward;
            told.near_outward = seen.outward;
            if (told.entry) ground_given_ = 0;
            if (told.entry) told.changed_pace = changes_pace(at);
            break;
        case GateRole::far_mark:
            told.far_inward = seen.inward;
            told.far_outward = seen.outward;
            told.stop_short = seen.outward && stepped_in_ && at - *stepped_in_ <= stop_short_limit;
            stepped_in_ = seen.inward ? std::optional(at) : std::nullopt;
            break;
        case GateRole::back_mark:
            told.back_outward = seen.outward;
            break;
        case GateRole::hands:
            told.hand_shown = true;
            hand_since_ = at;
            break;
        case GateRole::attack_line:
        case GateRole::low:
        case GateRole::hip:
        case GateRole::partner_back_mark:
            break;
    }
    if (told.far_outward || told.back_outward) ++ground_given_;
    told.ground_given_twice = ground_given_ == 2;
    told.ground_given = tells_ground_ && (told.far_outward || told.back_outward) && !told.ground_given_twice;
    if (told.ground_given_twice) ground_given_ = 0;
    return told;
}

}  // namespace breakstep::scoring
