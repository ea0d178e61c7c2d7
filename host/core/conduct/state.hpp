// Conduct's inside: one struct, its functions grouped by file. sets.cpp: start, count, rest, end. attacks.cpp: opening,
// cueing and closing reps. starts.cpp: attacks that the athlete's own acts or the coach call. rig.cpp: losing and
// finding the rig. conduct.cpp: dispatch.
#pragma once

#include <deque>
#include <map>
#include <set>
#include <vector>

#include "core/conduct/conduct.hpp"
#include "core/conduct/partner_leg.hpp"
#include "core/trade/plan.hpp"
#include "core/trade/rules.hpp"
#include "core/trade/staircase.hpp"

namespace breakstep {

inline constexpr CueRef ready_cue{CueRef::none, 1};

/// A rep that is planned but not opened yet. Onset and end are absolute.
struct Upcoming {
    RepId rep{};
    std::int32_t number = 0;
    PlannedAttack planned;
    TargetTime onset, end;     ///< of a catch trial: begin of its wait, its cap
    bool telegraphed = false;  ///< the opponent leans at `lean`
    TargetTime lean{};
    std::optional<AttackChoice> asked{};  ///< the coach's, instead of the plan's
};

/// A rep between its opening and its close.
struct OpenRep {
    RepOpened opened;
    OnsetSource source{};             ///< which cue its phases are known from
    std::vector<TargetTime> borders;  ///< planned: one per phase, and the attack's end
    std::vector<bool> confirmed;
    bool refused = false;                ///< a border can't be cued: void once closed
    bool was_away = false;               ///< the rig was lost while it was open
    bool voided = false;                 ///< said already
    std::optional<TargetTime> contact;   ///< the first blow at it, as far as it is known
    bool worded = false;                 ///< its first word was given
    bool contact_seen = false;           ///< the opponent has made up its mind about the first strike at it
    bool partner = false, told = false;  ///< a real leg's; whether it was cued
    std::vector<leg::LegPhaseSeen> seen;
};

struct Conduct::State {
    State(const SessionBegan& session, CueDevices devices);

    /// What called an attack: the act, its moment and the rig's number of it.
    struct Call {
        StartKind start{};
        std::uint16_t trigger = 0;
        DrewBy by{};
        TargetTime at{};
    };

    // sets.cpp
    void mark_video(Duration ahead, const Now& now);
    void await_start(const Now& now);
    void light_ready(Duration ahead, const Now& now);
    void on_pad(const PadHit& hit, const Now& now);
    void begin_count(TargetTime struck, const Now& now);
    void cancel_count(const Now& now);
    void begin_running(const Now& now);
    void end_set_if_over(const Now& now);
    void end_session(SessionEnd how, const Now& now);
    void adapt();
    void pause(const Now& now);
    void go_on(const Now& now);

    // attacks.cpp
    void plan(TargetTime begin, RedrawReason why);
    void redraw(RedrawReason why, const Now& now);
    [[nodiscard]] bool owes_reps() const;
    void open_due(const Now& now);
    [[nodiscard]] TargetTime opens_at(const Upcoming& next) const;
    void open(Upcoming upcoming, const Call& call, const Now& now);
    void cue_borders(OpenRep& rep);
    void confirm(OpenRep& rep, std::int32_t index, TargetTime at, Uncertainty uncertainty, OnsetSource source);
    void close_ready(TargetTime complete, const Now& now);
    void close_front(const Now& now);
    void close_as_void(VoidReason reason);
    void make_void(OpenRep& rep, VoidReason reason);
    void judge_cues(OpenRep& rep);
    void tell_result(Verdict verdict, std::optional<TargetTime> over, const Now& now);
    void show_result(const RepResult& result, const Now& now);
    void change_verdict(const RepResult& result, const Now& now);
    [[nodiscard]] OpenRep* open_rep(RepId rep);
    [[nodiscard]] TargetTime quiet_from(const Now& now) const;

    // starts.cpp
    [[nodiscard]] bool scheduled() const;
    void on_act(const ActSeen& act, const Now& now);
    void on_tap(const CoachInput& input, const Now& now);
    [[nodiscard]] std::optional<std::string_view> tap_refusal(const CoachInput& input) const;
    [[nodiscard]] std::optional<DrewBy> tap_draws() const;
    [[nodiscard]] std::size_t tapped_one(std::int32_t choice) const;
    [[nodiscard]] Duration drawn_delay();
    [[nodiscard]] Duration delay_of(const Manner& manner);
    [[nodiscard]] bool draws_by(DrewBy act) const;
    void draw(const ActSeen& act, const Now& now);
    void follow_beat(const ActSeen& act, const Now& now);
    void on_strike(const PadHit& hit, const Now& now);
    void answer_strike(const OpenRep& rep, const PadHit& hit, const Now& now);
    void open_called(const Call& call, TargetTime onset, const Now& now);
    [[nodiscard]] std::optional<TargetTime> fallback_due() const;

    // rig.cpp
    void on_rig(const RigConnected& rig, const Now& now);
    void on_lost(const RigLost& lost, const Now& now);
    void on_bound(Uncertainty bound, const Now& now);
    void ready_if_possible(const Now& now);
    void on_lamps(std::uint16_t order, TargetTime at);
    void on_refused(std::uint16_t order, const Now& now);
    [[nodiscard]] OnsetSource best_source() const;
    [[nodiscard]] bool can_cue() const;
    void leave_lamps(const Now& now);

