// athletes export-list, export: tables to a file or to stdout, a session at a time, so that a store of any size fits.
#include <fmt/format.h>

#include <algorithm>
#include <iostream>
#include <unordered_map>
#include <vector>

#include "cli/athletes/shared.hpp"
#include "cli/session_setup.hpp"
#include "club/athletes/athlete_list.hpp"
#include "club/athletes/athletes_json.hpp"
#include "club/athletes/export_tables.hpp"
#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"

namespace breakstep {
namespace {

/// Who may be shown, and who is left out for want of consent.
struct Roster {
    std::unordered_map<std::uint64_t, Athlete> shown_ones;
    std::vector<Athlete> left_out;
    bool with_names = false;  ///< real names and notes too

    [[nodiscard]] const Athlete* find(std::optional<AthleteId> id) const {
        const auto found = shown_ones.find(id ? static_cast<std::uint64_t>(*id) : 0);
        return found == shown_ones.end() ? nullptr : &found->second;
    }
    [[nodiscard]] bool leaves_out(std::optional<AthleteId> id) const {
        return std::any_of(left_out.begin(), left_out.end(), [&](const Athlete& one) { return id == one.id; });
    }
};

Expected<Roster> roster_of(const Kept& store, bool with_names) {
    const auto athletes = store.athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    Roster roster;
    roster.with_names = with_names;
    const std::string today = today_here();
    for (const Athlete& athlete : *athletes)
        if (may_keep(athlete, today))
            roster.shown_ones.emplace(static_cast<std::uint64_t>(athlete.id), athlete);
        else
            roster.left_out.push_back(athlete);
    return roster;
}

std::string name_of(const Athlete* athlete) { return athlete == nullptr ? "" : shown(*athlete); }

constexpr std::string_view name_columns[] = {"real_name", "notes"};

/// What stands at a row's end where real names and notes were asked for.
std::vector<ExportCell> names_of(const Roster& roster, const Athlete* athlete) {
    if (!roster.with_names) return {};
    return {athlete == nullptr ? "" : athlete->real_name, athlete == nullptr ? "" : athlete->notes};
}

template <class Row>
void write_header(std::ostream& out, std::span<const ExportColumn<Row>> columns, bool with_names = false) {
    for (std::size_t i = 0; i < columns.size(); ++i) out << (i > 0 ? "," : "") << columns[i].name;
    if (with_names)
        for (const std::string_view name : name_columns) out << ',' << name;
    out << "\r\n";
}

template <class Row>
void write_row(std::ostream& out, std::span<const ExportColumn<Row>> columns, const Row& row,
               const std::vector<ExportCell>& names = {}) {
    for (std::size_t i = 0; i < columns.size(); ++i) out << (i > 0 ? "," : "") << csv_text(columns[i].cell(row));
    for (const ExportCell& name : names) out << ',' << csv_text(name);
    out << "\r\n";
}

template <class Row>
std::string row_json(std::span<const ExportColumn<Row>> columns, const Row& row,
                     const std::vector<ExportCell>& athlete_names = {}) {
    std::vector<std::string_view> names;
    std::vector<ExportCell> cells;
    for (const ExportColumn<Row>& column : columns) {
        names.push_back(column.name);
        cells.push_back(column.cell(row));
    }
    for (std::size_t i = 0; i < athlete_names.size(); ++i) {
        names.push_back(name_columns[i]);
        cells.push_back(athlete_names[i]);
    }
    return json_object(names, cells);
}

// Calls `each` with every session that may be shown, and its athlete (null for one of nobody).
using EachSession = std::function<Expected<void>(const SessionSummary&, const Athlete*)>;
Expected<void> for_sessions(const Kept& store, const Roster& roster, const EachSession& each) {
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    for (const SessionSummary& session : *sessions) {
        if (roster.leaves_out(session.athlete)) continue;
        if (Expected<void> done = each(session, roster.find(session.athlete)); !done) return done;
    }
    return {};
}

Expected<SessionTotals> totals_in(const Kept& store, SessionId session) {
    const auto totals = store.totals(session);
    if (!totals) return tl::make_unexpected(totals.error());
    return totals->value_or(SessionTotals{});
}

Expected<void> write_reps(const Kept& store, const Roster& roster, std::ostream& out) {
    write_header(out, rep_columns(), roster.with_names);
    return for_sessions(store, roster, [&](const SessionSummary& session, const Athlete* athlete) -> Expected<void> {
        const auto reps = store.reps(session.id);
        if (!reps) return tl::make_unexpected(reps.error());
        const std::string name = name_of(athlete);
        for (const RepResult& rep : *reps)
            write_row(out, rep_columns(), RepRow{session, name, rep}, names_of(roster, athlete));
        return {};
    });
}

Expected<void> write_sessions(const Kept& store, const Roster& roster, std::ostream& out) {
    write_header(out, session_columns(), roster.with_names);
    return for_sessions(store, roster, [&](const SessionSummary& session, const Athlete* athlete) -> Expected<void> {
        const auto totals = totals_in(store, session.id);
        if (!totals) return tl::make_unexpected(totals.error());
        const std::string name = name_of(athlete);
        write_row(out, session_columns(), SessionRow{session, name, *totals}, names_of(roster, athlete));
        return {};
    });
}

Expected<void> write_measures(const Kept& store, const Roster& roster, std::ostream& out, bool json) {
    const auto measures = store.measures();
    if (!measures) return tl::make_unexpected(measures.error());
    if (!json) write_header(out, measure_columns(), roster.with_names);
    const char* between = "";
    for (const Measure& measure : *measures) {
        if (roster.leaves_out(measure.athlete)) continue;
        const Athlete* athlete = roster.find(measure.athlete);
        const std::string name = name_of(athlete);
        const MeasureRow row{measure, name};
        if (json)
            out << std::exchange(between, ",\n") << row_json(measure_columns(), row, names_of(roster, athlete));
        else
            write_row(out, measure_columns(), row, names_of(roster, athlete));
    }
    return {};
}

// {"sessions": [{..., "reps": [...]}], "measures": [...]}, written as it goes.
Expected<void> write_json(const Kept& store, const Roster& roster, std::ostream& out) {
    const auto about_rep = rep_columns().subspan(rep_columns_about_the_session());
    const char* between = "";
    out << "{\"sessions\":[";
    const auto write_session = [&](const SessionSummary& session, const Athlete* athlete) -> Expected<void> {
        const auto totals = totals_in(store, session.id);
        if (!totals) return tl::make_unexpected(totals.error());
        const auto reps = store.reps(session.id);
        if (!reps) return tl::make_unexpected(reps.error());
        const std::string name = name_of(athlete);
        // The session's object is left open for its list of reps.
        std::string object = row_json(session_columns(), SessionRow{session, name, *totals}, names_of(roster, athlete));
        object.back() = ',';
        out << std::exchange(between, ",\n") << object << "\"reps\":[";
        const char* comma = "\n";
        for (const RepResult& rep : *reps)
            out << std::exchange(comma, ",\n") << row_json(about_rep, RepRow{session, name, rep});
        out << "]}";
        return {};
    };
    if (Expected<void> done = for_sessions(store, roster, write_session); !done) return done;
    out << "],\n\"measures\":[";
    if (Expected<void> done = write_measures(store, roster, out, true); !done) return done;
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
    write_all("athletes", athlete_columns());  // real_name and notes of all tables, with --with-names, among them
    if (json) out << "]}\n";
    return {};
}

Expected<void> write_table(const Kept& store, const Roster& roster, std::ostream& out, const std::string& table) {
    if (table == "sessions") return write_sessions(store, roster, out);
    if (table == "measures") return write_measures(store, roster, out, false);
    return write_reps(store, roster, out);
}

}  // namespace

namespace {

// A disk that has no room for an export is not the store's.
int complain_of_file(const Error& error) {
    return error.kind == ErrorKind::no_space ? complain(error, exit_failed) : complain(error);
}

}  // namespace

int export_athletes(const KeepingOptions& options) {
    return with_kept(options.common, [&](const Kept& store) {
        const auto athletes = store.athletes();
        if (!athletes) return complain(athletes.error());
        std::vector<Athlete> named;
        for (const Athlete& athlete : *athletes)
            if (!athlete.call_sign.empty()) named.push_back(athlete);
        const auto written = write_out(options.file, options.overwrite, [&](std::ostream& out) -> Expected<void> {
            if (options.common.json)
                out << athletes_json(named, today_here(), options.with_names ? Names::real : Names::call_signs_alone);
            else
                write_athlete_list(out, named, options.with_names);
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
    return with_kept(options.common, [&](const Kept& store) {
        const auto roster = roster_of(store, options.with_names);
        if (!roster) return complain(roster.error());
        const auto written = write_out(options.file, options.overwrite, [&](std::ostream& out) {
            return options.common.json ? write_json(store, *roster, out)
                                       : write_table(store, *roster, out, options.table);
        });
        if (!written) return complain_of_file(written.error());
        tell_left_out(roster->left_out, today_here());
        return static_cast<int>(exit_done);
    });
}

}  // namespace breakstep
