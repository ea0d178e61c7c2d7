// What the coach writes into the store: athletes, imported measures, calibrations.
#include <cmath>
#include <string>
#include <unordered_map>
#include <unordered_set>
#include <utility>

#include "core/iso_date.hpp"
#include "store/call_sign.hpp"
#include "store/club_changes.hpp"
#include "store/database.hpp"
#include "store/participants.hpp"
#include "store/store_state.hpp"
#include "store/sums.hpp"
#include "store/text_rules.hpp"
#include "store/usable.hpp"
#include "store/whole_rows.hpp"

namespace breakstep {
namespace {

using columns::Binder;

Expected<void> refuse(std::string what, std::string to_do) {
    return failure(ErrorKind::bad_input, std::move(what), std::move(to_do));
}

// `whose`: "the athlete's", "a measure's".
Expected<void> usable_name(const std::string& name, const std::string& whose) {
    if (const auto at = not_utf8_at(name))
        return refuse(whose + " text has a character in it that is not UTF-8 (byte " + std::to_string(*at + 1) + ")",
                      "save the file as UTF-8, or type the text again");
    if (characters_in(name) > name_characters_max)
        return refuse(whose + " text beginning \"" + name.substr(0, 40) + "\" is too long",
                      "use at most " + std::to_string(name_characters_max) + " characters");
    if (has_control(name))
        return refuse(whose + " text has a line break or another control character in it", "write it in one line");
    return {};
}

Expected<void> usable_consent(const Consent& consent) {
    const auto given = date_from(consent.on), until = date_from(consent.until);
    if (!given || consent.by.empty())
        return refuse("a consent needs the day on which it was given and by whom", "give the date as 2024-09-30");
    if (!consent.until.empty() && !until)
        return refuse("the consent's last day \"" + consent.until + "\" is no date", "give it as 2025-09-30");
    if (until && *until < *given) return refuse("the consent would end before it was given", "look at both dates");
    return usable_name(consent.by, "a consent's");
}

Expected<void> usable_answers(const Athlete& athlete) {
    for (const std::string* date : {&athlete.consent_refused_on, &athlete.consent_share_on})
        if (!date->empty() && !date_from(*date))
            return refuse('"' + *date + "\" is no date of a consent or a refusal", "give it as 2024-09-30");
    if (athlete.consent && !athlete.consent_refused_on.empty())
        return refuse("consent can't be given and refused at once", "leave one of the two away");
    if (!athlete.consent && !athlete.consent_share_on.empty())
        return refuse("results that may not be kept can't be shared",
                      "give the consent to keep them too, or leave the one to share them away");
    return athlete.consent ? usable_consent(*athlete.consent) : Expected<void>{};
}

}  // namespace

Expected<void> usable(const Athlete& athlete) {
    if (athlete.id == AthleteId{}) return refuse("an athlete needs an id", "draw a random one that is not 0");
    for (const std::string* name :
         {&athlete.call_sign, &athlete.real_name, &athlete.grade, &athlete.height_band, &athlete.group})
        if (Expected<void> good = usable_name(*name, "an athlete's"); !good) return good;
    if (has_hidden_mark(athlete.call_sign) || (!athlete.call_sign.empty() && call_sign_key(athlete.call_sign).empty()))
        return refuse("the call-sign has a mark in it that shows nothing or turns the direction of writing",
                      "type it again, letter by letter");
    if (not_utf8_at(athlete.notes) || has_control_in_notes(athlete.notes))
        return refuse("the notes have a character in them that is no text", "type them again");
    if (characters_in(athlete.notes) > notes_characters_max)
        return refuse("the notes are too long", "use at most " + std::to_string(notes_characters_max) + " characters");
    if (athlete.birth_year && (*athlete.birth_year < 1900 || *athlete.birth_year > 2200))
        return refuse("the birth year " + std::to_string(*athlete.birth_year) + " can't be", "give it as four digits");
    if (athlete.placed_rung && (*athlete.placed_rung < 1 || *athlete.placed_rung > 9))
        return refuse("rung " + std::to_string(*athlete.placed_rung) + " is none of the ladder's", "give 1 to 9");
    if (!athlete.placed_on.empty() && !date_from(athlete.placed_on))
        return refuse('"' + athlete.placed_on + "\" is no date of the calendar", "give dates as 2024-09-30");
    return usable_answers(athlete);
}

Expected<void> usable(const Measure& measure) {
    if (measure.measure.empty()) return refuse("a measure has no name", "name it");
    if (!date_from(measure.date))
        return refuse('"' + measure.date + "\" is no date of the calendar", "give dates as 2024-09-30");
    if (!std::isfinite(measure.value)) return refuse("a measure's value is no number", "give a number, such as 312.5");
    return usable_name(measure.measure, "a measure's");
}

namespace {

/// Whose a call-sign is, by what makes two of them one.
class CallSigns {
  public:
    explicit CallSigns(SQLite::Database& database) {
        SQLite::Statement query(database, "SELECT id, call_sign FROM athletes WHERE call_sign IS NOT NULL");
        while (query.executeStep())
            owners_.emplace(call_sign_key(query.getColumn(1).getString()),
                            AthleteId{static_cast<std::uint64_t>(query.getColumn(0).getInt64())});
    }
    /// By another athlete.
    [[nodiscard]] bool is_taken(const Athlete& athlete) const {
        if (athlete.call_sign.empty()) return false;
        const auto found = owners_.find(call_sign_key(athlete.call_sign));
        return found != owners_.end() && found->second != athlete.id;
    }
    void add(const Athlete& athlete) {
        if (!athlete.call_sign.empty()) owners_.emplace(call_sign_key(athlete.call_sign), athlete.id);
    }

