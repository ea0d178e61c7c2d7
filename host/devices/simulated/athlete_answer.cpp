// How the simulated athlete answers an attack: aims, goes, holds, stops, gives ground.
#include <algorithm>
#include <cmath>
#include <numeric>

#include "devices/simulated/athlete_model.hpp"

namespace breakstep {
namespace {

Duration ms(double value) { return Duration(std::llround(value * 1e6)); }

// From the decision to the near mark's break: the foot that goes first must travel (common practice, no source).
constexpr Duration step = 60ms;
constexpr double step_spread = 0.15;
// From inside no step is needed, and a counter is so much shorter.
constexpr double from_inside = 0.8;
// After so long in the dark an attack is over; a gap before the next technique is shorter (600 ms at most).
constexpr Duration over_after = 620ms;
// Who is a little too late goes all the same.
constexpr Duration hope = 40ms;
// A strike closer than this to its contact can't be stopped (common practice, no source).
constexpr Duration no_return = 110ms;

// From the near mark to contact, in ms, of a practised athlete: a hand is shorter than a leg, a spin is longest
// (movement of 200 to 300 ms in counters; the order is common practice).
double movement_ms(Counter counter) {
    switch (counter) {
        case Counter::front_hand:
            return 200;
        case Counter::back_hand:
            return 230;
        case Counter::front_leg:
            return 240;
        case Counter::back_leg:
            return 280;
        case Counter::spin:
            return 290;
    }
    return 250;
}

}  // namespace

Duration AthleteModel::movement_mean() const {
    const double mean = movement_ms(reader_.expected().counter) * profile_.speed;
    return ms(std::max(150.0, tired(body_.place() == Place::in_reach ? mean * from_inside : mean)));
}

PadRole AthleteModel::choose_pad() {
    const PadSet told = reader_.expected().pads;
    const bool obeys = told != 0 && (!random_.chance(profile_.wrong_pad) || follows(AdviceKind::choose_the_pad));
    double sum = 0;
    std::array<double, 4> liking{};
    for (std::size_t i = 0; i < liking.size(); ++i) {
        const bool right = told == 0 || ((told >> i) & 1) != 0;
        liking[i] = (told == 0 || right == obeys) ? profile_.pads[i] : 0;
        sum += liking[i];
    }
    if (sum <= 0) return PadRole::high_left;
    double draw = random_.unit() * sum;
    for (std::size_t i = 0; i < liking.size(); ++i) {
        draw -= liking[i];
        if (draw < 0) return static_cast<PadRole>(i);
    }
    return PadRole::low_right;
}

// ---- seeing an attack -----------------------------------------------------------------------------------------------

void AthleteModel::see_attack(HostTime now, Sight sight) {
    switch (sight) {
        case Sight::nothing:
            return;
        case Sight::lift:
            if (!under_attack_) return begin_attack(now);
            return aim(now);
        case Sight::feint_over:
            see_feint(now);
            break;
        case Sight::up:
            agenda_.add(std::max(now, reader_.last_at() + reader_.held_after()), LooksHeld{reader_.last_at()});
            aim(now);
            return;
        case Sight::gap:
        case Sight::attack_over:
            aim(now);
            break;
        case Sight::pull_back:
        case Sight::drop:
        case Sight::hands:
            aim(now);
            return;
    }
    agenda_.add(std::max(now, dark_since_ + over_after), LooksOver{dark_since_});
}

void AthleteModel::begin_attack(HostTime now) {
    if (mode_ == Mode::resting) mode_ = Mode::watching;
    under_attack_ = true;
    ++answers_;
    note_wait();
    if (drawn_by_) {
        const Duration since = reader_.began_at() - *drawn_by_;
        if (since > 150ms && since < 750ms) {
            draws_ += 0.2;
            draw_delay_ += 0.2 * (static_cast<double>(since.count()) - draw_delay_);
        }
        drawn_by_.reset();
    }
    if (answer_ == Answer::going) return;  // a strike is under way already
    agenda_.remove_if([](const Action& action) {
        return std::holds_alternative<Probe>(action) || std::holds_alternative<Guess>(action);
    });
    reader_.guess_kind(random_);
    answer_ = Answer::open;
    chased_ = false;
    aim_error_ = random_.normal();
    impulsive_ = random_.chance(tired(profile_.impulsive));
    picks_ = random_.chance(profile_.picks) && reader_.feints_told();  // nobody holds back for what can't come
    chases_ = random_.chance(profile_.chases);
    bool lapse = random_.chance(tired(profile_.lapses));
    if (follows(AdviceKind::answer_each) || follows(AdviceKind::step_in)) lapse = false;
    follow_advice();
    if (ground_left_ > 0) return give_ground(now);
    double draw = random_.unit();
    for (std::size_t i = 0; i < profile_.ground.size(); ++i) {
        draw -= profile_.ground[i];
        if (draw >= 0) continue;
        ground_left_ = follows(AdviceKind::stay_in_reach) ? 0 : static_cast<std::int32_t>(i);
        break;
    }
    if (lapse) {
        answer_ = Answer::given_up;
        return;
    }
    if (asks_.rung == RungAim::range) return keep_range(now);
    aim(now);
}

/// What advice changes in how this attack is answered; where it aims is aims_at(), what it answers moment_to_answer().
void AthleteModel::follow_advice() {
    switch (profile_.follows) {
        case AdviceKind::arrive_in_the_drop:
        case AdviceKind::take_the_drop:
            impulsive_ = false;  // starts in time to arrive there, not at the first lamp
            return;
        case AdviceKind::start_once_up:
            impulsive_ = false;
            picks_ = true;
            return;
        default:
            return;
    }
}

Moment AthleteModel::moment_to_answer() const {
    return follows(AdviceKind::take_the_drop) ? Moment::drop : reader_.expected().moment;
}

double AthleteModel::aims_at() const {
    constexpr double middle = 0.5, early_in_it = 0.35;
    switch (profile_.follows) {
        case AdviceKind::arrive_in_the_drop:
        case AdviceKind::take_the_drop:
        case AdviceKind::start_sooner:
            return middle;
        case AdviceKind::as_the_foot_lands:
        case AdviceKind::before_it_goes_on:
        case AdviceKind::before_the_hands:
            return early_in_it;
        default:
            return profile_.aim;
    }
}

void AthleteModel::give_ground(HostTime now) {
    --ground_left_;
    answer_ = Answer::given_up;
    if (body_.place() != Place::beyond) body_.move(now, Place::beyond, quick_gait, acts_);
}

void AthleteModel::happen(HostTime now, const LooksHeld& look) {
    if (reader_.last() != Sight::up || reader_.last_at() != look.up_at) return;
    if (reader_.up_too_long(now)) aim(now);
}

void AthleteModel::see_feint(HostTime now) {
    if (answer_ == Answer::open) answer_ = Answer::given_up;
    if (answer_ != Answer::going) return;
    const bool can_stop = contact_at_ - now > no_return && random_.chance(profile_.stops);
    if (!can_stop) return;
    ++plan_;  // the strike does not come
    answer_ = Answer::given_up;
    agenda_.add(now + 100ms, Withdraw{});
}

void AthleteModel::happen(HostTime now, const LooksOver& look) {
    if (seen_ != 0 || dark_since_ != look.dark_at || !under_attack_) return;
    attack_over(now);
}

void AthleteModel::attack_over(HostTime now) {
    under_attack_ = false;
    last_dark_ = dark_since_;
    plan_call(now);
    reader_.forget_attack();
    if (answer_ == Answer::going || mode_ != Mode::watching) return;
    ++plan_;
    if (body_.place() == Place::in_reach || body_.place() == Place::beyond) {
        answer_ = Answer::given_up;
        const Body::Passage home = body_.move(now, Place::home, quick_gait, acts_);
        agenda_.add(home.arrived + 100ms, Regroup{});
        return;
    }
    begin_waiting(now);
}

// ---- aiming ---------------------------------------------------------------------------------------------------------

void AthleteModel::aim(HostTime now) {
    if (!under_attack_ || answer_ != Answer::open) return;
    const AttackChoice& asked = reader_.expected();
    const Duration choice = ms(profile_.choice_cost_ms * reader_.bits());
    const bool only_lift_seen = reader_.last() == Sight::lift && reader_.began_at() == reader_.last_at();
    const bool around = asked.kind == AttackKind::carry && asked.counter == Counter::spin;
    const Moment moment = moment_to_answer();
    if (profile_.waits_for_the_line) {
        if (reader_.last() == Sight::drop) go_at(now + choice);
        return;
    }
    if (only_lift_seen && (impulsive_ || moment == Moment::lift || (around && !picks_)))
        return go_at(now + (impulsive_ ? Duration{} : choice));
    if (only_lift_seen && picks_) return;  // it may be a feint: wait until the leg comes up
    if (around) {
        if (const auto held = reader_.held_window(now)) return aim_at(now, *held);
    }
    if (const auto window = reader_.window(moment, now)) return aim_at(now, *window);
    if (chases_ && !chased_) {
        chased_ = true;
        return go_at(now + choice);
    }
}

void AthleteModel::aim_at(HostTime now, const AttackReader::Window& window) {
    // A gap may be long: it is struck early in it, before the next technique begins.
    const double length = std::min(260e6, static_cast<double>((window.end - window.begin).count()));
    const HostTime target = window.begin + Duration(std::llround(aims_at() * length));
    aimed_in_ = window;
    const double ahead_ms = static_cast<double>((target - reader_.last_at()).count()) / 1e6;
    const double error = tired(aim_error_ * (profile_.timing_ms + profile_.timing_share * std::max(0.0, ahead_ms)));
    const Duration needs = (body_.place() == Place::in_reach ? Duration{} : step) + movement_mean();
    const HostTime when = target + ms(error) - needs;
    if (when >= now) return go_at(when);
    const bool still_in_time = now + needs < window.end + hope;
    const bool goes_anyway = chases_ && !chased_;
    if (!still_in_time && !goes_anyway) {
        ++plan_;  // what was planned for an earlier guess is dropped; the next lamp may show another chance
        return;
    }
    chased_ = true;
    go_at(now);
}

void AthleteModel::go_at(HostTime when) { agenda_.add(when, Go{++plan_}); }

void AthleteModel::happen(HostTime now, const Go& go) {
    if (go.plan != plan_ || answer_ != Answer::open || mode_ != Mode::watching) return;
    answer_ = Answer::going;
    drop_probes();
    const bool inside = body_.place() == Place::in_reach && body_.arrived() <= now;
    HostTime breaks = now;
    Duration movement = spread(movement_mean(), 0.06);
    if (!inside) {
        const Body::Passage in = body_.move(now + spread(step, step_spread), Place::in_reach, quick_gait, acts_);
        breaks = in.last_mark;
        last_entry_ = in.last_mark;
    }
    movement = std::clamp(movement, Duration(150ms), Duration(450ms));
    contact_at_ = breaks + movement;
    if (asks_.off_line && (random_.chance(profile_.steps_off) || follows(AdviceKind::off_the_line)))
        body_.side_step(contact_at_ - 150ms, acts_);
    agenda_.add(contact_at_, Contact{plan_, false});
}

void AthleteModel::strike_without_lamp(HostTime now, HostTime contact) {
    answer_ = Answer::open;
    go_at(std::max(now, contact - step - movement_mean()));
}

// One answer, told beforehand, to one thing seen: a simple reaction, whatever else was told.
void AthleteModel::lean(HostTime at) {
    due(at);
    if (mode_ != Mode::watching || under_attack_) return;
    agenda_.add(at + reaction(false), SeesLean{});
}

void AthleteModel::happen(HostTime now, const SeesLean&) {
    if (mode_ != Mode::watching || answer_ == Answer::going) return;
    if (moment_to_answer() != Moment::lift || !random_.chance(profile_.reads_leans)) return;
    // Still on the floor, or only just not: who sees the foot go answers that, as ever.
    drop_probes();
    answer_ = Answer::open;
    go_at(now);
}

void AthleteModel::note_wait() {
    if (!last_dark_) return;
    waits_.push_back(static_cast<double>((reader_.began_at() - *last_dark_).count()));
    if (waits_.size() > 4) waits_.erase(waits_.begin());
}

bool AthleteModel::times_this_lift() {
    return random_.chance(profile_.times_lifts) || follows(AdviceKind::as_it_lifts);
}

void AthleteModel::time_the_lift(HostTime now) {
    // Only equal waits can be timed, and only then is striking into the lift more than luck.
    if (reader_.expected().moment != Moment::lift || waits_.size() < 4 || !last_dark_) return;
    const auto [least, most] = std::minmax_element(waits_.begin(), waits_.end());
    const double mean = std::accumulate(waits_.begin(), waits_.end(), 0.0) / 4;
    if (*most - *least > 0.2 * mean || !times_this_lift()) return;
    const HostTime contact =
        *last_dark_ + Duration(std::llround(mean)) + ms(tired(profile_.timing_ms) * random_.normal());
    if (contact - step - movement_mean() > now) strike_without_lamp(now, contact);
}

void AthleteModel::happen(HostTime now, const Contact& contact) {
    if (contact.plan != plan_) return;
    if (contact.start) {
        acts_.push_back(StrikeAct{now, choose_pad(), random_.uniform(0.4, 0.7)});
        agenda_.add(now + 350ms, Withdraw{});
        return;
    }
    const bool met = !random_.chance(tired(profile_.misses));
    const double strength = std::clamp(0.62 + 0.14 * random_.normal() - 0.05 * form_, 0.2, 1.0);
    const PadRole pad = choose_pad();
    if (met) acts_.push_back(StrikeAct{now, pad, strength});
    contact_at_ = now;
    plan_beside(now);
}

}  // namespace breakstep
