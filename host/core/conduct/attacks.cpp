// Reps: opened ahead of their first border, cued, confirmed border by border, closed once everything has arrived.
#include <algorithm>

#include "core/conduct/state.hpp"

namespace breakstep {

OpenRep* Conduct::State::open_rep(RepId rep) {
    const auto found = std::find_if(open_reps.begin(), open_reps.end(),
                                    [rep](const OpenRep& open_one) { return open_one.opened.rep == rep; });
    return found == open_reps.end() ? nullptr : &*found;
}

void Conduct::State::plan(TargetTime begin, bool redrawn) {
    upcoming.clear();
    const std::int32_t missing = drill.reps - numbers_given;
    const auto attacks = plan_set(drill, session.seed, set, missing, pace, attempt++);
    SetPlanned event{set, begin, redrawn, {}};
    TargetTime wait_from = begin;
    std::int32_t rep = next_rep, number = numbers_given;
    for (const PlannedAttack& planned : attacks) {
        Upcoming next;
        next.rep = RepId{rep++};
        next.planned = planned;
        next.number = planned.catch_trial ? number + 1 : ++number;
        next.onset = planned.catch_trial ? wait_from : wait_from + planned.wait;
        next.end = planned.catch_trial ? wait_from + planned.wait : next.onset + planned.length();
        wait_from = next.end;
        // Drawn, hunted and tapped attacks take their order and lengths from the plan, but not their moments.
        if (scheduled()) event.reps.push_back({next.rep, next.onset, next.end});
        if (scheduled() || !planned.catch_trial) upcoming.push_back(std::move(next));
    }
    if (!scheduled()) wait_began = begin;
    append(std::move(event));
}

TargetTime Conduct::State::quiet_from(const Now& now) const {
    TargetTime from = *now.rig + cue_ahead;
    for (const OpenRep& rep : open_reps)
        if (rep.borders.empty() ? rep.opened.close.same_boot(from) : rep.borders.back().same_boot(from))
            from = std::max(from, rep.borders.empty() ? rep.opened.close : rep.borders.back());
    return from;
}

void Conduct::State::redraw(const Now& now) {
    if (!now.rig) return;
    plan(quiet_from(now), true);
}

void Conduct::State::open_due(const Now& now) {
    if (lost || scene.paused || !now.rig) return;
    if (!scheduled()) {
        if (const auto fallback = fallback_due(); fallback && *now.rig >= *fallback)
            open_called(StartKind::random, 0, *now.rig + cue_ahead + open_ahead, now);
        return;
    }
    while (!upcoming.empty()) {
        const Upcoming& next = upcoming.front();
        if (!next.onset.same_boot(*now.rig)) {
            redraw(now);
            return;
        }
        if (*now.rig < (next.planned.catch_trial ? next.onset : next.onset - open_ahead)) return;
        if (!bound_good) {
            // The cue could not be placed well enough: said as a void rep, and the rest is drawn again.
            Upcoming skipped = next;
            upcoming.pop_front();
            open(std::move(skipped), drill.start, 0, now);
            open_reps.back().refused = true;
            append(RepVoided{open_reps.back().opened.rep, VoidReason::bound_too_wide});
            continue;
        }
        if (!next.planned.catch_trial && *now.rig + cue_ahead > next.onset) {
            // This computer was away too long (asleep, overloaded): nothing is cued late.
            redraw(now);
            return;
        }
        Upcoming taken = next;
        upcoming.pop_front();
        open(std::move(taken), drill.start, 0, now);
    }
}

void Conduct::State::open(Upcoming next, StartKind start, std::uint16_t trigger, const Now& now) {
    next_rep = static_cast<std::int32_t>(next.rep) + 1;
    if (!next.planned.catch_trial) numbers_given = next.number;
    OpenRep rep;
    RepOpened& opened = rep.opened;
    opened.rep = next.rep;
    opened.set = set;
    opened.number = next.number;
    opened.catch_trial = next.planned.catch_trial;
    opened.start = start;
    opened.trigger = trigger;
    opened.asked = drill.attacks[static_cast<std::size_t>(next.planned.attack)];
    opened.opponent_lead = next.planned.lead;
    opened.onset = next.onset;
    opened.close = next.planned.catch_trial ? next.end : next.end + after_attack;
    opened.phases = next.planned.phases;
    rep.source = best_source();
    TargetTime border = next.onset;
    for (const AttackPhase& phase : opened.phases) {
        rep.borders.push_back(border);
        border = border + phase.length;
    }
    if (!opened.phases.empty()) rep.borders.push_back(border);
    rep.confirmed.resize(rep.borders.size());
    last_end = next.end;
    append(opened);
    if (now.rig && bound_good) cue_borders(rep);
    if (!opened.catch_trial) {
        scene.number = opened.number;
        scene.lead = opened.opponent_lead;
        scene.attacks.push_back({opened.rep, opened.onset, opened.asked.kind, opened.opponent_lead, opened.phases});
        show();
    }
    open_reps.push_back(std::move(rep));
}

void Conduct::State::cue_borders(OpenRep& rep) {
    const RepOpened& opened = rep.opened;
    for (std::size_t i = 0; i < rep.borders.size(); ++i) {
        const CueRef cue{opened.rep, static_cast<std::int32_t>(i)};
        const Phase phase = i < opened.phases.size() ? opened.phases[i].phase : Phase::guard;
        if (drill.lamps && rig_lamps != 0)
            commands.push_back(OrderLamps{cue, rep.borders[i], all_lamps, lamps_of(phase)});
        if (!drill.sound) continue;
        if (phase == Phase::lift) commands.push_back(PlaySound{cue, CueSound::toe_off, rep.borders[i]});
        if (phase == Phase::drop) commands.push_back(PlaySound{cue, CueSound::hip_crossing, rep.borders[i]});
        if (phase == Phase::gap) commands.push_back(PlaySound{cue, CueSound::touchdown, rep.borders[i]});
    }
}

void Conduct::State::confirm(OpenRep& rep, std::int32_t index, TargetTime at, Uncertainty uncertainty,
                             OnsetSource source) {
    const auto i = static_cast<std::size_t>(index);
    if (i >= rep.confirmed.size() || rep.confirmed[i]) return;
    rep.confirmed[i] = true;
    const Phase phase = i < rep.opened.phases.size() ? rep.opened.phases[i].phase : Phase::guard;
    append(PhaseBegan{rep.opened.rep, index, phase, at, uncertainty, source});
}

void Conduct::State::close_ready(TargetTime complete, const Now& now) {
    while (!open_reps.empty()) {
        const OpenRep& rep = open_reps.front();
        if (!rep.opened.close.same_boot(complete) || complete < rep.opened.close + arrival_slack) break;
        const RepClosed closed{rep.opened.rep, rep.opened.close};
        std::erase_if(scene.attacks, [&](const SceneAttack& attack) { return attack.rep == closed.rep; });
        open_reps.pop_front();
        append(closed);
        if (!scheduled() && open_reps.empty()) wait_began = closed.end;
    }
    end_set_if_over(now);
}

void Conduct::State::close_as_void(VoidReason reason) {
    for (const OpenRep& rep : open_reps) {
        append(RepVoided{rep.opened.rep, reason});
        append(RepClosed{rep.opened.rep, rep.opened.close});
    }
    open_reps.clear();
    scene.attacks.clear();
}

void Conduct::State::show_result(const RepResult& result, const Now& now) {
    const bool good = result.verdict == Verdict::on_time || result.verdict == Verdict::around;
    if (!shown_reps.insert(static_cast<std::int32_t>(result.rep)).second) {
        // It came again: the picture follows, but nothing is counted or sounded twice.
        if (scene.verdict && scene.verdict->rep == result.rep) scene.verdict = result;
        show();
        return;
    }
    if (result.scored && result.set == set) {
        ++set_scored;
        if (good) ++set_on_time;
    }
    // A catch trial that was waited out is not shown: nothing happened that the athlete could have seen.
    if (result.catch_trial && result.verdict == Verdict::held) return;
    scene.verdict = result;
    scene.verdict_since = now.host;
    show();
    if (!drill.sound || result.verdict == Verdict::void_rep) return;
    const CueSound sound = good                              ? CueSound::good
                           : result.verdict == Verdict::held ? CueSound::held_back
                                                             : CueSound::bad;
    commands.push_back(PlaySound{{}, sound, std::nullopt});
}

}  // namespace breakstep
