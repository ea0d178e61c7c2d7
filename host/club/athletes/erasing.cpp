#include "club/athletes/erasing.hpp"

#include <algorithm>

#include "club/athletes/naming.hpp"
#include "files/place.hpp"
#include "store/daily_backup.hpp"
#include "store/tonight.hpp"

namespace breakstep {
namespace {

// Of this athlete alone, by the mark that we put there.
Expected<void> delete_own_files(const EraseReport& report) {
    for (const auto& path : report.files.alone)
        if (auto removed = files::remove_file(path); !removed) {
            removed.error().to_do =
                "see to that, or delete it yourself, then erase again: the store still holds the athlete";
            return removed;
        }
    return {};
}

// A restore puts the store that it replaces aside, under a name that belongs to the store, and each day's backup stands
// in a folder that does: erased is erased there too.
Expected<void> erase_from_own_copies(const Store& store, AthleteId athlete, EraseReport& report) {
    const std::string put_aside = store.path().string() + ".replaced-";
    const auto daily = daily_backups(store.path());
    std::vector<CopyHolding> others;
    for (const CopyHolding& copy : report.copies.holding) {
        const bool own = copy.path.string().starts_with(put_aside) || copy.path == tonight_path(store.path()) ||
                         std::find(daily.begin(), daily.end(), copy.path) != daily.end();
        if (!own) {
            others.push_back(copy);
            continue;
        }
        const auto erased = Store::open(copy.path).and_then(
            [&](auto&& opened) { return opened->erase_athlete(athlete).and_then([&] { return opened->close(); }); });
        if (!erased)
            return failure(erased.error().kind, erased.error().what,
                           "see to that, or delete that copy of the store, then erase again: the store itself still "
                           "holds the athlete");
        report.also_erased_from.push_back(copy.path);
    }
    report.copies.holding = std::move(others);
    return {};
}

}  // namespace

Expected<EraseReport> what_erasing_takes(const Store& store, const Athlete& athlete) {
    EraseReport report;
    report.call_sign = shown(athlete);
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    for (const SessionSummary& session : *sessions) {
        if (session.athlete != athlete.id) continue;
        ++report.sessions;
        report.reps += session.reps;
    }
    const auto measures = store.measures();
    if (!measures) return tl::make_unexpected(measures.error());
    for (const Measure& measure : *measures) report.measures += measure.athlete == athlete.id ? 1 : 0;
    auto copies = copies_that_hold(store, athlete.id);
    if (!copies) return tl::make_unexpected(copies.error());
    report.copies = std::move(*copies);
    auto own = own_files_of(store, athlete);
    if (!own) return tl::make_unexpected(own.error());
    report.files = std::move(*own);
    return report;
}

Expected<void> erase_with_copies(Store& store, const Athlete& athlete, EraseReport& report) {
    if (const auto may = store.may_erase(); !may) return may;
    return erase_from_own_copies(store, athlete.id, report)
        .and_then([&] { return delete_own_files(report); })
        .and_then([&] { return store.erase_athlete(athlete.id); });
}

}  // namespace breakstep
