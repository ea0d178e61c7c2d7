#include "core/score/rig_log.hpp"

#include <algorithm>

namespace breakstep::scoring {
namespace {

// Far above any real stretch (a minute of steady stepping is some hundred edges), far below any memory that matters.
constexpr std::size_t most_items = 4096;
constexpr std::size_t most_hits = 2048;
constexpr std::size_t most_facts = 4096;

// Sequence numbers wrap at 16 bits; within one stamp they are close together.
bool earlier(Duration at, std::uint16_t sequence, Duration other_at, std::uint16_t other_sequence) {
    if (at != other_at) return at < other_at;
    return static_cast<std::int16_t>(sequence - other_sequence) < 0;
}

// Nearly always appends: the link delivers in sequence, and only a pad's peak window can delay an event past the next.
template <class Stamped>
void insert_by_stamp(std::vector<Stamped>& log, const Stamped& item) {
    auto place = log.end();
    while (place != log.begin() && earlier(item.at, item.sequence, (place - 1)->at, (place - 1)->sequence)) --place;
    log.insert(place, item);
}

template <class Fact>
void note(std::vector<Fact>& facts, const Fact& fact) {
    if (facts.size() == most_facts) facts.erase(facts.begin(), facts.begin() + most_facts / 2);
    facts.push_back(fact);
}

void drop_before(std::vector<Duration>& times, Duration begin) {
    std::erase_if(times, [begin](Duration at) { return at < begin; });
}

}  // namespace

Zone Stretch::zone_at(Duration at) const {
    Zone zone = Zone::unknown;
    for (const ZoneAt& change : zones) {
        if (change.from > at) break;
        zone = change.zone;
    }
    return zone;
}

bool Stretch::inside_during(Duration from, Duration to) const {
    if (to <= from) return false;
    if (zone_at(from) == Zone::inside) return true;
    return std::any_of(zones.begin(), zones.end(), [&](const ZoneAt& change) {
        return change.zone == Zone::inside && change.from >= from && change.from < to;
    });
}

Duration Stretch::time_between() const {
    Duration total{};
    for (std::size_t i = 0; i < zones.size(); ++i)
        if (zones[i].zone == Zone::between) total += (i + 1 < zones.size() ? zones[i + 1].from : end) - zones[i].from;
    return total;
}

Duration Stretch::time_known() const {
    Duration total{};
    for (std::size_t i = 0; i < zones.size(); ++i)
        if (zones[i].zone != Zone::unknown) total += (i + 1 < zones.size() ? zones[i + 1].from : end) - zones[i].from;
    return total;
}

void RigLog::begin_boot(GateSet gates) {
    hits_.clear();
    items_.clear();
    gates_ = gates;
    tracker_.begin_boot(gates);
    stretch_ = {};
}

void RigLog::add_hit(const Contact& hit) {
    if (hits_.size() == most_hits) {
        // The first decides a rep, the newest are being added; what lies between is no more than a later contact.
        constexpr std::ptrdiff_t kept_first = 8, pushed = most_hits / 2;
        hits_.erase(hits_.begin() + kept_first, hits_.begin() + kept_first + pushed);
        pushed_out_ += static_cast<std::int32_t>(pushed);
    }
    insert_by_stamp(hits_, hit);
    add({hit.at, hit.sequence, What::contact, {}});
}

void RigLog::add_edge(Duration at, std::uint16_t sequence, GateRole gate, bool broken) {
    add({at, sequence, broken ? What::broken : What::restored, gate});
}

void RigLog::add_forgetting(Duration at, std::uint16_t sequence) { add({at, sequence, What::forgetting, {}}); }

void RigLog::add(const Item& item) {
    if (items_.size() == most_items) advance(items_[most_items / 2].at);
    // All of one stamp: nothing to tell apart by time, so the older half goes by sequence.
    if (items_.size() == most_items) {
        for (std::size_t i = 0; i < most_items / 2; ++i) follow(items_[i]);
        items_.erase(items_.begin(), items_.begin() + most_items / 2);
    }
    insert_by_stamp(items_, item);
}

// How many hits they were.
std::size_t RigLog::merge_contacts(Duration limit, std::vector<Contact>& out) const {
    std::size_t next = 0;
    while (next < hits_.size() && hits_[next].at < limit) {
        Contact merged = hits_[next];
        PadSet pads = pad_bit(merged.pad);
        for (++next; next < hits_.size(); ++next) {
            const Contact& hit = hits_[next];
            if (hit.at - merged.at > merge_window || (pads & pad_bit(hit.pad)) != 0) break;
            pads |= pad_bit(hit.pad);
            if (hit.peak > merged.peak) {
                merged.peak = hit.peak;
                merged.pad = hit.pad;
            }
        }
        out.push_back(merged);
    }
    return next;
}

void RigLog::take_contacts(Duration limit, std::vector<Contact>& out) {
    const std::size_t taken = merge_contacts(limit, out);
    hits_.erase(hits_.begin(), hits_.begin() + static_cast<std::ptrdiff_t>(taken));
}

void RigLog::see_contacts(Duration limit, std::vector<Contact>& out) const { (void)merge_contacts(limit, out); }

void RigLog::advance(Duration end) {
    std::size_t next = 0;
    while (next < items_.size() && items_[next].at < end) follow(items_[next++]);
    items_.erase(items_.begin(), items_.begin() + static_cast<std::ptrdiff_t>(next));
}

void RigLog::follow(const Item& item) {
    switch (item.what) {
        case What::broken: {
            const BreakSeen seen = tracker_.broken(item.gate, item.at);
            if (seen.impossible) note(stretch_.impossible, item.at);
            if (item.gate == GateRole::near_mark) {
                note(stretch_.near_breaks, {item.at, item.sequence});
                if (seen.inward) note(stretch_.entries, item.at);
            }
            if (item.gate == GateRole::far_mark && seen.outward) note(stretch_.far_outward, item.at);
            if (item.gate == GateRole::back_mark && seen.outward) note(stretch_.back_outward, item.at);
            if (item.gate == GateRole::partner_back_mark && seen.pass_began)
                note(stretch_.partner_back, {item.at, tracker_.zone()});
            break;
        }
        case What::restored:
            tracker_.restored(item.gate);
            break;
        case What::contact:
            tracker_.contact();
            break;
        case What::forgetting:
            tracker_.forget();
            break;
    }
    note_zone(item.at);
}

void RigLog::note_zone(Duration at) {
    const Zone zone = tracker_.zone();
    const Zone before = stretch_.zones.empty() ? Zone::unknown : stretch_.zones.back().zone;
    if (zone != before) note(stretch_.zones, {at, zone});
}

const Stretch& RigLog::close(Duration begin, Duration end) {
    advance(end);
    // What the stretch before left behind goes; only the zone it ended in still matters.
    for (auto* times : {&stretch_.entries, &stretch_.far_outward, &stretch_.back_outward, &stretch_.impossible})
        drop_before(*times, begin);
    auto& breaks = stretch_.near_breaks;
    std::erase_if(breaks, [begin](const Break& one) { return one.at < begin; });
    std::erase_if(stretch_.partner_back, [begin](const ZoneAt& pass) { return pass.from < begin; });
    stretch_.near_broken = !breaks.empty();

    const Zone at_begin = stretch_.zone_at(begin);
    auto& zones = stretch_.zones;
    std::erase_if(zones, [&](const ZoneAt& change) { return change.from <= begin; });
    zones.insert(zones.begin(), {begin, at_begin});
    stretch_.begin = begin;
    stretch_.end = end;
    return stretch_;
}

}  // namespace breakstep::scoring
