#include "core/evening/forecast.hpp"

#include <algorithm>

namespace breakstep::evening {
namespace {

struct Played {
    std::int32_t athletes = 0, asked = 0, done = 0;
    Duration taken{};
};

class Floor {
  public:
    Floor(const std::vector<AthleteCame>& people, Block block, const DoseOf& dose) : dose_(dose) {
        record(EveningBegan{EveningId{1}, 0, 0, {std::move(block)}});
        for (const AthleteCame& each : people) record(each);
    }
    [[nodiscard]] Played play();

  private:
    void record(const EveningEvent& event) { fold(state_, event, now_); }
    void run(const Command& command);
    void make_set();

    const DoseOf& dose_;
    State state_;
    EveningTime now_{};
    std::uint64_t next_id_ = 1;
    Played played_;
};

void Floor::run(const Command& command) {
    if (const auto* wanted = std::get_if<Record>(&command)) record(wanted->event);
    if (std::holds_alternative<Start>(command)) ++next_id_;
    if (std::holds_alternative<StandAside>(command)) record(StoodAside{state_.session});
    if (const auto* wanted = std::get_if<End>(&command)) record(SessionOver{wanted->session, SessionEnd::stopped});
    if (!std::holds_alternative<GiveDoses>(command)) return;
    const std::vector<Person> people = state_.people;
    for (const Person& each : people)
        if (const auto dose = dose_(each, *state_.current()); dose && calls(*state_.current(), each.age)) {
            record(*dose);
            ++played_.athletes;
            played_.asked += dose->sets;
        }
}

// Whoever is called walks up, and makes the set.
void Floor::make_set() {
    now_ += change_time;
    const Duration work = state_.find(state_.at_rig)->dose.work;
    record(SetBegan{state_.session, played_.done});
    now_ += work;
    record(SetDone{state_.session, played_.done, work});
    record(StoodAside{state_.session});
    ++played_.done;
    played_.taken = now_;
    state_.summoned = true;
}

Played Floor::play() {
    constexpr int steps_max = 100'000;
    for (int step = 0; step < steps_max && !state_.over; ++step) {
        const std::vector<Command> commands = next_step(state_, now_, SessionId{next_id_});
        for (const Command& command : commands) run(command);
        if (!commands.empty()) continue;
        if (state_.rig == AtRig::called) {
            make_set();
            continue;
        }
        state_.summoned = true;
        const auto due = next_due(state_);
        now_ = due && *due > now_ ? *due : now_ + 1s;
    }
    return played_;
}

}  // namespace

Forecast forecast(const std::vector<AthleteCame>& people, const Block& block, const DoseOf& dose) {
    if (block.kind != BlockKind::rounds) return {};
    Block endless = block;
    endless.length = std::chrono::hours(24);
    const Played whole = Floor(people, std::move(endless), dose).play();
    const Played fitting = Floor(people, block, dose).play();
    return {whole.athletes, whole.asked, fitting.done, whole.taken};
}

}  // namespace breakstep::evening
