// A set from the strike that starts it to the rest after it.
#include <algorithm>
#include <utility>

#include "core/conduct/state.hpp"

namespace breakstep {

void Conduct::State::await_start(const Now& now) {
    scene.kind = SceneKind::awaiting_start;
    scene.set = set;
    scene.number = 0;
    scene.attacks.clear();
    scene.count_begin.reset();
    scene.awaiting_since = now.host;
    const bool drop_alone = std::all_of(drill.attacks.begin(), drill.attacks.end(), [](const AttackChoice& each) {
        return each.kind == AttackKind::feint || (each.moments == 0 && each.moment == Moment::drop);
    });
    if (drop_alone && drill.sound && (devices.words & word_bit(CueSound::word_drop)) != 0)
        commands.push_back(PlaySound{{}, CueSound::word_drop, std::nullopt});
    if (!lost && now.rig) {
        start_allowed = session.evening == EveningId{} ? *now.rig : *now.rig + task_stands;
        ready_tries = 0;
        light_ready(cue_ahead, now);
        if (session.opens_video && !video_marked) mark_video(cue_ahead, now);
    }
    show();
}

// Screen, loudspeaker and ready lamp at one moment, which a film of the hall shows and holds.
void Conduct::State::mark_video(Duration ahead, const Now& now) {
    video_marked = true;
    const TargetTime at = *now.rig + ahead;
    scene.flash = at;
    append(VideoMark{at});
    if (drill.sound) commands.push_back(PlaySound{{}, CueSound::click, at});
}

void Conduct::State::light_ready(Duration ahead, const Now& now) {
    ++ready_tries;
    commands.push_back(OrderLamps{ready_cue, *now.rig + ahead, all_lamps, lamp_bit(LampRole::ready)});
}

void Conduct::State::on_pad(const PadHit& hit, const Now& now) {
    if (scene.kind != SceneKind::awaiting_start || lost || !bound_good || !now.rig) return;
    if (!hit.at.same_boot(start_allowed) || hit.at < start_allowed) return;
    append(StartStruck{set, hit.at});
    begin_count(hit.at, now);
}

void Conduct::State::begin_count(TargetTime struck, const Now& now) {
    scene.kind = SceneKind::counting;
    count_begin = std::max(struck + after_start_strike, *now.rig + cue_ahead);
    scene.count_begin = count_begin;
    for (std::int32_t k = 0; k < count_lamps_total; ++k) {
        const TargetTime at = count_begin + k * count_step;
        commands.push_back(OrderLamps{{}, at, all_lamps, count_lamps(k + 1)});
        if (drill.sound) commands.push_back(PlaySound{{}, CueSound::count, at});
    }
    set_begin = count_begin + count_lamps_total * count_step;
    commands.push_back(OrderLamps{{}, set_begin, all_lamps, 0});
    show();
}

void Conduct::State::cancel_count(const Now& now) {
    if (scene.kind != SceneKind::counting) return;
    commands.push_back(CancelLamps{});
    commands.push_back(CancelSounds{});
    await_start(now);
}

void Conduct::State::begin_running(const Now&) {
    scene.kind = SceneKind::running;
    scene.count_begin.reset();
    scene.lure.reset();
    if (drill.start == StartKind::lure) scene.lure.emplace();
    given_again = 0;
    again_reason = RedrawReason::none;
    void_until.reset();
    last_end.reset();
    interval_may_be_cued.reset();
    free_reps = set_trials = 0;
    next_coin.reset();
    coins_until.reset();
    gate_blocked_since.reset();
    leg.begin(std::nullopt);
    if (!cut) {
        numbers_given.clear();
        attempt = 0;
        set_scored = set_on_time = 0;
        level_reps = level_hits = 0;
    }
    plan(set_begin, std::exchange(cut, false) ? RedrawReason::cut_set : RedrawReason::none);
    show();
}

void Conduct::State::end_set_if_over(const Now& now) {
    if (scene.kind != SceneKind::running || !upcoming.empty() || !open_reps.empty()) return;
    if (with_partner() && drill.start == StartKind::free && !round_over()) return;
    if (with_partner() && !coins_over()) return;
    if (owes_reps()) {
        if (lost || !bound_good || !now.rig) return;  // the set waits for the rig
        given_again += drill.reps - static_cast<std::int32_t>(numbers_given.size());
        redraw(again_reason, now);
        return;
    }
    append(SetEnded{set, false});
    partner_list.clear();  // a list is of its set: nobody would know of what is left of it in the next one
    if (drill.sound) commands.push_back(PlaySound{{}, CueSound::set_end, std::nullopt});
    adapt();
    ++set;
    if (set >= drill.sets) {
        end_session(SessionEnd::finished, now);
        return;
    }
    scene.kind = SceneKind::resting;
    scene.rest_begin = now.host;
    rest_end = scene.rest_end = now.host + drill.rest;
    show();
}

void Conduct::State::end_session(SessionEnd how, const Now& now) {
    if (done) return;
    if (scene.kind == SceneKind::running) {
        if (how != SessionEnd::finished) {
            close_as_void(how == SessionEnd::rig_gone           ? VoidReason::link_lost
                          : how == SessionEnd::cannot_cue       ? VoidReason::lamps_silent
                          : how == SessionEnd::no_partner_gates ? VoidReason::impossible_leg
                          : how == SessionEnd::no_edge_gates    ? VoidReason::impossible_gates
                                                                : VoidReason::coach);
            append(SetEnded{set, true});
        }
    }
    upcoming.clear();
    if (how != SessionEnd::finished) commands.push_back(CancelSounds{});
    commands.push_back(CancelLamps{});
    if (!lost && now.rig) commands.push_back(OrderLamps{{}, *now.rig + cue_ahead, all_lamps, 0});
    append(SessionEnded{how});
    scene.kind = SceneKind::done;
    done = true;
    ended = how;
    show();
    commands.push_back(SessionDone{how});
}

void Conduct::State::adapt() {
    // A set well mastered goes a little faster, one mostly missed a little slower. Between sets only, and never in a
    // test, where a moving task would hide progress.
    if (follows()) {
        if (set > 0) pace = pace_after(pace, level.window(), drill.following.share, level_hits, level_reps);
        return;
    }
    if (drill.test || with_partner() || set_scored < reps_for_a_pace) return;
    const double rate = static_cast<double>(set_on_time) / set_scored;
    if (rate >= pace_mastered) pace = std::max(pace_fastest, pace * pace_step);
    if (rate < pace_too_hard) pace = std::min(pace_slowest, pace / pace_step);
}

// What stands at the drill's own level counts, and teaches the level nothing.
void Conduct::State::follow_level(const RepResult& result) {
    if (!follows() || !result.scored || result.counts || result.set == 0) return;
    const bool hit = result.verdict == Verdict::on_time || result.verdict == Verdict::around;
    level.add(hit);
    // The last rep of a set is known once the set is over: too late for the pace, not for the window.
    if (result.set != set) return;
    ++level_reps;
    level_hits += hit ? 1 : 0;
}

void Conduct::State::pause(const Now&) {
    if (scene.paused) return;
    scene.paused = true;
    show();
}

void Conduct::State::go_on(const Now& now) {
    if (!scene.paused) return;
    scene.paused = false;
    if (scene.kind == SceneKind::running) redraw(RedrawReason::going_on, now);
    show();
}

}  // namespace breakstep
