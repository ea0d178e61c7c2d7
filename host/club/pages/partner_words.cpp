#include "club/pages/partner_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <vector>

#include "club/athletes/naming.hpp"
#include "report/drawing/exchange_words.hpp"

namespace breakstep {
namespace {

/// What one who kicks does, over all sessions.
struct Kicking {
    int sessions = 0, asked = 0, obeyed = 0, legs = 0;
    std::map<CameKind, int> kinds;
    std::vector<double> cue_to_toe_off;
    std::vector<double> tempo;  ///< medians of free exchanges
    std::string habit;          ///< of the last in which there was one
    int exchanges = 0, with_habit = 0;

    void add(const RepResult& rep) {
        if (rep.verdict == Verdict::void_rep || !rep.came) return;
        ++legs;
        ++kinds[*rep.came];
        if (const auto did = breakstep::obeyed(rep)) {
            ++asked;
            obeyed += *did ? 1 : 0;
        }
        if (rep.cue_to_toe_off) cue_to_toe_off.push_back(static_cast<double>(rep.cue_to_toe_off->count()) * 1e-9);
    }
    void add(const scoring::Exchange& exchange) {
        ++exchanges;
        if (const auto tempo_now = exchange.partner_tempo(); tempo_now.median)
            tempo.push_back(static_cast<double>(tempo_now.median->count()) * 1e-9);
        const ExchangeSaid said = what_makes_them_kick_words(exchange, "you");
        if (said.claim.empty()) return;
        ++with_habit;
        switch (exchange.partner_habit()) {
            case scoring::PartnerHabit::after_one_retreat:
                habit = "whoever gives ground once makes you kick";
                break;
            case scoring::PartnerHabit::after_two_retreats:
                habit = "whoever gives ground twice makes you kick";
                break;
            default:
                habit = "what you do next can be read";
        }
    }
};

double median(std::vector<double> values) {
    std::sort(values.begin(), values.end());
    return values[values.size() / 2];
}

const char* words_for(CameKind came) {
    switch (came) {
        case CameKind::single:
            return "single kicks";
        case CameKind::second_lift:
            return "second lifts";
        case CameKind::carry:
            return "carried legs";
        case CameKind::reset:
            return "resets";
        case CameKind::leg_to_hands:
            return "kicks into hands";
        case CameKind::feint:
            return "feints";
        default:
            return "";
    }
}

std::string words_of(const Kicking& kicking, bool child) {
    std::vector<std::string> said;
    if (kicking.asked > 0 && !child) said.push_back(fmt::format("did as told {} of {}", kicking.obeyed, kicking.asked));
    if (!kicking.cue_to_toe_off.empty())
        said.push_back(fmt::format("{:.2f} s from cue to toe-off", median(kicking.cue_to_toe_off)));
    std::pair<CameKind, int> most{};
    for (const auto& kind : kicking.kinds)
        if (*words_for(kind.first) != 0 && kind.second > most.second) most = kind;
    if (most.second > 0)
        said.push_back(child ? fmt::format("mostly {}", words_for(most.first))
                             : fmt::format("mostly {}, {} of {}", words_for(most.first), most.second, kicking.legs));
    if (!kicking.tempo.empty()) said.push_back(fmt::format("left alone a kick each {:.1f} s", median(kicking.tempo)));
    if (!kicking.habit.empty())
        said.push_back(
            child ? kicking.habit
                  : fmt::format("{} ({} of {} exchanges)", kicking.habit, kicking.with_habit, kicking.exchanges));
    else if (kicking.exchanges > 0)
        said.emplace_back("no sign of what makes you kick");
    return said.empty() ? "" : fmt::format("As the partner: {}.", fmt::join(said, "; "));
}

}  // namespace

Expected<std::vector<std::string>> exchange_of_session(const Shelf& shelf, const ShelvedSession& session,
                                                       const std::vector<Athlete>& athletes,
                                                       const std::string& athlete) {
    std::vector<std::string> lines;
    if (session.summary.start != StartKind::free && session.summary.start != StartKind::coin) return lines;
    const auto bout = shelf.with_partner(session);
    if (!bout) return tl::make_unexpected(bout.error());
    if (!bout->exchange) return lines;
    std::string partner;
    for (const Athlete& each : athletes)
        if (each.id == bout->partner) partner = shown(each);
    const ExchangeSaid leads = who_leads_words(*bout->exchange, athlete, partner);
    const auto reps = shelf.reps(session);
    if (!reps) return tl::make_unexpected(reps.error());
    if (const auto edge = scoring::edge_counts(&*bout->exchange, *reps)) {
        const ExchangeSaid said = edge_words(*edge);
        lines.push_back(said.claim + (said.evidence.empty() ? "" : " " + said.evidence));
    }
    lines.push_back(leads.claim + (leads.evidence.empty() ? "" : " " + leads.evidence));
    if (std::string habit = partner_habit_words(*bout->exchange, partner); !habit.empty())
        lines.push_back(std::move(habit));
    return lines;
}

Expected<std::string> partner_words(const Shelf& shelf, AthleteId partner, std::int32_t first_day,
                                    std::int32_t last_day, bool child) {
    Kicking kicking;
    for (const ShelvedSession& session : shelf.sessions()) {
        if (session.day < first_day || session.day > last_day) continue;
        const auto& drill = shelf.drill(session.summary.drill);
        if (!drill || drill->partner.source != AttackSource::partner) continue;
        const auto bout = shelf.with_partner(session);
        if (!bout) return tl::make_unexpected(bout.error());
        if (bout->partner != partner) continue;
        ++kicking.sessions;
        const auto reps = shelf.reps(session);
        if (!reps) return tl::make_unexpected(reps.error());
        for (const RepResult& rep : *reps) kicking.add(rep);
        if (bout->exchange) kicking.add(*bout->exchange);
    }
    return kicking.sessions == 0 ? "" : words_of(kicking, child);
}

}  // namespace breakstep
