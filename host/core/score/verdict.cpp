#include "core/score/verdict.hpp"

#include <algorithm>
#include <optional>

namespace breakstep::scoring {
namespace {

bool is_hand(Counter counter) { return counter == Counter::front_hand || counter == Counter::back_hand; }

bool any_contact(std::span<const Contact> contacts, Duration from, Duration to) {
    return std::any_of(contacts.begin(), contacts.end(),
                       [&](const Contact& contact) { return contact.at >= from && contact.at < to; });
}

// The asked window by which a contact is measured.
std::optional<Window> measured_by(const std::vector<Window>& asked, Duration contact) {
    if (asked.empty()) return std::nullopt;
    const Window* chosen = &asked.front();
    for (const Window& window : asked) {
        if (window.holds(contact)) return window;
        if (window.begin <= contact) chosen = &window;
    }
    return *chosen;
}

Uncertainty sum(Uncertainty pad, Uncertainty onset) {
    return pad == unknown_uncertainty || onset == unknown_uncertainty ? unknown_uncertainty : pad + onset;
}

// The verdict of a strike on a real attack, from "before the first window" on.
Verdict of_strike(const Attack& attack, const RepResult& result, const Contact& contact) {
    const Duration at = contact.at;
    if (at < attack.toe_off() - attack.lead) return Verdict::early;
    const auto index = attack.phase_at(at);
    if (index) {
        const AttackPhase& phase = attack.phases[*index];
        const bool up = phase.phase == Phase::up || phase.phase == Phase::up_or_pull_back;
        if (up && phase.held && result.asked.counter == Counter::spin) return Verdict::around;
        if (is_closed(phase.phase)) return Verdict::clash;
    }
    const auto asked = attack.windows(result.asked);
    const auto in_asked = std::find_if(asked.begin(), asked.end(), [at](const Window& w) { return w.holds(at); });
    if (in_asked != asked.end()) {
        const Window level = in_asked->narrowed(result.window);
        if (!level.holds(at)) return at < level.begin ? Verdict::early : Verdict::late;
        const bool right = result.asked.pads == 0 || (result.asked.pads & pad_bit(contact.pad)) != 0;
        return right ? Verdict::on_time : Verdict::wrong_pad;
    }
    if (at >= attack.end()) return Verdict::late;
    const bool begun = std::any_of(asked.begin(), asked.end(), [at](const Window& w) { return w.begin <= at; });
    return begun ? Verdict::late : Verdict::early;
}

// The verdict of a real attack that nobody struck back at. A gate that the rig does not have leaves its zone unknown.
Verdict without_contact(const Attack& attack, const Evidence& evidence, const RepResult& result) {
    const Stretch& stretch = evidence.stretch;
    for (std::size_t i = 0; i < attack.phases.size(); ++i) {
        const Phase phase = attack.phases[i].phase;
        const bool dangerous = phase == Phase::up || phase == Phase::pull_back;
        if (dangerous && stretch.inside_during(attack.onsets[i].at, attack.onsets[i + 1].at)) return Verdict::got_hit;
    }
    const auto gaps = attack.windows(Moment::gap);
    if (!gaps.empty()) {
        const Zone zone = stretch.zone_at(gaps.back().begin);
        if (zone == Zone::beyond || zone == Zone::back) return Verdict::gave_ground;
    }
    const bool has_near = (evidence.gates & gate_bit(GateRole::near_mark)) != 0;
    const bool out_of_reach = stretch.zone_at(attack.toe_off()) != Zone::inside;
    if (has_near && is_hand(result.asked.counter) && !stretch.near_broken && out_of_reach) return Verdict::no_step;
    return Verdict::missed;
}

const Break* last_break_before(const Stretch& stretch, const Contact& contact) {
    const Break* last = nullptr;
    for (const Break& one : stretch.near_breaks) {
        const bool before = one.at < contact.at ||
                            (one.at == contact.at && static_cast<std::int16_t>(one.sequence - contact.sequence) < 0);
        if (before) last = &one;
    }
    return last;
}

// Latency, commit, error and their uncertainty, from the start of `window`'s phase.
void measure(const Attack& attack, const Window& window, const Evidence& evidence, RepResult& result) {
    const Contact& contact = evidence.contacts.front();
    const Onset& onset = attack.onsets[window.phase];
    result.latency = contact.at - onset.at;
    result.error = contact.at - window.middle();
    result.source = onset.source;
    result.uncertainty = sum(evidence.pad_bounds[static_cast<std::size_t>(contact.stamped_by)], onset.uncertainty);
    if (const Break* commit = last_break_before(evidence.stretch, contact)) result.commit = commit->at - onset.at;
}

// What is told of the contacts whatever the verdict; `zero` is toe-off, or where a catch trial's wait began.
void describe_contacts(Duration zero, const Evidence& evidence, RepResult& result) {
    const Contact& first = evidence.contacts.front();
    result.pad = first.pad;
    result.peak = first.peak;
    result.phase = Phase::guard;
    result.contact_from_onset = first.at - zero;
    for (const Contact& later : evidence.contacts.subspan(1)) result.later_contacts.push_back(later.at - zero);
    const bool has_near = (evidence.gates & gate_bit(GateRole::near_mark)) != 0;
    const Break* commit = last_break_before(evidence.stretch, first);
    result.already_in = has_near && commit == nullptr;
    if (commit != nullptr) result.commit_from_onset = commit->at - zero;
}

void judge_catch_trial(const Evidence& evidence, RepResult& result) {
    if (!evidence.contacts.empty()) describe_contacts(evidence.waited_from, evidence, result);
    result.contacted = any_contact(evidence.contacts, evidence.waited_from, evidence.stretch.end);
    result.verdict = result.contacted ? Verdict::took_the_feint : Verdict::held;
}

void judge_feint(const Attack& attack, const Evidence& evidence, RepResult& result) {
    result.verdict = result.contacted ? Verdict::took_the_feint : Verdict::held;
    if (result.contacted) return;
    for (const Duration entry : evidence.stretch.entries) {
        if (entry < attack.toe_off() - attack.lead) continue;
        result.drawn = true;
        result.commit_from_onset = entry - attack.toe_off();
    }
}

}  // namespace

void judge(const Attack& attack, const Evidence& evidence, RepResult& result) {
    if (result.catch_trial) return judge_catch_trial(evidence, result);

    result.phases = attack.phases;
    for (std::size_t i = 0; i < result.phases.size(); ++i)
        result.phases[i].length = attack.onsets[i + 1].at - attack.onsets[i].at;
    result.source = attack.onsets.front().source;

    const Duration seen_from = attack.toe_off() - attack.lead;
    const bool struck = !evidence.contacts.empty();
    result.contacted = any_contact(evidence.contacts, seen_from, evidence.stretch.end);
    if (struck) describe_contacts(attack.toe_off(), evidence, result);

    const bool feint = was_feint(result);
    if (feint)
        judge_feint(attack, evidence, result);
    else
        result.verdict = struck ? of_strike(attack, result, evidence.contacts.front())
                         : result.came
                             ? Verdict::missed  // a partner's box stands beside the target: of range nothing is known
                             : without_contact(attack, evidence, result);
    result.scored = !feint;
    if (!struck) return;

    const Duration contact = evidence.contacts.front().at;
    const auto index = attack.phase_at(contact);
    if (index) result.phase = attack.phases[*index].phase;
    const auto window = result.verdict == Verdict::around ? std::optional(attack.whole(*index))
                                                          : measured_by(attack.windows(result.asked), contact);
    if (window) measure(attack, *window, evidence, result);
}

}  // namespace breakstep::scoring
