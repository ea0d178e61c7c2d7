#include "core/conduct/conduct.hpp"

#include <algorithm>

#include "core/conduct/state.hpp"
#include "core/journal/visiting.hpp"

namespace breakstep {

Conduct::State::State(const SessionBegan& began, CueDevices cue_devices)
    : session(began), devices(cue_devices), random(began.seed, 0x636f6e64756374) {
    scene.sets = drill.sets;
    scene.reps = drill.reps;
    scene.count_step = count_step;
    scene.lead = drill.lead_sides == LeadSides::left ? Side::left : Side::right;
    if (!follows()) return;
    level = Staircase(drill.following.share, session.first_window);
    pace = std::clamp(session.first_pace, pace_fastest, pace_slowest);
}

Conduct::Conduct(const SessionBegan& session, CueDevices devices) : state_(std::make_unique<State>(session, devices)) {}
Conduct::~Conduct() = default;
Conduct::Conduct(Conduct&&) noexcept = default;
Conduct& Conduct::operator=(Conduct&&) noexcept = default;

void Conduct::State::on_coach(const CoachInput& input, const Now& now) {
    switch (input.act) {
        case CoachAct::tap_attack:
            return on_tap(input, now);
        case CoachAct::pause:
            return pause(now);
        case CoachAct::go_on:
            return go_on(now);
        case CoachAct::stop:
            return end_session(SessionEnd::stopped, now);
        case CoachAct::tap_hands:
            // A hand on a phone: as sure as such a tap is, not measured.
            if (with_partner() && now.rig) leg.hands(*now.rig, unknown_uncertainty);
            return;
    }
}

void Conduct::on_record(const JournalRecord& record, const Now& now) {
    State& s = *state_;
    if (s.done) return;
    std::visit(Overloaded{[&](const PadHit& hit) {
                              s.on_contact(hit);
                              s.on_strike(hit, now);
                              s.on_pad(hit, now);
                          },
                          [&](const SessionResumed&) { s.go_on_from_aside(); },
                          [&](const GateEdge& edge) {
                              if (edge.broken && edge.gate == GateRole::back_mark) s.cancel_count(now);
                              s.on_leg_edge(edge);
                          },
                          [&](const LampsSet& set) { s.on_lamps(set.order, set.at); },
                          [&](const LampsRefused& refused) { s.on_refused(refused.order, now); },
                          [&](const RigConnected& rig) { s.on_rig(rig, now); },
                          [&](const RigLost& lost) { s.on_lost(lost, now); },
                          [&](const ClockBound& bound) { s.on_bound(bound.bound, now); },
                          [&](const CoachInput& input) { s.on_coach(input, now); },
                          // Its own words, which it knows; what it gave away before; and what only score reads.
                          [](const OneOf<SessionBegan, SessionEnded, SetPlanned, SetEnded, RepOpened, PhaseBegan,
                                         RepClosed, RepVoided, StartStruck, IntervalCoin, CueOnset, NudgeShown,
                                         CueSourceChanged, ClockRate, CalibrationUsed, SessionSuspended, ContactSettled,
                                         LegExpected, PhaseSeen, PartnerCued, CoinThrown, VideoMark> auto&) {},
                          [](const OneOf<UnknownEvent, EventsLost, SyncEdge, EventSkipped> auto&) {}},
               record.event);
}

void Conduct::State::on_sign(const SignRaised& sign, const Now& now) {
    // The athlete is told of a rhythm that is clear; a maybe, and choices that can be read, are the coach's. A test
    // shows nothing that could change what it measures.
    if (sign.kind != SignKind::timed || sign.sign != Sign::tell) return;
    if (drill.test || (last_nudge && now.host - *last_nudge < nudge_gap)) return;
    last_nudge = now.host;
    scene.nudge = sign;
    scene.nudge_since = now.host;
    append(NudgeShown{sign.at, sign.sign});
    show();
}

void Conduct::on_result(const ScoreResult& result, const Now& now) {
    State& s = *state_;
    if (s.done) return;
    std::visit(Overloaded{[&](const RepResult& rep) { s.show_result(rep, now); },
                          [&](const ZoneChanged& changed) {
                              s.scene.zone = changed.zone;
                              s.show();
                          },
                          [&](const ActSeen& act) { s.on_act(act, now); },
                          [&](const SignRaised& sign) { s.on_sign(sign, now); }, [](const IntervalRead&) {},
                          [&](const FirstWord& word) { s.show_word(word.rep, now); }},
               result);
}

void Conduct::complete_until(TargetTime time, const Now& now) {
    State& s = *state_;
    if (s.done || s.aside) return;
    s.promised = time;
    s.follow_leg(time, now);
    if (s.done) return;
    s.give_words(now);
    s.close_ready(time, now);
    s.stand_aside_if_possible(time, now);
}

void Conduct::lamps_ordered(CueRef cue, std::uint16_t order, const Now&) {
    State& s = *state_;
    if (order != 0) {
        s.lamp_orders[order] = cue;
    } else if (OpenRep* rep = s.open_rep(cue.rep)) {
        rep->refused = true;
    }
}

void Conduct::cue_began(CueRef cue, OnsetSource source, TargetTime at, Uncertainty uncertainty, std::int64_t frame,
                        const Now&) {
    State& s = *state_;
    OpenRep* rep = s.open_rep(cue.rep);
    if (rep == nullptr || s.done) return;
    s.append(CueOnset{cue.rep, cue.index, source, at, uncertainty, frame});
    if (rep->partner) return s.append(PartnerCued{cue.rep, at, uncertainty, source});
    if (rep->source != source || cue.index != 0) return;
    // Sound and screen run on one stream: the first onset places every border after it.
    const Duration shift = at - rep->borders.front();
    for (std::size_t i = 0; i < rep->borders.size(); ++i)
        s.confirm(*rep, static_cast<std::int32_t>(i), rep->borders[i] + shift, uncertainty, source);
}

void Conduct::toggle_void(RepId rep, const Now&) {
    // Whether the coach's void lies there already is score's knowledge; the scene's last verdict carries it.
    const auto& verdict = state_->scene.verdict;
    const bool is_void = verdict && verdict->rep == rep && verdict->void_reason == VoidReason::coach;
    state_->append(RepVoided{rep, is_void ? VoidReason::none : VoidReason::coach});
}

std::optional<std::string_view> Conduct::refusal(const CoachInput& input) const {
    if (input.act != CoachAct::tap_attack) return std::nullopt;
    return state_->tap_refusal(input);
}

void Conduct::list_for_partner(const PartnerList& list) { state_->list_for_partner(list); }
std::optional<std::string_view> Conduct::list_refusal() const { return state_->list_refusal(); }
std::optional<std::string_view> Conduct::list_refusal(std::int32_t choice) const {
    return state_->list_refusal(choice);
}
const std::deque<std::int32_t>& Conduct::partner_list() const { return state_->partner_list; }

std::optional<AttackKind> Conduct::planned_for_partner() const {
    const State& s = *state_;
    if (!s.with_partner() || s.scene.kind != SceneKind::running || s.upcoming.empty()) return std::nullopt;
    return s.drill.attacks[static_cast<std::size_t>(s.upcoming.front().planned.attack)].kind;
}

void Conduct::due(const Now& now) {
    State& s = *state_;
    if (s.done || s.aside) return;
    const auto& waits_since = s.lost_since ? s.lost_since : s.unsure_since;
    const bool alone = s.session.evening == EveningId{};
    if (alone && waits_since && now.host - *waits_since >= rig_patience) {
        s.end_session(SessionEnd::rig_gone, now);
        return;
    }
    if (s.gate_blocked_since && now.host - *s.gate_blocked_since >= rig_patience) {
        s.end_session(SessionEnd::no_partner_gates, now);
        return;
    }
    if (s.scene.kind == SceneKind::counting && now.rig && now.rig->same_boot(s.set_begin) &&
        *now.rig >= s.set_begin - open_ahead)
        s.begin_running(now);
    if (s.scene.kind == SceneKind::running) s.open_due(now);
    s.give_words(now);
    if (alone && s.scene.kind == SceneKind::resting && now.host >= s.rest_end) s.await_start(now);
    s.stand_aside_if_possible(s.promised, now);
}

Due Conduct::next_due() const {
    const State& s = *state_;
    Due due;
    if (s.done || s.aside) return due;
    if (s.session.evening == EveningId{}) {
        if (const auto& since = s.lost_since ? s.lost_since : s.unsure_since) due.host = *since + rig_patience;
        if (s.scene.kind == SceneKind::resting && (!due.host || s.rest_end < *due.host)) due.host = s.rest_end;
    }
    if (s.gate_blocked_since && (!due.host || *s.gate_blocked_since + rig_patience < *due.host))
        due.host = *s.gate_blocked_since + rig_patience;
    if (s.lost || s.scene.paused) return due;
    if (s.scene.kind == SceneKind::counting) due.rig = s.set_begin - open_ahead;
    if (s.scene.kind == SceneKind::running && s.bound_good) {
        if (s.scheduled() && !s.upcoming.empty()) {
            due.rig = s.opens_at(s.upcoming.front());
        } else {
            due.rig = s.fallback_due();
            if (const auto cue = s.partner_cue_due()) due.rig = *cue - open_ahead;
            if (const auto coin = s.coin_due()) due.rig = *coin - cue_ahead;
        }
    }
    if (const auto word = s.next_word(); word && (!due.rig || !due.rig->same_boot(*word) || *word < *due.rig))
        due.rig = word;
    return due;
}

void Conduct::suspend(const Now& now) {
    State& s = *state_;
    if (s.done || s.aside) return;
    s.suspend_wanted = true;
    s.stand_aside_if_possible(s.promised, now);
}

bool Conduct::suspending() const { return state_->suspend_wanted || state_->aside; }

void Conduct::take(std::vector<ConductCommand>& out) {
    for (ConductCommand& command : state_->commands) out.push_back(std::move(command));
    state_->commands.clear();
}

const Scene& Conduct::scene() const { return state_->scene; }
const SessionBegan& Conduct::session() const { return state_->session; }
bool Conduct::done() const { return state_->done; }
std::optional<SessionEnd> Conduct::how_it_ended() const { return state_->ended; }

}  // namespace breakstep
