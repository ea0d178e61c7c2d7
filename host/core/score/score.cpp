#include "core/score/score.hpp"

#include <algorithm>

#include "core/score/state.hpp"

namespace breakstep {

using namespace scoring;

void Score::State::fold(const JournalEvent& event, Results& out) {
    std::visit([&](const auto& known) { on(known, out); }, event);
}

// ---- the session and the rig ----------------------------------------------------------------------------------------

void Score::State::on(const UnknownEvent&, Results&) { ++unknown_events; }

void Score::State::on(const SessionBegan& began, Results&) {
    session = began;
    lead = began.drill.lead;
    const StartKind start = began.drill.start;
    if (began.drill.partner.source == AttackSource::partner && (start == StartKind::free || start == StartKind::coin))
        exchange.emplace();
    if (start == StartKind::lure) lure.emplace();
    watch.tell_ground(began.drill.manners.retreated_from.share > 0);
}

void Score::State::on(const SessionEnded& ended, Results& out) {
    if (latest) settle_way_out(*latest - arrival_slack, out);
    // What conduct left open when it stopped was never measured.
    void_open(ended.how == SessionEnd::rig_gone ? VoidReason::link_lost : VoidReason::coach, out);
    settle_later_contacts(out);
    take_strays(std::nullopt);
}

void Score::State::on(const RigConnected& connected, Results& out) {
    if (!plausible(connected.snapshot_at)) {
        book.count_misplaced();
        return;
    }
    const bool new_boot = boot != connected.boot;
    if (new_boot && boot) {
        settle_later_contacts(out);
        take_strays(std::nullopt);
        void_open(VoidReason::board_reset, out);
    }
    pad_bounds.fill(unknown_uncertainty);
    GateSet gates = 0;
    PadSet pads = 0;
    for (const Channel& channel : connected.channels) {
        if (channel.kind == ChannelKind::pad && channel.role < pad_bounds.size()) {
            pad_bounds[channel.role] = channel.bound;
            pads |= pad_bit(static_cast<PadRole>(channel.role));
        }
        if (channel.kind == ChannelKind::gate && channel.role < gate_role_count)
            gates = static_cast<GateSet>(gates | gate_bit(static_cast<GateRole>(channel.role)));
    }
    rhythm.begin(session, gates, pads, read_by);
    rhythm.interrupted();
    if (exchange) exchange->interrupted();
    if (new_boot && exchange) exchange->other_boot();
    const Duration at = connected.snapshot_at.since_boot();
    if (new_boot) {
        begin_boot(connected.boot, gates, at, out);
    } else {
        // The same boot again: its ring kept what happened meanwhile, but nothing tells where the athlete is now.
        log.add_forgetting(at, last_sequence);
        beside.forget();
        if (lure) lure->interrupted();
        if (watch.forget()) out.emplace_back(ZoneChanged{watch.zone(), connected.snapshot_at});
    }
}

void Score::State::begin_boot(BootId now, GateSet gates, Duration at, Results& out) {
    const bool known = watch.zone() != Zone::unknown;
    boot = now;
    log.begin_boot(gates);
    watch.begin_boot(gates);
    beside.begin_boot(gates);
    if (lure) lure->interrupted();
    if (known) out.emplace_back(ZoneChanged{Zone::unknown, TargetTime(now, at)});
    previous.reset();
    begins.clear();
    start_strike.reset();
    losses.clear();
    backwards.clear();
    rate.reset();
    latest.reset();
}

void Score::State::on(const EventsLost& lost, Results& out) {
    events_lost += static_cast<std::uint16_t>(lost.last - lost.first) + 1;
    if (!boot || lost.boot != *boot) return;  // reps of an earlier boot are void already
    Loss loss;
    loss.from = latest ? *latest - arrival_slack : never;
    // A rep closes only once everything to its end has arrived: what is lost now came after that.
    if (previous) loss.from = std::max(loss.from, previous->end);
    losses.push_back(loss);
    log.add_forgetting(latest.value_or(0ns), lost.first);
    if (exchange) exchange->interrupted();
    if (lure) lure->interrupted();
    beside.forget();
    rhythm.interrupted();
    if (watch.forget()) out.emplace_back(ZoneChanged{watch.zone(), TargetTime(*boot, latest.value_or(0ns))});
}

bool Score::State::accept(TargetTime at, std::uint16_t sequence, Results& out) {
    if (!boot) boot = at.boot();
    if (at.boot() != *boot || !plausible(at)) {
        book.count_misplaced();
        return false;
    }
    const Duration stamp = at.since_boot();
    if (session.rules >= 1 && latest && stamp < *latest - hold_slack) {
        ++impossible_events;
        if (backwards.size() == backwards_max) backwards.erase(backwards.begin());
        backwards.push_back({stamp, *latest});
        return false;
    }
    for (Loss& loss : losses)
        if (!loss.to) loss.to = stamp + arrival_slack;
    latest = std::max(latest.value_or(stamp), stamp);
    last_sequence = sequence;
    if (previous && !previous->settled && stamp >= previous->end + later_window + arrival_slack)
        settle_later_contacts(out);
    if (beside.open()) settle_way_out(stamp - arrival_slack, out);
    return true;
}

void Score::State::on(const PadHit& hit, Results& out) {
    if (!accept(hit.at, hit.sequence, out)) return;
    const Duration at = hit.at.since_boot();
    log.add_hit({at, hit.sequence, hit.pad, hit.pad, hit.peak});
    if (watch.contact(at).zone_changed) out.emplace_back(ZoneChanged{watch.zone(), hit.at});
}

void Score::State::on(const GateEdge& edge, Results& out) {
    if (!accept(edge.at, edge.sequence, out)) return;
    const Duration at = edge.at.since_boot();
    log.add_edge(at, edge.sequence, edge.gate, edge.broken);
    const Seen seen = watch.edge(edge.gate, at, edge.broken);
    if (seen.zone_changed) out.emplace_back(ZoneChanged{watch.zone(), edge.at});
    if (seen.near_outward) rhythm.left(edge.at);
    if (seen.near_outward) beside.near_outward(at);
    if (edge.gate == GateRole::attack_line && edge.broken) beside.line_broken(at);
    if (seen.near_outward && beside.open()) settle_way_out(at - arrival_slack, out);
    if (exchange && seen.entry) exchange->entry(at);
    if (exchange && seen.far_outward) exchange->retreat(at);
    const auto act = [&](Act what) -> ActSeen& {
        return std::get<ActSeen>(out.emplace_back(ActSeen{what, edge.at, edge.sequence, {}, {}}));
    };
    if (seen.entry) {
        const auto next = rhythm.entry(edge.at, edge.sequence, out);
        ActSeen& entry = act(Act::entry);
        if (next) entry.window_begin = next->from;
        if (next) entry.window_end = next->to;
        if (lure) {
            const LureWatch::Expected expected = lure->entry(edge.at);
            if (expected.window) entry.window_begin = expected.window->from;
            if (expected.window) entry.window_end = expected.window->to;
            entry.follows = expected.follows;
        }
    }
    if (seen.stop_short) act(Act::stop_short);
    if (seen.ground_given) act(Act::ground_given);
    if (seen.ground_given_twice) act(Act::ground_given_twice);
}

// ---- the drill ------------------------------------------------------------------------------------------------------

void Score::State::on(const StartStruck& struck, Results& out) {
    if (!boot || struck.at.boot() != *boot || !plausible(struck.at)) {
        book.count_misplaced();
        return;
    }
    settle_later_contacts(out);
    start_strike = struck.at.since_boot();
    note_begin(*start_strike + merge_window + 1ns);
    take_strays(*start_strike);
}

void Score::State::on(const SetPlanned& planned, Results&) {
    const auto here = [this](TargetTime at) { return boot && at.boot() == *boot && plausible(at); };
    const bool whole = here(planned.begin) && std::all_of(planned.reps.begin(), planned.reps.end(),
                                                          [&](auto& rep) { return here(rep.onset) && here(rep.end); });
    if (!whole) {
        book.count_misplaced();
        return;
    }
    note_begin(planned.begin.since_boot());
    if (exchange) exchange->interrupted();
    rhythm.plan(planned);
}

void Score::State::on(const SetEnded& ended, Results&) {
    rhythm.set_ended(ended.cancelled);
    if (lure) lure->interrupted();
    // It ends once everything in it has arrived.
    if (exchange && latest && !ended.cancelled) exchange->complete(*latest + 1ns);
    if (exchange) exchange->interrupted();
}

void Score::State::on(const ClockRate& known, Results&) {
    const bool can_be = known.ppb >= -rate_max && known.ppb <= rate_max && known.bound >= 0 && known.bound <= rate_max;
    if (!boot || known.boot != *boot || !can_be)
        book.count_misplaced();
    else
        rate = known;
}

// What belongs to the last rep has all come: the athlete stands aside.
void Score::State::on(const SessionSuspended&, Results& out) {
    settle_later_contacts(out);
    take_strays(std::nullopt);
    rhythm.set_ended(true);
}

// The verdict alone: what the gates told is read at the close.
void Score::State::on(const ContactSettled& settled, Results& out) {
    const OpenRep* rep = book.find_open(settled.rep);
    const bool here = boot && settled.through.boot() == *boot && plausible(settled.through);
    if (rep == nullptr || !here || rep->opened.catch_trial ||
        (rep->partner ? rep->seen.empty() : rep->opened.phases.empty()) || rep->opened.onset.boot() != *boot) {
        book.count_misplaced();
        return;
    }
    const Attack attack = rep->so_far(lead);
    const Duration end = settled.through.since_boot() + 1ns;
    const Duration begin = begin_of(attack.toe_off(), end);
    taken.clear();
    log.see_contacts(end, taken);
    // A follow-up of the rep before is no contact of this one.
    const Duration from = previous && !previous->settled ? std::max(begin, previous->end + later_window) : begin;
    std::erase_if(taken, [from](const Contact& contact) { return contact.at < from; });
    drop_what_drew(rep->opened);
    if (taken.empty() || session.drill.asks.rung == RungAim::range) return;
    Stretch stretch;
    stretch.begin = begin;
    stretch.end = end;
    RepResult result = asked_of(rep->opened);
    judge(attack, {taken, stretch, log.gates(), pad_bounds, attack.toe_off()}, result);
    scale(result);
    out.emplace_back(FirstWord{std::move(result)});
}

void Score::State::on(const EventSkipped& skipped, Results&) {
    ++(skipped.reason == SkipReason::unknown_type ? unknown_events : impossible_events);
}

void Score::State::on(const IntervalCoin& coin, Results&) { rhythm.coin(coin); }

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
    for (auto* time :
         {&result.latency, &result.commit, &result.error, &result.contact_from_onset, &result.commit_from_onset})
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
    return log.close(begin, end);
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

SessionTotals Score::State::totals() const {
    SessionTotals totals;
    add_reps(book.results(), totals);
    constexpr GateSet both = gate_bit(GateRole::near_mark) | gate_bit(GateRole::far_mark);
    if ((log.gates() & both) == both && time_known > 0ns)
        totals.home_share = static_cast<double>(time_between.count()) / static_cast<double>(time_known.count());
    totals.retreats = book.retreats();
    rhythm.add_to(totals);
    totals.stray_contacts = stray_contacts + log.pushed_out();
    totals.events_lost = events_lost;
    totals.unknown_events = unknown_events;
    totals.impossible_events = impossible_events;
    if (rate) totals.clock_rate_ppm = static_cast<double>(rate->ppb) / 1e3;
    totals.misplaced_events = book.misplaced();
    return totals;
}

Duration axis_zero(const RepResult& rep) {
    return rep.latency && rep.contact_from_onset ? *rep.contact_from_onset - *rep.latency : Duration{};
}

// ---- the public face ------------------------------------------------------------------------------------------------

Score::Score() : state_(std::make_unique<State>()) {}
Score::Score(reading::ReadingMethod instead) : Score() { state_->read_by = instead; }
Score::~Score() = default;
Score::Score(Score&&) noexcept = default;
Score& Score::operator=(Score&&) noexcept = default;

void Score::fold(const JournalRecord& record, std::vector<ScoreResult>& out) { state_->fold(record.event, out); }
const std::vector<RepResult>& Score::reps() const { return state_->book.results(); }
const std::vector<IntervalRead>& Score::intervals() const { return state_->rhythm.intervals(); }
SessionTotals Score::totals() const { return state_->totals(); }
const scoring::Exchange* Score::exchange() const { return state_->exchange ? &*state_->exchange : nullptr; }

}  // namespace breakstep
