// Events into state.
#include <algorithm>

#include "core/evening/evening.hpp"
#include "core/journal/visiting.hpp"

namespace breakstep::evening {
namespace {

Person* person(State& state, AthleteId athlete) {
    const auto found = std::find_if(state.people.begin(), state.people.end(),
                                    [athlete](const Person& each) { return each.athlete == athlete; });
    return found == state.people.end() ? nullptr : &*found;
}

void free_rig(State& state, EveningTime at) {
    state.rig = AtRig::nobody;
    state.at_rig = {};
    state.session = {};
    state.set = -1;
    state.made_by.reset();
    state.free_since = at;
    state.summoned = false;
}

void came(State& state, const AthleteCame& event) {
    Person* known = person(state, event.athlete);
    if (known == nullptr) known = &state.people.emplace_back();
    known->athlete = event.athlete;
    known->age = event.age;
    known->height_order = event.height_order;
    if (!event.drill.empty()) known->drill = event.drill;
    known->here = true;
}

void dose_given(State& state, const DoseGiven& event) {
    Person* one = person(state, event.athlete);
    if (one == nullptr) return;
    if (one->dose.drill != event.drill) one->turns = 0;
    one->dose = event;
    one->sets_done = 0;
    one->passed_over = false;
}

void called(State& state, const TurnCalled& event) {
    Person* one = person(state, event.athlete);
    if (one == nullptr) return;
    state.rig = AtRig::called;
    state.at_rig = event.athlete;
    state.session = event.session;
    state.summoned = false;
    state.call_next.reset();
    state.called_before = true;
    one->session = event.session;
    one->passed_over = false;
    ++one->turns;
    ++state.turns;
}

void set_done(State& state, const SetDone& event, EveningTime at) {
    if (state.rig != AtRig::running || state.session != event.session) return;
    const AthleteId by = state.made_by.value_or(state.at_rig);
    if (Person* one = person(state, by)) {
        one->rest_until = at + rest_after(event.work, one->age);
        one->last_set = at;
        ++one->sets_done;
    }
    state.rig = AtRig::leaving;
    state.last_set = LastSet{by, event.session, event.set, event.work};
    ++state.sets;
}

void session_over(State& state, const SessionOver& event, EveningTime at) {
    for (Person& each : state.people)
        if (each.session == event.session) {
            each.session.reset();
            each.stale = false;
        }
    if (state.session == event.session && state.rig != AtRig::nobody) free_rig(state, at);
}

// It may still be said whose it was.
void set_cut(State& state) {
    const AthleteId by = state.made_by.value_or(state.at_rig);
    const Person* one = person(state, by);
    state.last_set = LastSet{by, state.session, state.set, one == nullptr ? Duration{} : one->dose.work, false};
}

// The set was told of as somebody else's after its end: the rest and the set are that one's.
void set_moved(State& state, const SetMoved& event, EveningTime at) {
    // Of a set that a cut of the program ended: it is told before the evening goes on.
    if (state.rig == AtRig::running && state.session == event.session && state.set == event.set) {
        set_cut(state);
        state.last_set = LastSet{event.to, event.in, event.set, state.last_set->work, false};
        state.rig = AtRig::leaving;
        return;
    }
    if (!state.last_set || state.last_set->session != event.session || state.last_set->set != event.set) return;
    LastSet& last = *state.last_set;
    if (last.by != event.to) {
        if (Person* wrong = person(state, last.by)) {
            if (last.done) --wrong->sets_done;
            wrong->rest_until = at;
        }
        if (Person* right = person(state, event.to)) {
            if (last.done) ++right->sets_done;
            right->last_set = at;
            right->rest_until = std::max(right->rest_until, at + rest_after(last.work, right->age));
        }
    }
    last = LastSet{event.to, event.in, event.set, last.work, last.done};
}

void asked(State& state, const Asked& event) {
    if (event.answer.kind != AnswerKind::taken) return;
    const Request& request = event.request;
    Person* named = person(state, request.athlete);
    switch (request.what) {
        case Ask::next:
            state.block_over = true;
            break;
        case Ask::skip:
            if (Person* one = person(state, state.at_rig)) one->passed_over = true;
            break;
        case Ask::comes_back:
            if (named == nullptr) break;
            named->here = true;
            named->sore = named->passed_over = false;
            break;
        case Ask::someone_else:
            if (state.rig == AtRig::running) state.made_by = request.athlete;
            if (state.rig == AtRig::called) state.call_next = request.athlete;
            break;
        case Ask::pause:
            state.paused = true;
            break;
        case Ask::go_on:
            state.paused = false;
            break;
        case Ask::repeat:
            if (Person* one = state.last_set ? person(state, state.last_set->by) : nullptr) {
                ++one->dose.sets;
                one->passed_over = false;
            }
            break;
        case Ask::sore:
            if (Person* one = person(state, request.athlete == AthleteId{} ? state.at_rig : request.athlete))
                one->sore = true;
            break;
        case Ask::end:
            state.by_coach = true;
            break;
        case Ask::drill:
            if (named == nullptr) break;
            named->drill = request.text;
            if (event.answer.why == Why::one_for_all) break;
            named->stale = named->session && named->dose.drill != request.text;
            if (state.rig == AtRig::called && state.at_rig == request.athlete) state.call_next = request.athlete;
            break;
        case Ask::minutes:
            if (const auto wanted = block_minutes_in(request.text); wanted && wanted->block < state.began.blocks.size())
                state.began.blocks[wanted->block].length = wanted->length;
            break;
        case Ask::partner_next:
        case Ask::tap:
        case Ask::void_last:
        case Ask::take_back:
        case Ask::note:
            break;
    }
}

}  // namespace

const Person* State::find(AthleteId athlete) const {
    const auto found =
        std::find_if(people.begin(), people.end(), [athlete](const Person& each) { return each.athlete == athlete; });
    return found == people.end() ? nullptr : &*found;
}

const Block* State::current() const {
    const bool runs = block >= 0 && block < static_cast<std::int32_t>(began.blocks.size());
    return runs ? &began.blocks[static_cast<std::size_t>(block)] : nullptr;
}

void fold(State& state, const EveningEvent& event, EveningTime at) {
    std::visit(Overloaded{[&](const EveningBegan& began) { state.began = began; },
                          [&](const AthleteCame& known) { came(state, known); },
                          [&](const AthleteLeft& left) {
                              if (Person* one = person(state, left.athlete)) one->here = false;
                          },
                          [&](const DoseGiven& given) { dose_given(state, given); },
                          [&](const BlockBegan& block) {
                              state.block = block.block;
                              state.block_began = at;
                              state.block_over = state.summoned = state.called_before = false;
                              for (Person& each : state.people) each.dose.sets = each.sets_done = 0;
                          },
                          [&](const TurnCalled& turn) { called(state, turn); },
                          [&](const SetBegan& begun) {
                              if (state.rig != AtRig::called || state.session != begun.session) return;
                              state.rig = AtRig::running;
                              state.set = begun.set;
                              const Person* one = person(state, state.at_rig);
                              if (one != nullptr && one->height_order != 0) state.gates_for = one->height_order;
                          },
                          [&](const SetDone& done) { set_done(state, done, at); },
                          [&](const StoodAside& aside) {
                              if (state.session != aside.session || state.rig == AtRig::nobody) return;
                              if (state.rig == AtRig::running) set_cut(state);
                              Person* one = person(state, state.made_by.value_or(state.at_rig));
                              // A set that was cut was work, too.
                              if (one != nullptr && state.rig == AtRig::running)
                                  one->rest_until = at + rest_after(one->dose.work, one->age);
                              free_rig(state, at);
                          },
                          [&](const SessionOver& over) { session_over(state, over, at); },
                          [&](const SetMoved& moved) { set_moved(state, moved, at); },
                          [&](const Asked& request) { asked(state, request); },
                          [&](const KeptOutside& kept) {
                              const bool is_hit = kept.event % 256 == PadHit::kind;
                              if (is_hit && state.rig == AtRig::nobody && at >= state.free_since + dead_time)
                                  state.summoned = true;
                          },
                          [&](const RigSeen& seen) { state.rig_here = seen.here; },
                          [&](const WentOn&) {
                              if (state.rig == AtRig::running) set_cut(state);
                              if (state.rig != AtRig::nobody) free_rig(state, at);
                              state.paused = false;
                          },
                          [&](const EveningEnded&) { state.over = true; },
                          [&](const CountCancelled& off) {
                              if (state.rig != AtRig::running || state.session != off.session) return;
                              state.rig = AtRig::called;
                              state.set = -1;
                              state.made_by.reset();
                          },
                          [](const UnknownKind&) {}},
               event);
}

}  // namespace breakstep::evening
