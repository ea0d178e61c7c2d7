#include "club/athletes/athlete_list.hpp"

#include <fmt/format.h>

#include <map>
#include <ostream>

#include "club/athletes/export_tables.hpp"
#include "club/athletes/typed_athlete.hpp"
#include "club/consent/sound_today.hpp"
#include "core/iso_date.hpp"
#include "store/call_sign.hpp"
#include "store/usable.hpp"

namespace breakstep {
namespace {

// The places of athlete_columns().
enum Place : std::size_t {
    call_sign,
    real_name,
    grade,
    lead,
    height_band,
    birth_year,
    group,
    notes,
    consent_on,
    consent_by,
    consent_until,
    consent_refused_on,
    consent_share_on
};

TypedAthlete typed_from(const std::vector<CsvCell>& row) {
    TypedAthlete typed;
    const auto take = [&](Place place, std::optional<std::string>& to) {
        if (row[place].column > 0 && !row[place].text.empty()) to = plain_text(row[place].text);
    };
    take(real_name, typed.real_name);
    take(grade, typed.grade);
    take(lead, typed.lead);
    take(height_band, typed.height_band);
    take(birth_year, typed.birth_year);
    take(group, typed.group);
    take(notes, typed.notes);
    take(consent_on, typed.consent_on);
    take(consent_by, typed.consent_by);
    take(consent_until, typed.consent_until);
    take(consent_refused_on, typed.consent_refused_on);
    take(consent_share_on, typed.consent_share_on);
    typed.call_sign = plain_text(row[call_sign].text);
    return typed;
}

// The cell that a refusal is most likely about, so that its place can be told.
const CsvCell& culprit(const std::vector<CsvCell>& row, const Athlete& athlete) {
    const auto works = [&](auto change) {
        Athlete tried = athlete;
        change(tried);
        return usable(tried).has_value();
    };
    if (works([](Athlete& a) { a.call_sign = "x"; })) return row[call_sign];
    if (works([](Athlete& a) { a.real_name.clear(); })) return row[real_name];
    if (works([](Athlete& a) { a.grade.clear(); })) return row[grade];
    if (works([](Athlete& a) { a.height_band.clear(); })) return row[height_band];
    if (works([](Athlete& a) { a.birth_year.reset(); })) return row[birth_year];
    if (works([](Athlete& a) { a.group.clear(); })) return row[group];
    if (works([](Athlete& a) { a.notes.clear(); })) return row[notes];
    if (works([](Athlete& a) { a.consent_share_on.clear(); })) return row[consent_share_on];
    if (works([](Athlete& a) { a.consent_refused_on.clear(); })) return row[consent_refused_on];
    if (athlete.consent && !date_from(athlete.consent->on)) return row[consent_on];
    if (athlete.consent && athlete.consent->by.empty()) return row[consent_by];
    return athlete.consent ? row[consent_until] : row[call_sign];
}

const CsvCell& culprit_typed(const std::vector<CsvCell>& row, const TypedAthlete& typed) {
    Athlete ignored;
    TypedAthlete tried = typed;
    tried.lead.reset();
    if (take_typed(tried, ignored)) return row[lead];
    tried = typed;
    tried.birth_year.reset();
    if (take_typed(tried, ignored)) return row[birth_year];
    return row[call_sign];
}

const CsvCell& culprit_today(const std::vector<CsvCell>& row, Unsound::Of of) {
    switch (of) {
        case Unsound::Of::birth_year:
            return row[birth_year];
        case Unsound::Of::consent_on:
            return row[consent_on];
        case Unsound::Of::consent_share_on:
            return row[consent_share_on];
        case Unsound::Of::consent_by:
            break;
    }
    return row[consent_by];
}

}  // namespace

const std::vector<CsvColumn>& athlete_list_columns() {
    static const std::vector<CsvColumn> columns = [] {
        std::vector<CsvColumn> named;
        for (const auto& column : athlete_columns()) named.push_back({column.name, named.empty()});
        return named;
    }();
    return columns;
}

void write_athlete_list(std::ostream& out, const std::vector<Athlete>& athletes, bool with_names) {
    std::vector<ExportColumn<Athlete>> columns;
    for (std::size_t place = 0; place < athlete_columns().size(); ++place)
        if (with_names || (place != real_name && place != notes)) columns.push_back(athlete_columns()[place]);
    const char* comma = "";
    for (const auto& column : columns) out << std::exchange(comma, ",") << column.name;
    out << "\r\n";
    for (const Athlete& athlete : athletes) {
        comma = "";
        for (const auto& column : columns) out << std::exchange(comma, ",") << csv_text(column.cell(athlete));
        out << "\r\n";
    }
}

Expected<std::vector<Athlete>> athletes_from(const CsvSheet& sheet, const std::vector<Athlete>& known,
                                             std::string_view today) {
    std::map<std::string, std::size_t> lines;  // by call-sign; 0 for one that is in the store
    for (const Athlete& athlete : known) lines.emplace(call_sign_key(athlete.call_sign), 0);
    std::vector<Athlete> athletes;
    for (const std::vector<CsvCell>& row : sheet.rows) {
        Athlete athlete;
        athlete.id = AthleteId{1};  // stands in for the one it is given later
        const TypedAthlete typed = typed_from(row);
        const auto wrong = [&](const CsvCell& cell, const Error& error) {
            return tl::make_unexpected(sheet.error_at(cell, error.what, error.to_do + "; nothing was imported"));
        };
        if (const auto taken = take_typed(typed, athlete); !taken)
            return wrong(culprit_typed(row, typed), taken.error());
        if (const auto good = usable(athlete); !good) return wrong(culprit(row, athlete), good.error());
        if (const auto not_so = unsound_today(athlete, today))
            return wrong(culprit_today(row, not_so->of), not_so->error);
        const auto [at, fresh] = lines.emplace(call_sign_key(athlete.call_sign), row[call_sign].line);
        if (!fresh)
            return wrong(row[call_sign], {ErrorKind::bad_input,
                                          fmt::format("the call-sign \"{}\" is taken: {}", athlete.call_sign,
                                                      at->second == 0 ? "an athlete in the store has it"
                                                                      : fmt::format("line {} has it", at->second)),
                                          "choose another, take the row out, or use `athletes change`"});
        athletes.push_back(std::move(athlete));
    }
    return athletes;
}

}  // namespace breakstep
