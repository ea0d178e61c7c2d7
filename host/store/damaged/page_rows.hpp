// The rows that stand in the pages of a SQLite file, whatever became of the pages that lead to them: each page that
// holds rows is read by itself. Internal to host/store.
//
// A row counts if its lengths fit each other and its page; SQLite keeps no sums over its pages, so a changed byte
// inside a value can't be seen. One thread; never fails, whatever the bytes are: what does not fit is skipped.
#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <variant>
#include <vector>

#include "store/damaged/store_pages.hpp"

namespace breakstep {

struct Blob {
    std::string bytes;
};
using RowValue = std::variant<std::monostate, std::int64_t, double, std::string, Blob>;

struct PageRow {
    bool by_rowid = false;  ///< of a table with row numbers; else of one without, or of an index
    std::int64_t rowid = 0;
    std::vector<RowValue> values;
};

struct PageCounts {
    std::int64_t rows = 0;
    std::int64_t rows_unreadable = 0;  ///< in pages that hold rows
};
PageCounts read_page_rows(StorePages& file, const std::function<void(PageRow&)>& each);

}  // namespace breakstep
