#include "store/reader.hpp"

#include "store/call_sign.hpp"
#include "store/whole_rows.hpp"

namespace breakstep {
namespace {

using columns::Binder;
using columns::RowReader;
using columns::UnreadableValue;

template <class Row, class Visit>
std::string list_of(Visit&& visit) {
    return columns_of<Row>(std::forward<Visit>(visit)).list();
}

std::string rep_columns() {
    return list_of<RepResult>([](auto& row, auto& names) { columns::visit_rep(row, names); });
}

std::string select_athletes() { return "SELECT " + all_athlete_columns().list() + " FROM athletes"; }

}  // namespace

Reader::Reader(std::filesystem::path path) : path_(std::move(path)) {}

Expected<void> Reader::open() {
    const std::lock_guard lock(mutex_);
    if (database_) return {};
    Expected<SQLite::Database> opened = open_for_reading(path_);
    if (!opened) return tl::make_unexpected(opened.error());
    database_.emplace(std::move(*opened));
    return {};
}

void Reader::close() {
    const std::lock_guard lock(mutex_);
    database_.reset();
}

Expected<std::int64_t> Reader::last_position(SessionId session) {
    return with_connection([&]() -> std::int64_t {
        SQLite::Statement query(
            *database_,
            "SELECT max(position) FROM events WHERE session = (SELECT number FROM sessions WHERE id "
            "= ?)");
        Binder(query).put(session);
        if (query.executeStep() && !query.isColumnNull(0)) return query.getColumn(0).getInt64();
        // Evenings have numbers of the same kind.
        SQLite::Statement night(*database_,
                                "SELECT max(position) FROM evening_events WHERE evening = (SELECT number FROM evenings "
                                "WHERE id = ?)");
        Binder(night).put(session);
        return night.executeStep() && !night.isColumnNull(0) ? night.getColumn(0).getInt64() : -1;
    });
}

Expected<std::vector<SessionSummary>> Reader::sessions() {
    return with_connection([&] {
        SQLite::Statement query(
            *database_,
            "SELECT number, (SELECT count(*) FROM events WHERE session = number), (SELECT count(*) FROM reps WHERE "
            "session = sessions.number), " +
                list_of<SessionSummary>([](auto& row, auto& names) { columns::visit_session(row, names); }) +
                " FROM sessions ORDER BY number");
        std::vector<SessionSummary> sessions;
        while (query.executeStep()) {
            SessionSummary& summary = sessions.emplace_back();
            RowReader row(query);
            row.get(summary.number);
            row.get(summary.events);
            row.get(summary.reps);
            columns::visit_session(summary, row);
        }
        return sessions;
    });
}

Expected<std::int64_t> Reader::raw_records(SessionId session, const std::function<void(const Store::RawRecord&)>& each,
                                           std::int64_t from) {
    return with_connection([&] {
        SQLite::Statement query(*database_,
                                "SELECT position, kind, recorded_ns, bytes FROM events WHERE session = (SELECT number "
                                "FROM sessions WHERE id = ?) AND position >= ? ORDER BY position");
        Binder binder(query);
        binder.put(session);
        binder.put(from);
        std::int64_t count = 0;
        while (query.executeStep()) {
            Store::RawRecord record;
            const SQLite::Column bytes = query.getColumn(3);
            record.position = query.getColumn(0).getInt64();
            record.kind = static_cast<std::uint16_t>(query.getColumn(1).getInt());
            record.recorded = HostTime(Duration(query.getColumn(2).getInt64()));
            record.bytes =
                std::string_view(static_cast<const char*>(bytes.getBlob()), static_cast<std::size_t>(bytes.getBytes()));
            if (record.position != from + count)
                throw UnreadableValue("record " + std::to_string(from + count) + " of a session is missing");
            each(record);
            ++count;
        }
        return count;
    });
}

Expected<std::int64_t> Reader::records(SessionId session, const std::function<void(const JournalRecord&)>& each) {
    std::optional<Error> undecodable;
    JournalRecord record;
    Expected<std::int64_t> count = raw_records(session, [&](const Store::RawRecord& raw) {
        if (undecodable) return;
        Expected<JournalEvent> event = decode(raw.kind, raw.bytes);
        if (!event) {
            undecodable = Error{event.error().kind,
                                path_.string() + ": record " + std::to_string(raw.position) + ": " + event.error().what,
                                event.error().to_do};
            return;
        }
        record.position = raw.position;
        record.recorded = raw.recorded;
        record.event = std::move(*event);
        each(record);
    });
    if (undecodable) return tl::make_unexpected(*undecodable);
    return count;
}

Expected<std::vector<RepResult>> Reader::reps(SessionId session) {
    return with_connection([&] {
        SQLite::Statement query(*database_, "SELECT " + rep_columns() +
                                                " FROM reps WHERE session = (SELECT number FROM sessions WHERE id = ?) "
                                                "ORDER BY rep");
        Binder(query).put(session);
        std::vector<RepResult> reps;
        while (query.executeStep()) {
            RowReader row(query);
            columns::visit_rep(reps.emplace_back(), row);
        }
        return reps;
    });
}

Expected<std::int64_t> Reader::all_reps(const std::function<void(SessionId, const RepResult&)>& each) {
    return with_connection([&] {
        SQLite::Statement query(*database_, "SELECT (SELECT id FROM sessions WHERE sessions.number = reps.session), " +
                                                rep_columns() + " FROM reps ORDER BY session, rep");
        std::int64_t count = 0;
        RepResult rep;
        while (query.executeStep()) {
            RowReader row(query);
            SessionId session{};
            row.get(session);
            columns::visit_rep(rep, row);
            each(session, rep);
            ++count;
        }
        return count;
    });
}

Expected<std::optional<SessionTotals>> Reader::totals(SessionId session) {
    return with_connection([&]() -> std::optional<SessionTotals> {
        SQLite::Statement query(*database_,
                                "SELECT " + list_of<SessionTotals>([](auto& row, auto& names) {
                                    columns::visit_totals(row, names);
                                }) + " FROM totals WHERE session = (SELECT number FROM sessions WHERE id = ?)");
        Binder(query).put(session);
        if (!query.executeStep()) return std::nullopt;
        SessionTotals totals;
        RowReader row(query);
        columns::visit_totals(totals, row);
        return totals;
    });
}

Expected<std::vector<Athlete>> Reader::athletes() {
    return with_connection([&] {
        SQLite::Statement query(*database_, select_athletes() + " ORDER BY call_sign, id");
        std::vector<Athlete> athletes;
        while (query.executeStep()) athletes.push_back(athlete_from(query));
        return athletes;
    });
}

Expected<std::optional<Athlete>> Reader::find_athlete(std::string_view call_sign) {
    return with_connection([&]() -> std::optional<Athlete> {
        SQLite::Statement query(*database_, select_athletes() + " WHERE call_sign = ?");
        const std::string wanted(call_sign);
        Binder(query).put(wanted);
        if (query.executeStep()) return athlete_from(query);
        // In another form of the same: an older store may have twins, of which the one that was typed comes first.
        const std::string key = call_sign_key(call_sign);
        if (key.empty()) return std::nullopt;
        SQLite::Statement all(*database_, select_athletes() + " WHERE call_sign IS NOT NULL ORDER BY call_sign, id");
        while (all.executeStep())
            if (Athlete athlete = athlete_from(all); call_sign_key(athlete.call_sign) == key) return athlete;
        return std::nullopt;
    });
}

Expected<std::vector<Measure>> Reader::measures() {
    return with_connection([&] {
        SQLite::Statement query(*database_, "SELECT " + list_of<Measure>([](auto& row, auto& names) {
                                                columns::visit_measure(row, names);
                                            }) + " FROM measures ORDER BY athlete, measure, date");
        std::vector<Measure> measures;
        while (query.executeStep()) {
            RowReader row(query);
            columns::visit_measure(measures.emplace_back(), row);
        }
        return measures;
    });
}

Expected<std::vector<BackupNote>> Reader::backups() {
    return with_connection([&] {
        SQLite::Statement query(*database_, "SELECT " + list_of<BackupNote>([](auto& row, auto& names) {
                                                columns::visit_backup(row, names);
                                            }) + " FROM backups ORDER BY number");
        std::vector<BackupNote> backups;
        while (query.executeStep()) {
            RowReader row(query);
            columns::visit_backup(backups.emplace_back(), row);
        }
        return backups;
    });
}

Expected<std::vector<std::filesystem::path>> Reader::folders_made_in() {
    return with_connection([&] {
        SQLite::Statement query(*database_, "SELECT folder FROM made_in ORDER BY number");
        std::vector<std::filesystem::path> folders;
        while (query.executeStep()) folders.emplace_back(query.getColumn(0).getString());
        return folders;
    });
}

Expected<std::vector<Calibration>> Reader::calibrations() {
    return with_connection([&] {
        SQLite::Statement query(*database_, "SELECT " + list_of<Calibration>([](auto& row, auto& names) {
                                                columns::visit_calibration(row, names);
                                            }) + " FROM calibrations ORDER BY measured_unix_s DESC, number DESC");
        std::vector<Calibration> calibrations;
        while (query.executeStep()) {
            RowReader row(query);
            columns::visit_calibration(calibrations.emplace_back(), row);
        }
        return calibrations;
    });
}

Expected<void> Reader::integrity() {
    return with_connection([&] {
        SQLite::Statement check(*database_, "PRAGMA integrity_check(1)");
        if (check.executeStep() && check.getColumn(0).getString() != "ok")
            throw UnreadableValue(check.getColumn(0).getString());
        SQLite::Statement keys(*database_, "PRAGMA foreign_key_check");
        if (keys.executeStep())
            throw UnreadableValue("a row of " + keys.getColumn(0).getString() + " belongs to nothing");
    });
}

Expected<sums::Changed> Reader::changed() {
    return with_connection([&] { return sums::compare(*database_); });
}

Expected<std::vector<std::int64_t>> Reader::cut_off() {
    return with_connection([&] {
        SQLite::Statement query(*database_,
                                "SELECT number FROM sessions WHERE how IS NULL AND number NOT IN (SELECT session FROM "
                                "session_sums) ORDER BY number");
        std::vector<std::int64_t> numbers;
        while (query.executeStep()) numbers.push_back(query.getColumn(0).getInt64());
        return numbers;
    });
}

Expected<void> Reader::copy_to(const std::filesystem::path& copy) {
    return with_connection([&] {
        SQLite::Statement vacuum(*database_, "VACUUM INTO ?");
        const std::string name = copy.string();
        Binder(vacuum).put(name);
        vacuum.exec();
    });
}

}  // namespace breakstep
