// Standing aside for others' sets, and the word of a rep before its close.
#include <algorithm>

#include "core/conduct/state.hpp"

namespace breakstep {

// ---- standing aside -------------------------------------------------------------------------------------------------

void Conduct::State::stand_aside_if_possible(std::optional<TargetTime> through, const Now& now) {
    if (!suspend_wanted || aside || done) return;
    if (scene.kind == SceneKind::counting) cancel_count(now);
    if (scene.kind == SceneKind::running) {
        close_as_void(VoidReason::coach);
        upcoming.clear();
        wait_began.reset();
        cut = true;
        scene.kind = SceneKind::resting;
    }
    // What the rig still holds of the last rep must not become the next athlete's: while it is away, it is waited for.
    if (last_close &&
        (lost || !through || !through->same_boot(*last_close) || *through < *last_close + aside_after_close))
        return;
    commands.push_back(CancelLamps{});
    if (!lost && now.rig) commands.push_back(OrderLamps{{}, *now.rig + cue_ahead, all_lamps, 0});
    append(SessionSuspended{set, pace, cut ? attempt : 0, next_rep, random.state(), lamps_left, level.window()});
    aside = true;
    suspend_wanted = false;
    show();
    commands.push_back(SessionAside{});
}

void Conduct::State::go_on_from_aside() {
    aside = suspend_wanted = false;
    leg_stale = true;
    lost = true;
    bound_good = false;
    lost_since.reset();
    unsure_since.reset();
    lamp_orders.clear();
    last_end.reset();
    last_close.reset();
    last_contact.reset();
    promised.reset();
    wait_began.reset();
    silent_reps = 0;
    scene.kind = SceneKind::waiting_for_rig;
    scene.set = set;
    scene.number = 0;
    scene.verdict.reset();
    scene.nudge.reset();
    scene.trouble.reset();
    scene.paused = false;
    scene.zone = Zone::unknown;
    show();
}

void Conduct::restore(const SessionSuspended& at, const std::vector<std::int32_t>& given,
                      const std::vector<RepResult>& results) {
    State& s = *state_;
    s.set = s.scene.set = at.set;
    s.pace = at.pace;
    s.attempt = at.attempt;
    s.next_rep = at.next_rep;
    s.random = Random(at.random);
    s.lamps_left = at.lamps_left;
    if (s.follows()) s.level = Staircase(s.drill.following.share, at.window);
    s.cut = at.attempt > 0;
    s.numbers_given = {given.begin(), given.end()};
    for (const RepResult& result : results) {
        s.shown_reps.insert(static_cast<std::int32_t>(result.rep));
        if (!s.cut || result.set != s.set || !result.scored) continue;
        ++s.set_scored;
        if (result.verdict == Verdict::on_time || result.verdict == Verdict::around) ++s.set_on_time;
    }
    s.aside = true;
}

// ---- the click and the first word -----------------------------------------------------------------------------------

void Conduct::State::on_contact(const PadHit& hit) {
    if (scene.kind != SceneKind::running || lost) return;
    const bool again = last_contact && last_contact->same_boot(hit.at) && hit.at < *last_contact + merge_window &&
                       *last_contact < hit.at + merge_window;
    // Whatever it hit and whenever: a click that told would not be neutral.
    if (!again && drill.sound) commands.push_back(PlaySound{{}, CueSound::click, std::nullopt});
    if (!again) last_contact = hit.at;
    if (!tells_at_once()) return;
    for (OpenRep& rep : open_reps) {
        if (!rep.opened.close.same_boot(hit.at) || hit.at >= rep.opened.close) continue;
        if (!rep.contact || hit.at < *rep.contact) rep.contact = hit.at;
        // In a catch trial as well: what is asked of the rig must not tell one from another either.
        commands.push_back(AskPing{*rep.contact + settled_after + 1ms});
        return;
    }
}

bool Conduct::State::drill_feints() const {
    return std::any_of(drill.attacks.begin(), drill.attacks.end(),
                       [](const AttackChoice& each) { return each.kind == AttackKind::feint; });
}

// When a rep's word falls due by the rig's clock, other than by the arrival of what belongs to its contact.
std::optional<TargetTime> Conduct::State::next_word() const {
    for (const OpenRep& rep : open_reps) {
        if (!rep.contact || rep.worded || rep.voided || rep.opened.catch_trial || rep.partner) continue;
        // Until everything has come there is nothing to wait for: its arrival is told by itself.
        const bool settled = promised && promised->same_boot(*rep.contact) && *promised >= *rep.contact + settled_after;
        if (settled && !drill_feints() && *rep.contact < rep.opened.onset - drill.lead) return rep.opened.onset;
    }
    return std::nullopt;
}

void Conduct::State::give_words(const Now& now) {
    if (!tells_at_once() || !promised || !now.rig) return;
    for (OpenRep& rep : open_reps) {
        if (!rep.contact || rep.worded || rep.voided || rep.opened.catch_trial || rep.partner) continue;
        if (!promised->same_boot(*rep.contact) || *promised < *rep.contact + settled_after) continue;
        // A word before toe-off would tell that this wait ends in an attack; at toe-off it would tell an attack, where
        // it is early, from a feint, where it is none. Then the close tells it.
        const bool before = *rep.contact < rep.opened.onset - drill.lead;
        if (before && (drill_feints() || *now.rig < rep.opened.onset)) continue;
        rep.worded = true;
        append(ContactSettled{rep.opened.rep, *promised - arrival_slack});
    }
}

void Conduct::State::show_word(const RepResult& result, const Now& now) {
    if (!worded_reps.insert(static_cast<std::int32_t>(result.rep)).second) return;
    scene.verdict = result;
    scene.verdict_since = now.host;
    show();
    const OpenRep* rep = open_rep(result.rep);
    std::optional<TargetTime> over;
    if (rep != nullptr && !rep->borders.empty()) over = rep->borders.back();
    tell_result(result.verdict, over, now);
}

}  // namespace breakstep
