#include "store/damaged/rescue_tables.hpp"

#include <sqlite3.h>

namespace breakstep {
namespace {

// Of a literal in our own schema.
RowValue value_of(SQLite::Database& database, const std::string& literal) {
    SQLite::Statement query(database, "SELECT " + literal);
    (void)query.executeStep();
    const SQLite::Column column = query.getColumn(0);
    if (column.isInteger()) return column.getInt64();
    if (column.isText()) return column.getString();
    return {};
}

struct ValueBinder {
    SQLite::Statement& statement;
    int place;

    void operator()(std::monostate) const { statement.bind(place); }
    void operator()(std::int64_t number) const { statement.bind(place, number); }
    void operator()(double number) const { statement.bind(place, number); }
    void operator()(const std::string& text) const { statement.bindNoCopy(place, text); }
    void operator()(const Blob& blob) const {
        statement.bindNoCopy(place, static_cast<const void*>(blob.bytes.data()), static_cast<int>(blob.bytes.size()));
    }
};

}  // namespace

RescueTables::RescueTables(SQLite::Database& database) {
    SQLite::Statement list(database,
                           "SELECT name, wr FROM pragma_table_list WHERE type = 'table' AND schema = 'main' AND name "
                           "NOT LIKE 'sqlite_%'");
    while (list.executeStep()) {
        const std::string name = list.getColumn(0).getString();
        const bool by_rowid = list.getColumn(1).getInt() == 0;
        std::vector<Column> columns;
        std::size_t columns_min = 0;
        std::string names, places;
        SQLite::Statement info(database, "SELECT name, type, \"notnull\", pk, dflt_value FROM pragma_table_info(?)");
        info.bind(1, name);
        while (info.executeStep()) {
            const std::string type = info.getColumn(1).getString();
            const bool key = info.getColumn(3).getInt() != 0;
            Column& column = columns.emplace_back();
            column.type = type;
            column.may_be_null = info.getColumn(2).getInt() == 0 && !key;
            column.is_rowid = by_rowid && key && type == "INTEGER";
            if (info.isColumnNull(4))
                columns_min = columns.size();
            else
                column.fallback = value_of(database, info.getColumn(4).getString());
            names += (names.empty() ? "" : ", ") + info.getColumn(0).getString();
            places += places.empty() ? "?" : ", ?";
        }
        tables_.push_back({by_rowid, std::move(columns), columns_min,
                           SQLite::Statement(database, "INSERT OR IGNORE INTO " + name + " (" + names + ") VALUES (" +
                                                           places + ")")});
    }
}

bool RescueTables::fits(const Column& column, const RowValue& value) {
    if (std::holds_alternative<std::monostate>(value)) return column.may_be_null || column.is_rowid;
    if (column.is_rowid) return false;
    if (column.type == "INTEGER") return std::holds_alternative<std::int64_t>(value);
    // A number without a fraction is kept as an integer in a REAL column, too (SQLite's file format, section 2.1).
    if (column.type == "REAL")
        return std::holds_alternative<double>(value) || std::holds_alternative<std::int64_t>(value);
    if (column.type == "TEXT") return std::holds_alternative<std::string>(value);
    return std::holds_alternative<Blob>(value);
}

bool RescueTables::fits(const Table& table, const PageRow& row) {
    if (row.by_rowid != table.by_rowid || row.values.size() < table.columns_min ||
        row.values.size() > table.columns.size())
        return false;
    for (std::size_t i = 0; i < row.values.size(); ++i)
        if (!fits(table.columns[i], row.values[i])) return false;
    return true;
}

void RescueTables::take(PageRow& row) {
    // A whole row first: a shorter one of another table, as an older version kept it, may look like it.
    for (const bool whole : {true, false})
        for (Table& table : tables_) {
            if ((row.values.size() == table.columns.size()) != whole || !fits(table, row)) continue;
            put(table, row);
            return;
        }
}
void RescueTables::put(Table& table, const PageRow& row) {
    table.insert.tryReset();
    for (std::size_t i = 0; i < table.columns.size(); ++i) {
        const Column& column = table.columns[i];
        const ValueBinder bind{table.insert, static_cast<int>(i) + 1};
        if (column.is_rowid)
            bind(row.rowid);
        else
            std::visit(bind, i < row.values.size() ? row.values[i] : column.fallback);
    }
    try {
        ++(table.insert.exec() > 0 ? taken_ : refused_);
    } catch (const SQLite::Exception& problem) {
        if (problem.getErrorCode() != SQLITE_CONSTRAINT) throw;
        ++refused_;
    }
}

}  // namespace breakstep
