// What a drill asks of the simulated athlete beside the strike: a beat set and broken, ground given to draw, a door
// opened, the range kept, the way out, a second strike, its own call.
#include <algorithm>
#include <cmath>

#include "core/trade/rules.hpp"
#include "devices/simulated/athlete_model.hpp"

namespace breakstep {
namespace {

// A beat that is set on purpose, where the athlete has none of its own (ours).
constexpr Duration usual_beat = 950ms;
// A pace that is made to be changed, the shortest step in and out, and a hand that is shown (ours).
constexpr Duration pace_to_change = 1500ms, shortest_step = 680ms, hand_is_out = 600ms, hand_rests = 800ms;
// Ahead of the expected step in the strike lands so long (ours): as the foot is about to leave the floor.
constexpr Duration lands_ahead = 40ms;

}  // namespace

AthleteSettings AthleteSettings::for_drill(const AthleteProfile& profile, const Drill& drill, std::uint64_t seed) {
    AthleteSettings settings;
    settings.profile = profile;
    settings.told = drill.attacks;
    settings.seed = seed;
    settings.start = drill.start;
    settings.asks = drill.asks;
    settings.manners = drill.manners;
    return settings;
}

bool AthleteModel::draws_by_ground() const {
    return manners_.names(DrewBy::ground_given_twice) && !manners_.names(DrewBy::entry);
}

Duration AthleteModel::beat_to_set() const {
    return profile_.habit.kind == HabitKind::metronome ? profile_.habit.beat : usual_beat;
}

// ---- a lure ---------------------------------------------------------------------------------------------------------

void AthleteModel::followed(HostTime now) {
    due(now);
    if (mode_ != Mode::watching || under_attack_ || start_ != StartKind::lure) return;
    agenda_.add(now + reaction(false), SeesFollowed{});
}

void AthleteModel::happen(HostTime now, const SeesFollowed&) {
    if (mode_ != Mode::watching || under_attack_ || breaks_ || !profile_.sets_beats) return;
    break_beat(now);
}

// Strikes ahead of the step in that is expected; or steps in on the beat after all.
void AthleteModel::break_beat(HostTime now) {
    breaks_ = true;
    if (!last_entry_ || !random_.chance(profile_.breaks_beat)) return;
    const Duration error(std::llround(tired(profile_.timing_ms) * random_.normal() * 1e6));
    drop_probes();
    if (body_.place() == Place::in_reach) body_.move(std::max(now, body_.arrived()), Place::home, probe_gait, acts_);
    strike_without_lamp(now, *last_entry_ + beat_to_set() - lands_ahead + error);
}

// ---- leading to the edge --------------------------------------------------------------------------------------------

bool AthleteModel::crowds_now() {
    if (profile_.crowds <= 0 || follows(AdviceKind::lead_from_outside)) return false;
    return random_.chance(profile_.crowds);
}

void AthleteModel::partner_at_edge(HostTime now) {
    due(now);
    if (asks_.rung == RungAim::edge) agenda_.add(now + reaction(false), SeesEdge{});
}

// Whoever has led them there waits outside for what comes, and does not press on; who crowds stays where they are.
void AthleteModel::happen(HostTime now, const SeesEdge&) {
    if (mode_ != Mode::watching || under_attack_ || answer_ == Answer::going || crowds_now()) return;
    drop_probes();
    if (body_.place() == Place::in_reach) body_.move(std::max(now, body_.arrived()), Place::home, probe_gait, acts_);
    plan_probe(std::max(now, body_.arrived()) + edge_answered_within, true);
}

// ---- drawing --------------------------------------------------------------------------------------------------------

void AthleteModel::happen(HostTime now, const OpensDoor&) {
    if (mode_ != Mode::watching || under_attack_ || body_.place() != Place::in_reach) return;
    for (const PadRole pad : {PadRole::high_left, PadRole::high_right, PadRole::low_left, PadRole::low_right})
        if ((manners_.door_pads & pad_bit(pad)) != 0) {
            acts_.push_back(StrikeAct{now, pad, random_.uniform(0.4, 0.7)});
            return;
        }
}

bool AthleteModel::draws_by_hand() const {
    return manners_.names(DrewBy::hand_shown) || manners_.names(DrewBy::hand_hidden);
}

// Out into its gate and back.
void AthleteModel::show_hand(HostTime now) {
    const HostTime back = now + spread(hand_is_out, 0.1);
    acts_.push_back(BeamAct{now, GateRole::hands, true});
    acts_.push_back(BeamAct{back, GateRole::hands, false});
    plan_probe(back + hand_rests, true);
}

// Two steps in alike, then one sooner or later.
Duration AthleteModel::changed_pace() {
    constexpr double sooner = 0.5, later = 1.8;
    const bool changes = paces_++ % 3 == 2;
    const double factor = !changes ? 1 : random_.chance(0.5) ? sooner : later;
    return std::max(shortest_step,
                    spread(Duration(std::llround(static_cast<double>(pace_to_change.count()) * factor)), 0.05));
}

// Too far away, or with no room behind.
void AthleteModel::wait_elsewhere() {
    if (profile_.waits_behind > 0 && !follows(AdviceKind::keep_room) && random_.chance(profile_.waits_behind)) {
        body_.move(body_.arrived(), Place::behind, quick_gait, acts_);
        return;
    }
    if (profile_.waits_far > 0 && !follows(AdviceKind::home_first) && random_.chance(profile_.waits_far))
        body_.move(body_.arrived(), Place::beyond, quick_gait, acts_);
}

// ---- beside an answer -----------------------------------------------------------------------------------------------

void AthleteModel::keep_range(HostTime now) {
    answer_ = Answer::given_up;
    if (body_.place() == Place::in_reach && !random_.chance(profile_.crowds))
        body_.move(std::max(now, body_.arrived()), Place::home, quick_gait, acts_);
}

void AthleteModel::plan_beside(HostTime contact) {
    HostTime over = contact;
    if (reader_.expected().then_pads != 0 &&
        (random_.chance(profile_.follows_up) || follows(AdviceKind::strike_again))) {
        over = contact + spread(330ms, 0.15);
        agenda_.add(over, SecondStrike{});
    }
    const bool stays =
        profile_.stays_after > 0 && !follows(AdviceKind::out_at_once) && random_.chance(profile_.stays_after);
    agenda_.add(over + (stays ? spread(1300ms, 0.15) : spread(170ms, 0.15)), Withdraw{});
}

void AthleteModel::happen(HostTime now, const SecondStrike&) {
    for (const PadRole pad : {PadRole::high_left, PadRole::high_right, PadRole::low_left, PadRole::low_right})
        if ((reader_.expected().then_pads & pad_bit(pad)) != 0) {
            acts_.push_back(StrikeAct{now, pad, random_.uniform(0.4, 0.7)});
            return;
        }
}

// What it thinks of its own answer: low left early, high on time, low right late.
void AthleteModel::plan_call(HostTime now) {
    if (asks_.call_it_set != sets_begun_ || answer_ != Answer::going || !aimed_in_) return;
    const PadRole pad = contact_at_ < aimed_in_->begin ? PadRole::low_left
                        : contact_at_ > aimed_in_->end ? PadRole::low_right
                                                       : PadRole::high_left;
    agenda_.add(now + spread(500ms, 0.2), CallsIt{pad});
    aimed_in_.reset();
}

void AthleteModel::happen(HostTime now, const CallsIt& call) {
    if (mode_ != Mode::watching || under_attack_) return;
    acts_.push_back(StrikeAct{now, call.pad, random_.uniform(0.4, 0.7)});
}

}  // namespace breakstep
