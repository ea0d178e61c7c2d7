// Reps: opened ahead of their first border, cued, confirmed border by border, closed once everything has arrived.
#include <algorithm>
#include <tuple>

#include "core/conduct/state.hpp"

namespace breakstep {
namespace {

std::optional<CueSound> word_of(Verdict verdict) {
    switch (verdict) {
        case Verdict::on_time:
        case Verdict::around:
            return CueSound::word_on_time;
        case Verdict::clash:
            return CueSound::word_clash;
        case Verdict::early:
            return CueSound::word_early;
        case Verdict::late:
            return CueSound::word_late;
        case Verdict::missed:
            return CueSound::word_missed;
        case Verdict::held:
            return CueSound::word_held;
        case Verdict::took_the_feint:
            return CueSound::word_feint;
        case Verdict::got_hit:
            return CueSound::word_hit;
        default:
            return std::nullopt;
    }
}

}  // namespace

OpenRep* Conduct::State::open_rep(RepId rep) {
    const auto found = std::find_if(open_reps.begin(), open_reps.end(),
                                    [rep](const OpenRep& open_one) { return open_one.opened.rep == rep; });
    return found == open_reps.end() ? nullptr : &*found;
}

void Conduct::State::plan(TargetTime begin, RedrawReason why) {
    upcoming.clear();
    std::vector<std::int32_t> numbers;  // what is still to be given, in order
    for (std::int32_t number = 1; number <= drill.reps; ++number)
        if (!numbers_given.contains(number)) numbers.push_back(number);
    const auto attacks = plan_set(drill, session.seed, set, static_cast<std::int32_t>(numbers.size()), pace, attempt++);
    // The first set of a drill whose level follows stays at the drill's own, wherever the level stood the last time.
    const bool own_level = drill.test || (follows() && set == 0);
    SetPlanned event{
        set, begin, why != RedrawReason::none, {}, why, own_level ? 1.0 : pace, asked_in_set(drill, session.seed, set)};
    TargetTime wait_from = begin;
    std::int32_t rep = next_rep;
    std::size_t at = 0;
    for (const PlannedAttack& planned : attacks) {
        Upcoming next;
        next.rep = RepId{rep++};
        next.planned = planned;
        next.number = at < numbers.size() ? numbers[at] : drill.reps;
        if (!planned.catch_trial) ++at;
        next.onset = planned.catch_trial ? wait_from : wait_from + planned.wait;
        next.end = planned.catch_trial ? wait_from + planned.wait : next.onset + planned.length();
        // Struck or not: a call never moves an onset.
        wait_from = is_called(set) && !planned.catch_trial ? next.end + call_within : next.end;
        // Drawn, hunted and tapped attacks take their order and lengths from the plan, but not their moments.
        // An act that draws the attack is its own warning.
        next.telegraphed = scheduled() && planned.telegraph > Duration{};
        if (next.telegraphed) next.lean = next.onset + planned.lie_after - planned.telegraph;
        if (scheduled())
            event.reps.push_back({next.rep, next.onset, next.end, planned.catch_trial, next.telegraphed, next.lean});
        if (scheduled() || with_partner() || !planned.catch_trial) upcoming.push_back(std::move(next));
    }
    if (!scheduled()) wait_began = begin;
    scene.pace = event.pace;
    scene.asked = event.asked;
    if (with_partner()) plan_for_partner();
    append(std::move(event));
}

TargetTime Conduct::State::quiet_from(const Now& now) const {
    TargetTime from = *now.rig + cue_ahead;
    // A blow at a void attack belongs to it: the next wait begins behind it.
    if (void_until && void_until->same_boot(from)) from = std::max(from, *void_until);
    for (const OpenRep& rep : open_reps)
        if (rep.borders.empty() ? rep.opened.close.same_boot(from) : rep.borders.back().same_boot(from))
            from = std::max(from, rep.borders.empty() ? rep.opened.close : rep.borders.back());
    return from;
}

void Conduct::State::redraw(RedrawReason why, const Now& now) {
    if (now.rig) plan(quiet_from(now), why);
}

// Whether reps that the rig made void are still to be given again. Not without end: one that fails at every rep would
// keep the athlete there.
bool Conduct::State::owes_reps() const {
    return again_reason != RedrawReason::none && given_again < drill.reps &&
           static_cast<std::int32_t>(numbers_given.size()) < drill.reps;
}

void Conduct::State::open_due(const Now& now) {
    if (lost || scene.paused || !now.rig || !bound_good) return;
    if (with_partner()) return open_partner_due(now);
    if (!scheduled()) {
        if (const auto fallback = fallback_due(); fallback && *now.rig >= *fallback)
            open_called({drill.start == StartKind::lure ? StartKind::lure : StartKind::random},
                        *now.rig + cue_ahead + open_ahead, now);
        return;
    }
    while (!upcoming.empty()) {
        const Upcoming& next = upcoming.front();
        if (!next.onset.same_boot(*now.rig)) {
            redraw(RedrawReason::rig_back, now);
            return;
        }
        if (*now.rig < opens_at(next)) return;
        if (!next.planned.catch_trial && *now.rig + cue_ahead > next.onset) {
            // This computer was away too long (asleep, overloaded): nothing is cued late.
            redraw(RedrawReason::host_late, now);
            return;
        }
        Upcoming taken = next;
        upcoming.pop_front();
        open(std::move(taken), {drill.start}, now);
    }
}

// The order of catch trials and attacks: a catch trial is open while its wait lasts, an attack from where its cues
// leave.
TargetTime Conduct::State::opens_at(const Upcoming& next) const {
    if (next.planned.catch_trial) return next.onset;
    return next.onset - (next.telegraphed ? open_ahead_of_lean : open_ahead);
}

void Conduct::State::open(Upcoming next, const Call& call, const Now& now) {
    next_rep = static_cast<std::int32_t>(next.rep) + 1;
    if (!next.planned.catch_trial) numbers_given.insert(next.number);
    OpenRep rep;
    RepOpened& opened = rep.opened;
    opened.rep = next.rep;
    opened.set = set;
    opened.number = next.number;
    opened.catch_trial = next.planned.catch_trial;
    opened.start = call.start;
    opened.trigger = call.trigger;
    opened.drew_by = call.by;
    opened.drawn_at = call.at;
    opened.counts = next.planned.counts && !opened.catch_trial;
    if (follows() && set > 0 && !opened.counts && !opened.catch_trial) opened.window = level.window();
    scene.window = opened.window;
    scene.call_it = false;
    opened.asked = drill.attacks[static_cast<std::size_t>(next.planned.attack)];
    opened.opponent_lead = next.planned.lead;
    opened.onset = next.onset;
    const Duration after = is_called(set) ? call_within : after_attack;
    opened.close = next.planned.catch_trial ? next.end : next.end + after;
    opened.phases = next.planned.phases;
    opened.telegraphed = next.telegraphed;
    opened.lean = next.lean;
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
    }
    if (!opened.catch_trial || opened.telegraphed) {
        SceneAttack shown{opened.rep, opened.onset, opened.asked.kind, opened.opponent_lead, opened.phases};
        if (opened.catch_trial) shown.toe_off = opened.onset + next.planned.lie_after;
        if (opened.telegraphed) shown.lean = opened.lean;
        scene.attacks.push_back(std::move(shown));
        show();
    }
    open_reps.push_back(std::move(rep));
}

