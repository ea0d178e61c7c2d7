// What the coach writes into the store: athletes, calibrations, backups.
#include <algorithm>
#include <string>
#include <system_error>

#include "store/database.hpp"
#include "store/store_state.hpp"
#include "store/values.hpp"

namespace breakstep {
namespace {

using columns::Binder;

constexpr std::size_t name_characters_max = 200;

columns::ColumnNames athlete_columns() {
    columns::ColumnNames names;
    const Athlete athlete;
    const Consent consent;
    columns::visit_athlete(athlete, names);
    columns::visit_consent(consent, names);
    return names;
}

// No consent is three NULLs.
void bind_athlete(Binder& binder, const Athlete& athlete) {
    columns::visit_athlete(athlete, binder);
    if (athlete.consent) {
        columns::visit_consent(*athlete.consent, binder);
    } else {
        for (int i = 0; i < 3; ++i) binder.put_null();
    }
}

std::size_t characters_in(std::string_view text) {
    // Every UTF-8 byte that does not continue a character begins one.
    return static_cast<std::size_t>(std::count_if(
        text.begin(), text.end(), [](char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U; }));
}

bool has_control(std::string_view text) {
    return std::any_of(text.begin(), text.end(), [](char byte) {
        const auto value = static_cast<unsigned char>(byte);
        return value < 0x20 || value == 0x7f;
    });
}

Expected<void> usable(const Athlete& athlete) {
    const auto refuse = [](std::string what, std::string to_do) {
        return failure(ErrorKind::bad_input, std::move(what), std::move(to_do));
    };
    if (athlete.id == AthleteId{}) return refuse("an athlete needs an id", "draw a random one that is not 0");
    for (const std::string* name :
         {&athlete.call_sign, &athlete.real_name, &athlete.grade, &athlete.height_band, &athlete.group}) {
        if (characters_in(*name) > name_characters_max)
            return refuse("the athlete's text beginning \"" + name->substr(0, 40) + "\" is too long",
                          "use at most " + std::to_string(name_characters_max) + " characters");
        if (has_control(*name))
            return refuse("an athlete's text has a line break or another control character in it",
                          "write it in one line");
    }
    if (athlete.birth_year && (*athlete.birth_year < 1900 || *athlete.birth_year > 2200))
        return refuse("the birth year " + std::to_string(*athlete.birth_year) + " can't be", "give it as four digits");
    return {};
}

// Whether another athlete has the call-sign.
bool is_taken(SQLite::Database& database, const Athlete& athlete) {
    if (athlete.call_sign.empty()) return false;
    SQLite::Statement query(database, "SELECT 1 FROM athletes WHERE call_sign = ? AND id <> ?");
    Binder binder(query);
    binder.put(athlete.call_sign);
    binder.put(athlete.id);
    return query.executeStep();
}

bool is_known(SQLite::Database& database, AthleteId id) {
    SQLite::Statement query(database, "SELECT 1 FROM athletes WHERE id = ?");
    Binder(query).put(id);
    return query.executeStep();
}

Error taken_error(const Athlete& athlete) {
    return {ErrorKind::bad_input, "the call-sign \"" + athlete.call_sign + "\" is taken", "choose another one"};
}

// Runs `work`, which may refuse, on the writer's connection in a transaction that is committed if it did not.
Expected<void> in_transaction(Store::State& state, const std::function<Expected<void>(SQLite::Database&)>& work) {
    if (!state.writer)
        return failure(ErrorKind::system, "the store " + state.path.string() + " was opened for reading only",
                       "open it for writing");
    Expected<void> answer;
    Expected<void> ran = state.writer->run([&](SQLite::Database& database) {
        SQLite::Transaction transaction(database, SQLite::TransactionBehavior::IMMEDIATE);
        answer = work(database);
        if (answer) transaction.commit();
    });
    return ran ? answer : ran;
}

}  // namespace

Expected<void> Store::add_athlete(const Athlete& athlete) {
    if (Expected<void> good = usable(athlete); !good) return good;
    return in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        if (is_known(database, athlete.id))
            return breakstep::failure(ErrorKind::bad_input, "an athlete of this id is there already",
                                      "draw another id");
        if (is_taken(database, athlete)) return tl::make_unexpected(taken_error(athlete));
        const columns::ColumnNames names = athlete_columns();
        SQLite::Statement insert(database,
                                 "INSERT INTO athletes (" + names.list() + ") VALUES (" + names.placeholders() + ")");
        Binder binder(insert);
        bind_athlete(binder, athlete);
        insert.exec();
        return {};
    });
}

Expected<void> Store::change_athlete(const Athlete& athlete) {
    if (Expected<void> good = usable(athlete); !good) return good;
    return in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        if (!is_known(database, athlete.id))
            return breakstep::failure(ErrorKind::not_found, "there is no athlete of this id", "add the athlete first");
        if (is_taken(database, athlete)) return tl::make_unexpected(taken_error(athlete));
        SQLite::Statement update(database, "UPDATE athletes SET " + athlete_columns().assignments() + " WHERE id = ?");
        Binder binder(update);
        bind_athlete(binder, athlete);
        binder.put(athlete.id);
        update.exec();
        return {};
    });
}

Expected<void> Store::erase_athlete(AthleteId id) {
    // What waits of the athlete's sessions goes to the disk first, to be erased with the rest.
    if (Expected<void> written = flush(); !written) return written;
    std::vector<SessionId> sessions;
    Expected<void> erased = in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        if (!is_known(database, id))
            return breakstep::failure(ErrorKind::not_found, "there is no athlete of this id", "nothing was erased");
        SQLite::Statement query(database, "SELECT id FROM sessions WHERE athlete = ?");
        Binder(query).put(id);
        while (query.executeStep()) columns::RowReader(query).get(sessions.emplace_back());
        SQLite::Statement erase(database, "DELETE FROM athletes WHERE id = ?");
        Binder(erase).put(id);
        erase.exec();
        return {};
    });
    if (!erased) return erased;
    state_->writer->refuse(sessions, {ErrorKind::not_found, "the session's athlete was erased from the store",
                                      "begin a new session with another athlete"});
    // secure_delete has overwritten the rows; VACUUM leaves no trace in half-filled pages, and the truncating
    // checkpoint none in the write-ahead log.
    return state_->writer->run([](SQLite::Database& database) {
        database.exec("PRAGMA wal_checkpoint(TRUNCATE)");
        database.exec("VACUUM");
        SQLite::Statement checkpoint(database, "PRAGMA wal_checkpoint(TRUNCATE)");
        if (checkpoint.executeStep() && checkpoint.getColumn(0).getInt() != 0)
            throw SQLite::Exception("a reader still uses the write-ahead log", 5 /* SQLITE_BUSY */);
    });
}

Expected<void> Store::add_calibration(const Calibration& calibration) {
    return in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        columns::ColumnNames names;
        columns::visit_calibration(calibration, names);
        SQLite::Statement insert(
            database, "INSERT INTO calibrations (" + names.list() + ") VALUES (" + names.placeholders() + ")");
        Binder binder(insert);
        columns::visit_calibration(calibration, binder);
        insert.exec();
        return {};
    });
}

Expected<void> Store::backup(const std::filesystem::path& copy) const {
    std::error_code problem;
    if (std::filesystem::exists(copy, problem))
        return breakstep::failure(ErrorKind::bad_input, copy.string() + " is there already",
                                  "name a new file: a backup never overwrites one");
    return state_->reader.copy_to(copy);
}

}  // namespace breakstep
