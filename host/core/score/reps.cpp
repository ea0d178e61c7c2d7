// Of the score's fold: a rep is opened, voided, closed and settled.
#include <algorithm>

#include "core/score/state.hpp"

namespace breakstep {

using namespace scoring;

void Score::State::note_begin(Duration begin) {
    // A void rep's planned end may lie ahead; a new plan ends its stretch.
    if (!keeps_blows_with_voids() && previous && book.is_void(previous->rep))
        previous->end = std::min(previous->end, begin);
    // Only the newest few can matter: reps are opened about one attack ahead.
    constexpr std::size_t kept = 8;
    if (begins.size() == kept) begins.erase(begins.begin());
    begins.push_back(begin);
}

void Score::State::on(const RepOpened& opened, Results& out) {
    const bool lengths_can_be = std::all_of(opened.phases.begin(), opened.phases.end(), [](const AttackPhase& phase) {
        return phase.length >= 0ns && phase.length <= longest_phase;
    });
    if (!plausible(opened.onset) || !plausible(opened.close) || !lengths_can_be ||
        !opened.close.same_boot(opened.onset)) {
        book.count_misplaced();
        return;
    }
    book.open(opened, VoidReason::none);
    if (lure && opened.start == StartKind::lure && opened.trigger != 0) lure->opened();
    if (boot && opened.onset.boot() == *boot)
        rhythm.opened(opened);
    else if (boot)
        void_one(opened.rep, VoidReason::board_reset, out);
}

void Score::State::on(const PhaseBegan& began, Results&) { book.phase_began(began); }

void Score::State::on(const RepVoided& voided, Results& out) {
    OpenRep* rep = book.find_open(voided.rep);
    // Whose rhythm it was is known now; what it told of this athlete is taken back with it.
    if (voided.reason == VoidReason::other_athlete)
        if (const auto set = rep != nullptr ? std::optional(rep->opened.set) : book.set_of(voided.rep))
            rhythm.take_back(*set);
    if (rep == nullptr) {
        if (!book.void_decided(voided.rep, voided.reason, out)) book.count_misplaced();
        return;
    }
    // A coach's void lies over a verdict that is still to be measured; any other void is the verdict.
    if (voided.reason == VoidReason::coach || voided.reason == VoidReason::none)
        rep->coach_void = voided.reason == VoidReason::coach;
    else
        void_one(voided.rep, voided.reason, out);
}

void Score::State::void_one(RepId id, VoidReason reason, Results& out) {
    const OpenRep* rep = book.find_open(id);
    if (rep == nullptr) return;
    RepResult result = asked_of(rep->opened);
    result.verdict = Verdict::void_rep;
    result.void_reason = reason;
    result.phases = rep->opened.phases;
    book.decide(id, std::move(result), out);
}

void Score::State::void_open(VoidReason reason, Results& out) {
    while (!book.open_reps().empty()) void_one(book.open_reps().front().opened.rep, reason, out);
}

void Score::State::on(const RepClosed& closed, Results& out) {
    const bool here = boot && closed.end.boot() == *boot && plausible(closed.end);
    OpenRep* rep = book.find_open(closed.rep);
    if (rep == nullptr) {
        // Decided already, by a void: only its end is news.
        if (!book.is_decided(closed.rep)) book.count_misplaced();
        if (here && book.is_decided(closed.rep)) close_void(closed, out);
        return;
    }
    if (!here) {
        void_one(closed.rep, VoidReason::board_reset, out);
        return;
    }
    rhythm.closed(closed.end);
    if (exchange && rep->partner) {
        exchange->kicked(closed.came);
        exchange->complete(closed.end.since_boot());
    }
    close(*rep, closed, out);
}

void Score::State::close(const OpenRep& rep, const RepClosed& closed, Results& out) {
    const Duration end = closed.end.since_boot();
    const auto attack = rep.partner ? rep.of_leg(lead, closed.came) : rep.confirmed(lead);
    const Duration onset = attack && !attack->onsets.empty() ? attack->toe_off() : rep.opened.onset.since_boot();
    const Stretch& stretch = close_stretch(rep.opened.rep, begin_of(onset, end), end, onset, out);

    RepResult result = asked_of(rep.opened);
    result.phases = rep.opened.phases;
    if (result.draw_to_toe_off) *result.draw_to_toe_off += onset - rep.opened.onset.since_boot();
    drop_what_drew(rep.opened);
    if (attack && session.drill.asks.call_it_set == rep.opened.set + 1)
        result.called = take_call(contacts, attack->phases.empty() ? end : attack->end());
    VoidReason reason = VoidReason::none;
    if (touched_by_loss(stretch)) reason = VoidReason::link_lost;
    if (reason == VoidReason::none && ran_backwards(stretch)) reason = VoidReason::impossible_stamps;
    if (reason == VoidReason::none && !stretch.impossible.empty()) reason = VoidReason::impossible_gates;
    if (rep.partner) describe_leg(rep, closed, attack, result);
    if (reason == VoidReason::none && rep.partner) reason = void_of_leg(closed);
    if (reason == VoidReason::none && !attack) reason = VoidReason::link_lost;
    if (reason != VoidReason::none) {
        result.verdict = Verdict::void_rep;
        result.void_reason = reason;
        if (keeps_blows_with_voids())
            for (const Contact& contact : contacts) result.later_contacts.push_back(contact.at - onset);
    } else {
        judge(*attack, {contacts, stretch, log.gates(), pad_bounds, onset}, result);
        judge_beside(*attack, stretch, result);
        result.retreated = is_retreat(result, onset, stretch);
        tell_rhythm(result, onset, stretch, out);
        time_between += stretch.time_between();
        time_known += stretch.time_known();
    }
    scale(result);
    book.decide(rep.opened.rep, std::move(result), out);
    if (lure) lure->interrupted();
}

// Decided already, by a void: only its end is news, and which blows were meant for it.
void Score::State::close_void(const RepClosed& closed, Results& out) {
    const Duration end = closed.end.since_boot();
    if (!keeps_blows_with_voids()) {
        contacts.clear();
        (void)close_stretch(closed.rep, end, end, 0ns, out);
        return;
    }
    const Duration onset = book.onset_of(closed.rep).value_or(end);
    (void)close_stretch(closed.rep, begin_of(onset, end), end, onset, out);
    later.clear();
    for (const Contact& contact : contacts) later.push_back(scaled(contact.at - onset));
    book.add_later_contacts(closed.rep, later, out);
}

bool Score::State::ran_backwards(const Stretch& stretch) const {
    return std::any_of(backwards.begin(), backwards.end(),
                       [&](const Backwards& span) { return span.from < stretch.end && span.to >= stretch.begin; });
}

// Ticks of a rig whose clock runs a little fast or slow are not seconds. Integers as doubles, by + - * / alone.
Duration Score::State::scaled(Duration ticks) const {
    if (!rate) return ticks;
    const double excess = static_cast<double>(ticks.count()) * static_cast<double>(rate->ppb) / 1e9;
    return ticks + Duration(static_cast<std::int64_t>(excess < 0 ? excess - 0.5 : excess + 0.5));
}

void Score::State::scale(RepResult& result) const {
    if (!rate) return;
    if (result.latency && result.uncertainty != unknown_uncertainty) {
        const double length =
            static_cast<double>(result.latency->count() < 0 ? -result.latency->count() : result.latency->count());
        result.uncertainty += Duration(static_cast<std::int64_t>(length * static_cast<double>(rate->bound) / 1e9) + 1);
    }
    for (auto* time : {&result.latency, &result.commit, &result.error, &result.contact_from_onset,
                       &result.commit_from_onset, &result.edge_to_contact})
        if (*time) *time = scaled(**time);
    if (result.cue_to_toe_off) result.cue_to_toe_off = scaled(*result.cue_to_toe_off);
    for (Duration& contact : result.later_contacts) contact = scaled(contact);
    for (AttackPhase& phase : result.phases) phase.length = scaled(phase.length);
}

// Feints and catch trials ask for no answer, so that holding back there is no choice of the athlete's.
void Score::State::tell_rhythm(const RepResult& result, Duration toe_off, const Stretch& stretch, Results& out) {
    if (result.catch_trial || was_feint(result)) return;
    const auto left_since = [toe_off](const std::vector<Duration>& passes) {
        return std::any_of(passes.begin(), passes.end(), [toe_off](Duration at) { return at >= toe_off; });
    };
    std::uint8_t depth = left_since(stretch.far_outward) ? 1 : 0;
    if (left_since(stretch.back_outward)) depth = 2;
    rhythm.answered(result, depth, TargetTime(*boot, toe_off + result.contact_from_onset.value_or(0ns)), out);
}

Duration Score::State::begin_of(Duration onset, Duration end) const {
    Duration begin = never;
    if (previous) begin = std::min(previous->end, end);
    for (const Duration planned : begins)
        if (planned <= onset) begin = std::max(begin, planned);
    return begin;
}

bool Score::State::touched_by_loss(const Stretch& stretch) const {
    return std::any_of(losses.begin(), losses.end(), [&](const Loss& loss) {
        return loss.from < stretch.end && (!loss.to || *loss.to > stretch.begin);
    });
}

const Stretch& Score::State::close_stretch(RepId rep, Duration begin, Duration end, Duration zero, Results& out) {
    settle_later_contacts(out);
    take_strays(begin);
    contacts.clear();
    log.take_contacts(end, contacts);
    previous = Previous{rep, zero, end, false};
    std::erase_if(begins, [end](Duration planned) { return planned <= end; });
    std::erase_if(losses, [begin](const Loss& loss) { return loss.to && *loss.to <= begin; });
    const Stretch& stretch = log.close(begin, end);
    if (exchange && exchange->edge() != nullptr) exchange->edge()->passed(stretch.partner_back);
    return stretch;
}

void Score::State::settle_later_contacts(Results& out) {
    if (!previous || previous->settled) return;
    previous->settled = true;
    taken.clear();
    log.take_contacts(previous->end + later_window, taken);
    later.clear();
    for (const Contact& contact : taken) later.push_back(scaled(contact.at - previous->zero));
    book.add_later_contacts(previous->rep, later, out);
}

void Score::State::take_strays(std::optional<Duration> limit) {
    taken.clear();
    log.take_contacts(limit.value_or(-never), taken);
    for (const Contact& contact : taken)
        if (!start_strike || contact.at != *start_strike) ++stray_contacts;
}

// An attack answered by leaving the far mark without a strike.
bool Score::State::is_retreat(const RepResult& result, Duration toe_off, const Stretch& stretch) {
    if (result.catch_trial || result.contacted) return false;
    return std::any_of(stretch.far_outward.begin(), stretch.far_outward.end(),
                       [&](Duration left) { return left >= toe_off; });
}

}  // namespace breakstep
