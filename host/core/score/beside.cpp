// What a rep is asked beside its strike, as score folds it.
#include <algorithm>

#include "core/score/state.hpp"

namespace breakstep {

using namespace scoring;

// A strike that opened the door, or tried to, is no answer to what came through it.
void Score::State::drop_what_drew(const RepOpened& opened) {
    if (const PadSet door = session.drill.manners.door_pads; door != 0 && opened.onset.boot() == boot) {
        const Duration seen = opened.onset.since_boot() - lead;
        const auto tried = [&](const Contact& contact) {
            return contact.at < seen && (door & pad_bit(contact.pad)) != 0;
        };
        std::erase_if(contacts, tried);
        std::erase_if(taken, tried);
    }
    if (opened.drew_by != DrewBy::strike || opened.drawn_at.boot() != opened.onset.boot()) return;
    const Duration drew = opened.drawn_at.since_boot();
    const auto before = [drew](const Contact& contact) { return contact.at <= drew + merge_window; };
    std::erase_if(contacts, before);
    std::erase_if(taken, before);
}

// Where the athlete stood as it came, and how far they gave ground between what drew it and their answer.
void Score::State::judge_footing(const Attack& attack, const Stretch& stretch, RepResult& result) const {
    result.stood = stretch.zone_at(attack.toe_off());
    const Duration from = attack.toe_off() - result.draw_to_toe_off.value_or(0ns);
    const Duration to = contacts.empty() ? attack.end() : contacts.front().at;
    const auto left = [&](const std::vector<Duration>& passes) {
        return std::any_of(passes.begin(), passes.end(), [&](Duration at) { return at > from && at < to; });
    };
    result.gave = left(stretch.back_outward) ? 2 : left(stretch.far_outward) ? 1 : 0;
}

void Score::State::judge_beside(const Attack& attack, const Stretch& stretch, RepResult& result) {
    const Asks& asks = session.drill.asks;
    if (!result.catch_trial && !attack.phases.empty()) judge_footing(attack, stretch, result);
    if (lure && result.start == StartKind::lure)
        result.lure = lure->closed(result.verdict == Verdict::on_time && result.phase != Phase::drop);
    if (result.catch_trial || attack.phases.empty()) return;
    beside.judge(session.drill, attack, contacts, stretch, result);
    judge_edge(attack, result);
    if (asks.rung == RungAim::range && !was_feint(result)) {
        const bool kept = contacts.empty() && kept_its_range(attack, stretch);
        result.rung_hit = kept;
        // No strike is asked for, so that none is missed.
        result.scored = false;
        if (contacts.empty() && result.verdict != Verdict::got_hit)
            result.verdict = kept ? Verdict::held : Verdict::gave_ground;
        return;
    }
    result.rung_hit = rung_hit(asks, result);
    if (!asks.no_more_ground || !result.draw_to_toe_off || !result.contact_from_onset || was_feint(result)) return;
    // Between the act that drew it and the answer no more ground was given.
    const Duration drew = attack.toe_off() - *result.draw_to_toe_off, struck = contacts.front().at;
    const auto again = [&](Duration at) { return at > drew && at < struck; };
    const bool gave = std::any_of(stretch.far_outward.begin(), stretch.far_outward.end(), again) ||
                      std::any_of(stretch.back_outward.begin(), stretch.back_outward.end(), again);
    result.rung_hit = result.verdict == Verdict::on_time && !gave;
}

// Whether the attack came from the end of the partner's room, and who brought them there.
void Score::State::judge_edge(const Attack& attack, RepResult& result) {
    if (!exchange || exchange->edge() == nullptr) return;
    const bool struck = !contacts.empty();
    const auto visit = exchange->edge()->take(attack.toe_off(), struck ? contacts.front().at : attack.toe_off());
    result.at_edge = visit ? visit->how : AtEdge::elsewhere;
    if (struck && result.at_edge == AtEdge::led) result.edge_to_contact = contacts.front().at - visit->at;
}

// What of a set's end belongs to no rep: they may have been led there without having attacked.
void Score::State::see_edge_until(Duration end) {
    if (exchange->edge() == nullptr) return;
    exchange->edge()->passed(log.close(begin_of(end, end), end).partner_back);
}

// Whether the athlete was out in time, once it is known: a later result of the rep.
void Score::State::settle_way_out(Duration known, Results& out) {
    const auto settled = beside.settled(known);
    if (!settled) return;
    book.settle_way_out(beside.open()->rep, *settled, session.drill.asks, out);
    beside.drop_open();
}

}  // namespace breakstep
