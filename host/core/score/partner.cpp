// Reps whose attack is a partner's real leg: what its gates told, and what the athlete is judged by.
#include <algorithm>

#include "core/score/state.hpp"

namespace breakstep {
namespace scoring {

std::optional<Attack> OpenRep::of_leg(Duration lead, CameKind came) const {
    if (seen.size() < 2 || seen.back().phase != Phase::guard) return std::nullopt;
    Attack attack{{}, {}, lead};
    for (std::size_t i = 0; i < seen.size(); ++i) {
        attack.onsets.push_back(seen[i].onset);
        if (i + 1 == seen.size()) break;
        const Duration length = seen[i + 1].onset.at - seen[i].onset.at;
        const bool held = came == CameKind::carry && seen[i].phase == Phase::up_or_pull_back && length >= carry_from;
        attack.phases.push_back({seen[i].phase, held, length});
    }
    return attack;
}

void RepBook::leg_expected(const LegExpected& expected) {
    OpenRep* rep = find_open(expected.rep);
    if (rep == nullptr) {
        if (!is_void(expected.rep)) count_misplaced();
        return;
    }
    rep->partner = true;
    rep->told = expected.told;
}

void RepBook::phase_seen(const PhaseSeen& seen) {
    OpenRep* rep = find_open(seen.rep);
    if (rep == nullptr && is_void(seen.rep)) return;
    constexpr std::size_t most = leg::LegReader::phases_max + 1;
    const bool fits = rep != nullptr && rep->partner && plausible(seen.at) && seen.at.same_boot(rep->opened.onset) &&
                      rep->seen.size() < most &&
                      (rep->seen.empty() || seen.at.since_boot() >= rep->seen.back().onset.at);
    if (!fits) return count_misplaced();
    rep->seen.push_back({seen.phase, {seen.at.since_boot(), seen.bound, seen.source}});
}

void RepBook::partner_cued(const PartnerCued& cued) {
    OpenRep* rep = find_open(cued.rep);
    if (rep == nullptr && is_void(cued.rep)) return;
    if (rep == nullptr || !rep->partner || !plausible(cued.at) || !cued.at.same_boot(rep->opened.onset))
        return count_misplaced();
    if (!rep->cue) rep->cue = Onset{cued.at.since_boot(), cued.uncertainty, cued.source};
}

}  // namespace scoring

using namespace scoring;

void Score::State::on(const LegExpected& expected, Results&) { book.leg_expected(expected); }
void Score::State::on(const PhaseSeen& seen, Results&) {
    const OpenRep* rep = book.find_open(seen.rep);
    const bool same_boot = rep != nullptr && boot && seen.at.boot() == *boot;
    // A lift out of a leg that is still up is no toe-off.
    const bool toe_off = same_boot && seen.phase == Phase::lift &&
                         (rep->seen.empty() || rep->seen.back().phase != Phase::up_or_pull_back);
    const std::size_t before = same_boot ? rep->seen.size() : 0;
    book.phase_seen(seen);
    if (exchange && toe_off && rep->seen.size() > before) exchange->lift(seen.at.since_boot());
}
void Score::State::on(const PartnerCued& cued, Results&) { book.partner_cued(cued); }
void Score::State::on(const CoinThrown& coin, Results&) {
    const bool window_can_be = coin.from >= 0ns && coin.from <= coin.to && coin.to <= longest_phase;
    if (exchange && boot && coin.at.boot() == *boot && plausible(coin.at) && window_can_be)
        exchange->coin(coin.at.since_boot(), coin);
    else
        book.count_misplaced();
}
void Score::State::on(const CoachInput& input, Results&) {
    if (exchange && (input.act == CoachAct::pause || input.act == CoachAct::stop)) exchange->interrupted();
}
void Score::State::on(const RigLost&, Results&) {
    if (exchange) exchange->interrupted();
}

void Score::State::describe_leg(const OpenRep& rep, const RepClosed& closed, const std::optional<Attack>& attack,
                                RepResult& result) const {
    result.came = closed.came;
    result.impossible = closed.impossible;
    result.told = rep.told;
    // The athlete answers what comes: what the partner was asked instead is not for them to know.
    if (!obeys(result.asked.kind, closed.came))
        for (const AttackChoice& choice : session.drill.attacks)
            if (choice.kind != AttackKind::feint && obeys(choice.kind, closed.came)) {
                const AttackKind asked = result.asked.kind;
                result.asked = choice;
                result.asked.kind = asked;
                break;
            }
    result.phases.clear();
    if (!attack) return;
    result.phases = attack->phases;
    for (const Onset& onset : attack->onsets) result.border_bounds.push_back(onset.uncertainty);
    if (!rep.cue) return;
    result.cue_to_toe_off = attack->toe_off() - rep.cue->at;
    const Uncertainty toe_off = attack->onsets.front().uncertainty;
    if (rep.cue->uncertainty != unknown_uncertainty && toe_off != unknown_uncertainty)
        result.cue_uncertainty = rep.cue->uncertainty + toe_off;
}

VoidReason Score::State::void_of_leg(const RepClosed& closed) {
    switch (closed.came) {
        case CameKind::impossible:
            return VoidReason::impossible_leg;
        case CameKind::nothing:
        case CameKind::bounce:
            return VoidReason::no_attack;
        default:
            return VoidReason::none;
    }
}

}  // namespace breakstep
