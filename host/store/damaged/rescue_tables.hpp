// The tables of a new store as what rows found in a damaged one are fitted into. Internal to host/store; throws as
// SQLiteCpp does. One thread.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include <SQLiteCpp/SQLiteCpp.h>

#include "store/damaged/page_rows.hpp"

namespace breakstep {

class RescueTables {
  public:
    /// Of an empty store of the newest version.
    explicit RescueTables(SQLite::Database& database);
    /// Puts the row into the table that its number and kinds of values belong to: no two of our tables are alike in
    /// these, and of a row that is whole in one and was once shorter in another it is the first's. Rows of indexes and
    /// anything else belong to none.
    void take(PageRow& row);
    /// Belonged to a table, and were refused by it: values that can't be, and rows that were there already.
    [[nodiscard]] std::int64_t refused() const { return refused_; }
    [[nodiscard]] std::int64_t taken() const { return taken_; }

  private:
    struct Column {
        std::string type;
        bool may_be_null = false;
        bool is_rowid = false;  ///< stands in the row's number, and as NULL among its values
        RowValue fallback;      ///< what a row has that was kept before a later version added the column
    };
    struct Table {
        bool by_rowid = true;
        std::vector<Column> columns;
        std::size_t columns_min = 0;  ///< the others have a fallback
        SQLite::Statement insert;
    };
    [[nodiscard]] static bool fits(const Column& column, const RowValue& value);
    [[nodiscard]] static bool fits(const Table& table, const PageRow& row);
    void put(Table& table, const PageRow& row);

    std::vector<Table> tables_;
    std::int64_t refused_ = 0, taken_ = 0;
};

}  // namespace breakstep
