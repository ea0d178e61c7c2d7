#include "hall/scene/scene_view.hpp"

#include <algorithm>
#include <cmath>

#include "core/random.hpp"
#include "hall/scene/advice.hpp"
#include "report/drawing/strips_of_score.hpp"

namespace breakstep {
namespace {

AthleteZone zone_on_stage(Zone zone) {
    switch (zone) {
        case Zone::inside:
            return AthleteZone::inside_near;
        case Zone::between:
            return AthleteZone::between;
        case Zone::beyond:
            return AthleteZone::beyond_far;
        case Zone::back:
            return AthleteZone::beyond_back;
        case Zone::unknown:
            break;
    }
    return AthleteZone::unknown;
}

Duration pretended_lift(const SceneNames& names, RepId rep) {
    Random random(names.seed, static_cast<std::uint64_t>(rep));
    const auto mean = static_cast<double>(names.lift.mean.count());
    for (int tries = 0; tries < 100; ++tries) {
        const Duration length(static_cast<std::int64_t>(random.lognormal(mean, names.spread)));
        if (length >= names.lift.shortest && length <= names.lift.longest) return length;
    }
    return names.lift.mean;
}

StageMessage message_for(VoidReason reason) {
    switch (reason) {
        case VoidReason::board_reset:
            return {"The rig has restarted.", "Wait a moment: it is being found again."};
        case VoidReason::clock_jump:
            return {"A clock has jumped.", "Wait a moment: it is being measured anew."};
        default:
            return {"The rig does not answer.", "Check the cable."};
    }
}

StageRest rest_of(const Scene& scene, const SceneNames& names, const Score& score) {
    StageRest rest = rest_of_set(score, scene.set, scene.sets, names.child);
    rest.next = names.next;
    rest.then = names.then;
    rest.begin = scene.rest_begin;
    rest.end = scene.rest_end;
    return rest;
}

void add_attacks(StageView& view, const Scene& scene, const SceneNames& names, const Link& link) {
    for (const SceneAttack& attack : scene.attacks) {
        const auto toe_off = link.host_time_from(attack.toe_off);
        if (!toe_off) continue;
        StageAttack shown;
        shown.rep = static_cast<std::uint32_t>(attack.rep);
        shown.toe_off = toe_off->at;
        shown.timeline = timeline_of(attack.kind, attack.phases);
        if (attack.kind == AttackKind::feint) shown.timeline.feint_lift = pretended_lift(names, attack.rep);
        view.attacks.push_back(std::move(shown));
    }
}

void add_count(StageView& view, const Scene& scene, const Link& link) {
    if (!scene.count_begin) return;
    const auto begin = link.host_time_from(*scene.count_begin);
    if (!begin) return;
    view.count = StageCount{begin->at, scene.count_step};
}

}  // namespace

StageNudge nudge_of(const SignRaised& sign, HostTime since) {
    StageNudge nudge;
    // Two words an athlete takes in while moving.
    nudge.words = sign.cause.empty() || sign.cause == "one beat" ? "Same beat" : sign.cause;
    nudge.words.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(nudge.words.front())));
    nudge.sign = sign.sign;
    nudge.since = since;
    Duration at{};
    nudge.entries.push_back(at);
    for (const Duration interval : sign.last_intervals) nudge.entries.push_back(at += interval);
    return nudge;
}

StageRest rest_of_set(const Score& score, std::int32_t set, std::int32_t sets, bool child) {
    StageRest rest;
    rest.set = set + 1;
    rest.sets = sets;
    std::vector<RepResult> reps;
    for (const RepResult& rep : score.reps())
        if (rep.set == set) reps.push_back(rep);
    const Advice advice = words_of(advice_of(reps, score.totals().sign), child);
    rest.advice = advice.line;
    rest.reason = advice.reason;
    for (const RepResult& rep : reps)
        if (!rep.catch_trial) rest.reps.push_back(strip_rep(rep));
    rest.rhythm = rhythm_lane(score, std::nullopt);
    const SessionTotals totals = score.totals();
    // What the choices give away is told with its count, which is the coach's to tell a child.
    if (totals.read_sign != Sign::none && !child) {
        rest.read = totals.read_sign;
        rest.read_words = totals.read_reason;
    }
    return rest;
}

StageView stage_view(const Scene& scene, const SceneNames& names, const Score& score, const Link& link, HostTime,
                     bool saved) {
    StageView view;
    view.athlete = names.athlete;
    view.lead = scene.lead;
    view.zone = zone_on_stage(scene.zone);
    view.rep = scene.number;
    view.reps = scene.reps;
    if (scene.trouble) view.message = message_for(*scene.trouble);
    switch (scene.kind) {
        case SceneKind::waiting_for_rig:
            view.screen = StageScreen::live;
            if (!view.message) view.message = StageMessage{"Looking for the rig.", "Is it plugged in?"};
            break;
        case SceneKind::awaiting_start:
            view.screen = StageScreen::live;
            view.prompt = "Strike a pad to start.";
            break;
        case SceneKind::counting:
            view.screen = StageScreen::live;
            add_count(view, scene, link);
            break;
        case SceneKind::running:
            view.screen = StageScreen::live;
            add_attacks(view, scene, names, link);
            break;
        case SceneKind::resting:
        case SceneKind::done:
            view.screen = StageScreen::rest;
            view.rest = rest_of(scene, names, score);
            view.saved = saved;
            break;
    }
    if (scene.verdict && view.screen == StageScreen::live) {
        const RepResult& rep = *scene.verdict;
        StageVerdict verdict;
        verdict.verdict = rep.verdict;
        if (rep.scored) verdict.asked = rep.asked.moment;
        verdict.struck = rep.phase;
        verdict.reason = rep.void_reason;
        verdict.nothing_came = rep.catch_trial;
        verdict.since = scene.verdict_since;
        view.verdict = verdict;
    }
    if (scene.nudge && names.nudged && view.screen == StageScreen::live)
        view.nudge = nudge_of(*scene.nudge, scene.nudge_since);
    return view;
}

}  // namespace breakstep
