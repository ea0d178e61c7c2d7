// Attacks of a partner's real leg: cued where the athlete can't see it, or at the partner's own time; read off two
// gates, told phase by phase, closed once the leg has come down and what may follow has not.
#include <algorithm>
#include <utility>

#include "core/conduct/state.hpp"

namespace breakstep {
namespace {

// A cue's lamp goes out again by an order of its own, which belongs to no rep.
constexpr LampSet partner_lamp = lamp_bit(LampRole::partner);

}  // namespace

bool Conduct::State::can_cue_partner() const {
    return (rig_lamps & partner_lamp) != 0 || devices.partner_screen || drill.start == StartKind::tapped ||
           drill.start == StartKind::free;
}

// Without the partner's back mark nobody can be led there, and without a near mark nobody knows from where. A mark that
// a rig need not have, and that is broken as the session begins, is a socket without a gate.
bool Conduct::State::can_see_the_edge(const RigConnected& connected, bool first) const {
    bool near = false, back = false;
    for (const Channel& channel : connected.channels) {
        if (channel.kind != ChannelKind::gate) continue;
        const bool broken = (connected.gates_broken >> channel.index & 1U) != 0;
        near = near || channel.role == static_cast<std::uint8_t>(GateRole::near_mark);
        if (channel.role == static_cast<std::uint8_t>(GateRole::partner_back_mark))
            back = !(first && channel.optional && broken);
    }
    return near && back;
}

// Waits run from the last attack's end; one that is over the cap makes the next one longer, since a partner who waits
// for a cue that does not come has no catch trial.
void Conduct::State::plan_for_partner() {
    std::deque<Upcoming> merged;
    Duration carried{};
    for (Upcoming& next : upcoming) {
        if (next.planned.catch_trial) {
            carried += next.planned.wait;
            continue;
        }
        next.planned.wait += std::exchange(carried, Duration{});
        merged.push_back(std::move(next));
    }
    upcoming = std::move(merged);
    if (kicks_freely()) upcoming.clear();
    if (wait_began) begin_coins(*wait_began);
}

std::optional<TargetTime> Conduct::State::partner_cue_due() const {
    const bool by_plan = drill.start == StartKind::random || drill.start == StartKind::pattern;
    if (!with_partner() || !by_plan || upcoming.empty() || !open_reps.empty() || !wait_began) return std::nullopt;
    // A leg that is off the floor already is read first, and a gate that is blocked waited for: their edges say when.
    if (!leg.reader().on_floor() || !leg.reader().phases().empty()) return std::nullopt;
    return *wait_began + upcoming.front().planned.wait;
}

void Conduct::State::open_partner_due(const Now& now) {
    throw_coin(now);
    const auto due = partner_cue_due();
    if (!due || !due->same_boot(*now.rig) || *now.rig < *due - open_ahead) return;
    if (!take_listed(upcoming.front())) {
        // The cue falls away: the wait begins anew, as long as any other, so that nobody can tell what was listed.
        wait_began = *due;
        upcoming.front().planned.wait = draw_wait(drill.wait_minimum, drill.wait_extra, random);
        return;
    }
    Upcoming next = std::move(upcoming.front());
    upcoming.pop_front();
    next.onset = std::max(*due, *now.rig + cue_ahead);
    open_partner(std::move(next), drill.start, true, now);
}

// ---- the coach's list -----------------------------------------------------------------------------------------------

std::optional<std::string_view> Conduct::State::list_refusal() const {
    if (!with_partner() || kicks_freely()) return "no partner is cued in this drill";
    if (drill.test) return "a test asks what it always asks";
    return std::nullopt;
}

std::optional<std::string_view> Conduct::State::list_refusal(std::int32_t choice) const {
    if (const auto no_list = list_refusal()) return no_list;
    if (choice == asked_nothing) {
        // Where the coach's own tap cues, no tap is nothing.
        if (drill.start == StartKind::tapped) return "no cue comes without your tap";
        return std::nullopt;
    }
    if (choice == static_cast<std::int32_t>(AttackKind::feint)) return std::nullopt;
    const bool known = std::any_of(drill.attacks.begin(), drill.attacks.end(), [choice](const AttackChoice& each) {
        return static_cast<std::int32_t>(each.kind) == choice;
    });
    if (!known) return "this drill has no such attack";
    return std::nullopt;
}

void Conduct::State::list_for_partner(const PartnerList& list) {
    if (!list.after) partner_list.clear();
    for (const std::int32_t choice : list.choices)
        if (!list_refusal(choice) && partner_list.size() < partner_list_most) partner_list.push_back(choice);
}

// What is listed comes in the place of what was planned: one of that kind that is still to come, so that the set stays
// as balanced as it can; else one more of it. False: nothing is asked this time.
bool Conduct::State::take_listed(Upcoming& next) {
    if (partner_list.empty()) return true;
    const std::int32_t choice = partner_list.front();
    partner_list.pop_front();
    if (choice == asked_nothing) return false;
    const auto wanted = static_cast<AttackKind>(choice);
    const auto kind_of = [this](const Upcoming& each) {
        return each.asked ? each.asked->kind : drill.attacks[static_cast<std::size_t>(each.planned.attack)].kind;
    };
    const auto swapped =
        std::find_if(upcoming.begin(), upcoming.end(), [&](const Upcoming& each) { return kind_of(each) == wanted; });
    if (swapped != upcoming.end()) {
        // Waits stay where they are: what is asked must not tell when.
        std::swap(swapped->planned.attack, next.planned.attack);
        std::swap(swapped->planned.phases, next.planned.phases);
        std::swap(swapped->asked, next.asked);
        return true;
    }
    const auto own = std::find_if(drill.attacks.begin(), drill.attacks.end(),
                                  [wanted](const AttackChoice& each) { return each.kind == wanted; });
    AttackChoice asked = own == drill.attacks.end() ? drill.attacks.front() : *own;
    asked.kind = wanted;
    next.planned.phases = draw_attack(drill.opponent, asked.kind, asked.rebounds, random);
    next.planned.counts = false;
    next.asked = asked;
    return true;
}

void Conduct::State::open_partner(Upcoming next, StartKind start, bool told, const Now& now) {
    if (next.number > 0) numbers_given.insert(next.number);
    OpenRep rep;
    RepOpened& opened = rep.opened;
    opened.rep = RepId{next_rep++};
    opened.set = set;
    opened.number = next.number;
    opened.start = start;
    opened.asked = next.asked.value_or(drill.attacks[static_cast<std::size_t>(next.planned.attack)]);
    opened.opponent_lead = next.planned.lead;
    opened.onset = next.onset;
    opened.close = next.onset + partner_patience;
    opened.phases = next.planned.phases;
    rep.source = OnsetSource::gate;
    rep.partner = true;
    rep.told = told;
    append(opened);
    append(LegExpected{opened.rep, told});
    if (told) {
        // Whose foot is off already has begun before the cue.
        if (leg.reader().on_floor() && leg.reader().phases().empty())
            leg.begin(opened.asked.kind);
        else
            leg.reader().ask(opened.asked.kind);
        commands.push_back(TellPartner{opened.rep, opened.asked, opened.opponent_lead, opened.onset});
        if ((rig_lamps & partner_lamp) != 0) {
            commands.push_back(OrderLamps{{opened.rep, 0}, opened.onset, partner_lamp, partner_lamp});
            commands.push_back(OrderLamps{{}, opened.onset + partner_lamp_lit, partner_lamp, 0});
        } else if (start == StartKind::tapped && now.rig) {
            append(PartnerCued{opened.rep, *now.rig, unknown_uncertainty, OnsetSource::tap});
        } else if (devices.partner_screen) {
            // Nobody has measured how late a second display shows it.
            append(PartnerCued{opened.rep, opened.onset, unknown_uncertainty, OnsetSource::screen});
        }
    }
    open_reps.push_back(std::move(rep));
}

// The partner kicked without a cue: at their own time, or against the plan. Nothing was asked of them, and what the
// plan holds is still to come: such a rep has no number.
void Conduct::State::open_at_the_lift(TargetTime lift, const Now& now) {
    Upcoming next;
    next.onset = lift;
    next.planned.lead = drill.lead_sides == LeadSides::left ? Side::left : Side::right;
    next.number = kicks_freely() ? ++free_reps : 0;
    open_partner(std::move(next), StartKind::free, false, now);
}

void Conduct::State::tell_phases(const Now& now) {
    for (const leg::LegPhaseSeen& seen : leg.fresh()) {
        if (open_reps.empty()) open_at_the_lift(seen.at, now);
        OpenRep& rep = open_reps.front();
        if (rep.seen.empty() && rep.opened.number > 0) {
            // Not before the leg moves: a number that changes at the cue would tell the athlete.
            scene.number = rep.opened.number;
            show();
        }
        rep.seen.push_back(seen);
        append(PhaseSeen{rep.opened.rep, seen.phase, seen.at, seen.bound, leg.source_of(seen)});
    }
}

// What comes last, and how long it lasts where nothing follows; the rep ends so much later.
std::optional<std::pair<TargetTime, TargetTime>> Conduct::State::leg_ends(const OpenRep& rep) const {
    if (rep.seen.empty()) return std::nullopt;
    const leg::LegPhaseSeen& last = rep.seen.back();
    switch (last.phase) {
        case Phase::gap: {
            const TargetTime over = last.at + drill.opponent.gap.mean;
            return std::pair(over, std::max(over + after_attack, last.at + drill.opponent.gap.longest));
        }
        case Phase::hands: {
            const TargetTime over = last.at + drill.opponent.hands.mean;
            return std::pair(over, over + after_attack);
        }
        case Phase::guard:
            return std::pair(last.at, last.at + after_attack);
        default:
            return std::nullopt;
    }
}

// When the open rep is over, as far as the leg has told; nothing while it must tell more first.
std::optional<TargetTime> Conduct::State::leg_rep_over() const {
    if (open_reps.empty() || !open_reps.front().partner) return std::nullopt;
    const OpenRep& rep = open_reps.front();
    const leg::LegReader& reader = leg.reader();
    if (reader.impossible() != Impossible::none) {
        const TargetTime from = rep.opened.onset;
        const auto edge = leg.last_edge();
        return (edge && edge->same_boot(from) ? std::max(*edge, from) : from) + after_attack;
    }
    if (rep.seen.empty()) {
        if (reader.undecided() != leg::Undecided::nothing) return std::nullopt;
        return rep.opened.close;
    }
    if (!reader.on_floor()) return rep.seen.back().at + never_down_after;
    const auto ends = leg_ends(rep);
    return ends ? std::optional(ends->second) : std::nullopt;
}

void Conduct::State::close_leg_rep(TargetTime end, const Now& now) {
    leg.reader().close(end);
    tell_phases(now);
    OpenRep rep = std::move(open_reps.front());
    open_reps.pop_front();
    const CameKind came = leg.reader().came();
    const auto ends = leg_ends(rep);
    if (ends && rep.seen.back().phase != Phase::guard)
        append(PhaseSeen{rep.opened.rep, Phase::guard, ends->first, rep.seen.back().bound,
                         leg.source_of(rep.seen.back())});
    last_close = end;
    wait_began = ends ? ends->first : end;
    last_end = wait_began;
    if (now.rate && now.rate->boot == end.boot()) append(*now.rate);
    append(RepClosed{rep.opened.rep, end, came, leg.reader().impossible()});
    const bool kicked = came != CameKind::nothing && came != CameKind::bounce && came != CameKind::impossible;
    if (!kicked && rep.told && !rep.voided) {
        numbers_given.erase(rep.opened.number);
        again_reason = RedrawReason::no_kick;
    }
    leg.begin(std::nullopt);
}

// Everything before `complete`, less what the rig may hold back, has arrived.
void Conduct::State::follow_leg(TargetTime complete, const Now& now) {
    if (!with_partner() || lost) return;
    const TargetTime through = complete - arrival_slack;
    if (scene.kind != SceneKind::running || scene.paused) {
        // Nobody is asked for anything; how the gates stand is followed all the same.
        while (open_reps.empty() && leg.next_before(through)) {
            leg.read_next();
            leg.begin(std::nullopt);
        }
        if (open_reps.empty()) return;
    }
    while (!done) {
        const auto over = leg_rep_over();
        const auto edge = leg.next_before(through);
        if (over && over->same_boot(through) && *over <= (edge ? *edge : through)) {
            close_leg_rep(*over, now);
            continue;
        }
        if (!edge) {
            leg.passed(through);
            tell_phases(now);
            const auto then = leg_rep_over();
            if (then && then->same_boot(through) && *then <= through) continue;
            break;
        }
        leg.read_next();
        tell_phases(now);
        // Whoever passes the gates while nothing is asked is no attack: read anew.
        if (open_reps.empty() && leg.reader().impossible() != Impossible::none) leg.begin(std::nullopt);
    }
    give_leg_words(through);
    const bool blocked = scene.kind == SceneKind::running && leg.reader().blocked();
    if (!blocked)
        gate_blocked_since.reset();
    else if (!gate_blocked_since)
        gate_blocked_since = now.host;
    if (!done) end_set_if_over(now);
}

bool Conduct::State::round_over() const {
    return promised && promised->same_boot(set_begin) && *promised >= set_begin + drill.partner.round;
}

// The word before the close: once the phase of the contact is sure.
void Conduct::State::give_leg_words(TargetTime through) {
    if (!tells_at_once() || open_reps.empty()) return;
    OpenRep& rep = open_reps.front();
    if (!rep.partner || !rep.contact || rep.worded || rep.voided || rep.seen.empty()) return;
    if (!rep.contact->same_boot(through) || through < *rep.contact + merge_window) return;
    const bool later_phase = rep.seen.back().at > *rep.contact;
    const bool sure = later_phase || leg.reader().undecided() == leg::Undecided::nothing;
    if (!sure || leg.reader().impossible() != Impossible::none) return;
    rep.worded = true;
    append(ContactSettled{rep.opened.rep, through});
}

void Conduct::State::on_leg_edge(const GateEdge& edge) {
    if (!with_partner()) return;
    leg.edge(edge);
    const bool of_the_leg = edge.gate == GateRole::low || edge.gate == GateRole::hip || edge.gate == GateRole::hands;
    if (of_the_leg && scene.kind == SceneKind::running) commands.push_back(AskPing{edge.at + arrival_slack + 1ms});
}

}  // namespace breakstep