  private:
    std::unordered_map<std::string, AthleteId> owners_;
};

bool is_known(SQLite::Database& database, AthleteId id) {
    SQLite::Statement query(database, "SELECT 1 FROM athletes WHERE id = ?");
    Binder(query).put(id);
    return query.executeStep();
}

Error taken_error(const Athlete& athlete) {
    return {ErrorKind::bad_input, "the call-sign \"" + athlete.call_sign + "\" is taken", "choose another one"};
}

Expected<void> insert(SQLite::Database& database, const Athlete& athlete, CallSigns& taken) {
    if (is_known(database, athlete.id)) return refuse("an athlete of this id is there already", "draw another id");
    if (taken.is_taken(athlete)) return tl::make_unexpected(taken_error(athlete));
    taken.add(athlete);
    const columns::ColumnNames names = all_athlete_columns();
    SQLite::Statement insert(database,
                             "INSERT INTO athletes (" + names.list() + ") VALUES (" + names.placeholders() + ")");
    Binder binder(insert);
    bind_athlete(binder, athlete);
    insert.exec();
    return {};
}

// One statement for many rows.
Expected<void> insert_all(SQLite::Database& database, const NextMeasure& next, const MeasureTaken& taken) {
    columns::ColumnNames names;
    const Measure shape;
    columns::visit_measure(shape, names);
    SQLite::Statement insert(database, "INSERT INTO measures (" + names.list() + ") VALUES (" + names.placeholders() +
                                           ") ON CONFLICT DO NOTHING");
    std::unordered_set<AthleteId> known;
    while (const Measure* measure = next()) {
        if (Expected<void> good = usable(*measure); !good) return good;
        if (!known.contains(measure->athlete)) {
            if (!is_known(database, measure->athlete))
                return refuse("a measure belongs to an athlete who is not in the store", "add the athlete first");
            known.insert(measure->athlete);
        }
        Binder binder(insert);
        columns::visit_measure(*measure, binder);
        if (insert.exec() == 0) return tl::make_unexpected(taken(*measure));
        insert.reset();
    }
    return {};
}

// Brings the write-ahead log home and leaves nothing of it.
Expected<void> empty_the_log(Writer& writer) {
    return writer.run([](SQLite::Database& database) {
        SQLite::Statement checkpoint(database, "PRAGMA wal_checkpoint(TRUNCATE)");
        if (checkpoint.executeStep() && checkpoint.getColumn(0).getInt() != 0)
            throw SQLite::Exception("a reader still uses the write-ahead log", 5 /* SQLITE_BUSY */);
    });
}

}  // namespace

Expected<void> Store::add_athlete(const Athlete& athlete) { return add_all({&athlete, 1}, {}); }

Expected<void> Store::add_all(std::span<const Athlete> athletes, std::span<const Measure> measures) {
    std::size_t at = 0;
    return add_all(
        athletes, [&]() -> const Measure* { return at < measures.size() ? &measures[at++] : nullptr; },
        [](const Measure& measure) {
            return Error{ErrorKind::bad_input,
                         "the athlete has a value of \"" + measure.measure + "\" on " + measure.date + " already",
                         "import each value once"};
        });
}

Expected<void> Store::add_all(std::span<const Athlete> athletes, const NextMeasure& next, const MeasureTaken& taken) {
    for (const Athlete& athlete : athletes)
        if (Expected<void> good = usable(athlete); !good) return good;
    return in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        CallSigns names(database);
        for (const Athlete& athlete : athletes)
            if (Expected<void> added = insert(database, athlete, names); !added) return added;
        if (!athletes.empty()) sums::renew(database, sums::Table::athletes);
        Expected<void> added = insert_all(database, next, taken);
        if (added) sums::renew(database, sums::Table::measures);
        return added;
    });
}

