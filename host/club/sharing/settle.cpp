#include <algorithm>
#include <map>
#include <unordered_set>

#include "club/sharing/contact.hpp"
#include "club/sharing/values.hpp"
#include "store/call_sign.hpp"
#include "store/consent.hpp"

namespace breakstep::sharing {
namespace {

std::uint64_t bits(AthleteId id) { return static_cast<std::uint64_t>(id); }
Value number(AthleteId id) { return std::to_string(static_cast<std::int64_t>(id)); }
AthleteId athlete_at(const Rows& rows, int row, int column) {
    return AthleteId{static_cast<std::uint64_t>(rows.number(row, column))};
}

/// What is changed here, or put off where the store can't be written now.
template <class Work>
Expected<bool> change_here(const Local& local, ContactReport& report, const std::string& what, Work&& work) {
    const Expected<Store*> store = local.for_writing();
    if (!store && store.error().kind == ErrorKind::in_use) {
        if (std::find(report.put_off.begin(), report.put_off.end(), what) == report.put_off.end())
            report.put_off.push_back(what);
        return false;
    }
    if (!store) return tl::make_unexpected(store.error());
    const Expected<void> done = work(**store);
    if (!done) return tl::make_unexpected(done.error());
    return true;
}

struct Settling {
    Contact& contact;
    const Store& store;
    const Local& local;
    ContactReport& report;
    ClubNotes notes;

