// Sums over rows: whether what the store holds is what was written, to the byte. Internal to host/store.
//
// SQLite keeps no sums over its pages; a digit that changes inside a row looks like any other digit. A session that
// ended (or was found cut off) has four: over its row, its events, its reps, its totals. The tables that are read as a
// whole (athletes, measures, calibrations) have one each. They are renewed in the transaction that changes what they
// cover. What was kept before the store's fourth version has none until it is written again.
//
// A sum is a CRC-64 (ECMA-182, reflected: it finds every change within 64 bits) over the values in order, each with its
// kind and length. Later versions add columns at the end of a table: a sum says how many of the first it covers.
//
// Throws as SQLiteCpp does. One thread at a time for each connection.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include <SQLiteCpp/SQLiteCpp.h>

namespace breakstep::sums {

void renew_session(SQLite::Database& database, std::int64_t number);
/// Whether the session has a sum, or has ended and so is to have one.
[[nodiscard]] bool is_to_have_one(SQLite::Database& database, std::int64_t number);

enum class Table { athletes, measures, calibrations };
void renew(SQLite::Database& database, Table table);
/// Every session that has ended, and every table.
void renew_all(SQLite::Database& database);

/// What is not what it was.
struct Changed {
    std::int64_t sessions = 0;               ///< how many there are
    std::int64_t sessions_without = 0;       ///< that have no sum
    std::vector<std::int64_t> session_rows;  ///< numbers of sessions of which the row, the events or the totals changed
    std::vector<std::int64_t> session_reps;  ///< numbers of sessions of which the reps changed
    std::vector<std::string> tables;
    [[nodiscard]] bool any() const { return !session_rows.empty() || !session_reps.empty() || !tables.empty(); }
    /// "the results of session 7", the first of them; "" if nothing changed.
    [[nodiscard]] std::string first() const;
};
[[nodiscard]] Changed compare(SQLite::Database& database);

}  // namespace breakstep::sums