    // partner.cpp
    [[nodiscard]] bool with_partner() const { return drill.partner.source == AttackSource::partner; }
    [[nodiscard]] bool can_cue_partner() const;
    [[nodiscard]] bool can_see_the_edge(const RigConnected& connected, bool first) const;
    void plan_for_partner();
    [[nodiscard]] std::optional<TargetTime> partner_cue_due() const;
    void open_partner_due(const Now& now);
    void open_partner(Upcoming next, StartKind start, bool told, const Now& now);
    void open_at_the_lift(TargetTime lift, const Now& now);
    void tell_phases(const Now& now);
    [[nodiscard]] std::optional<std::pair<TargetTime, TargetTime>> leg_ends(const OpenRep& rep) const;
    [[nodiscard]] std::optional<TargetTime> leg_rep_over() const;
    void close_leg_rep(TargetTime end, const Now& now);
    void follow_leg(TargetTime complete, const Now& now);
    void list_for_partner(const PartnerList& list);
    [[nodiscard]] std::optional<std::string_view> list_refusal() const;
    [[nodiscard]] std::optional<std::string_view> list_refusal(std::int32_t choice) const;
    [[nodiscard]] bool take_listed(Upcoming& next);
    [[nodiscard]] bool round_over() const;
    [[nodiscard]] bool kicks_freely() const { return drill.start == StartKind::free || drill.start == StartKind::coin; }
    void give_leg_words(TargetTime through);
    void on_leg_edge(const GateEdge& edge);

    // coin.cpp
    [[nodiscard]] std::optional<TargetTime> coin_due() const;
    void begin_coins(TargetTime begin);
    void throw_coin(const Now& now);
    [[nodiscard]] bool coins_over() const;

    // conduct.cpp
    void on_coach(const CoachInput& input, const Now& now);

    // aside.cpp
    void stand_aside_if_possible(std::optional<TargetTime> complete, const Now& now);
    void go_on_from_aside();
    void on_contact(const PadHit& hit);
    void give_words(const Now& now);
    [[nodiscard]] bool drill_feints() const;
    [[nodiscard]] std::optional<TargetTime> next_word() const;
    void show_word(const RepResult& result, const Now& now);
    [[nodiscard]] bool is_silent(std::int32_t which) const {
        return session.feedback == Feedback::silent_first && which == 0;
    }
    [[nodiscard]] bool is_called(std::int32_t which) const { return drill.asks.call_it_set == which + 1; }
    [[nodiscard]] bool tells_at_once() const {
        if (is_called(set)) return false;
        return session.feedback == Feedback::at_once || (session.feedback == Feedback::silent_first && set > 0);
    }
    void on_sign(const SignRaised& sign, const Now& now);

    void append(JournalEvent event) { commands.push_back(Append{std::move(event)}); }
    void show() { commands.push_back(ShowScene{}); }

    const SessionBegan session;
    const Drill& drill = session.drill;
    const CueDevices devices;
    Random random;

    Scene scene;
    std::vector<ConductCommand> commands;
    bool done = false;
    std::optional<SessionEnd> ended;

    // the rig
    std::optional<RigConnected> rig;
    bool lost = true;
    bool bound_good = false;
    bool lost_meanwhile = false;  ///< since the plan that runs was drawn
    std::optional<HostTime> lost_since;
    std::optional<HostTime> unsure_since;  ///< the rig is there, its clock not well enough known
    LampSet rig_lamps = 0;
    std::int32_t silent_reps = 0;  ///< in a row, whose lamps told nothing
    bool lamps_left = false;       ///< they are not relied on any more
    Uncertainty lamp_bound{};
    std::map<std::uint16_t, CueRef> lamp_orders;
    std::int32_t ready_tries = 0;
    bool video_marked = false;

    // the set
    std::int32_t set = 0;
    std::int32_t attempt = 0;
    double pace = 1;
    std::int32_t set_scored = 0, set_on_time = 0;
    Staircase level{0.75, 1};
    std::int32_t level_reps = 0, level_hits = 0;  ///< of this set, at the level that follows
    [[nodiscard]] bool follows() const { return drill.following.follows && !drill.test && !with_partner(); }
    void follow_level(const RepResult& result);
    TargetTime start_allowed;  ///< strikes before it do not start a set
    TargetTime count_begin, set_begin;
    HostTime rest_end;

    // reps
    std::int32_t next_rep = 0;
    std::set<std::int32_t> numbers_given;  ///< of this set, attacks only; a rep made void by the rig gives its back
    std::int32_t given_again = 0;          ///< of this set
    RedrawReason again_reason{};
    std::optional<TargetTime> void_until;  ///< where the last void attack would have closed
    std::deque<Upcoming> upcoming;
    std::deque<OpenRep> open_reps;
    std::optional<TargetTime> last_end;    ///< scheduled end of the newest attack of this boot
    std::optional<TargetTime> wait_began;  ///< drawn, hunted: since when an act is waited for
    std::optional<HostTime> last_nudge;
    /// Drawn, hunted: what the coin said of the interval that runs; nothing before the first entry of a set.
    std::optional<bool> interval_may_be_cued;
    std::set<std::int32_t> shown_reps;   ///< a result may come again, with a late contact or a void: it is shown once
    std::set<std::int32_t> worded_reps;  ///< had their first word before their close
    std::optional<TargetTime> last_contact;  ///< that was clicked

    // a partner
    PartnerLeg leg;
    std::deque<std::int32_t> partner_list;  ///< what the coach wants asked next
    bool leg_stale = false;                 ///< others' sets lay between: how the gates stand must be told anew
    std::optional<HostTime> gate_blocked_since;
    std::optional<TargetTime> next_coin, coins_until;
    std::int32_t trials = 0, set_trials = 0;
    std::int32_t free_reps = 0;  ///< of this set, at the partner's own time

    // standing aside
    bool suspend_wanted = false, aside = false;
    bool cut = false;  ///< the set that comes next was cut in its middle
    std::optional<TargetTime> last_close, promised;
};

}  // namespace breakstep