void Conduct::State::cue_borders(OpenRep& rep) {
    const RepOpened& opened = rep.opened;
    for (std::size_t i = 0; i < rep.borders.size(); ++i) {
        const CueRef cue{opened.rep, static_cast<std::int32_t>(i)};
        const Phase phase = i < opened.phases.size() ? opened.phases[i].phase : Phase::guard;
        if (drill.lamps && (rig_lamps & all_lamps) != 0 && !lamps_left)
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
    if (phase == Phase::guard && is_called(set)) {
        scene.call_it = true;
        show();
    }
    // Sound and screen have delays of their own, which is no fault of theirs.
    if (source != OnsetSource::lamp || !at.same_boot(rep.borders[i])) return;
    const Duration off = at - rep.borders[i];
    if (off > late_lamp || off < -late_lamp) make_void(rep, VoidReason::cue_late);
}

void Conduct::State::make_void(OpenRep& rep, VoidReason reason) {
    if (rep.voided) return;
    rep.voided = true;
    append(RepVoided{rep.opened.rep, reason});
    if (!rep.opened.catch_trial) numbers_given.erase(rep.opened.number);
    void_until = rep.opened.close;
    const bool by_lamps = reason == VoidReason::cue_late || reason == VoidReason::lamps_silent;
    again_reason = by_lamps ? RedrawReason::lamps_silent : RedrawReason::rig_back;
}

void Conduct::State::judge_cues(OpenRep& rep) {
    if (rep.opened.catch_trial) return;
    const bool whole = std::all_of(rep.confirmed.begin(), rep.confirmed.end(), [](bool known) { return known; });
    // What a rig that was away did or told in between is no fault of its lamps.
    if (!whole && rep.was_away) make_void(rep, VoidReason::link_lost);
    if (!whole && rep.source != OnsetSource::lamp) make_void(rep, VoidReason::cue_missing);
    if (!whole) make_void(rep, rep.refused ? VoidReason::cue_late : VoidReason::lamps_silent);
    if (rep.was_away || rep.source != OnsetSource::lamp || lamps_left) return;
    // Lamps that came late or refused did answer.
    silent_reps = whole || rep.refused ? 0 : silent_reps + 1;
}

void Conduct::State::close_front(const Now& now) {
    OpenRep rep = std::move(open_reps.front());
    open_reps.pop_front();
    const RepClosed closed{rep.opened.rep, rep.opened.close};
    std::erase_if(scene.attacks, [&](const SceneAttack& attack) { return attack.rep == closed.rep; });
    last_close = closed.end;
    judge_cues(rep);
    if (now.rate && now.rate->boot == closed.end.boot()) append(*now.rate);
    append(closed);
    if (!scheduled() && open_reps.empty()) wait_began = closed.end;
    if (drill.start == StartKind::lure) scene.lure.emplace();
    scene.call_it = false;
    // Last, since it may end the session: a rep is closed before its set is.
    if (silent_reps >= silent_reps_max && !lamps_left) leave_lamps(now);
}

void Conduct::State::close_ready(TargetTime complete, const Now& now) {
    while (!open_reps.empty() && !done) {
        const OpenRep& rep = open_reps.front();
        if (rep.partner) break;
        if (!rep.opened.close.same_boot(complete) || complete < rep.opened.close + arrival_slack) break;
        close_front(now);
    }
    if (!done) end_set_if_over(now);
}

void Conduct::State::close_as_void(VoidReason reason) {
    if (open_reps.empty()) return;
    for (OpenRep& rep : open_reps) {
        make_void(rep, reason);
        append(RepClosed{rep.opened.rep, rep.opened.close});
        last_close = rep.opened.close;
    }
    open_reps.clear();
    scene.attacks.clear();
    leg.begin(std::nullopt);
    // What is void is not shown any longer, or it would be answered.
    commands.push_back(CancelLamps{});
    commands.push_back(CancelSounds{});
}

// What else was asked may be known only now; then it stands as long as a verdict does.
void Conduct::State::change_verdict(const RepResult& result, const Now& now) {
    if (!scene.verdict || scene.verdict->rep != result.rep) return;
    const auto beside = [](const RepResult& rep) {
        return std::tie(rep.out_in_time, rep.off_line, rep.followed_up, rep.called);
    };
    if (beside(*scene.verdict) != beside(result)) scene.verdict_since = now.host;
    scene.verdict = result;
}

void Conduct::State::show_result(const RepResult& result, const Now& now) {
    const bool good = result.verdict == Verdict::on_time || result.verdict == Verdict::around;
    if (!shown_reps.insert(static_cast<std::int32_t>(result.rep)).second) {
        // It came again: the picture follows, but nothing is counted or sounded twice.
        change_verdict(result, now);
        show();
        return;
    }
    if (result.scored && result.set == set) {
        ++set_scored;
        if (good) ++set_on_time;
    }
    follow_level(result);
    // A catch trial that was waited out is not shown: nothing happened that the athlete could have seen.
    if (result.catch_trial && result.verdict == Verdict::held) return;
    if (worded_reps.contains(static_cast<std::int32_t>(result.rep))) {
        // The first word stands until this one: what it says now holds, without a second sound.
        change_verdict(result, now);
        show();
        return;
    }
    if (is_silent(result.set) && result.verdict != Verdict::void_rep) return;
    // What the rig made void is given again; a coach's void is the coach's to say.
    const bool again = result.verdict == Verdict::void_rep && result.void_reason != VoidReason::coach;
    if (again && drill.sound && (devices.words & word_bit(CueSound::word_again)) != 0)
        commands.push_back(PlaySound{{}, CueSound::word_again, std::nullopt});
    scene.verdict = result;
    scene.verdict_since = now.host;
    show();
    if (result.verdict == Verdict::void_rep) return;
    std::optional<TargetTime> over;
    if (last_close && !result.catch_trial) over = *last_close - (is_called(result.set) ? call_within : after_attack);
    tell_result(result.verdict, over, now);
}

// By sound, and in a loud hall by lamps as well, where `over` is the attack's end. None of its codes is one of an
// attack, and it is dark again within the shortest wait: whether there is room for it tells nothing of how long this
// one is. An attack that the athlete or the coach calls may come sooner, so there lamps tell attacks alone.
void Conduct::State::tell_result(Verdict verdict, std::optional<TargetTime> over, const Now& now) {
    const bool good = verdict == Verdict::on_time || verdict == Verdict::around, held = verdict == Verdict::held;
    // An opponent that answers kicks already: a result between its cues would be taken for one.
    const bool kicks = std::any_of(open_reps.begin(), open_reps.end(), [&](const OpenRep& rep) {
        return drill.start == StartKind::countered && now.rig && rep.opened.onset.same_boot(*now.rig) &&
               rep.opened.onset <= *now.rig + cue_ahead;
    });
    if (drill.sound && !kicks) {
        const CueSound tone = good ? CueSound::good : held ? CueSound::held_back : CueSound::bad;
        const auto said = word_of(verdict);
        const bool recorded = said && (devices.words & word_bit(*said)) != 0;
        commands.push_back(PlaySound{{}, recorded ? *said : tone, std::nullopt});
    }
    if (!devices.loud_hall || !drill.lamps || lamps_left || lost || !now.rig || (rig_lamps & all_lamps) == 0) return;
    if (!scheduled() || !over || !over->same_boot(*now.rig)) return;
    const TargetTime from = std::max(*over, *now.rig + cue_ahead), dark = from + result_lamps_lit;
    if (dark + cue_ahead > *over + drill.wait_minimum) return;
    commands.push_back(OrderLamps{{}, from, all_lamps, good ? good_lamps : held ? held_lamps : bad_lamps});
    commands.push_back(OrderLamps{{}, dark, all_lamps, 0});
}

}  // namespace breakstep