Expected<void> Store::change_athlete(const Athlete& athlete) {
    if (Expected<void> good = usable(athlete); !good) return good;
    return in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        if (!is_known(database, athlete.id))
            return breakstep::failure(ErrorKind::not_found, "there is no athlete of this id", "add the athlete first");
        if (CallSigns(database).is_taken(athlete)) return tl::make_unexpected(taken_error(athlete));
        note_changes(database, athlete);
        SQLite::Statement update(database,
                                 "UPDATE athletes SET " + all_athlete_columns().assignments() + " WHERE id = ?");
        Binder binder(update);
        bind_athlete(binder, athlete);
        binder.put(athlete.id);
        update.exec();
        sums::renew(database, sums::Table::athletes);
        return {};
    });
}

Expected<void> Store::may_erase() {
    // What waits of the athlete's sessions goes to the disk first, to be erased with the rest.
    if (Expected<void> written = flush(); !written) return written;
    // A reader that holds on to an old state would keep its pages: then rather nothing is erased than half of it.
    if (const auto alone = empty_the_log(*state_->writer); !alone)
        return breakstep::failure(alone.error().kind, alone.error().what,
                                  "close the program that reads the store, then erase again; nothing was erased");
    return {};
}

Expected<void> Store::erase_athlete(AthleteId id) {
    if (Expected<void> may = may_erase(); !may) return may;
    std::vector<SessionId> sessions;
    Expected<void> erased = in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        if (!is_known(database, id))
            return breakstep::failure(ErrorKind::not_found, "there is no athlete of this id", "nothing was erased");
        SQLite::Statement query(database, "SELECT id FROM sessions WHERE athlete = ?");
        Binder(query).put(id);
        while (query.executeStep()) columns::RowReader(query).get(sessions.emplace_back());
        // An evening's journal can't be read with a hole; it has served.
        SQLite::Statement nights(database,
                                 "DELETE FROM evenings WHERE number IN (SELECT evening FROM evening_events WHERE "
                                 "athlete = ?)");
        Binder(nights).put(id);
        nights.exec();
        SQLite::Statement erase(database, "DELETE FROM athletes WHERE id = ?");
        Binder(erase).put(id);
        erase.exec();
        note_erasure(database, id);
        // A partner's number in others' sessions.
        if (Expected<void> forgotten = forget_participant(database, id); !forgotten) return forgotten;
        sums::renew(database, sums::Table::athletes);
        sums::renew(database, sums::Table::measures);
        return {};
    });
    if (!erased) return erased;
    state_->writer->refuse(sessions, {ErrorKind::not_found, "the session's athlete was erased from the store",
                                      "begin a new session with another athlete"});
    Expected<void> clean = clear_traces();
    if (clean) return clean;
    return breakstep::failure(clean.error().kind,
                              "the athlete is erased, but traces may stand in " + state_->path.string() +
                                  " and its log: " + clean.error().what,
                              "see to that, then run this command once more: it finds nobody, and clears the rest");
}

// secure_delete has overwritten the rows; VACUUM leaves no trace in half-filled pages, and the truncating checkpoint
// none in the write-ahead log.
Expected<void> Store::clear_traces() {
    return state_->writer->run([](SQLite::Database& database) { database.exec("VACUUM"); }).and_then([&] {
        return empty_the_log(*state_->writer);
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
        sums::renew(database, sums::Table::calibrations);
        return {};
    });
}

}  // namespace breakstep
