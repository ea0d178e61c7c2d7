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
    ground_given_ = 0;
    return zone_moved();
}

bool LiveWatch::zone_moved() { return std::exchange(zone_, tracker_.zone()) != tracker_.zone(); }

Seen LiveWatch::edge(GateRole gate, Duration at, bool broken) {
    auto& last = last_edge_[static_cast<std::size_t>(gate)];
    if (last && at < *last) return {};
    last = at;
    if (!broken) {
        tracker_.restored(gate);
        return {};
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
        case GateRole::attack_line:
        case GateRole::low:
        case GateRole::hip:
        case GateRole::hands:
            break;
    }
    if (told.far_outward || told.back_outward) ++ground_given_;
    told.ground_given_twice = ground_given_ == 2;
    told.ground_given = tells_ground_ && (told.far_outward || told.back_outward) && !told.ground_given_twice;
    if (told.ground_given_twice) ground_given_ = 0;
    return told;
}

}  // namespace breakstep::scoring
