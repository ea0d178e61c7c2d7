#include "hall/scene/scene_view.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "core/random.hpp"
#include "hall/scene/advice.hpp"
#include "hall/scene/beside_words.hpp"
#include "report/drawing/exchange_words.hpp"
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

StageRest rest_of(const Scene& scene, const SceneNames& names, const Score& score, const SessionBegan* session) {
    StageRest rest = rest_of_set(score, scene.set, scene.sets, names.child);
    // What helps one half is wrong for the other.
    if (session != nullptr && session->drill.asks.first_or_after) {
        rest.advice = scene.set % 2 == 0 ? "Next set: the other way." : "A coin says which comes next.";
        rest.reason.clear();
    }
    tell_exchange(rest, score, names.athlete, names.partner, names.child);
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
        if (attack.lean)
            if (const auto lean = link.host_time_from(*attack.lean)) shown.lean = toe_off->at - lean->at;
        if (attack.kind == AttackKind::feint) shown.timeline.feint_lift = pretended_lift(names, attack.rep);
        view.attacks.push_back(std::move(shown));
    }
}

// Times since the first of all, in the order in which they are drawn.
std::optional<StageLure> lure_of(const Scene& scene) {
    if (!scene.lure) return std::nullopt;
    StageLure lure;
    lure.follows = scene.lure->follows;
    const auto& entries = scene.lure->entries;
    for (const TargetTime at : entries) lure.yours.push_back(at - entries.front());
    for (const TargetTime at : scene.lure->expected)
        if (!entries.empty() && at.same_boot(entries.front())) lure.its.push_back(at - entries.front());
    return lure;
}

StageTask task_before(const SessionBegan& session, const Scene& scene, const SceneNames& names) {
    StageTask task = task_of(session, scene.set);
    const bool first = scene.set == 0;
    if (first) task.caution = names.caution;
    if (first && names.watch_first) task.watch_since = scene.awaiting_since;
    return task;
}

void add_count(StageView& view, const Scene& scene, const Link& link) {
    if (!scene.count_begin) return;
    const auto begin = link.host_time_from(*scene.count_begin);
    if (!begin) return;
    view.count = StageCount{begin->at, scene.count_step};
}

}  // namespace

void StandingSummary::show(StageView& view, HostTime now) {
    if (view.screen == StageScreen::summary) {
        if (!summary_) since_ = now;
        summary_ = view;
        return;
    }
    if (!summary_) return;
    const bool task = view.screen == StageScreen::task || !view.prompt.empty();
    if (!task || now - since_ >= stands_) {
        summary_.reset();
        waiting_.reset();
        return;
    }
    summary_->summary.next = view.athlete;
    summary_->summary.prompt.clear();  // the task comes by itself
    waiting_ = view;
    view = *summary_;
}

std::optional<StageView> StandingSummary::due(HostTime now) {
    if (!waiting_ || now - since_ < stands_) return std::nullopt;
    auto task = std::exchange(waiting_, std::nullopt);
    summary_.reset();
    // It is watched from where it is seen.
    if (task->task.watch_since) task->task.watch_since = now;
    return task;
}

std::vector<HostTime> leans_on_screen(const StageView& view) {
    constexpr std::int64_t frame = 16'666'667;
    std::vector<HostTime> leans;
    for (const StageAttack& attack : view.attacks) {
        if (attack.lean <= Duration{}) continue;
        const std::int64_t begins = (attack.toe_off - attack.lean).time_since_epoch().count();
        leans.emplace_back(Duration((begins + frame - 1) / frame * frame));
    }
    return leans;
}

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

void tell_exchange(StageRest& rest, const Score& score, const std::string& athlete, const std::string& partner,
                   bool child) {
    if (score.exchange() == nullptr) return;
    const ExchangeSaid leads = who_leads_words(*score.exchange(), athlete, partner),
                       habit = what_makes_them_kick_words(*score.exchange(), partner);
    if (const auto edge = scoring::edge_counts(score.exchange(), score.reps())) {
        // What to change stays; what it rests on is how often they were led there.
        const ExchangeSaid said = edge_words(*edge);
        const bool summed = rest.advice.empty();
        if (summed) rest.advice = said.claim;
        if (!child) rest.reason = summed || said.evidence.empty() ? said.evidence : said.claim + " " + said.evidence;
    } else {
        rest.advice = leads.claim;
        rest.reason = child ? "" : leads.evidence;
    }
    // The rhythm's own words are of cues, and there are none here.
    rest.read = habit.claim.empty() ? Sign::none : Sign::tell;
    rest.read_asks = fmt::format("Can {} be read?", partner.empty() ? "the partner" : partner);
    rest.read_words = habit.claim + (child || habit.evidence.empty() ? "" : " " + habit.evidence);
}

