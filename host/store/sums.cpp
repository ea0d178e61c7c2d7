#include "store/sums.hpp"

#include <sqlite3.h>

#include <boost/crc.hpp>
#include <cstring>
#include <iterator>

namespace breakstep::sums {

namespace {

using Crc = boost::crc_optimal<64, 0x42F0E1EBA9EA3693ULL, ~0ULL, ~0ULL, true, true>;

struct Sum {
    std::int64_t columns = 0, rows = 0, value = 0;
};

void add_value(Crc& crc, const SQLite::Column& column) {
    unsigned char head[9];
    head[0] = static_cast<unsigned char>(column.getType());
    std::uint64_t bits = 0;
    const void* bytes = nullptr;
    if (column.isInteger()) {
        bits = static_cast<std::uint64_t>(column.getInt64());
    } else if (column.isFloat()) {
        const double number = column.getDouble();
        std::memcpy(&bits, &number, sizeof bits);
    } else if (!column.isNull()) {
        bytes = column.getBlob();
        bits = static_cast<std::uint64_t>(column.getBytes());
    }
    for (unsigned i = 0; i < 8; ++i) head[1 + i] = static_cast<unsigned char>(bits >> (8 * i));
    crc.process_bytes(head, sizeof head);
    if (bytes != nullptr) crc.process_bytes(bytes, static_cast<std::size_t>(bits));
}

/// Over the rows of a query, of each the first `columns` columns; all there are if that is 0.
Sum sum_of(SQLite::Statement& rows, std::int64_t columns) {
    Sum sum;
    sum.columns = columns > 0 ? columns : rows.getColumnCount();
    Crc crc;
    while (rows.executeStep()) {
        ++sum.rows;
        for (int i = 0; i < rows.getColumnCount() && i < sum.columns; ++i) add_value(crc, rows.getColumn(i));
    }
    sum.value = static_cast<std::int64_t>(crc.checksum());
    return sum;
}

constexpr const char* session_query = "SELECT * FROM sessions WHERE number = ?";
constexpr const char* events_query = "SELECT * FROM events WHERE session = ? ORDER BY position";
constexpr const char* reps_query = "SELECT * FROM reps WHERE session = ? ORDER BY rep";
constexpr const char* totals_query = "SELECT * FROM totals WHERE session = ?";

Sum sum_of_session(SQLite::Database& database, const char* query, std::int64_t number, std::int64_t columns) {
    SQLite::Statement rows(database, query);
    rows.bind(1, number);
    return sum_of(rows, columns);
}

constexpr const char* table_names[] = {"athletes", "measures", "calibrations"};
constexpr const char* table_queries[] = {"SELECT * FROM athletes ORDER BY id",
                                         "SELECT * FROM measures ORDER BY athlete, measure, date",
                                         "SELECT * FROM calibrations ORDER BY number"};

Sum sum_of_table(SQLite::Database& database, std::size_t table, std::int64_t columns) {
    SQLite::Statement rows(database, table_queries[table]);
    return sum_of(rows, columns);
}

void compare_sessions(SQLite::Database& database, Changed& changed) {
    SQLite::Statement kept(database,
                           "SELECT number, session_columns, session_sum, events, event_columns, events_sum, reps, "
                           "rep_columns, reps_sum, totals_columns, totals_sum, session_sums.session IS NULL FROM "
                           "sessions LEFT JOIN session_sums ON session_sums.session = number ORDER BY number");
    while (kept.executeStep()) {
        ++changed.sessions;
        if (kept.getColumn(11).getInt() != 0) {
            ++changed.sessions_without;
            continue;
        }
        const auto at = [&kept](int column) { return kept.getColumn(column).getInt64(); };
        const std::int64_t number = at(0);
        const Sum session = sum_of_session(database, session_query, number, at(1));
        const Sum events = sum_of_session(database, events_query, number, at(4));
        const Sum reps = sum_of_session(database, reps_query, number, at(7));
        const Sum totals = sum_of_session(database, totals_query, number, at(9));
        if (session.value != at(2) || events.rows != at(3) || events.value != at(5) || totals.value != at(10))
            changed.session_rows.push_back(number);
        if (reps.rows != at(6) || reps.value != at(8)) changed.session_reps.push_back(number);
    }
}

}  // namespace

void renew_session(SQLite::Database& database, std::int64_t number) {
    const Sum session = sum_of_session(database, session_query, number, 0);
    const Sum events = sum_of_session(database, events_query, number, 0);
    const Sum reps = sum_of_session(database, reps_query, number, 0);
    const Sum totals = sum_of_session(database, totals_query, number, 0);
    SQLite::Statement put(database,
                          "INSERT OR REPLACE INTO session_sums (session, session_columns, session_sum, events, "
                          "event_columns, events_sum, reps, rep_columns, reps_sum, totals_columns, totals_sum) VALUES "
                          "(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    int place = 0;
    for (const std::int64_t value : {number, session.columns, session.value, events.rows, events.columns, events.value,
                                     reps.rows, reps.columns, reps.value, totals.columns, totals.value})
        put.bind(++place, value);
    put.exec();
}

bool is_to_have_one(SQLite::Database& database, std::int64_t number) {
    SQLite::Statement query(database,
                            "SELECT (SELECT how IS NOT NULL FROM sessions WHERE number = ?1) OR EXISTS (SELECT 1 FROM "
                            "session_sums WHERE session = ?1)");
    query.bind(1, number);
    return query.executeStep() && query.getColumn(0).getInt() != 0;
}

void renew(SQLite::Database& database, Table table) {
    const auto which = static_cast<std::size_t>(table);
    const Sum sum = sum_of_table(database, which, 0);
    SQLite::Statement put(database, "INSERT OR REPLACE INTO table_sums (name, columns, rows, sum) VALUES (?, ?, ?, ?)");
    put.bind(1, table_names[which]);
    put.bind(2, sum.columns);
    put.bind(3, sum.rows);
    put.bind(4, sum.value);
    put.exec();
}

void renew_all(SQLite::Database& database) {
    std::vector<std::int64_t> numbers;
    {
        SQLite::Statement query(database, "SELECT number FROM sessions WHERE how IS NOT NULL");
        while (query.executeStep()) numbers.push_back(query.getColumn(0).getInt64());
    }
    for (const std::int64_t number : numbers) renew_session(database, number);
    for (const Table table : {Table::athletes, Table::measures, Table::calibrations}) renew(database, table);
}

std::string Changed::first() const {
    if (!session_reps.empty()) return "the results of session " + std::to_string(session_reps.front());
    if (!session_rows.empty()) return "the record of session " + std::to_string(session_rows.front());
    if (!tables.empty()) return "the list of " + tables.front();
    return "";
}

Changed compare(SQLite::Database& database) {
    Changed changed;
    compare_sessions(database, changed);
    for (std::size_t table = 0; table < std::size(table_names); ++table) {
        SQLite::Statement kept(database, "SELECT columns, rows, sum FROM table_sums WHERE name = ?");
        kept.bind(1, table_names[table]);
        if (!kept.executeStep()) continue;
        const Sum sum = sum_of_table(database, table, kept.getColumn(0).getInt64());
        if (sum.rows != kept.getColumn(1).getInt64() || sum.value != kept.getColumn(2).getInt64())
            changed.tables.emplace_back(table_names[table]);
    }
    return changed;
}

}  // namespace breakstep::sums
