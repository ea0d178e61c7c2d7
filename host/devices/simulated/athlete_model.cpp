#include "devices/simulated/athlete_model.hpp"

#include <algorithm>
#include <cmath>

namespace breakstep {
namespace {

constexpr LampSet ready = lamp_bit(LampRole::ready);

Duration ms(double value) { return Duration(std::llround(value * 1e6)); }

// A half step inside the near mark lasts so long (common practice, no source).
constexpr double probe_in_ms = 380, probe_in_spread = 0.08;
// The lamps after the first are waited for, and noticed sooner (common practice, no source). No reaction is under 110
// ms: in athletics 100 ms counts as a false start.
constexpr double follow_up = 0.8, quickest_ms = 110;
// Who does nothing to draw an attack does nothing for so long (ours).
constexpr Duration habit_pause = 900ms;
// Without a count after the strike it must have been too light, or unheard: strike again.
constexpr Duration start_again = 4s;

}  // namespace

AthleteModel::AthleteModel(const AthleteSettings& settings, HostTime now)
    : profile_(settings.profile),
      patience_(settings.patience),
      looks_(settings.looks),
      random_(settings.seed, 31),
      body_(Place::beyond, settings.seed),
      reader_(settings.told, settings.profile.grade),
      perceived_until_(now),
      dark_since_(now),
      start_(settings.start),
      asks_(settings.asks),
      manners_(settings.manners) {
    form_ = random_.normal();
}

Duration AthleteModel::spread(Duration mean, double coefficient_of_variation) {
    return Duration(std::llround(random_.lognormal(static_cast<double>(mean.count()), coefficient_of_variation)));
}

Duration AthleteModel::reaction(bool prepared) {
    const double drawn = profile_.reaction.draw(random_);
    const double value = (prepared ? follow_up : 1) * drawn * age_factor(profile_.age) + 7 * form_;
    return ms(tired(std::max(quickest_ms, value)));
}

double AthleteModel::tired(double value) const { return value * (1 + profile_.fatigue * answers_); }

void AthleteModel::take_acts(std::vector<AthleteAct>& out) {
    out.insert(out.end(), acts_.begin(), acts_.end());
    acts_.clear();
}

void AthleteModel::leave(HostTime now) {
    agenda_.clear();
    mode_ = Mode::resting;
    body_.move(std::max(now, body_.arrived()), Place::behind, walking_gait, acts_);
}

// ---- seeing ---------------------------------------------------------------------------------------------------------

void AthleteModel::lamps(HostTime at, LampSet lit) {
    due(at);
    if (lit == lit_) return;
    lit_ = lit;
    perceived_until_ = std::max(perceived_until_, at + reaction(reader_.under_way()));
    agenda_.add(perceived_until_, Perceive{at, lit});
}

void AthleteModel::due(HostTime now) {
    while (auto next = agenda_.take(now))
        std::visit([&](const auto& action) { happen(next->first, action); }, next->second);
}

void AthleteModel::happen(HostTime now, const Perceive& change) {
    const LampSet before = std::exchange(seen_, change.lit);
    if (change.lit == 0) {
        dark_since_ = change.changed;
        agenda_.add(change.changed + patience_, LooksLong{change.changed});
    }
    if (change.lit == ready) {
        see_ready(now);
    } else if ((change.lit & ready) != 0) {
        mode_ = Mode::counting;
    } else if (change.lit == 0 && (before & ready) != 0) {
        if (mode_ == Mode::counting) begin_set(now);
    } else if (mode_ == Mode::watching || mode_ == Mode::resting) {
        see_attack(now, reader_.see(change.changed, change.lit));
    }
}

void AthleteModel::see_ready(HostTime now) {
    mode_ = Mode::starting;
    under_attack_ = false;
    answer_ = Answer::none;
    ++plan_;
    reader_.forget_attack();
    drop_probes();
    agenda_.add(now + spread(looks_, 0.2), StartStrike{});
}

void AthleteModel::happen(HostTime now, const StartStrike&) {
    if (mode_ != Mode::starting || seen_ != ready) return;
    const Body::Passage in = body_.move(std::max(now, body_.arrived()), Place::in_reach, walking_gait, acts_);
    agenda_.add(in.arrived + spread(400ms, 0.15), Contact{plan_, true});
    agenda_.add(in.arrived + start_again, StartStrike{});
}

void AthleteModel::happen(HostTime now, const Withdraw&) {
    const bool further = mode_ == Mode::watching && random_.chance(profile_.overruns);
    const Gait& gait = mode_ == Mode::watching ? quick_gait : walking_gait;
    const Body::Passage out = body_.move(now, further ? Place::beyond : Place::home, gait, acts_);
    if (mode_ == Mode::watching && random_.chance(0.08)) body_.side_step(now + 100ms, acts_);
    agenda_.add(out.arrived + spread(350ms, 0.2), Regroup{});
}

void AthleteModel::happen(HostTime now, const Regroup&) {
    if (mode_ != Mode::watching) return;
    if (body_.place() != Place::home) body_.move(now, Place::home, quick_gait, acts_);
    if (answer_ == Answer::going) answer_ = Answer::given_up;
    if (!under_attack_) begin_waiting(now);
}

// ---- waiting --------------------------------------------------------------------------------------------------------

void AthleteModel::begin_set(HostTime now) {
    mode_ = Mode::watching;
    answers_ = 0;
    ++sets_begun_;
    under_attack_ = false;
    reader_.forget_attack();
    last_dark_.reset();
    begin_waiting(now);
}

void AthleteModel::begin_waiting(HostTime now) {
    answer_ = Answer::none;
    drop_probes();
    if (body_.place() != Place::home) body_.move(now, Place::home, quick_gait, acts_);
    wait_elsewhere();
    beats_ = 0;
    breaks_ = false;
    plan_probe(std::max(now, body_.arrived()), true);
    const bool guesses = random_.chance(profile_.guesses);
    if (guesses && !follows(AdviceKind::until_it_moves))
        agenda_.add(now + 700ms + ms(random_.exponential(1600)), Guess{});
    time_the_lift(now);
}

Duration AthleteModel::next_interval() {
    const Habit& habit = profile_.habit;
    if (start_ == StartKind::lure && profile_.sets_beats) return std::max(habit.shortest, spread(beat_to_set(), 0.05));
    if (manners_.names(DrewBy::change_of_pace)) return changed_pace();
    if (follows(AdviceKind::change_pace)) {
        // As often as before, and now sooner, now later.
        const auto mean = static_cast<double>((habit.beat - habit.shortest).count()) / 1e6;
        return habit.shortest + ms(random_.exponential(std::max(300.0, mean)));
    }
    if (habit.kind == HabitKind::memoryless)
        return habit.shortest + ms(random_.exponential(static_cast<double>(habit.beat.count()) / 1e6));
    double factor = 1;
    if (habit.kind == HabitKind::long_short) {
        factor = long_next_ ? 1.3 : 0.7;
        long_next_ = !long_next_;
    }
    const double mean = static_cast<double>(habit.beat.count()) * factor;
    const Duration drawn(std::llround(mean * (1 + habit.spread * random_.normal())));
    return std::max(habit.shortest, drawn);
}

void AthleteModel::plan_probe(HostTime now, bool fresh) {
    const Duration interval = next_interval();
    // After an attack the beat is taken up again somewhere in the middle.
    HostTime when =
        now + (fresh ? Duration(std::llround(random_.uniform(0.3, 1.0) * static_cast<double>(interval.count())))
                     : Duration{});
    if (!fresh && last_entry_) when = *last_entry_ + interval;
    agenda_.add(std::max(now, when), Probe{});
}

void AthleteModel::drop_probes() {
    roaming_ = false;
    agenda_.remove_if([](const Action& action) {
        return std::holds_alternative<Probe>(action) || std::holds_alternative<ProbeOut>(action) ||
               std::holds_alternative<StepBackIn>(action) || std::holds_alternative<StepBackOut>(action) ||
               std::holds_alternative<Guess>(action) || std::holds_alternative<OpensDoor>(action);
    });
}

void AthleteModel::happen(HostTime now, const Probe&) {
    if (mode_ != Mode::watching || under_attack_ || body_.place() != Place::home) return;
    if (follows(AdviceKind::stay_outside)) return;
    const bool obeys = follows(AdviceKind::make_it_come) || follows(AdviceKind::press_back);
    if (profile_.passive > 0 && !obeys && random_.chance(profile_.passive)) return plan_probe(now + habit_pause, true);
    if (draws_by_hand()) return show_hand(now);
    const bool lures = start_ == StartKind::lure && profile_.sets_beats;
    if (lures && ++beats_ > 8 && !breaks_) return break_beat(now);
    if (!lures && (draws_by_ground() || random_.chance(profile_.habit.roams))) {
        roaming_ = true;
        agenda_.add(now, StepBackOut{});
        return;
    }
    const Body::Passage in = body_.move(now, Place::in_reach, probe_gait, acts_);
    last_entry_ = in.first_break;
    drawn_by_ = in.first_break;
    draws_ *= 0.8;  // until an attack answers it
    constexpr double opens = 0.7;
    if (manners_.door_pads != 0 && random_.chance(opens)) agenda_.add(in.arrived + spread(180ms, 0.1), OpensDoor{});
    agenda_.add(in.first_break + spread(ms(probe_in_ms), probe_in_spread), ProbeOut{});
    const bool lift_asked = reader_.expected().moment == Moment::lift;
    if (lift_asked && draws_ > 0.4 && times_this_lift())
        strike_without_lamp(now, in.first_break + ms(draw_delay_ / 1e6));
}

void AthleteModel::happen(HostTime now, const ProbeOut&) {
    if (body_.place() != Place::in_reach || answer_ == Answer::going) return;
    if (under_attack_ && answer_ == Answer::open && random_.chance(profile_.stays_in)) return;
    if (!under_attack_ && crowds_now()) {
        agenda_.add(now + spread(700ms, 0.3), ProbeOut{});
        return;
    }
    body_.move(now, Place::home, probe_gait, acts_);
    if (mode_ == Mode::watching && !under_attack_) plan_probe(now, false);
}

void AthleteModel::happen(HostTime now, const StepBackIn&) {
    if (!roaming_) return;
    if (body_.place() == Place::beyond || body_.place() == Place::behind)
        body_.move(now, Place::home, probe_gait, acts_);
    // Now and then it stops short in front of the near mark and goes back once more.
    const double stops_short = draws_by_ground() ? 0.8 : 0.35;
    if (random_.chance(stops_short)) {
        agenda_.add(body_.arrived() + spread(450ms, 0.2), StepBackOut{});
        return;
    }
    roaming_ = false;
    if (mode_ == Mode::watching && !under_attack_) plan_probe(std::max(now, body_.arrived()), true);
}

void AthleteModel::happen(HostTime now, const StepBackOut&) {
    if (!roaming_ || body_.place() != Place::home) return;
    const bool deep =
        profile_.goes_deep > 0 && !follows(AdviceKind::shorter_back) && random_.chance(profile_.goes_deep);
    const Body::Passage back = body_.move(now, deep ? Place::behind : Place::beyond, probe_gait, acts_);
    agenda_.add(back.arrived + spread(350ms, 0.2), StepBackIn{});
}

void AthleteModel::happen(HostTime now, const Guess&) {
    if (mode_ != Mode::watching || under_attack_ || answer_ != Answer::none) return;
    strike_without_lamp(now, now + ms(300));
}

void AthleteModel::happen(HostTime now, const LooksLong& dark) {
    if (mode_ != Mode::watching || seen_ != 0 || dark_since_ != dark.dark_at || under_attack_) return;
    mode_ = Mode::resting;
    drop_probes();
    if (answer_ != Answer::going && body_.place() != Place::beyond) body_.move(now, Place::beyond, walking_gait, acts_);
}

}  // namespace breakstep
