#include "club/athletes/hand_out.hpp"

#include <algorithm>
#include <functional>
#include <ostream>
#include <span>
#include <utility>

#include "club/athletes/export_tables.hpp"
#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"

namespace breakstep {

const Athlete* Roster::find(std::optional<AthleteId> id) const {
    const auto found = shown_ones.find(id ? static_cast<std::uint64_t>(*id) : 0);
    return found == shown_ones.end() ? nullptr : &found->second;
}

bool Roster::leaves_out(std::optional<AthleteId> id) const {
    return std::any_of(left_out.begin(), left_out.end(), [&](const Athlete& one) { return id == one.id; });
}

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

namespace {

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

// Calls `each` with every session that may be shown, its athlete (null for one of nobody), and whether they had done
// that drill before.
using EachSession = std::function<Expected<void>(const SessionSummary&, const Athlete*, bool known_drill)>;
Expected<void> for_sessions(const Kept& store, const Roster& roster, const EachSession& each) {
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    std::set<std::pair<std::optional<AthleteId>, std::string>> known;
    for (const SessionSummary& session : *sessions) {
        if (roster.leaves_out(session.athlete)) continue;
        const bool known_drill = !known.emplace(session.athlete, session.drill).second;
        if (Expected<void> done = each(session, roster.find(session.athlete), known_drill); !done) return done;
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
    return for_sessions(
        store, roster, [&](const SessionSummary& session, const Athlete* athlete, bool known_drill) -> Expected<void> {
            const auto reps = store.reps(session.id);
            if (!reps) return tl::make_unexpected(reps.error());
            const std::string name = name_of(athlete);
            for (const RepResult& rep : *reps)
                write_row(out, rep_columns(), RepRow{session, name, rep, known_drill}, names_of(roster, athlete));
            return {};
        });
}

Expected<void> write_sessions(const Kept& store, const Roster& roster, std::ostream& out) {
    write_header(out, session_columns(), roster.with_names);
    return for_sessions(
        store, roster, [&](const SessionSummary& session, const Athlete* athlete, bool) -> Expected<void> {
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

}  // namespace

Expected<void> write_json(const Kept& store, const Roster& roster, std::ostream& out) {
    const auto about_rep = rep_columns().subspan(rep_columns_about_the_session());
    const char* between = "";
    out << "{\"sessions\":[";
    const auto write_session = [&](const SessionSummary& session, const Athlete* athlete,
                                   bool known_drill) -> Expected<void> {
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
            out << std::exchange(comma, ",\n") << row_json(about_rep, RepRow{session, name, rep, known_drill});
        out << "]}";
        return {};
    };
    if (Expected<void> done = for_sessions(store, roster, write_session); !done) return done;
    out << "],\n\"measures\":[";
    if (Expected<void> done = write_measures(store, roster, out, true); !done) return done;
    out << "]}\n";
    return {};
}

namespace {

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

}  // namespace

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

}  // namespace breakstep
