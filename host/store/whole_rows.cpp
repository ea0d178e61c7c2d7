#include "store/whole_rows.hpp"

namespace breakstep {

using columns::Binder;
using columns::ColumnNames;
using columns::RowReader;

ColumnNames all_athlete_columns() {
    ColumnNames names;
    const Athlete athlete;
    const Consent consent;
    columns::visit_athlete(athlete, names);
    columns::visit_consent(consent, names);
    return names;
}

void bind_athlete(Binder& binder, const Athlete& athlete) {
    columns::visit_athlete(athlete, binder);
    if (athlete.consent) {
        columns::visit_consent(*athlete.consent, binder);
    } else {
        for (int i = 0; i < 3; ++i) binder.put_null();
    }
}

Athlete athlete_from(SQLite::Statement& statement) {
    Athlete athlete;
    RowReader row(statement);
    columns::visit_athlete(athlete, row);
    if (!row.is_null()) columns::visit_consent(athlete.consent.emplace(), row);
    return athlete;
}

std::optional<Athlete> find_athlete(SQLite::Database& database, AthleteId id) {
    SQLite::Statement query(database, "SELECT " + all_athlete_columns().list() + " FROM athletes WHERE id = ?");
    Binder(query).put(id);
    if (!query.executeStep()) return std::nullopt;
    return athlete_from(query);
}

std::string put_rep_sql() {
    const ColumnNames names = columns_of<RepResult>([](auto& row, auto& to) { columns::visit_rep(row, to); });
    return "INSERT OR REPLACE INTO reps (session, " + names.list() + ") VALUES (?, " + names.placeholders() + ")";
}

std::string put_totals_sql() {
    const ColumnNames names = columns_of<SessionTotals>([](auto& row, auto& to) { columns::visit_totals(row, to); });
    return "INSERT OR REPLACE INTO totals (session, " + names.list() + ") VALUES (?, " + names.placeholders() + ")";
}

std::string begin_session_sql() {
    const ColumnNames names = columns_of<SessionSummary>([](auto& row, auto& to) { columns::visit_session(row, to); });
    return "UPDATE sessions SET " + names.assignments() + " WHERE number = ?";
}

}  // namespace breakstep
