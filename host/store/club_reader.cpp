// What other stores of the club are told, read out of this one.
#include <cstring>

#include "store/reader.hpp"
#include "store/whole_rows.hpp"

namespace breakstep {

using columns::RowReader;

Expected<std::vector<SessionState>> Reader::session_states() {
    return with_connection([&] {
        SQLite::Statement query(
            *database_,
            "SELECT number, id, athlete, ifnull((SELECT max(position) + 1 FROM events WHERE events.session = "
            "sessions.number), 0), (SELECT count(*) FROM reps WHERE reps.session = sessions.number), totals.session IS "
            "NOT NULL, session_sums.reps_sum, session_sums.totals_sum FROM sessions LEFT JOIN totals ON totals.session "
            "= sessions.number LEFT JOIN session_sums ON session_sums.session = sessions.number ORDER BY began_unix_s, "
            "id");
        std::vector<SessionState> states;
        while (query.executeStep()) {
            SessionState& state = states.emplace_back();
            RowReader row(query);
            row.get(state.number);
            row.get(state.id);
            row.get(state.athlete);
            row.get(state.events);
            row.get(state.reps);
            row.get(state.has_totals);
            row.get(state.reps_sum);
            row.get(state.totals_sum);
        }
        return states;
    });
}

Expected<ClubNotes> Reader::club_notes() {
    return with_connection([&] {
        ClubNotes notes;
        SQLite::Statement changes(
            *database_, "SELECT athlete, field, changed_unix_ms, author FROM athlete_changes ORDER BY athlete, field");
        while (changes.executeStep()) {
            FieldChange& change = notes.changes.emplace_back();
            RowReader row(changes);
            row.get(change.athlete);
            row.get(change.field);
            row.get(change.changed_unix_ms);
            const SQLite::Column author = changes.getColumn(3);
            if (author.getBytes() == sizeof change.author)
                std::memcpy(&change.author, author.getBlob(), sizeof change.author);
        }
        SQLite::Statement erased(*database_, "SELECT athlete, erased_unix_ms FROM erased ORDER BY athlete");
        while (erased.executeStep()) {
            ErasedAthlete& one = notes.erased.emplace_back();
            RowReader row(erased);
            row.get(one.athlete);
            row.get(one.erased_unix_ms);
        }
        SQLite::Statement joined(*database_, "SELECT gone, kept, joined_unix_ms FROM joined ORDER BY gone");
        while (joined.executeStep()) {
            JoinedAthletes& one = notes.joined.emplace_back();
            RowReader row(joined);
            row.get(one.gone);
            row.get(one.kept);
            row.get(one.joined_unix_ms);
        }
        return notes;
    });
}

}  // namespace breakstep
