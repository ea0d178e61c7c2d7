// The tables that `export` hands out, each column with its unit and its meaning in one place: CSV, JSON and the data
// dictionary are all made from these, so that they can't differ. Pure; any thread.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>
#include <variant>

#include "core/score/score.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

/// Nothing, a truth, a whole number, a number, a text.
using ExportCell = std::variant<std::monostate, bool, std::int64_t, std::uint64_t, double, std::string>;

template <class Row>
struct ExportColumn {
    std::string_view name, unit, meaning;  ///< unit "" for none
    ExportCell (*cell)(const Row&);
};

struct SessionRow {
    const SessionSummary& session;
    const std::string& athlete;  ///< call-sign
    const SessionTotals& totals;
};
struct RepRow {
    const SessionSummary& session;
    const std::string& athlete;
    const RepResult& rep;
    bool counts_in_training;  ///< the session is not the athlete's first of that drill
};
struct MeasureRow {
    const Measure& measure;
    const std::string& athlete;
};

[[nodiscard]] std::span<const ExportColumn<SessionRow>> session_columns();
/// The first few say of which session a rep is, and of whom.
[[nodiscard]] std::span<const ExportColumn<RepRow>> rep_columns();
[[nodiscard]] std::size_t rep_columns_about_the_session();
/// athlete, date, measure, value: as `import` reads them.
[[nodiscard]] std::span<const ExportColumn<MeasureRow>> measure_columns();

/// As `athletes import-list` reads them.
[[nodiscard]] std::span<const ExportColumn<Athlete>> athlete_columns();

/// A cell of a CSV table: numbers with a point and as many digits as they need, texts harmless and quoted.
[[nodiscard]] std::string csv_text(const ExportCell& cell);

/// {"name": cell, ...}; names and cells are equally many.
[[nodiscard]] std::string json_object(std::span<const std::string_view> names, std::span<const ExportCell> cells);

}  // namespace breakstep
