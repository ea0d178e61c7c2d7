#include "tools/simulated_hall.hpp"

#include <algorithm>

namespace breakstep {

using namespace evening;

namespace {

// From the end of a set until the next athlete, who waits beside the rig, strikes for the task. To walk in and strike
// for the start takes about as long again: a change of some 8 s.
constexpr Duration change = 4s;
// Who is called and stands elsewhere.
constexpr Duration fetched = 5s;
constexpr Duration to_see = 6s;

AthleteProfile junior(std::string_view call_sign, double age, Side lead, Duration beat) {
    AthleteProfile athlete = typical_athlete(Level::beginner);
    athlete.call_sign = call_sign;
    athlete.age = age;
    athlete.lead = lead;
    athlete.habit = {HabitKind::memoryless, beat, 0, 680ms, 0.08};
    return athlete;
}

}  // namespace

std::vector<AthleteProfile> sixteen_athletes() {
    std::vector<AthleteProfile> all = demo_club();
    all.push_back(junior("Knot", 9, Side::right, 1300ms));
    all.push_back(junior("Ruff", 10, Side::left, 1500ms));
    all.push_back(junior("Whimbrel", 12, Side::right, 1200ms));
    all.push_back(junior("Godwit", 13, Side::right, 1100ms));
    all.push_back(junior("Turnstone", 8, Side::left, 1700ms));
    all.push_back(junior("Tern", 12, Side::right, 1400ms));
    return all;
}

SimulatedHall::SimulatedHall(std::vector<HallMember> members, const HallTroubles& troubles, std::uint64_t seed,
                             SimulatedTarget& target, EveningOwner& owner, std::function<Drill(AthleteId)> told)
    : members_(std::move(members)),
      troubles_(troubles),
      random_(seed, 0x68616c6c),
      target_(target),
      owner_(&owner),
      told_(std::move(told)) {}

// ---- who stands where -----------------------------------------------------------------------------------------------

AthleteId SimulatedHall::stood_at(HostTime at) const {
    AthleteId there{};
    for (const auto& [from, athlete] : stood_) {
        if (from > at) break;
        there = athlete;
    }
    return there;
}

void SimulatedHall::step_up(AthleteId athlete, HostTime now) {
    if (standing_ == athlete) return;
    const auto member = std::find_if(members_.begin(), members_.end(),
                                     [athlete](const HallMember& each) { return each.athlete == athlete; });
    if (member == members_.end()) return;
    note_truths(now);
    standing_ = athlete;
    stood_.emplace_back(now, athlete);
    target_.set_athlete(now,
                        AthleteSettings::for_drill(member->profile, told_(athlete), random_.next() + ++turns_stood_));
}

// One who is rested: who goes without that breaks a rest that no evening can keep.
AthleteId SimulatedHall::another_than(AthleteId athlete, HostTime now) const {
    const Person* called = owner_->state().find(athlete);
    for (const Person& each : owner_->state().people)
        if (called != nullptr && each.athlete != athlete && each.here && !each.sore &&
            each.sets_done < each.dose.sets && each.rest_until <= owner_->time(now) &&
            is_child(each.age) == is_child(called->age))
            return each.athlete;
    return athlete;
}

// What the rig numbered since the last look was struck by who stood there.
void SimulatedHall::note_truths(HostTime) {
    truths_.clear();
    target_.rig().take_truths(truths_);
    for (const RigTruth& truth : truths_)
        if (truth.event.type == WIRE_PAD_HIT)
            strikes_.push_back({truth.at, truth.boot, truth.event.sequence, stood_at(truth.at),
                                static_cast<PadRole>(truth.event.as.pad_hit.pad)});
}

// ---- what the evening does ------------------------------------------------------------------------------------------

void SimulatedHall::saw(const EveningRecord& record, HostTime now) {
    if (!come_ && std::holds_alternative<EveningBegan>(record.event)) {
        come_ = true;
        for (const HallMember& each : members_) {
            const AthleteCame came{each.athlete, static_cast<std::int32_t>(each.profile.age), 0};
            later(now + each.comes, [this, came](HostTime at) { owner_->came(came, at); });
            if (each.leaves)
                later(now + *each.leaves, [this, who = each.athlete](HostTime at) { owner_->left(who, at); });
        }
    }
    if (const auto* turn = std::get_if<TurnCalled>(&record.event)) called(turn->athlete, now);
    if (std::holds_alternative<SetBegan>(record.event)) set_began(now);
    if (std::holds_alternative<SetDone>(record.event)) set_done(now);
    if (std::holds_alternative<WentOn>(record.event)) {
        // The set that the coach was to speak of at its end was cut.
        if (calls_ == troubles_.out_of_turn_late_call && wrong_one_) set_done(now);
        next_walks_up(now + change);
    }
    if (std::holds_alternative<StoodAside>(record.event) || std::holds_alternative<SessionOver>(record.event))
        next_walks_up(now + change + Duration(random_.below(1'000'000'000)) - 500ms);
}

void SimulatedHall::called(AthleteId athlete, HostTime now) {
    ++calls_;
    called_ = athlete;
    wrong_one_.reset();
    if (calls_ == troubles_.out_of_turn_call || calls_ == troubles_.out_of_turn_late_call) {
        const AthleteId other = another_than(athlete, now);
        if (other != athlete) wrong_one_ = other;
    }
    if (calls_ == troubles_.stays_away_call) {
        // Gone for a drink.
        step_back(now);
        later(now + 4 * fetched, [this](HostTime at) { ask(Ask::skip, {}, at); });
        later(now + 120s, [this, athlete](HostTime at) { ask(Ask::comes_back, athlete, at); });
        return;
    }
    const AthleteId who = wrong_one_.value_or(athlete);
    if (standing_ == who) return;
    // Out of turn: at once, and would start. Else whoever stands there makes room.
    if (wrong_one_) return step_up(who, now);
    step_back(now);
    later(now + fetched, [this, who](HostTime at) { step_up(who, at); });
}

void SimulatedHall::step_back(HostTime now) {
    note_truths(now);
    target_.no_athlete(now);
    standing_ = {};
    stood_.emplace_back(now, AthleteId{});
}

void SimulatedHall::set_began(HostTime now) {
    if (calls_ == troubles_.out_of_turn_call && wrong_one_)
        later(now + to_see, [this, who = *wrong_one_](HostTime at) { ask(Ask::someone_else, who, at); });
    if (calls_ == troubles_.void_call) {
        later(now + 20s, [this](HostTime at) { ask(Ask::void_last, {}, at); });
        later(now + 26s, [this](HostTime at) { ask(Ask::void_last, {}, at); });
        later(now + 27s, [this](HostTime at) { ask(Ask::take_back, {}, at); });
    }
    if (calls_ == troubles_.pause_call) {
        later(now + 15s, [this](HostTime at) { ask(Ask::pause, {}, at); });
        later(now + 45s, [this](HostTime at) { ask(Ask::go_on, {}, at); });
    }
    if (calls_ == troubles_.cable_call) {
        later(now + 12s, [this](HostTime at) { target_.plug(at, false); });
        later(now + 16s, [this](HostTime at) { target_.plug(at, true); });
    }
    if (calls_ == troubles_.sore_call) later(now + 18s, [this](HostTime at) { ask(Ask::sore, {}, at); });
}

void SimulatedHall::set_done(HostTime now) {
    if (calls_ == troubles_.out_of_turn_late_call && wrong_one_)
        later(now + 2s, [this, who = *wrong_one_](HostTime at) { ask(Ask::someone_else, who, at); });
}

void SimulatedHall::next_walks_up(HostTime when) {
    later(when, [this](HostTime at) {
        const State& state = owner_->state();
        if (state.rig != AtRig::nobody || state.summoned || state.over) return;
        const auto next = next_up(state, owner_->time(at));
        const Block* block = state.current();
        // Somebody may come late, or be called back.
        if (!next || state.paused) {
            if (block != nullptr && block->kind == BlockKind::rounds) next_walks_up(at + fetched);
            return;
        }
        step_up(*next, at);
        target_.rig().strike(at, PadRole::low_right, 0.4);
    });
}

void SimulatedHall::ask(Ask what, AthleteId athlete, HostTime now) {
    ++touches_;
    if (owner_->ask({what, athlete, ""}, Hand::keyboard, now).kind != AnswerKind::taken) ++refused_;
}

void SimulatedHall::due(HostTime now) {
    note_truths(now);
    while (!agenda_.empty() && agenda_.begin()->first <= now) {
        const Deed deed = std::move(agenda_.begin()->second);
        agenda_.erase(agenda_.begin());
        deed(now);
    }
}

std::optional<HostTime> SimulatedHall::next_due() const {
    return agenda_.empty() ? std::nullopt : std::optional(agenda_.begin()->first);
}

}  // namespace breakstep
