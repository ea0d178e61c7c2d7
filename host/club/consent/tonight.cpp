#include "club/consent/tonight.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "club/athletes/naming.hpp"
#include "club/term/term.hpp"
#include "files/place.hpp"
#include "store/text_rules.hpp"
#include "store/tonight.hpp"

namespace breakstep {
namespace {

namespace fs = std::filesystem;

// As the store itself names its place: a link to a store leads to the one evening's file of that store.
fs::path settled(const fs::path& path) {
    std::error_code problem;
    fs::path place = fs::weakly_canonical(fs::absolute(path, problem), problem);
    return problem ? path : place;
}

// Only what a session needs: no real name, no notes, nothing of the consent.
Athlete needed_of(const Athlete& athlete) {
    Athlete needed;
    needed.id = athlete.id;
    needed.call_sign = athlete.call_sign;
    needed.lead = athlete.lead;
    needed.birth_year = athlete.birth_year;
    needed.added_unix_seconds = athlete.added_unix_seconds;
    return needed;
}

Expected<void> put_athlete(Store& tonight, Athlete athlete) {
    const auto all = tonight.athletes();
    if (!all) return tl::make_unexpected(all.error());
    const bool known =
        std::any_of(all->begin(), all->end(), [&](const Athlete& other) { return other.id == athlete.id; });
    const auto put = [&] { return known ? tonight.change_athlete(athlete) : tonight.add_athlete(athlete); };
    if (auto done = put(); done || done.error().kind != ErrorKind::bad_input) return done;
    // Two athletes have swapped call-signs during the evening: the id will do.
    athlete.call_sign.clear();
    return put();
}

// A delay that was measured holds whoever is at the rig.
Expected<void> put_calibrations(const Store& store, Store& tonight) {
    auto measured = store.calibrations();
    if (!measured) return tl::make_unexpected(measured.error());
    const auto there = tonight.calibrations();
    if (!there) return tl::make_unexpected(there.error());
    std::reverse(measured->begin(), measured->end());
    for (const Calibration& calibration : *measured) {
        if (std::find(there->begin(), there->end(), calibration) != there->end()) continue;
        if (auto added = tonight.add_calibration(calibration); !added) return added;
    }
    return {};
}

// Whose results an evening's file holds, for a person.
std::string names_in(const fs::path& path) {
    StoreOptions reading;
    reading.mode = StoreMode::read_only;
    const auto store = Store::open(path, reading);
    if (!store) return "";
    const auto sessions = (*store)->sessions();
    const auto athletes = (*store)->athletes();
    if (!sessions || !athletes) return "";
    std::set<std::string> names;
    for (const SessionSummary& session : *sessions)
        for (const Athlete& athlete : *athletes)
            if (session.athlete == athlete.id) names.insert(shown(athlete));
    return fmt::format("{}", fmt::join(names, ", "));
}

}  // namespace

bool tonight_is_over(std::int64_t recorded_unix_seconds, std::int64_t now_unix_seconds) {
    return evening_of(recorded_unix_seconds) != evening_of(now_unix_seconds);
}

Expected<std::optional<ClearedEvening>> clear_evening_that_is_over(const fs::path& store) {
    const fs::path place = settled(store), tonight = is_tonight(place) ? place : tonight_path(place);
    const auto recorded = last_recorded(tonight);
    if (!recorded || !tonight_is_over(*recorded, unix_now())) return std::nullopt;
    if (const auto removed = remove_tonight(tonight); !removed) return tl::make_unexpected(removed.error());
    return ClearedEvening{evening_of(*recorded), tonight};
}

Expected<std::unique_ptr<Store>> open_tonight(const Store& store, StoreOptions options) {
    const fs::path path = tonight_path(store.path());
    std::error_code problem;
    if (fs::is_symlink(fs::symlink_status(path, problem)))
        return failure(ErrorKind::bad_input, path.string() + " is a link, and stands where the evening's file belongs",
                       "move it to another folder");
    auto tonight = Store::open(path, std::move(options));
    if (!tonight) return tonight;
    if (const auto filled = put_calibrations(store, **tonight); !filled) return tl::make_unexpected(filled.error());
    return tonight;
}

Expected<std::unique_ptr<Store>> open_tonight(const Store& store, const Athlete& athlete) {
    StoreOptions options;
    options.mode = StoreMode::inline_writes;
    options.inline_commit_records = 64;
    auto tonight = open_tonight(store, std::move(options));
    if (!tonight) return tonight;
    if (const auto put = put_athlete(**tonight, needed_of(athlete)); !put) return tl::make_unexpected(put.error());
    return tonight;
}

Expected<Athlete> under_tonights_id(Store& tonight, const Athlete& athlete, AthleteId fresh) {
    const auto known = tonight.find_athlete(athlete.call_sign);
    if (!known) return tl::make_unexpected(known.error());
    Athlete here = athlete;
    here.id = *known ? (*known)->id : fresh;
    if (*known) return here;
    if (const auto put = put_athlete(tonight, needed_of(here)); !put) return tl::make_unexpected(put.error());
    return here;
}

Expected<std::string> remove_tonights_results(const fs::path& store) {
    const fs::path tonight = tonight_path(settled(store));
    if (!last_recorded(tonight)) return "";
    std::string names = names_in(tonight);
    if (const auto removed = remove_tonight(tonight); !removed) return tl::make_unexpected(removed.error());
    return names;
}

Expected<void> may_be_copied(const fs::path& store) {
    if (!is_tonight(settled(store))) return {};
    return failure(ErrorKind::bad_input,
                   store.string() + " holds results of athletes who gave no consent to keep them, for one evening",
                   "no page, list or copy is made of it; `breakstep rescore last --store " +
                       shell_word(store.string()) + "` shows its last session");
}

}  // namespace breakstep
