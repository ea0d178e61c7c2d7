#include "club/sharing/athlete_merge.hpp"

#include <algorithm>

#include "store/athlete_fields.hpp"

namespace breakstep::sharing {

Stamp KnownAthlete::stamp_of(std::string_view field) const {
    const auto found = changes.find(field);
    return found == changes.end() ? Stamp{athlete.added_unix_seconds * 1000, 0} : found->second;
}

std::vector<FieldChange> KnownAthlete::field_changes() const {
    std::vector<FieldChange> all;
    for (const auto& [field, stamp] : changes) all.push_back({athlete.id, field, stamp.unix_ms, stamp.author});
    return all;
}

std::vector<KnownAthlete> known_athletes(std::span<const Athlete> athletes, std::span<const FieldChange> changes) {
    std::vector<KnownAthlete> known;
    std::map<AthleteId, std::size_t> places;
    for (const Athlete& athlete : athletes) {
        places.emplace(athlete.id, known.size());
        known.push_back({athlete, {}});
    }
    for (const FieldChange& change : changes)
        if (const auto place = places.find(change.athlete); place != places.end())
            known[place->second].changes[change.field] = {change.changed_unix_ms, change.author};
    return known;
}

KnownAthlete not_later(KnownAthlete athlete, std::int64_t now_unix_ms) {
    for (auto& [field, stamp] : athlete.changes) stamp.unix_ms = std::min(stamp.unix_ms, now_unix_ms);
    return athlete;
}

KnownAthlete merged(const KnownAthlete& given_here, const KnownAthlete& there, std::int64_t now_unix_ms) {
    const KnownAthlete here = not_later(given_here, now_unix_ms);
    KnownAthlete both = not_later(there, now_unix_ms);
    for (const std::string_view field : athlete_fields) {
        if (here.stamp_of(field) <= both.stamp_of(field)) continue;
        copy_field(field, here.athlete, both.athlete);
        both.changes[std::string(field)] = here.stamp_of(field);
    }
    return both;
}

KnownAthlete without_share(KnownAthlete athlete, Stamp withdrawn) {
    if (athlete.athlete.consent_share_on.empty() || athlete.stamp_of("consent") > withdrawn) return athlete;
    athlete.athlete.consent_share_on.clear();
    athlete.changes["consent"] = withdrawn;
    return athlete;
}

}  // namespace breakstep::sharing
