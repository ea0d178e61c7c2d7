// The evening fold without a hall: a plain loop stands for it. Whoever is called strikes after a while, and the set
// takes its time.
#pragma once

#include <algorithm>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include <doctest/doctest.h>

#include "core/evening/evening.hpp"
#include "core/evening/forecast.hpp"

namespace breakstep::evening {

constexpr AthleteId athlete(std::uint64_t number) { return AthleteId{number}; }

struct SetMade {
    AthleteId by{};
    EveningTime count{}, end{};
};

// Carries out what the fold decides, with sessions that always work.
struct Floor {
    State state;
    std::vector<EveningRecord> records;
    std::vector<SetMade> sets;
    std::vector<Start> started;
    std::map<SessionId, std::int32_t> next_set, sets_of;
    EveningTime now{};
    std::uint64_t next_id = 1000;
    Duration change = 8s, work = 35s;
    std::int32_t dose_sets = 3;

    void record(EveningEvent event) {
        records.push_back({static_cast<std::int64_t>(records.size()), now, event});
        fold(state, event, now);
    }
    explicit Floor(std::vector<Block> blocks) { record(EveningBegan{EveningId{5}, 0, 1, std::move(blocks)}); }
    void came(std::uint64_t number, std::int32_t age) { record(AthleteCame{athlete(number), age, 0}); }
    void give(AthleteId who) {
        const Person* one = state.find(who);
        const Dose dose = dose_for(one->age, {10, dose_sets});
        record(DoseGiven{who, one->drill.empty() ? "any" : one->drill, dose.reps, dose.sets, work, false});
    }
    void run(const Command& command) {
        if (const auto* wanted = std::get_if<Record>(&command)) record(wanted->event);
        if (const auto* wanted = std::get_if<Start>(&command)) {
            started.push_back(*wanted);
            sets_of[wanted->session] = wanted->sets_left;
            ++next_id;
        }
        if (std::holds_alternative<StandAside>(command)) record(StoodAside{state.session});
        if (const auto* wanted = std::get_if<End>(&command)) record(SessionOver{wanted->session, SessionEnd::stopped});
        if (const auto* wanted = std::get_if<GiveDose>(&command)) give(wanted->athlete);
        if (std::holds_alternative<GiveDoses>(command))
            for (std::size_t i = 0; i < state.people.size(); ++i) give(state.people[i].athlete);
    }
    void decide() {
        for (auto commands = next_step(state, now, SessionId{next_id}); !commands.empty();
             commands = next_step(state, now, SessionId{next_id}))
            for (const Command& command : commands) run(command);
    }
    Answer ask(Ask what, std::uint64_t who = 0, std::optional<bool> last_void = std::nullopt) {
        const Reply reply = evening::ask(state, {what, athlete(who), ""}, Hand::keyboard, now, last_void);
        for (const Command& command : reply.commands) run(command);
        decide();
        return reply.answer;
    }
    void pass(Duration time) {
        now += time;
        decide();
    }
    void strike_for_task() {
        std::string bytes;
        record(KeptOutside{256 + PadHit::kind, bytes});
        decide();
    }
    // Whoever is called does the set.
    void do_set() {
        REQUIRE(state.rig == AtRig::called);
        const SessionId session = state.session;
        const std::int32_t set = next_set[session]++;
        record(SetBegan{session, set});
        const EveningTime count = now;
        now += work;
        const AthleteId by = state.made_by.value_or(state.at_rig);
        record(SetDone{session, set, work});
        sets.push_back({by, count, now});
        now += 350ms;
        if (next_set[session] >= sets_of[session])
            record(SessionOver{session, SessionEnd::finished});
        else
            record(StoodAside{session});
        decide();
    }
    // The evening by itself to its end.
    void play() {
        decide();
        for (int i = 0; i < 5000 && !state.over; ++i) {
            if (state.rig == AtRig::called) {
                pass(change);
                if (state.rig == AtRig::called) do_set();
            } else if (!state.summoned && state.current() != nullptr && state.current()->kind == BlockKind::rounds) {
                pass(3s);
                if (state.rig == AtRig::nobody && !state.over) strike_for_task();
            } else {
                const auto due = next_due(state);
                pass(due && *due > now ? *due - now : 1s);
            }
        }
        CHECK(state.over);
    }
};

inline Block rounds(Duration length, Who who = Who::all) { return {BlockKind::rounds, length, "rounds", who, "any"}; }

}  // namespace breakstep::evening