StageRest rest_of_set(const Score& score, std::int32_t set, std::int32_t sets, bool child) {
    StageRest rest;
    rest.set = set + 1;
    rest.sets = sets;
    std::vector<RepResult> reps;
    for (const RepResult& rep : score.reps())
        if (rep.set == set) reps.push_back(rep);
    const Advice advice = words_of(advice_of(reps, score.totals().sign, score.start()), child);
    rest.advice = advice.line;
    rest.reason = advice.reason;
    // What failed, rep by rep, is the coach's to tell a child.
    for (const RepResult& rep : reps)
        if (!rep.catch_trial && !child) rest.reps.push_back(strip_rep(rep));
    rest.rhythm = rhythm_lane(score, std::nullopt);
    const SessionTotals totals = score.totals();
    // What the choices give away is told with its count, which is the coach's to tell a child.
    if (totals.read_sign != Sign::none && !child) {
        rest.read = totals.read_sign;
        rest.read_words = totals.read_reason;
    }
    return rest;
}

const char* caution_before_the_first_set() {
    return "Sore or dizzy: stop and say so. A knock to the head ends the session.";
}

StageView stage_view(const Scene& scene, const SceneNames& names, const Score& score, const Link& link, HostTime,
                     bool saved, const SessionBegan* session) {
    StageView view;
    // A real leg attacks: no figure beside it.
    view.opponent = session == nullptr || session->drill.partner.source != AttackSource::partner;
    view.leans = session != nullptr && session->drill.telegraph.shown > 0;
    if (scene.flash)
        if (const auto flash = link.host_time_from(*scene.flash)) view.flash = flash->at;
    view.athlete = names.athlete;
    view.lead = scene.lead;
    view.zone = zone_on_stage(scene.zone);
    view.rep = scene.number;
    // A round without cues lasts its time, however many kicks come.
    if (session == nullptr || session->drill.start != StartKind::free) view.reps = scene.reps;
    if (scene.trouble) view.message = message_for(*scene.trouble);
    switch (scene.kind) {
        case SceneKind::waiting_for_rig:
            view.screen = StageScreen::live;
            if (!view.message) view.message = StageMessage{"Looking for the rig.", "Is it plugged in?"};
            break;
        case SceneKind::awaiting_start:
            // Trouble is told where there is room for it.
            view.screen = session != nullptr && !view.message ? StageScreen::task : StageScreen::live;
            view.prompt = "Strike a pad to start.";
            if (session != nullptr) view.task = task_before(*session, scene, names);
            break;
        case SceneKind::counting:
            view.screen = StageScreen::live;
            add_count(view, scene, link);
            break;
        case SceneKind::running:
            view.screen = StageScreen::live;
            add_attacks(view, scene, names, link);
            view.lure = lure_of(scene);
            if (scene.call_it) view.prompt = "Call it: low left early, high on time, low right late.";
            break;
        case SceneKind::done:
            view.screen = StageScreen::summary;
            view.summary = summary_of(score, names.child);
            if (score.exchange() != nullptr) {
                StageRest said;
                tell_exchange(said, score, names.athlete, names.partner, names.child);
                view.summary.advice = said.read_words.empty() ? said.advice : said.read_words;
                view.summary.reason = said.read_words.empty() ? said.reason : said.advice;
            }
            if (!names.child) add_last_time(view.summary, names.last_time);
            view.summary.next = names.next;
            view.summary.then = names.then;
            view.summary.prompt = names.next.empty() ? "Well done." : "Strike a pad for your task.";
            view.saved = saved && names.kept;
            break;
        case SceneKind::resting:
            view.screen = StageScreen::rest;
            view.rest = rest_of(scene, names, score, session);
            view.saved = saved && names.kept;
            break;
    }
    // At rest and in a summary too: the last word of a set stands before them.
    if (scene.verdict && view.screen != StageScreen::task) {
        const RepResult& rep = *scene.verdict;
        StageVerdict verdict;
        verdict.verdict = rep.verdict;
        if (rep.scored) verdict.asked = rep.asked.moment;
        verdict.struck = rep.phase;
        // Where several moments are right, the one that was met is said.
        if (rep.scored && rep.verdict == Verdict::on_time && rep.asked.moments != 0 && rep.phase)
            verdict.asked = *rep.phase == Phase::lift  ? Moment::lift
                            : *rep.phase == Phase::gap ? Moment::gap
                                                       : Moment::drop;
        verdict.reason = rep.void_reason;
        verdict.nothing_came = rep.catch_trial;
        // What is done for the rung, and for no count of strikes: no strike was asked for.
        verdict.room = rep.rung_hit.has_value() && !rep.scored;
        verdict.retreated = rep.retreated;
        if (session != nullptr) verdict.beside = beside_words(session->drill.asks, rep);
        verdict.since = scene.verdict_since;
        verdict.rep = static_cast<std::uint32_t>(rep.rep);
        verdict.child = names.child;
        view.verdict = verdict;
    }
    if (scene.nudge && names.nudged && view.screen == StageScreen::live)
        view.nudge = nudge_of(*scene.nudge, scene.nudge_since);
    return view;
}

}  // namespace breakstep
