// What a store takes from other stores of the club, by way of a server they share: sessions, athletes, and what was
// erased or joined there.
#include <algorithm>
#include <string>
#include <unordered_set>

#include "store/call_sign.hpp"
#include "store/participants.hpp"
#include "store/store_state.hpp"
#include "store/sums.hpp"
#include "store/usable.hpp"
#include "store/whole_rows.hpp"

namespace breakstep {
namespace {

using columns::Binder;

std::int64_t bits(AthleteId id) { return static_cast<std::int64_t>(id); }

std::optional<std::int64_t> number_from(SQLite::Database& database, const char* sql, std::int64_t of) {
    SQLite::Statement query(database, sql);
    query.bind(1, of);
    if (!query.executeStep() || query.isColumnNull(0)) return std::nullopt;
    return query.getColumn(0).getInt64();
}

bool is_known(SQLite::Database& database, AthleteId id) {
    return number_from(database, "SELECT 1 FROM athletes WHERE id = ?", bits(id)).has_value();
}

bool is_erased(SQLite::Database& database, AthleteId id) {
    return number_from(database, "SELECT 1 FROM erased WHERE athlete = ?", bits(id)).has_value();
}

/// Whom the athlete is now, after it was joined to another.
AthleteId now_called(SQLite::Database& database, AthleteId id) {
    const auto kept = number_from(database, "SELECT kept FROM joined WHERE gone = ?", bits(id));
    return kept ? AthleteId{static_cast<std::uint64_t>(*kept)} : id;
}

/// Two athletes of one call-sign are told apart by the id of the one that came later, until the coach joins them.
std::string free_call_sign(SQLite::Database& database, const Athlete& athlete) {
    if (athlete.call_sign.empty()) return {};
    const std::string key = call_sign_key(athlete.call_sign);
    SQLite::Statement query(database, "SELECT call_sign FROM athletes WHERE call_sign IS NOT NULL AND id <> ?");
    Binder(query).put(athlete.id);
    while (query.executeStep())
        if (call_sign_key(query.getColumn(0).getString()) == key) return {};
    return athlete.call_sign;
}

void put_athlete(SQLite::Database& database, Athlete athlete) {
    athlete.call_sign = free_call_sign(database, athlete);
    if (is_known(database, athlete.id)) {
        SQLite::Statement update(database,
                                 "UPDATE athletes SET " + all_athlete_columns().assignments() + " WHERE id = ?");
        Binder binder(update);
        bind_athlete(binder, athlete);
        binder.put(athlete.id);
        update.exec();
        return;
    }
    const columns::ColumnNames names = all_athlete_columns();
    SQLite::Statement insert(database,
                             "INSERT INTO athletes (" + names.list() + ") VALUES (" + names.placeholders() + ")");
    Binder binder(insert);
    bind_athlete(binder, athlete);
    insert.exec();
}

void put_change(SQLite::Database& database, const FieldChange& change) {
    SQLite::Statement put(database,
                          "INSERT OR REPLACE INTO athlete_changes (athlete, field, changed_unix_ms, author) VALUES (?, "
                          "?, ?, ?)");
    Binder binder(put);
    binder.put(change.athlete);
    binder.put(change.field);
    binder.put(change.changed_unix_ms);
    binder.put_blob({reinterpret_cast<const char*>(&change.author), sizeof change.author});
    put.exec();
}

void put_records(SQLite::Database& database, std::int64_t number, const TakenSession& session) {
    SQLite::Statement put(database,
                          "INSERT INTO events (session, position, kind, recorded_ns, bytes) VALUES (?, ?, ?, ?, ?)");
    for (const TakenRecord& record : session.records) {
        Binder binder(put);
        binder.put(number);
        binder.put(record.position);
        binder.put(record.kind);
        binder.put(record.recorded_ns);
        binder.put_blob(record.bytes);
        put.exec();
        put.reset();
    }
}

void put_results(SQLite::Database& database, std::int64_t number, const TakenSession& session) {
    for (const char* sql : {"DELETE FROM reps WHERE session = ?", "DELETE FROM totals WHERE session = ?"}) {
        SQLite::Statement forget(database, sql);
        forget.bind(1, number);
        forget.exec();
    }
    SQLite::Statement put(database, put_rep_sql());
    for (const RepResult& rep : session.reps) {
        Binder binder(put);
        binder.put(number);
        columns::visit_rep(rep, binder);
        put.exec();
        put.reset();
    }
    if (!session.totals) return;
    SQLite::Statement put_totals(database, put_totals_sql());
    Binder binder(put_totals);
    binder.put(number);
    columns::visit_totals(*session.totals, binder);
    put_totals.exec();
}

std::int64_t number_of(SQLite::Database& database, SessionId id) {
    if (const auto known =
            number_from(database, "SELECT number FROM sessions WHERE id = ?", static_cast<std::int64_t>(id)))
        return *known;
    return *number_from(database, "INSERT INTO sessions (id) VALUES (?) RETURNING number",
                        static_cast<std::int64_t>(id));
}

Expected<void> take_session(SQLite::Database& database, const std::filesystem::path& path,
                            const TakenSession& session) {
    SessionSummary summary = session.summary;
    if (summary.athlete) {
        summary.athlete = now_called(database, *summary.athlete);
        if (is_erased(database, *summary.athlete)) return {};
        if (!is_known(database, *summary.athlete)) {
            Athlete by_id;
            by_id.id = *summary.athlete;
            by_id.added_unix_seconds = summary.began_unix_seconds;
            put_athlete(database, by_id);
        }
    }
    const std::int64_t number = number_of(database, summary.id);
    const std::int64_t here =
        number_from(database, "SELECT max(position) + 1 FROM events WHERE session = ?", number).value_or(0);
    std::int64_t next = here;
    for (const TakenRecord& record : session.records)
        if (record.position != next++)
            return failure(ErrorKind::damaged,
                           "the rest of a session can't be put into " + path.string() + ": it has " +
                               std::to_string(here) + " records of it, and what came begins elsewhere",
                           "fetch again; if it stays so, look at both with `breakstep check`");
    SQLite::Statement begin(database, begin_session_sql());
    Binder binder(begin);
    columns::visit_session(summary, binder);
    binder.put(number);
    begin.exec();
    put_records(database, number, session);
    if (session.with_results) put_results(database, number, session);
    if (Expected<void> forgotten = forget_erased_participants(database, number); !forgotten) return forgotten;
    sums::renew_session(database, number);
    return {};
}

void give_over(SQLite::Database& database, AthleteId gone, AthleteId kept) {
    std::vector<std::int64_t> numbers;
    SQLite::Statement list(database, "SELECT number FROM sessions WHERE athlete = ?");
    list.bind(1, bits(gone));
    while (list.executeStep()) numbers.push_back(list.getColumn(0).getInt64());
    for (const char* sql :
         {"UPDATE sessions SET athlete = ?2 WHERE athlete = ?1",
          "UPDATE OR IGNORE measures SET athlete = ?2 WHERE athlete = ?1",
          "UPDATE joined SET kept = ?2 WHERE kept = ?1", "DELETE FROM athlete_changes WHERE athlete = ?1 AND ?2 <> 0",
          "DELETE FROM athletes WHERE id = ?1 AND ?2 <> 0"}) {
        SQLite::Statement change(database, sql);
        change.bind(1, bits(gone));
        change.bind(2, bits(kept));
        change.exec();
    }
    for (const std::int64_t number : numbers)
        if (sums::is_to_have_one(database, number)) sums::renew_session(database, number);
}

}  // namespace

Expected<std::vector<SessionState>> Store::session_states() const { return state_->reader.session_states(); }
Expected<ClubNotes> Store::club_notes() const { return state_->reader.club_notes(); }

Expected<void> Store::take_athletes(std::span<const Athlete> athletes, std::span<const FieldChange> changes) {
    for (const Athlete& athlete : athletes)
        if (Expected<void> good = usable(athlete); !good) return good;
    return in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        std::unordered_set<std::uint64_t> taken;
        for (const Athlete& athlete : athletes) {
            if (is_erased(database, athlete.id) || now_called(database, athlete.id) != athlete.id) continue;
            put_athlete(database, athlete);
            taken.insert(static_cast<std::uint64_t>(athlete.id));
        }
        for (const FieldChange& change : changes)
            if (taken.contains(static_cast<std::uint64_t>(change.athlete))) put_change(database, change);
        sums::renew(database, sums::Table::athletes);
        return {};
    });
}

