// One event of each kind with a value of its own in every member, as each layout of the journal's bytes can hold it.
// Beside the goldens (journal_goldens.txt): bytes that were once written must always read as these.
#pragma once

#include <vector>

#include "core/journal/events.hpp"

namespace breakstep {

inline TargetTime sample_time(std::int64_t ns) { return {BootId{0xA1B2C3D4}, Duration(ns)}; }

inline Drill sample_drill() {
    Drill drill;
    drill.name = "closed-drop";
    drill.title = "Meeting the drop, closed";
    drill.test = true;
    drill.start = StartKind::drawn;
    drill.stance = Stance::open;
    drill.lead_sides = LeadSides::both;
    AttackChoice rebound;
    rebound.kind = AttackKind::rebound;
    rebound.rebounds = 3;
    rebound.share = 4;
    rebound.moment = Moment::gap;
    rebound.counter = Counter::back_leg;
    rebound.pads = 9;
    AttackChoice feint;
    feint.kind = AttackKind::feint;
    feint.share = 2;
    drill.attacks = {rebound, feint};
    drill.pattern = {{1, 1700ms}, {0, 2300ms}};
    drill.sets = 3;
    drill.reps = 12;
    drill.rest = 75s;
    drill.wait_minimum = 1300ms;
    drill.wait_extra = 900ms;
    drill.wait_cap = 6s;
    drill.lead = 110ms;
    drill.withheld = 0.375;
    drill.level = Level::advanced;
    drill.opponent = opponent_defaults(Level::beginner);
    drill.opponent.untidy = true;
    drill.lamps = false;
    return drill;
}

/// Every kind that the first, flat layout knew, with the members that it had.
inline std::vector<JournalEvent> samples_of_the_flat_layout() {
    SessionBegan began;
    began.session = SessionId{0x1122334455667788};
    began.athlete = AthleteId{0x99AABBCCDDEEFF01};
    began.unix_seconds = 1'795'613'057;
    began.seed = 11;
    began.athlete_lead = Side::left;
    began.drill = sample_drill();
    began.prior = "entry 0.82 0.05";

    RigConnected connected;
    connected.board = BoardId{0x0123456789ABCDEF};
    connected.boot = BootId{0xA1B2C3D4};
    connected.snapshot_at = sample_time(2'500'000'000);
    connected.gates_broken = 5;
    connected.channels = {{ChannelKind::pad, 0, 3, false, 150us}, {ChannelKind::gate, 1, 2, true, 5us}};

    SetPlanned planned;
    planned.set = 2;
    planned.begin = sample_time(9'000'000'000);
    planned.redrawn = true;
    PlannedRep first, second;
    first.rep = RepId{7};
    first.onset = sample_time(10'000'000'001);
    first.end = sample_time(11'000'000'002);
    second.rep = RepId{8};
    second.onset = sample_time(12'000'000'003);
    second.end = sample_time(13'000'000'004);
    planned.reps = {first, second};

    RepOpened opened;
    opened.rep = RepId{7};
    opened.set = 2;
    opened.number = 5;
    opened.start = StartKind::hunted;
    opened.trigger = 512;
    opened.asked = sample_drill().attacks.front();
    opened.opponent_lead = Side::left;
    opened.onset = sample_time(10'000'000'001);
    opened.close = sample_time(11'500'000'002);
    opened.phases = {{Phase::lift, false, 140ms}, {Phase::up, true, 500ms}, {Phase::drop, false, 160ms}};

    PadHit hit;
    hit.at = sample_time(10'345'678'901);
    hit.sequence = 65'535;
    hit.pad = PadRole::low_left;
    hit.peak = 731;
    hit.echoes = 3;
    GateEdge edge;
    edge.at = sample_time(10'100'000'000);
    edge.sequence = 41;
    edge.gate = GateRole::attack_line;
    edge.broken = true;
    SyncEdge sync;
    sync.at = sample_time(10'200'000'000);
    sync.sequence = 42;
    sync.rising = true;
    LampsSet lamps;
    lamps.at = sample_time(10'000'000'500);
    lamps.sequence = 43;
    lamps.order = 60'000;
    lamps.lit = 13;
    LampsRefused refused;
    refused.at = sample_time(10'000'000'600);
    refused.sequence = 44;
    refused.order = 60'001;
    refused.reason = 3;

    return {
        began,
        SessionEnded{SessionEnd::rig_gone},
        CalibrationUsed{OnsetSource::screen, 23ms, 900us},
        connected,
        RigLost{VoidReason::clock_jump},
        EventsLost{BootId{0xA1B2C3D4}, 65'530, 4},
        hit,
        edge,
        sync,
        lamps,
        refused,
        ClockBound{sample_time(3'000'000'000), 321us},
        planned,
        SetEnded{2, true},
        opened,
        PhaseBegan{RepId{7}, 2, Phase::drop, sample_time(10'640'000'001), 7us, OnsetSource::gate},
        RepClosed{RepId{7}, sample_time(11'500'000'002)},
        RepVoided{RepId{7}, VoidReason::impossible_gates},
        StartStruck{2, sample_time(8'000'000'000)},
        IntervalCoin{517, true},
        CoachInput{CoachAct::go_on, 1},
        CueOnset{RepId{7}, 1, OnsetSource::sound, sample_time(10'140'000'001), unknown_uncertainty, 480'123},
        NudgeShown{sample_time(10'900'000'000), Sign::hunch},
    };
}

/// Every kind as the framed layout began, with every member it had then.
inline std::vector<JournalEvent> samples_of_the_framed_layout() {
    std::vector<JournalEvent> samples = samples_of_the_flat_layout();
    for (JournalEvent& sample : samples) {
        const BoardId board{0x0123456789ABCDEF};
        if (auto* began = std::get_if<SessionBegan>(&sample)) {
            began->participants = {{ParticipantRole::athlete, AthleteId{0x99AABBCCDDEEFF01}, Side::left},
                                   {ParticipantRole::partner, AthleteId{77}, Side::right}};
            began->devices = {board, BoardId{78}};
            began->reading_method = "plain";
            began->rules = 1;
        } else if (auto* hit = std::get_if<PadHit>(&sample)) {
            hit->board = board;
        } else if (auto* edge = std::get_if<GateEdge>(&sample)) {
            edge->board = board;
        } else if (auto* sync = std::get_if<SyncEdge>(&sample)) {
            sync->board = board;
        } else if (auto* lamps = std::get_if<LampsSet>(&sample)) {
            lamps->board = board;
        } else if (auto* refused = std::get_if<LampsRefused>(&sample)) {
            refused->board = board;
        } else if (auto* planned = std::get_if<SetPlanned>(&sample)) {
            planned->reason = RedrawReason::host_late;
            planned->reps.back().catch_trial = true;
        }
    }
    samples.emplace_back(ClockRate{BootId{0xA1B2C3D4}, -8'999'123, 4'567});
    samples.emplace_back(
        EventSkipped{sample_time(10'300'000'000), 45, 0x1F, SkipReason::out_of_range, BoardId{0x0123456789ABCDEF}});
    samples.emplace_back(CueSourceChanged{OnsetSource::sound});
    return samples;
}

/// What the framed layout gained first: the kinds that are new, and those that have a member more.
inline std::vector<JournalEvent> samples_of_the_second_framing() {
    auto began = std::get<SessionBegan>(samples_of_the_framed_layout().front());
    began.evening = EveningId{0x5566};
    began.feedback = Feedback::silent_first;
    return {began, SessionSuspended{1, 0.93, 2, 12, RandomState{0x1122334455667788, 0x99AB, -0.5, true}, true},
            SessionResumed{true}, ContactSettled{RepId{7}, sample_time(10'345'678'901)}};
}

/// What it gained next: leans, and the mark that a video is matched by. Nested in a session's drill and in a plan too.
inline std::vector<JournalEvent> samples_of_the_third_framing() {
    const auto framed = samples_of_the_framed_layout();
    auto began = std::get<SessionBegan>(samples_of_the_second_framing().front());
    began.opens_video = true;
    began.drill.attacks.front().moments = moment_bit(Moment::gap) | moment_bit(Moment::drop);
    began.drill.telegraph = {{410ms, 310ms, 520ms}, 0.125, 0.75, 0.25};
    began.drill.drawn = {450ms, 0.0625};
    SetPlanned planned;
    RepOpened opened;
    for (const JournalEvent& event : framed) {
        if (const auto* known = std::get_if<SetPlanned>(&event)) planned = *known;
        if (const auto* known = std::get_if<RepOpened>(&event)) opened = *known;
    }
    planned.reps.front().telegraphed = true;
    planned.reps.front().lean = sample_time(9'600'000'001);
    opened.asked = began.drill.attacks.front();
    opened.telegraphed = true;
    opened.lean = sample_time(9'600'000'001);
    return {began, VideoMark{sample_time(2'600'000'000)}, planned, opened};
}

/// What it gained with a partner.
inline std::vector<JournalEvent> samples_of_the_fourth_framing() {
    auto began = std::get<SessionBegan>(samples_of_the_third_framing().front());
    began.drill.partner = {AttackSource::partner, 45s};
    return {began,
            RepClosed{RepId{7}, sample_time(11'500'000'002), CameKind::impossible, Impossible::hip_too_late},
            LegExpected{RepId{7}, true},
            PhaseSeen{RepId{7}, Phase::up_or_pull_back, sample_time(10'120'000'003), 20us, OnsetSource::gate},
            PartnerCued{RepId{7}, sample_time(9'700'000'004), 250us, OnsetSource::lamp},
            CoinThrown{11, sample_time(9'700'000'005), true, 450ms, 1200ms}};
}

/// What it gained with countering: levels that follow, what draws, lures, what else is asked.
inline std::vector<JournalEvent> samples_of_the_fifth_framing() {
    auto began = std::get<SessionBegan>(samples_of_the_fourth_framing().front());
    began.first_window = 0.8125;
    began.first_pace = 0.9375;
    began.drill.attacks.front().then_pads = pad_bit(PadRole::high_right);
    began.drill.attacks.front().then_within = 550ms;
    began.drill.following = {true, 0.79};
    began.drill.asks = {RungAim::leave, 600ms, true, 2, true, true, {}};
    began.drill.manners = {"rusher", {0.25, 220ms}, {0.5, 300ms}, {0.125, 700ms}, {0.75, 350ms}, 3, 0.0625, 18};
    began.drill.whom = "for who stays inside";
    SetPlanned planned;
    RepOpened opened;
    for (const JournalEvent& event : samples_of_the_third_framing()) {
        if (const auto* known = std::get_if<SetPlanned>(&event)) planned = *known;
        if (const auto* known = std::get_if<RepOpened>(&event)) opened = *known;
    }
    planned.pace = 0.93;
    planned.asked = 1;
    opened.asked = began.drill.attacks.front();
    opened.start = StartKind::retreated_from;
    opened.window = 0.625;
    opened.counts = true;
    opened.drew_by = DrewBy::strike;
    opened.drawn_at = sample_time(9'500'000'006);
    auto suspended = std::get<SessionSuspended>(samples_of_the_second_framing()[1]);
    suspended.window = 0.75;
    return {began, planned, opened, suspended};
}

/// What it gained with an opponent that has an order of its own, and drawn by the hand.
inline std::vector<JournalEvent> samples_of_the_sixth_framing() {
    auto began = std::get<SessionBegan>(samples_of_the_fifth_framing().front());
    began.drill.manners.draws_too = 1;
    began.drill.order = {0.25, 0.75, 0.5, 0.5};
    return {began};
}

/// What it gained with a partner who is led to the edge.
inline std::vector<JournalEvent> samples_of_the_seventh_framing() {
    auto began = std::get<SessionBegan>(samples_of_the_sixth_framing().front());
    began.drill.asks.edge_within = 1450ms;
    return {began, GateEdge{sample_time(9'400'000'007), 46, GateRole::partner_back_mark, true, BoardId{5}}};
}

}  // namespace breakstep