    Expected<Rows> ask(const std::string& sql, std::initializer_list<Value> values = {}) {
        return contact.connection.run(sql, values);
    }
    Expected<void> tell(const std::string& sql, std::initializer_list<Value> values) {
        const auto done = contact.connection.run(sql, values);
        return done ? Expected<void>{} : tl::make_unexpected(done.error());
    }
    Expected<void> erasures();
    Expected<void> joins();
    Expected<void> erase_here(const std::vector<ErasedAthlete>& new_here);
    Expected<void> athletes(bool take_new);
    Expected<void> put_there(const KnownAthlete& athlete);
};

Expected<void> Settling::erasures() {
    const auto there = ask("SELECT athlete, erased_unix_ms FROM breakstep.erased");
    if (!there) return tl::make_unexpected(there.error());
    std::unordered_set<std::uint64_t> known_there, known_here;
    for (const ErasedAthlete& one : notes.erased) known_here.insert(bits(one.athlete));
    std::vector<ErasedAthlete> new_here;
    for (int row = 0; row < there->size(); ++row) {
        const ErasedAthlete one{athlete_at(*there, row, 0), there->number(row, 1)};
        known_there.insert(bits(one.athlete));
        contact.erased.insert(bits(one.athlete));
        if (!known_here.contains(bits(one.athlete))) new_here.push_back(one);
    }
    for (const ErasedAthlete& one : notes.erased) {
        if (known_there.contains(bits(one.athlete))) continue;
        if (const auto told =
                tell("SELECT breakstep.erase($1, $2)", {number(one.athlete), std::to_string(one.erased_unix_ms)});
            !told)
            return told;
        ++report.erased_there;
    }
    return new_here.empty() ? Expected<void>{} : erase_here(new_here);
}

Expected<void> Settling::erase_here(const std::vector<ErasedAthlete>& new_here) {
    const auto athletes = store.athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    const auto done = change_here(local, report, "athletes that were erased elsewhere are still here",
                                  [&](Store& writing) -> Expected<void> {
                                      for (const ErasedAthlete& one : new_here)
                                          for (const Athlete& athlete : *athletes) {
                                              if (athlete.id != one.athlete) continue;
                                              if (const auto erased = local.erase(writing, athlete); !erased)
                                                  return erased;
                                              ++report.erased_here;
                                          }
                                      return writing.note_erased(new_here);
                                  });
    return done ? Expected<void>{} : tl::make_unexpected(done.error());
}

Expected<void> Settling::joins() {
    const auto there = ask("SELECT gone, kept, joined_unix_ms FROM breakstep.joined ORDER BY joined_unix_ms, gone");
    if (!there) return tl::make_unexpected(there.error());
    std::unordered_set<std::uint64_t> known_there, known_here;
    for (const JoinedAthletes& one : notes.joined) {
        known_here.insert(bits(one.gone));
        contact.called[bits(one.gone)] = one.kept;
    }
    std::vector<JoinedAthletes> new_here;
    for (int row = 0; row < there->size(); ++row) {
        const JoinedAthletes one{athlete_at(*there, row, 0), athlete_at(*there, row, 1), there->number(row, 2)};
        known_there.insert(bits(one.gone));
        contact.called[bits(one.gone)] = one.kept;
        if (!known_here.contains(bits(one.gone))) new_here.push_back(one);
    }
    for (const JoinedAthletes& one : notes.joined) {
        if (known_there.contains(bits(one.gone))) continue;
        if (const auto told = tell("SELECT breakstep.join_athletes($1, $2, $3)",
                                   {number(one.gone), number(one.kept), std::to_string(one.joined_unix_ms)});
            !told)
            return told;
        ++report.joined_there;
    }
    if (new_here.empty()) return {};
    const auto done = change_here(local, report, "athletes that were joined elsewhere are still two here",
                                  [&](Store& writing) -> Expected<void> {
                                      for (const JoinedAthletes& one : new_here) {
                                          const auto joined = writing.join_athletes(one);
                                          if (!joined) return tl::make_unexpected(joined.error());
                                          report.joined_here += *joined ? 1 : 0;
                                      }
                                      return {};
                                  });
    return done ? Expected<void>{} : tl::make_unexpected(done.error());
}

Expected<void> Settling::put_there(const KnownAthlete& known) {
    const ServerColumns columns = athlete_columns();
    ValueList list = values_of(known.athlete);
    std::string places, sets;
    for (std::size_t i = 0; i < columns.columns.size(); ++i) {
        places += ", $" + std::to_string(i + 2);
        const std::string& name = columns.columns[i].first;
        if (name != "id") sets += (sets.empty() ? "" : ", ") + name + " = excluded." + name;
    }
    list.values.insert(list.values.begin(), std::to_string(contact.club));
    const auto put = contact.connection.run("INSERT INTO breakstep.athletes (club, " + columns.list() + ") VALUES ($1" +
                                                places + ") ON CONFLICT (club, id) DO UPDATE SET " + sets,
                                            list.values);
    if (!put) return tl::make_unexpected(put.error());
    for (const FieldChange& change : known.field_changes())
        if (const auto told = tell(
                "INSERT INTO breakstep.athlete_changes VALUES ($1, $2, $3, $4, $5) ON CONFLICT "
                "(club, athlete, field) DO UPDATE SET changed_unix_ms = excluded.changed_unix_ms, "
                "author = excluded.author",
                {std::to_string(contact.club), number(change.athlete), change.field,
                 std::to_string(change.changed_unix_ms), std::to_string(static_cast<std::int64_t>(change.author))});
            !told)
            return told;
    return tell("DELETE FROM breakstep.withdrawn WHERE athlete = $1", {number(known.athlete.id)});
}

Expected<std::vector<KnownAthlete>> athletes_there(Connection& connection) {
    const auto rows = connection.run("SELECT " + athlete_columns().list() + " FROM breakstep.athletes ORDER BY id");
    if (!rows) return tl::make_unexpected(rows.error());
    std::vector<Athlete> athletes;
    const auto read = readable(connection.shown(), [&] {
        for (int row = 0; row < rows->size(); ++row) athletes.push_back(athlete_from(*rows, row));
    });
    if (!read) return tl::make_unexpected(read.error());
    const auto stamps = connection.run("SELECT athlete, field, changed_unix_ms, author FROM breakstep.athlete_changes");
    if (!stamps) return tl::make_unexpected(stamps.error());
    std::vector<FieldChange> changes;
    for (int row = 0; row < stamps->size(); ++row)
        changes.push_back({athlete_at(*stamps, row, 0), std::string(stamps->text(row, 1)), stamps->number(row, 2),
                           static_cast<std::uint64_t>(stamps->number(row, 3))});
    return known_athletes(athletes, changes);
}

/// Two of one call-sign that are not one athlete yet.
void find_twins(const std::vector<KnownAthlete>& here, const std::vector<KnownAthlete>& there, ContactReport& report) {
    report.twins.clear();
    std::map<std::string, AthleteId> by_key;
    for (const KnownAthlete& one : here)
        if (!one.athlete.call_sign.empty()) by_key.emplace(call_sign_key(one.athlete.call_sign), one.athlete.id);
    for (const KnownAthlete& other : there) {
        if (other.athlete.call_sign.empty()) continue;
        const auto [known, is_new] = by_key.emplace(call_sign_key(other.athlete.call_sign), other.athlete.id);
        if (!is_new && known->second != other.athlete.id)
            report.twins.push_back({other.athlete.call_sign, known->second, other.athlete.id});
    }
}

Expected<void> Settling::athletes(bool take_new) {
    const auto athletes = store.athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    const auto current = store.club_notes();
    if (!current) return tl::make_unexpected(current.error());
    const std::vector<KnownAthlete> here = known_athletes(*athletes, current->changes);
    std::vector<KnownAthlete> to_take;
    const auto done = contact.connection.in_transaction([&]() -> Expected<void> {
        // The club's other laptops wait: what is read here is what is written over.
        if (const auto locked =
                tell("SELECT pg_advisory_xact_lock(1651666804, $1::int)", {std::to_string(contact.club)});
            !locked)
            return locked;
        const auto there = athletes_there(contact.connection);
        if (!there) return tl::make_unexpected(there.error());
        const auto withdrawn = ask("SELECT athlete, withdrawn_unix_ms, author FROM breakstep.withdrawn");
        if (!withdrawn) return tl::make_unexpected(withdrawn.error());
        std::map<AthleteId, Stamp> taken_back;
        for (int row = 0; row < withdrawn->size(); ++row)
            taken_back[athlete_at(*withdrawn, row, 0)] = {withdrawn->number(row, 1),
                                                          static_cast<std::uint64_t>(withdrawn->number(row, 2))};
        std::map<AthleteId, const KnownAthlete*> by_id;
        for (const KnownAthlete& one : *there) by_id.emplace(one.athlete.id, &one);
        find_twins(here, *there, report);
        for (const KnownAthlete& one : here) {
            const AthleteId id = one.athlete.id;
            if (contact.called.contains(bits(id)) || contact.erased.contains(bits(id))) continue;
            const auto other = by_id.find(id);
            KnownAthlete both = other == by_id.end() ? not_later(one, contact.server_unix_ms)
                                                     : merged(one, *other->second, contact.server_unix_ms);
            if (const auto back = taken_back.find(id); back != taken_back.end())
                both = without_share(std::move(both), back->second);
            const KnownAthlete* found = other == by_id.end() ? nullptr : other->second;
            const bool is_there = found != nullptr;
            if (is_there) by_id.erase(other);
            if (both != one) to_take.push_back(both);
            if (!may_share(both.athlete, local.today)) {
                ++report.not_shared;
                if (!is_there) continue;
                const Stamp stamp = both.stamp_of("consent");
                if (const auto told = tell("SELECT breakstep.withdraw($1, $2, $3)",
                                           {number(id), std::to_string(stamp.unix_ms),
                                            std::to_string(static_cast<std::int64_t>(stamp.author))});
                    !told)
                    return told;
                ++report.athletes_withdrawn;
                continue;
            }
            contact.shared.emplace(bits(id), both.athlete);
            if (is_there && both == *found) continue;
            if (const auto put = put_there(both); !put) return put;
            ++report.athletes_sent;
        }
        if (take_new)
            for (const auto& [id, other] : by_id)
                if (may_share(other->athlete, local.today)) to_take.push_back(*other);
        return {};
    });
    if (!done || to_take.empty()) return done;
    const auto taken = change_here(local, report, "changes of athletes that were made elsewhere are not here yet",
                                   [&](Store& writing) -> Expected<void> {
                                       std::vector<Athlete> rows;
                                       std::vector<FieldChange> changes;
                                       for (const KnownAthlete& one : to_take) {
                                           rows.push_back(one.athlete);
                                           for (FieldChange& change : one.field_changes())
                                               changes.push_back(std::move(change));
                                       }
                                       return writing.take_athletes(rows, changes);
                                   });
    if (!taken) return tl::make_unexpected(taken.error());
    if (*taken) report.athletes_taken += static_cast<std::int64_t>(to_take.size());
    return {};
}

}  // namespace

Expected<void> settle(Contact& contact, const Store& store, const Local& local, bool take_new, ContactReport& report) {
    auto notes = store.club_notes();
    if (!notes) return tl::make_unexpected(notes.error());
    Settling settling{contact, store, local, report, std::move(*notes)};
    report.not_shared = 0;
    contact.shared.clear();
    return settling.erasures().and_then([&] { return settling.joins(); }).and_then([&] {
        return settling.athletes(take_new);
    });
}

}  // namespace breakstep::sharing