Expected<void> Store::take_measures(std::span<const Measure> measures) {
    for (const Measure& measure : measures)
        if (Expected<void> good = usable(measure); !good) return good;
    return in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        const auto names = columns_of<Measure>([](auto& row, auto& to) { columns::visit_measure(row, to); });
        SQLite::Statement put(
            database, "INSERT OR REPLACE INTO measures (" + names.list() + ") VALUES (" + names.placeholders() + ")");
        for (Measure measure : measures) {
            measure.athlete = now_called(database, measure.athlete);
            if (!is_known(database, measure.athlete)) continue;
            Binder binder(put);
            columns::visit_measure(measure, binder);
            put.exec();
            put.reset();
        }
        sums::renew(database, sums::Table::measures);
        return {};
    });
}

Expected<void> Store::take_sessions(std::span<const TakenSession> sessions) {
    return in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        for (const TakenSession& session : sessions)
            if (Expected<void> taken = take_session(database, state_->path, session); !taken) return taken;
        sums::renew(database, sums::Table::athletes);
        return {};
    });
}

Expected<bool> Store::join_athletes(const JoinedAthletes& joined) {
    bool changed = false;
    Expected<void> done = in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        const AthleteId kept = now_called(database, joined.kept);
        if (kept == joined.gone || now_called(database, joined.gone) == kept) return {};
        changed = true;
        // The other may have come here by its id alone, or not yet.
        if (!is_known(database, kept) && is_known(database, joined.gone)) {
            Athlete by_id;
            by_id.id = kept;
            put_athlete(database, by_id);
        }
        give_over(database, joined.gone, kept);
        SQLite::Statement note(database, "INSERT OR REPLACE INTO joined (gone, kept, joined_unix_ms) VALUES (?, ?, ?)");
        Binder binder(note);
        binder.put(joined.gone);
        binder.put(kept);
        binder.put(joined.joined_unix_ms);
        note.exec();
        sums::renew(database, sums::Table::athletes);
        sums::renew(database, sums::Table::measures);
        return {};
    });
    if (!done) return tl::make_unexpected(done.error());
    return changed;
}

Expected<void> Store::note_erased(std::span<const ErasedAthlete> erased) {
    return in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        for (const ErasedAthlete& one : erased) {
            SQLite::Statement note(database, "INSERT OR IGNORE INTO erased (athlete, erased_unix_ms) VALUES (?, ?)");
            Binder binder(note);
            binder.put(one.athlete);
            binder.put(one.erased_unix_ms);
            note.exec();
            if (Expected<void> forgotten = forget_participant(database, one.athlete); !forgotten) return forgotten;
        }
        return {};
    });
}

}  // namespace breakstep
