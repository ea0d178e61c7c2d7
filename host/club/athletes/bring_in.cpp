#include "club/athletes/bring_in.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <unordered_map>

#include "club/athletes/athlete_list.hpp"
#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"
#include "store/call_sign.hpp"
#include "store/id_source.hpp"

namespace breakstep {
namespace {

// The athletes of the file by their ids in the store; those it does not know are new ones.
struct Participants {
    std::vector<AthleteId> ids;  ///< by their places in the file's list of names
    std::vector<Athlete> fresh;
};
Expected<Participants> participants_in(const Store& store, const PastResults& results) {
    const auto known = store.athletes();
    if (!known) return tl::make_unexpected(known.error());
    std::unordered_map<std::string, const Athlete*> by_name;
    for (const Athlete& athlete : *known) by_name.emplace(call_sign_key(athlete.call_sign), &athlete);
    const std::string today = today_here();
    Participants participants;
    IdSource new_ids(std::nullopt);
    for (const std::string& name : results.athletes) {
        const auto found = by_name.find(call_sign_key(name));
        if (found != by_name.end()) {
            const Athlete& there = *found->second;
            if (!may_keep(there, today))
                return failure(ErrorKind::bad_input, why_not_kept(there, today),
                               how_to_renew(there, today) + ", or take the rows out; nothing was imported");
            participants.ids.push_back(there.id);
            continue;
        }
        Athlete& athlete = participants.fresh.emplace_back();
        athlete.id = AthleteId{new_ids.next()};
        athlete.call_sign = name;
        athlete.added_unix_seconds = unix_now();
        participants.ids.push_back(athlete.id);
    }
    return participants;
}

}  // namespace

Expected<Imported> add_results(Store& store, const PastResults& results) {
    const auto participants = participants_in(store, results);
    if (!participants) return tl::make_unexpected(participants.error());
    std::size_t at = 0;
    Measure measure;
    const auto added = store.add_all(
        participants->fresh,
        [&]() -> const Measure* {
            if (at == results.results.size()) return nullptr;
            const PastResult& result = results.results[at++];
            measure = {participants->ids[result.athlete], results.measures[result.measure], results.date_of(result),
                       result.value};
            return &measure;
        },
        [&](const Measure& taken) {
            const PastResult& result = results.results[at - 1];
            return results.error_at(result,
                                    fmt::format("the store has a value of {} for {} on {} already", taken.measure,
                                                results.athletes[result.athlete], taken.date),
                                    "take out the rows that were imported before; nothing was imported");
        });
    if (!added) return tl::make_unexpected(added.error());
    Imported imported;
    imported.values = results.results.size();
    imported.measures = results.measures;
    std::sort(imported.measures.begin(), imported.measures.end());
    for (const Athlete& athlete : participants->fresh) imported.athletes_added.push_back(athlete.call_sign);
    return imported;
}

Expected<std::vector<Athlete>> add_listed(Store& store, const CsvSheet& list) {
    const auto known = store.athletes();
    if (!known) return tl::make_unexpected(known.error());
    auto athletes = athletes_from(list, *known, today_here());
    if (!athletes) return athletes;
    IdSource ids(std::nullopt);
    for (Athlete& athlete : *athletes) {
        athlete.id = AthleteId{ids.next()};
        athlete.added_unix_seconds = unix_now();
    }
    if (const auto added = store.add_all(*athletes, {}); !added) return tl::make_unexpected(added.error());
    return athletes;
}

}  // namespace breakstep
