// Kept apart: the one file here that includes the JSON library.
#include <nlohmann/json.hpp>

#include "club/results/beside.hpp"
#include "club/results/results.hpp"

namespace breakstep {
namespace {

using Json = nlohmann::ordered_json;

Json ms(const std::optional<Duration>& duration) {
    return duration ? Json(static_cast<double>(duration->count()) / 1e6) : Json(nullptr);
}
Json ms(Uncertainty uncertainty) {
    return uncertainty == unknown_uncertainty ? Json(nullptr) : Json(static_cast<double>(uncertainty.count()) / 1e6);
}
template <class Enum>
Json words(const std::optional<Enum>& value) {
    return value ? Json(word(*value)) : Json(nullptr);
}
Json number(const std::optional<double>& value) { return value ? Json(*value) : Json(nullptr); }

std::string_view end_word(const std::optional<SessionEnd>& how) { return how ? word(*how) : "cut off"; }

// What was asked of a partner, what their leg did, and where its borders lie from toe-off.
void add_leg(Json& json, const RepResult& rep) {
    json["asked_kind"] = rep.told ? Json(word(rep.asked.kind)) : Json(nullptr);
    json["came_kind"] = words(rep.came);
    const auto did = obeyed(rep);
    json["obeyed"] = did ? Json(*did) : Json(nullptr);
    json["impossible"] = rep.impossible == Impossible::none ? Json(nullptr) : Json(reason(rep.impossible));
    json["cue_to_toe_off_ms"] = ms(rep.cue_to_toe_off);
    json["cue_uncertainty_ms"] = rep.cue_to_toe_off ? ms(rep.cue_uncertainty) : Json(nullptr);
    json["contact_ms"] = ms(rep.contact_from_onset);
    Json phases = Json::array();
    for (const RepBorder& border : borders_of(rep)) {
        Json phase;
        phase["phase"] = word(border.phase);
        phase["start_ms"] = ms(std::optional(border.at));
        phase["uncertainty_ms"] = ms(border.uncertainty);
        phases.push_back(std::move(phase));
    }
    json["phases"] = std::move(phases);
}

Json said(const std::optional<bool>& value) { return value ? Json(*value) : Json(nullptr); }

// The level, and what a drill asks beside the strike; the beat that was set and broken.
void add_beside(Json& json, const RepResult& rep) {
    json["window"] = rep.window;
    json["counts_for_rung"] = rep.counts;
    json["rung_hit"] = said(rep.rung_hit);
    json["stood"] = word(rep.stood);
    json["gave"] = rep.gave;
    json["drawn_by"] = rep.drew_by == DrewBy::nothing ? Json(nullptr) : Json(word(rep.drew_by));
    json["draw_to_toe_off_ms"] = ms(rep.draw_to_toe_off);
    json["out_in_time"] = said(rep.out_in_time);
    json["off_line"] = said(rep.off_line);
    json["followed_up"] = said(rep.followed_up);
    json["called"] = words(rep.called);
    json["at_edge"] = rep.at_edge == AtEdge::not_asked ? Json(nullptr) : Json(word(rep.at_edge));
    json["edge_to_contact_ms"] = ms(rep.edge_to_contact);
    if (!rep.lure.played) return;
    json["lure"] = {{"readable", rep.lure.readable}, {"wealth", rep.lure.wealth},      {"windows", rep.lure.windows},
                    {"caught", rep.lure.caught},     {"ahead_ms", ms(rep.lure.ahead)}, {"broken", rep.lure.broken}};
}

Json hits_json(const progress::Share& share) { return {{"hits", share.hits}, {"of", share.of}}; }

// Counts over the session; only what it had.
Json beside_json(const BesideCounts& counts) {
    Json json = Json::object();
    if (counts.followed.of > 0) {
        json["beats_followed"] = hits_json(counts.followed);
        json["beats_broken"] = hits_json(counts.broken);
        json["beat_ahead_ms"] = ms(counts.ahead);
    }
    if (counts.room.of > 0) json["in_and_out"] = hits_json(counts.room);
    if (counts.out_in_time.of > 0) json["out_in_time"] = hits_json(counts.out_in_time);
    if (counts.off_line.of > 0) json["off_line"] = hits_json(counts.off_line);
    if (counts.followed_up.of > 0) json["followed_up"] = hits_json(counts.followed_up);
    if (counts.called_right.of > 0) json["called_right"] = hits_json(counts.called_right);
    if (const auto beyond = progress::kappa(counts.calls))
        json["call_agreement"] = {{"kappa", beyond->kappa},
                                  {"interval", Json::array({beyond->low, beyond->high})},
                                  {"by_chance", beyond->by_chance}};
    for (const auto& [by, share] : counts.drawn) json["drawn_by"][std::string(word(by))] = hits_json(share);
    if (counts.draw_to_answer) json["draw_to_answer_ms"] = ms(counts.draw_to_answer);
    if (counts.first.of > 0) json["first"] = hits_json(counts.first);
    if (counts.after.of > 0) json["after"] = hits_json(counts.after);
    json["level"] = number(counts.last_window);
    json["at_the_standard"] = hits_json(counts.standard);
    return json;
}

Json rep_json(const RepResult& rep) {
    Json json;
    json["rep"] = static_cast<std::int32_t>(rep.rep);
    json["set"] = rep.set + 1;
    json["number"] = rep.number;
    json["attack"] = rep.catch_trial ? "nothing" : word(rep.asked.kind);
    json["moment"] = words_of(rep.asked.moment, rep.asked.moments);
    json["telegraphed"] = rep.telegraphed;
    json["counter"] = word(rep.asked.counter);
    json["start"] = word(rep.start);
    json["phase"] = words(rep.phase);
    json["pad"] = words(rep.pad);
    json["verdict"] = word(rep.verdict);
    json["void_reason"] = rep.verdict == Verdict::void_rep ? Json(word(rep.void_reason)) : Json(nullptr);
    json["scored"] = rep.scored;
    json["latency_ms"] = ms(rep.latency);
    json["uncertainty_ms"] = rep.latency ? ms(rep.uncertainty) : Json(nullptr);
    json["commit_ms"] = ms(rep.commit);
    json["already_in"] = rep.already_in;
    json["error_ms"] = ms(rep.error);
    json["drawn"] = rep.drawn;
    json["retreated"] = rep.retreated;
    json["onset_source"] = rep.verdict == Verdict::void_rep ? Json(nullptr) : Json(word(rep.source));
    Json later = Json::array();
    const Duration zero = axis_zero(rep);
    for (const Duration contact : rep.later_contacts) later.push_back(ms(std::optional(contact - zero)));
    json["later_contacts_ms"] = later;
    json["zero_ms"] = ms(std::optional(zero));
    add_beside(json, rep);
    if (rep.came) add_leg(json, rep);
    return json;
}

Json direction(const leading::FollowTest& test) {
    Json json;
    json["tell"] = test.tell_at().has_value();
    json["hunch"] = test.hunch_at().has_value();
    json["tell_at"] = test.tell_at() ? Json(*test.tell_at()) : Json(nullptr);
    json["e"] = leading::wealth_from(test.log_e());
    json["x"] = leading::wealth_from(test.log_x());
    json["ln_e"] = test.log_e();
    json["ln_x"] = test.log_x();
    json["lag_s"] = number(test.lag());
    json["hits"] = test.count().hits;
    json["of"] = test.count().of;
    json["chance"] = test.count().chance;
    json["intervals"] = test.intervals();
    return json;
}

Json tempo_json(const scoring::LiveTempo& tempo) {
    Json json;
    json["intervals"] = tempo.intervals;
    json["median_s"] = tempo.median ? Json(static_cast<double>(tempo.median->count()) / 1e9) : Json(nullptr);
    json["cv"] = tempo.intervals > 0 ? Json(tempo.variation) : Json(nullptr);
    return json;
}

// Who makes whom go; the athlete is led in the first, the partner in the second.
Json exchange_json(const scoring::Exchange& exchange, const std::vector<RepResult>& reps, const std::string& athlete,
                   const std::string& partner) {
    Json json;
    json["athlete_follows_partner"] = direction(exchange.bout().a_follows_b());
    json["partner_follows_athlete"] = direction(exchange.bout().b_follows_a());
    json["partner_after_one_retreat"] = direction(exchange.after_one_retreat());
    json["partner_after_two_retreats"] = direction(exchange.after_two_retreats());
    json["partner_kinds"] = {{"seen", exchange.kinds().seen()}, {"ln_wealth", exchange.kinds().log_wealth_habit()}};
    json["athlete_tempo"] = tempo_json(exchange.athlete_tempo());
    json["partner_tempo"] = tempo_json(exchange.partner_tempo());
    const leading::CoinDrill& coin = exchange.coin_drill();
    json["coin"] = coin.trials() == 0 ? Json(nullptr)
                                      : Json{{"trials", coin.trials()},
                                             {"wealth", coin.wealth()},
                                             {"makes_go", coin.makes_go()},
                                             {"told_at", coin.makes_go() ? Json(coin.told_at()) : Json(nullptr)},
                                             {"entered_after_cue", coin.after_cue().entered},
                                             {"cues", coin.after_cue().of},
                                             {"entered_after_nothing", coin.after_nothing().entered},
                                             {"nothings", coin.after_nothing().of}};
    if (const auto edge = scoring::edge_counts(&exchange, reps))
        json["edge"] = {{"led", edge->led},
                        {"too_close", edge->crowded},
                        {"unknown", edge->unknown},
                        {"attacked", edge->attacked},
                        {"met_in_time", edge->answered}};
    json["words"] = exchange_words(exchange, athlete, partner);
    return json;
}

Json totals_json(const SessionTotals& totals) {
    Json json;
    json["reps"] = totals.reps;
    json["scored"] = totals.scored;
    json["on_time"] = totals.on_time;
    json["around"] = totals.around;
    json["clashes"] = totals.clashes;
    json["voids"] = totals.voids;
    json["on_time_rate"] = number(totals.on_time_rate);
    json["median_latency_ms"] = number(totals.median_latency_ms);
    json["constant_error_ms"] = number(totals.constant_error_ms);
    json["variable_error_ms"] = number(totals.variable_error_ms);
    json["absolute_error_ms"] = number(totals.absolute_error_ms);
    json["attacks"] = totals.attacks;
    json["attacks_contacted"] = totals.attacks_contacted;
    json["feints"] = totals.feints;
    json["feints_taken"] = totals.feints_taken;
    json["catch_trials"] = totals.catch_trials;
    json["catch_trials_struck"] = totals.catch_trials_struck;
    json["d_prime"] = number(totals.d_prime);
    json["d_prime_low"] = number(totals.d_prime_low);
    json["d_prime_high"] = number(totals.d_prime_high);
    json["d_prime_at_least_only"] = totals.d_prime_at_least_only;
    json["reading_method"] = totals.two_signs ? "two signs" : "plain";
    json["can_be_timed"] = word(totals.sign);
    json["timed_reason"] = totals.sign_reason.empty() ? Json(nullptr) : Json(totals.sign_reason);
    json["timed_wealth"] = totals.wealth;
    json["can_be_read"] = word(totals.read_sign);
    json["read_reason"] = totals.read_reason.empty() ? Json(nullptr) : Json(totals.read_reason);
    json["read_wealth"] = totals.read_wealth;
    // Their older names.
    json["reason"] = json["timed_reason"];
    json["wealth"] = json["timed_wealth"];
    json["timeable"] = number(totals.timeable);
    json["timeable_low"] = number(totals.timeable_low);
    json["timeable_high"] = number(totals.timeable_high);
    json["windows"] = totals.windows;
    json["caught"] = totals.caught;
    json["caught_by_chance"] = totals.caught_by_chance;
    json["home_share"] = number(totals.home_share);
    json["retreats"] = totals.retreats;
    json["stray_contacts"] = totals.stray_contacts;
    json["events_lost"] = totals.events_lost;
    json["unknown_events"] = totals.unknown_events;
    json["impossible_events"] = totals.impossible_events;
    json["clock_rate_ppm"] = number(totals.clock_rate_ppm);
    return json;
}

}  // namespace

std::string sessions_json(const std::vector<SessionResults>& sessions) {
    Json list = Json::array();
    for (const SessionResults& session : sessions) {
        Json json;
        json["session"] = id_text(session.id);
        json["athlete"] = session.athlete;
        json["drill"] = session.drill;
        if (!session.partner.empty()) json["partner"] = session.partner;
        json["seed"] = session.seed;
        json["ended"] = end_word(session.how);
        Json reps = Json::array();
        for (const RepResult& rep : session.reps) reps.push_back(rep_json(rep));
        json["reps"] = std::move(reps);
        json["totals"] = totals_json(session.totals);
        const LeanCounts leans = lean_counts(session.reps);
        json["totals"]["leaned"] = leans.kicks;
        json["totals"]["leaned_on_time"] = leans.kicks_on_time;
        json["totals"]["lies"] = leans.lies;
        json["totals"]["lies_taken"] = leans.lies_taken;
        json["beside"] = beside_json(beside_counts(session.reps, session.first_or_after));
        if (session.exchange)
            json["exchange"] = exchange_json(*session.exchange, session.reps, session.athlete, session.partner);
        json["notices"] = session.notices;
        json["line"] = session.line.empty() ? Json(nullptr) : Json(session.line);
        list.push_back(std::move(json));
    }
    Json whole;
    whole["sessions"] = std::move(list);
    return whole.dump() + "\n";
}

}  // namespace breakstep
