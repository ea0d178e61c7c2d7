#include "club/term/term.hpp"

#include <algorithm>
#include <ctime>
#include <map>
#include <tuple>
#include <unordered_map>

#include <fmt/format.h>

#include "club/athletes/naming.hpp"
#include "core/iso_date.hpp"
#include "core/trade/rules.hpp"
#include "store/consent.hpp"

namespace breakstep {
namespace {

using progress::AthleteTerm;
using progress::Followed;

constexpr std::int64_t night_ends_seconds = 4 * 3600;

std::int32_t day_of(std::chrono::sys_days date) { return static_cast<std::int32_t>(date.time_since_epoch().count()); }
std::chrono::sys_days date_of(std::int32_t day) { return std::chrono::sys_days(std::chrono::days(day)); }

std::optional<std::int32_t> day_from(const std::string& text) {
    const auto date = date_from(text);
    return date ? std::optional(day_of(*date)) : std::nullopt;
}

bool is_in(std::int32_t day, const TermOptions& options) {
    return (!options.from_day || day >= *options.from_day) && (!options.to_day || day <= *options.to_day);
}

/// The index in `athletes` of each athlete's id.
using Indices = std::map<AthleteId, std::size_t>;

/// On that day, so that what counted once counts for ever.
bool was_junior(const Athlete& athlete, std::int32_t day) {
    const std::chrono::year_month_day date(date_of(day));
    return athlete.birth_year && static_cast<int>(date.year()) - *athlete.birth_year <= junior_under_years;
}

/// Sessions and their reps, both in the order in which the sessions began. A session that began after the list was read
/// has reps without a session here: the next look sees both. The ladder sees what was before the term, too: a rung once
/// passed stays passed.
Expected<void> fold_sessions(const Kept& store, const Indices& indices, const std::vector<Athlete>& store_athletes,
                             const TermOptions& options, progress::TermFold& fold, progress::RungFold& rungs) {
    const auto sessions = store.term_sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    std::unordered_map<std::int64_t, std::size_t> places;
    for (std::size_t i = 0; i < sessions->size(); ++i) places.emplace((*sessions)[i].number, i);
    std::size_t next = 0;
    bool counts = false, climbs = false;
    std::int64_t current = -1;
    const auto begin = [&](const TermSession& session) {
        current = session.number;
        const std::int32_t day = evening_of(session.began_unix_seconds);
        const auto place = session.athlete ? indices.find(*session.athlete) : indices.end();
        climbs = place != indices.end() && (!options.to_day || day <= *options.to_day);
        counts = place != indices.end() && is_in(day, options);
        if (!climbs) return;
        const progress::SessionFact fact{
            place->second, day,           session.test, session.start,  session.stance,
            session.level, session.drill, session.hits, session.wealth, was_junior(store_athletes[place->second], day)};
        rungs.begin(fact);
        if (counts) fold.begin(fact);
    };
    const auto read = store.read_rep_facts([&](std::int64_t number, const progress::RepFact& rep) {
        if (number != current)
            if (const auto place = places.find(number); place != places.end())
                while (next <= place->second) begin((*sessions)[next++]);
        if (current != number) return;
        if (climbs) rungs.add(rep);
        if (counts) fold.add(rep);
    });
    if (!read) return tl::make_unexpected(read.error());
    while (next < sessions->size()) begin((*sessions)[next++]);
    return {};
}

std::string squad_name(const Followed& followed) {
    if (!followed.cell) return followed.measure;
    return fmt::format("{}, {}, {}, {}", followed.measure, word(followed.cell->moment), word(followed.cell->counter),
                       word(followed.cell->stance));
}

/// Our own measure first, then imported ones by name.
struct SquadKey {
    bool imported = false;
    std::string name;
    auto operator<=>(const SquadKey&) const = default;
};

std::vector<SquadOfMeasure> squads_of(const std::vector<AthleteTerm>& terms) {
    std::map<SquadKey, std::vector<std::pair<std::size_t, const Followed*>>> by_measure;
    const auto add = [&](const AthleteTerm& term, const Followed& followed) {
        if (!followed.values.empty())
            by_measure[{!followed.cell, squad_name(followed)}].emplace_back(term.athlete, &followed);
    };
    for (const AthleteTerm& term : terms) {
        add(term, term.claimed);
        for (const Followed& other : term.others) add(term, other);
    }
    std::vector<SquadOfMeasure> squads;
    for (const auto& [key, members] : by_measure) {
        SquadOfMeasure& squad = squads.emplace_back();
        squad.measure = key.name;
        double first = members.front().second->values.front().day;
        for (const auto& [athlete, followed] : members) first = std::min(first, followed->values.front().day);
        squad.first_day = static_cast<std::int32_t>(first);
        std::vector<progress::SquadPoint> points;
        for (const auto& [athlete, followed] : members) {
            for (std::size_t i = 0; i < followed->values.size(); ++i)
                points.push_back({squad.athletes.size(), followed->values[i].day - first, followed->values[i].value,
                                  followed->sampling_variances[i]});
            squad.athletes.push_back(athlete);
        }
        squad.fit = progress::fit_squad(points, squad.athletes.size());
        if (squad.fit && !squad.fit->settled) squad.fit.reset();
    }
    return squads;
}

}  // namespace

TermOptions term_options(const Settings& settings) {
    TermOptions options;
    options.claimed = settings.claimed;
    options.from_day = day_from(settings.term_from);
    options.to_day = day_from(settings.term_to);
    return options;
}

Expected<Term> load_term(const Kept& store, const TermOptions& options) {
    Term term;
    auto athletes = store.athletes();
    if (!athletes) return tl::make_unexpected(athletes.error());
    term.athletes = std::move(*athletes);
    term.end_of_term = options.end_of_term;
    Indices indices;
    for (std::size_t i = 0; i < term.athletes.size(); ++i)
        if (options.today.empty() || may_keep(term.athletes[i], options.today))
            indices.emplace(term.athletes[i].id, i);
        else
            term.left_out.push_back(term.athletes[i]);

    progress::TermFold fold(term.athletes.size(), options.claimed, options.end_of_term);
    progress::RungFold rungs(term.athletes.size(), options.rungs);
    if (auto folded = fold_sessions(store, indices, term.athletes, options, fold, rungs); !folded)
        return tl::make_unexpected(folded.error());
    const auto measures = store.measures();
    if (!measures) return tl::make_unexpected(measures.error());
    for (const Measure& measure : *measures) {
        const auto place = indices.find(measure.athlete);
        const auto day = day_from(measure.date);
        if (place == indices.end() || !day || !is_in(*day, options)) continue;
        fold.add(progress::MeasureFact{place->second, measure.measure, *day, measure.value});
    }
    term.terms = fold.finish();
    for (AthleteTerm& one : term.terms) {
        one.rungs = rungs.standings(one.athlete);
        one.junior = is_child(term.athletes[one.athlete]);
        one.age = least_age(term.athletes[one.athlete]);
        one.placed = placed_by_hand(term.athletes[one.athlete]);
    }
    term.squads = squads_of(term.terms);
    for (const AthleteTerm& one : term.terms) {
        const bool first = &one == term.terms.data();
        term.first_day = first ? one.first_day : std::min(term.first_day, one.first_day);
        term.last_day = first ? one.last_day : std::max(term.last_day, one.last_day);
    }
    return term;
}

std::int32_t evening_of(std::int64_t unix_seconds) {
    const auto moment = static_cast<std::time_t>(unix_seconds - night_ends_seconds);
    std::tm parts{};
    if (localtime_r(&moment, &parts) == nullptr) return 0;
    return day_of(std::chrono::year_month_day(std::chrono::year(parts.tm_year + 1900),
                                              std::chrono::month(static_cast<unsigned>(parts.tm_mon + 1)),
                                              std::chrono::day(static_cast<unsigned>(parts.tm_mday))));
}

std::optional<AthleteTerm::Placed> placed_by_hand(const Athlete& athlete) {
    const auto day = day_from(athlete.placed_on);
    if (!athlete.placed_rung || !day) return std::nullopt;
    return AthleteTerm::Placed{*athlete.placed_rung, *day};
}

std::string day_text(std::int32_t day) { return date_text(date_of(day)); }

std::string day_words(std::int32_t day) {
    static constexpr const char* months[] = {"January", "February", "March",     "April",   "May",      "June",
                                             "July",    "August",   "September", "October", "November", "December"};
    const std::chrono::year_month_day date(date_of(day));
    return fmt::format("{} {}", static_cast<unsigned>(date.day()), months[static_cast<unsigned>(date.month()) - 1]);
}

}  // namespace breakstep
