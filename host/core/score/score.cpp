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
    if (exchange && began.drill.asks.rung == RungAim::edge) exchange->watch_edge(began.drill.asks.edge_within);
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
        entry.changed_pace = seen.changed_pace;
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
    // A partner's hands are no act of the athlete's.
    const bool own_hand = session.drill.partner.source != AttackSource::partner;
    if (seen.hand_shown && own_hand) act(Act::hand_shown);
    if (seen.hand_hidden && own_hand) act(Act::hand_hidden);
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
    if (exchange && latest && !ended.cancelled) {
        exchange->complete(*latest + 1ns);
        see_edge_until(*latest + 1ns);
    }
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
StartKind Score::start() const { return state_->session.drill.start; }
const scoring::Exchange* Score::exchange() const { return state_->exchange ? &*state_->exchange : nullptr; }

}  // namespace breakstep
