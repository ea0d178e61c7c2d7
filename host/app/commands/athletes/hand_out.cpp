// athletes export-list, export: tables to a file or to stdout, a session at a time, so that a store of any size fits.
#include <fmt/format.h>

#include <iostream>
#include <unordered_map>
#include <vector>

#include "app/commands/athletes/athlete_list.hpp"
#include "app/commands/athletes/athletes_json.hpp"
#include "app/commands/athletes/export_tables.hpp"
#include "app/commands/athletes/shared.hpp"
#include "app/commands/session_setup.hpp"

namespace breakstep {
namespace {

using Names = std::unordered_map<std::uint64_t, std::string>;

Expected<Names> names_in(const Store& store) {
    const auto athletes = store.athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    Names names;
    for (const Athlete& athlete : *athletes) names[static_cast<std::uint64_t>(athlete.id)] = shown(athlete);
    return names;
}

const std::string& name_of(const Names& names, std::optional<AthleteId> id) {
    static const std::string nobody;
    const auto found = names.find(id ? static_cast<std::uint64_t>(*id) : 0);
    return found == names.end() ? nobody : found->second;
}

template <class Row>
void write_header(std::ostream& out, std::span<const ExportColumn<Row>> columns) {
    for (std::size_t i = 0; i < columns.size(); ++i) out << (i > 0 ? "," : "") << columns[i].name;
    out << "\r\n";
}

template <class Row>
void write_row(std::ostream& out, std::span<const ExportColumn<Row>> columns, const Row& row) {
    for (std::size_t i = 0; i < columns.size(); ++i) out << (i > 0 ? "," : "") << csv_text(columns[i].cell(row));
    out << "\r\n";
}

template <class Row>
std::string row_json(std::span<const ExportColumn<Row>> columns, const Row& row) {
    std::vector<std::string_view> names;
    std::vector<ExportCell> cells;
    for (const ExportColumn<Row>& column : columns) {
        names.push_back(column.name);
        cells.push_back(column.cell(row));
    }
    return json_object(names, cells);
}

// Calls `each` with every session, its athlete's call-sign and its reps.
using EachSession = std::function<Expected<void>(const SessionSummary&, const std::string&)>;
Expected<void> for_sessions(const Store& store, const EachSession& each) {
    const auto names = names_in(store);
    if (!names) return tl::make_unexpected(names.error());
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    for (const SessionSummary& session : *sessions)
        if (Expected<void> done = each(session, name_of(*names, session.athlete)); !done) return done;
    return {};
}

Expected<SessionTotals> totals_in(const Store& store, SessionId session) {
    const auto totals = store.totals(session);
    if (!totals) return tl::make_unexpected(totals.error());
    return totals->value_or(SessionTotals{});
}

Expected<void> write_reps(const Store& store, std::ostream& out) {
    write_header(out, rep_columns());
    return for_sessions(store, [&](const SessionSummary& session, const std::string& athlete) -> Expected<void> {
        const auto reps = store.reps(session.id);
        if (!reps) return tl::make_unexpected(reps.error());
        for (const RepResult& rep : *reps) write_row(out, rep_columns(), RepRow{session, athlete, rep});
        return {};
    });
}

Expected<void> write_sessions(const Store& store, std::ostream& out) {
    write_header(out, session_columns());
    return for_sessions(store, [&](const SessionSummary& session, const std::string& athlete) -> Expected<void> {
        const auto totals = totals_in(store, session.id);
        if (!totals) return tl::make_unexpected(totals.error());
        write_row(out, session_columns(), SessionRow{session, athlete, *totals});
        return {};
    });
}

Expected<void> write_measures(const Store& store, std::ostream& out, bool json) {
    const auto names = names_in(store);
    if (!names) return tl::make_unexpected(names.error());
    const auto measures = store.measures();
    if (!measures) return tl::make_unexpected(measures.error());
    if (!json) write_header(out, measure_columns());
    const char* between = "";
    for (const Measure& measure : *measures) {
        const MeasureRow row{measure, name_of(*names, measure.athlete)};
        if (json)
            out << std::exchange(between, ",\n") << row_json(measure_columns(), row);
        else
            write_row(out, measure_columns(), row);
    }
    return {};
}

// {"sessions": [{..., "reps": [...]}], "measures": [...]}, written as it goes.
Expected<void> write_json(const Store& store, std::ostream& out) {
    const auto about_rep = rep_columns().subspan(rep_columns_about_the_session());
    const char* between = "";
    out << "{\"sessions\":[";
    const auto written =
        for_sessions(store, [&](const SessionSummary& session, const std::string& athlete) -> Expected<void> {
            const auto totals = totals_in(store, session.id);
            if (!totals) return tl::make_unexpected(totals.error());
            const auto reps = store.reps(session.id);
            if (!reps) return tl::make_unexpected(reps.error());
            // The session's object is left open for its list of reps.
            std::string object = row_json(session_columns(), SessionRow{session, athlete, *totals});
            object.back() = ',';
            out << std::exchange(between, ",\n") << object << "\"reps\":[";
            const char* comma = "\n";
            for (const RepResult& rep : *reps)
                out << std::exchange(comma, ",\n") << row_json(about_rep, RepRow{session, athlete, rep});
            out << "]}";
            return {};
        });
    if (!written) return written;
    out << "],\n\"measures\":[";
    if (Expected<void> done = write_measures(store, out, true); !done) return done;
    out << "]}\n";
    return {};
}

struct DictionaryRow {
    std::string table;
    std::string_view name, unit, meaning;
};
constexpr ExportColumn<DictionaryRow> dictionary_table[] = {
    {"table", "", "", [](const DictionaryRow& r) { return ExportCell(r.table); }},
    {"column", "", "", [](const DictionaryRow& r) { return ExportCell(std::string(r.name)); }},
    {"unit", "", "", [](const DictionaryRow& r) { return ExportCell(std::string(r.unit)); }},
    {"meaning", "", "", [](const DictionaryRow& r) { return ExportCell(std::string(r.meaning)); }},
};

Expected<void> write_dictionary(std::ostream& out, bool json) {
    const std::span<const ExportColumn<DictionaryRow>> columns = dictionary_table;
    const char* between = "";
    const auto write_all = [&](const char* table, auto described) {
        for (const auto& column : described) {
            const DictionaryRow row{table, column.name, column.unit, column.meaning};
            if (json)
                out << std::exchange(between, ",\n") << row_json(columns, row);
            else
                write_row(out, columns, row);
        }
    };
    if (json)
        out << "{\"columns\":[";
    else
        write_header(out, columns);
    write_all("reps", rep_columns());
    write_all("sessions", session_columns());
    write_all("measures", measure_columns());
    write_all("athletes", athlete_columns());
    if (json) out << "]}\n";
    return {};
}

Expected<void> write_table(const Store& store, std::ostream& out, const std::string& table) {
    if (table == "sessions") return write_sessions(store, out);
    if (table == "measures") return write_measures(store, out, false);
    return write_reps(store, out);
}

}  // namespace

namespace {

// A disk that has no room for an export is not the store's.
int complain_of_file(const Error& error) {
    return error.kind == ErrorKind::no_space ? complain(error, exit_failed) : complain(error);
}

}  // namespace

int export_athletes(const KeepingOptions& options) {
    return with_whole_store(options.common, [&](Store& store) {
        const auto athletes = store.athletes();
        if (!athletes) return complain(athletes.error());
        std::vector<Athlete> named;
        for (const Athlete& athlete : *athletes)
            if (!athlete.call_sign.empty()) named.push_back(athlete);
        const auto written = write_out(options.file, options.overwrite, [&](std::ostream& out) -> Expected<void> {
            if (options.common.json)
                out << athletes_json(named, local_date(unix_now()));
            else
                write_athlete_list(out, named);
            return {};
        });
        if (!written) return complain_of_file(written.error());
        if (named.size() < athletes->size())
            std::cerr << fmt::format("{} athletes without a call-sign are not in the list\n",
                                     athletes->size() - named.size());
        return static_cast<int>(exit_done);
    });
}

int export_results(const KeepingOptions& options) {
    if (options.dictionary) {
        const auto written = write_out(options.file, options.overwrite,
                                       [&](std::ostream& out) { return write_dictionary(out, options.common.json); });
        return written ? static_cast<int>(exit_done) : complain_of_file(written.error());
    }
    if (options.file.empty())
        return complain({ErrorKind::bad_input, "where to export to was not said", "name a file, or - for stdout"});
    return with_whole_store(options.common, [&](Store& store) {
        const auto written = write_out(options.file, options.overwrite, [&](std::ostream& out) {
            return options.common.json ? write_json(store, out) : write_table(store, out, options.table);
        });
        return written ? static_cast<int>(exit_done) : complain_of_file(written.error());
    });
}

}  // namespace breakstep
