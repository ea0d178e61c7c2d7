#include "club/athletes/erase.hpp"

#include <algorithm>

#include "files/place.hpp"
#include "store/daily_backup.hpp"
#include "store/tonight.hpp"

namespace breakstep {
namespace {

// Of this athlete alone, by the mark that we put there.
Expected<void> delete_own_files(const Erasing& erasing) {
    for (const auto& path : erasing.files.alone)
        if (auto removed = files::remove_file(path); !removed) {
            removed.error().to_do =
                "see to that, or delete it yourself, then erase again: the store still holds the athlete";
            return removed;
        }
    return {};
}

// A restore puts the store that it replaces aside, under a name that belongs to the store, and each day's backup stands
// in a folder that does: erased is erased there too.
class OwnCopies {
  public:
    explicit OwnCopies(const Store& store)
        : put_aside_(store.path().string() + ".replaced-"),
          tonight_(tonight_path(store.path())),
          daily_(daily_backups(store.path())) {}
    [[nodiscard]] bool has(const std::filesystem::path& copy) const {
        return copy.string().starts_with(put_aside_) || copy == tonight_ ||
               std::find(daily_.begin(), daily_.end(), copy) != daily_.end();
    }

  private:
    std::string put_aside_;
    std::filesystem::path tonight_;
    std::vector<std::filesystem::path> daily_;
};

template <class Change>
Expected<void> change_copy(const std::filesystem::path& copy, Change&& change) {
    const auto changed = Store::open(copy).and_then(
        [&](auto&& opened) { return change(*opened).and_then([&] { return opened->close(); }); });
    if (changed) return {};
    return failure(changed.error().kind, changed.error().what,
                   "see to that, or delete that copy of the store, then erase again: the store itself still holds the "
                   "athlete");
}

Expected<void> erase_from_own_copies(const Store& store, AthleteId athlete, Erasing& erasing) {
    const OwnCopies own(store);
    std::vector<CopyHolding> others;
    for (const CopyHolding& copy : erasing.copies.holding) {
        if (!own.has(copy.path)) {
            others.push_back(copy);
            continue;
        }
        const auto erased = change_copy(copy.path, [&](Store& opened) { return opened.erase_athlete(athlete); });
        if (!erased) return erased;
        erasing.also_erased_from.push_back(copy.path);
    }
    for (const std::filesystem::path& copy : erasing.copies.with_log) {
        if (!own.has(copy)) continue;
        const auto cleared = change_copy(copy, [](Store& opened) { return opened.clear_traces(); });
        if (!cleared) return cleared;
    }
    erasing.copies.holding = std::move(others);
    return {};
}

// What the store holds of the athlete, counted before it is erased.
}  // namespace

Expected<Erasing> what_erasing_takes(const Store& store, const Athlete& athlete) {
    Erasing erasing;
    erasing.athlete = athlete;
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    for (const SessionSummary& session : *sessions) {
        if (session.athlete != athlete.id) continue;
        ++erasing.sessions;
        erasing.reps += session.reps;
    }
    const auto measures = store.measures();
    if (!measures) return tl::make_unexpected(measures.error());
    for (const Measure& measure : *measures) erasing.measures += measure.athlete == athlete.id ? 1 : 0;
    auto copies = copies_that_hold(store, athlete.id);
    if (!copies) return tl::make_unexpected(copies.error());
    erasing.copies = std::move(*copies);
    auto own = own_files_of(store, athlete);
    if (!own) return tl::make_unexpected(own.error());
    erasing.files = std::move(*own);
    return erasing;
}

// The store last: as long as it knows the athlete, the same command finds what a run that was cut off left.
Expected<void> erase(Store& store, Erasing& erasing) {
    return store.may_erase()
        .and_then([&] { return erase_from_own_copies(store, erasing.athlete.id, erasing); })
        .and_then([&] { return delete_own_files(erasing); })
        .and_then([&] { return store.erase_athlete(erasing.athlete.id); });
}

}  // namespace breakstep
