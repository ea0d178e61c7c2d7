// Rows of the store's tables by their visitor lists: the SQL that reads and writes them whole. Internal to host/store;
// throws as SQLiteCpp does.
#pragma once

#include <optional>
#include <string>

#include <SQLiteCpp/SQLiteCpp.h>

#include "store/values.hpp"

namespace breakstep {

/// "a, b, c" of a visitor list.
template <class Row, class Visit>
[[nodiscard]] columns::ColumnNames columns_of(Visit&& visit) {
    Row shape;
    columns::ColumnNames names;
    visit(shape, names);
    return names;
}

/// The athlete's columns, then the consent's.
[[nodiscard]] columns::ColumnNames all_athlete_columns();
/// No consent is three NULLs.
void bind_athlete(columns::Binder& binder, const Athlete& athlete);
/// Of a query of all_athlete_columns().
[[nodiscard]] Athlete athlete_from(SQLite::Statement& statement);
[[nodiscard]] std::optional<Athlete> find_athlete(SQLite::Database& database, AthleteId id);

[[nodiscard]] std::string put_rep_sql();
[[nodiscard]] std::string put_totals_sql();
/// Of a session by its number, which comes last.
[[nodiscard]] std::string begin_session_sql();

}  // namespace breakstep
