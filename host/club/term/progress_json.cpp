#include <nlohmann/json.hpp>

#include "club/term/gain_words.hpp"
#include "club/term/progress_report.hpp"
#include "club/term/sentences.hpp"

namespace breakstep {
namespace {

using Json = nlohmann::ordered_json;
using progress::AthleteTerm;
using progress::Followed;
using progress::Interval;
using progress::Share;

template <class T>
Json or_null(const std::optional<T>& value) {
    return value ? Json(*value) : Json(nullptr);
}
Json interval_json(const Interval& interval) { return Json::array({interval.low, interval.high}); }

Json share_json(const Share& share) {
    Json json{{"of", share.of}, {"hits", share.hits}};
    json["rate"] = share.of > 0 ? Json(share.rate()) : Json(nullptr);
    json["interval"] = interval_json(share.interval());
    return json;
}

Json cell_json(const progress::Cell& cell) {
    return {{"moment", words_of(cell.moment, cell.moments)},
            {"counter", word(cell.counter)},
            {"stance", word(cell.stance)},
            {"test", cell.test}};
}

Json figures_json(const progress::CellFigures& figures) {
    Json json;
    json["on_time"] = share_json(figures.on_time);
    json["clashes"] = figures.clashes;
    json["contacts"] = figures.contacts;
    json["median_latency_ms"] = figures.latency_ms ? Json(figures.latency_ms->value) : Json(nullptr);
    json["median_latency_interval_ms"] = figures.latency_ms && figures.latency_ms->interval
                                             ? interval_json(*figures.latency_ms->interval)
                                             : Json(nullptr);
    json["steadiness_ms"] = or_null(figures.steadiness_ms);
    return json;
}

Json cells_json(const AthleteTerm& term) {
    Json cells = Json::array();
    for (const progress::CellTerm& cell : term.cells) {
        Json json = cell_json(cell.cell);
        json["term"] = figures_json(cell.all);
        json["baseline"] = cell.baseline ? figures_json(*cell.baseline) : Json(nullptr);
        json["now"] = cell.now ? figures_json(*cell.now) : Json(nullptr);
        Json evenings = Json::array();
        for (const progress::EveningShare& evening : cell.evenings) {
            Json one = share_json(evening.on_time);
            one["date"] = day_text(evening.day);
            evenings.push_back(std::move(one));
        }
        json["evenings"] = std::move(evenings);
        cells.push_back(std::move(json));
    }
    return cells;
}

/// What the line and the ranks say; whether it is a claim is said apart.
void add_trend(const Followed& followed, Json& json) {
    Json values = Json::array();
    for (const progress::EveningValue& evening : followed.values)
        values.push_back({{"date", day_text(static_cast<std::int32_t>(evening.day))}, {"value", evening.value}});
    json["evenings"] = followed.values.size();
    json["reps"] = followed.cell ? Json(followed.reps) : Json(nullptr);
    json["values"] = std::move(values);
    const auto& line = followed.claim.line;
    json["slope_per_day"] = line ? Json(line->slope) : Json(nullptr);
    json["slope_se"] = line ? Json(line->slope_error) : Json(nullptr);
    json["slope_interval"] = line ? interval_json(line->slope_interval) : Json(nullptr);
    json["change"] = line ? Json(line->rise()) : Json(nullptr);
    json["evening_scatter"] = line ? Json(line->scatter) : Json(nullptr);
    json["baseline"] = followed.baseline_and_now ? Json(followed.baseline_and_now->baseline) : Json(nullptr);
    json["now"] = followed.baseline_and_now ? Json(followed.baseline_and_now->now) : Json(nullptr);
    json["theil_sen"] = nullptr;
    if (followed.theil_sen)
        json["theil_sen"] = {{"slope_per_day", followed.theil_sen->slope},
                             {"interval", interval_json(followed.theil_sen->interval)}};
    json["mann_kendall"] = nullptr;
    if (const auto& kendall = followed.mann_kendall)
        json["mann_kendall"] = {
            {"s", kendall->score}, {"variance", kendall->variance}, {"z", kendall->z}, {"p_two_sided", kendall->p}};
}

Json claim_json(const AthleteTerm& term, const std::string& name) {
    const Followed& followed = term.claimed;
    const Headline said = headline(term, name, Reader::coach);
    Json json;
    json["measure"] = followed.measure.empty() ? Json(nullptr) : Json(followed.measure);
    json["cell"] = followed.cell ? cell_json(*followed.cell) : Json(nullptr);
    json["better"] =
        followed.better ? Json(*followed.better == progress::Better::lower ? "lower" : "higher") : Json(nullptr);
    json["claim"] = word(followed.claim.claim);
    json["provisional"] = followed.claim.provisional;
    json["sentence"] = said.claim;
    json["beside"] = said.beside;
    add_trend(followed, json);
    json["p_better"] = followed.claim.line ? Json(followed.claim.p_better) : Json(nullptr);
    json["p_worse"] = followed.claim.line ? Json(followed.claim.p_worse) : Json(nullptr);
    json["q"] = or_null(followed.q);
    return json;
}

Json hits_json(const reading::HitCount& hits) {
    Json json{{"windows", hits.scored}, {"caught", hits.hits}, {"by_chance", hits.chance}};
    const bool shown = hits.shown();
    json["timeable"] = shown ? Json(hits.timeable()) : Json(nullptr);
    const auto interval = hits.timeable_interval();
    json["interval"] = shown ? Json::array({interval.low, interval.high}) : Json(nullptr);
    json["standard_error"] = shown ? Json(hits.standard_error()) : Json(nullptr);
    return json;
}

Json picked_json(const AthleteTerm& term) {
    const auto& count = term.answer_count_total;
    Json json{{"attacks", count.attacks},
              {"attacks_answered", count.attacks_answered},
              {"feints", count.feints},
              {"feints_answered", count.feints_answered}};
    const auto& picked = term.picked;
    json["words"] = picked ? Json(picked->words(count)) : Json(nullptr);
    json["d_prime"] = picked && !picked->at_least_only ? Json(picked->d_prime) : Json(nullptr);
    json["d_prime_interval"] =
        picked && !picked->at_least_only ? Json::array({picked->low, picked->high}) : Json(nullptr);
    json["d_prime_at_least"] = picked && picked->at_least_only ? Json(picked->low) : Json(nullptr);
    return json;
}

Json answers_json(const AthleteTerm& term) {
    Json json = Json::array();
    for (std::size_t i = 0; i < term.answers.size(); ++i) {
        Json one{{"answer", word(static_cast<progress::Answer>(i))}};
        one.update(share_json(term.answers[i]));
        json.push_back(std::move(one));
    }
    return json;
}

Json days_off_json(const AthleteTerm& term) {
    Json json = Json::array();
    for (const progress::DaysOff& off : term.days_off)
        json.push_back({{"from", day_text(off.last_day)},
                        {"to", day_text(off.next_day)},
                        {"days", off.next_day - off.last_day},
                        {"before", share_json(off.before)},
                        {"after", share_json(off.after)}});
    return json;
}

Json athlete_json(const Athlete& athlete, const AthleteTerm& term) {
    Json json;
    json["call_sign"] = athlete.call_sign;
    json["group"] = athlete.group;
    json["first_date"] = day_text(term.first_day);
    json["last_date"] = day_text(term.last_day);
    json["evenings"] = term.evenings;
    json["sessions"] = term.sessions;
    json["reps"] = term.reps;
    json["scored"] = term.scored;
    json["voids"] = term.voids;
    json["level"] = term.level ? Json(word(*term.level)) : Json(nullptr);
    json["claim"] = claim_json(term, athlete.call_sign);
    json["cells"] = cells_json(term);
    Json others = Json::array();
    for (const Followed& other : term.others) {
        Json one{{"measure", other.measure}};
        add_trend(other, one);
        others.push_back(std::move(one));
    }
    json["measures"] = std::move(others);
    json["picked_or_guessed"] = picked_json(term);
    json["timeable"] = {{"term", hits_json(term.hits)},
                        {"baseline", hits_json(term.hits_baseline)},
                        {"now", hits_json(term.hits_now)},
                        {"wealth_over_drills", term.rhythm_wealth},
                        {"named", term.rhythm_told}};
    json["answers"] = answers_json(term);
    json["warm_up"] = {{"first_five", share_json(term.first_reps)}, {"later", share_json(term.later_reps)}};
    json["within_sets"] = {{"first_half", share_json(term.first_halves)},
                           {"second_half", share_json(term.second_halves)}};
    json["days_off"] = days_off_json(term);
    return json;
}

Json rungs_json(const AthleteTerm& term) {
    Json json = Json::array();
    for (const progress::RungStanding& rung : term.rungs)
        json.push_back({{"rung", rung.number},
                        {"name", rung.name},
                        {"mark", rung.mark},
                        {"passed", rung.passed},
                        {"passed_on", rung.passed_day ? Json(day_text(*rung.passed_day)) : Json(nullptr)},
                        {"step_down", rung.step_down},
                        {"reps", rung.reps},
                        {"on_time", rung.on_time},
                        {"done", word(rung.done)},
                        {"evenings", rung.evenings},
                        {"feints", rung.has_feints ? Json(rung.feints) : Json(nullptr)},
                        {"held", rung.has_feints ? Json(rung.held) : Json(nullptr)},
                        {"taken_out_by_coach", rung.voided_by_coach},
                        {"wealth", rung.wealth},
                        {"step_down_wealth", rung.step_down_wealth},
                        {"held_wealth", rung.has_feints ? Json(rung.held_wealth) : Json(nullptr)}});
    return json;
}

Json gain_json(const progress::Gain& gain) {
    const bool said = gain.said() != progress::Gains::too_few;
    return {{"reps", gain.of},
            {"on_time", gain.on_time},
            {"on_time_random", gain.on_time_random},
            {"difference", said ? Json(gain.difference) : Json(nullptr)},
            {"interval", said ? Json::array({gain.low, gain.high}) : Json(nullptr)},
            {"said", word(gain.said())}};
}

Json placed_json(const AthleteTerm& term) {
    if (!term.placed) return nullptr;
    return {{"rung", term.placed->rung}, {"on", day_text(term.placed->day)}};
}

Json next_json(const std::optional<progress::NextDrill>& next, const std::string& call_sign) {
    if (!next) return nullptr;
    const std::string offer = offer_words(*next, call_sign);
    return {{"drill", next->drill},
            {"because", next->because},
            {"rule", next->rule},
            {"offer", offer.empty() ? Json(nullptr) : Json(offer)},
            {"evidence", next->evidence ? share_json(*next->evidence) : Json(nullptr)}};
}

Json plan_json(const std::vector<progress::PlanBlock>& plan) {
    Json json = Json::array();
    for (const progress::PlanBlock& block : plan)
        json.push_back({{"first_week", block.first_week},
                        {"last_week", block.last_week},
                        {"moment", word(block.moment)},
                        {"on_time", share_json(block.on_time)},
                        {"athletes", block.athletes},
                        {"mean_rate", block.athletes > 0 ? Json(block.rate) : Json(nullptr)},
                        {"told", block.told},
                        {"by_coach", block.by_coach}});
    return json;
}

Json squad_json(const SquadOfMeasure& squad, const Term& term) {
    Json json{{"measure", squad.measure}, {"first_date", day_text(squad.first_day)}};
    const auto& fit = squad.fit;
    const auto figure = [&](double progress::SquadFit::*member) { return fit ? Json((*fit).*member) : Json(nullptr); };
    json["athletes"] = squad.athletes.size();
    json["values"] = fit ? Json(fit->points) : Json(nullptr);
    json["intercept"] = figure(&progress::SquadFit::intercept);
    json["intercept_se"] = figure(&progress::SquadFit::intercept_error);
    json["slope_per_day"] = figure(&progress::SquadFit::slope);
    json["slope_se"] = figure(&progress::SquadFit::slope_error);
    json["slope_interval"] = fit ? interval_json(fit->slope_interval) : Json(nullptr);
    json["sd_intercept"] = figure(&progress::SquadFit::sd_intercept);
    json["sd_slope"] = figure(&progress::SquadFit::sd_slope);
    json["correlation"] = fit ? or_null(fit->correlation) : Json(nullptr);
    json["sd_residual"] = figure(&progress::SquadFit::sd_residual);
    json["singular"] = fit ? Json(fit->singular) : Json(nullptr);
    Json lines = Json::array();
    for (std::size_t i = 0; fit && i < fit->lines.size(); ++i) {
        const progress::AthleteLine& line = fit->lines[i];
        lines.push_back({{"call_sign", term.athletes[squad.athletes[i]].call_sign},
                         {"intercept", line.intercept},
                         {"slope_per_day", line.slope},
                         {"slope_se", line.slope_error},
                         {"slope_interval", interval_json(line.slope_interval)}});
    }
    json["lines"] = std::move(lines);
    return json;
}

}  // namespace

std::string progress_json(const Term& term, const Coming& coming) {
    Json json;
    const bool any = !term.terms.empty();
    json["from"] = any ? Json(day_text(term.first_day)) : Json(nullptr);
    json["to"] = any ? Json(day_text(term.last_day)) : Json(nullptr);
    json["rule"] = term.end_of_term ? "end of term" : "weekly look";
    Json athletes = Json::array();
    for (std::size_t i = 0; i < term.terms.size(); ++i) {
        Json one = athlete_json(term.athlete(term.terms[i]), term.terms[i]);
        one["gains"] = {{"drawn", gain_json(term.terms[i].gain_of_drawn)},
                        {"pattern", gain_json(term.terms[i].gain_of_pattern)}};
        one["rungs"] = rungs_json(term.terms[i]);
        one["placed"] = placed_json(term.terms[i]);
        one["next"] = next_json(coming.next.at(i), term.athlete(term.terms[i]).call_sign);
        athletes.push_back(std::move(one));
    }
    json["athletes"] = std::move(athletes);
    json["plan"] = plan_json(coming.plan);
    Json squads = Json::array();
    for (const SquadOfMeasure& squad : term.squads) squads.push_back(squad_json(squad, term));
    json["squad"] = std::move(squads);
    // Names may hold any bytes that a file brought in; what is no UTF-8 is replaced, never refused.
    return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace breakstep
