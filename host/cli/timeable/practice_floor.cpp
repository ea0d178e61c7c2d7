#include "cli/timeable/practice_floor.hpp"

#include <algorithm>
#include <utility>
#include <vector>

#include "core/conduct/conduct.hpp"
#include "core/reading/seconds.hpp"

namespace breakstep::timeable {
namespace {

constexpr BootId boot{1};
constexpr Duration tick = 50ms;
constexpr Duration coach_soonest = 1s;
constexpr double coach_mean_s = 1.5;
constexpr std::uint64_t coach_stream = 0x636f616368;     // "coach"
constexpr std::uint64_t others_stream = 0x6f7468657273;  // "others"
// Four others' sets and changes, about.
constexpr double others_least_s = 100, others_most_s = 260;

/// What comes by itself at its time: a lamp, an attack as it is seen, a tap of the coach.
struct Coming {
    Duration at{};
    std::uint64_t order = 0;  // of one moment, the first to be asked for
    std::optional<JournalEvent> event;
    Duration drop{};  // of an attack
};

bool later(const Coming& a, const Coming& b) { return std::pair(a.at, a.order) > std::pair(b.at, b.order); }

class Floor {
  public:
    Floor(const SessionBegan& session, const FloorHabits& habits, reading::ReadingMethod method, std::uint64_t seed,
          std::uint64_t number)
        : drill_(session.drill),
          apart_(session.evening != EveningId{}),
          conduct_(session, {}),
          score_(method),
          athlete_(habits, seed, number),
          coach_(session.seed, coach_stream),
          others_(session.seed, others_stream) {
        record(session);
        find_rig();
    }

    SessionTotals run() {
        constexpr Duration longest = 7200s;
        while (!conduct_.done() && now_ < longest) step();
        return score_.totals();
    }

  private:
    void find_rig() {
        RigConnected rig{BoardId{1}, boot, at(now_), 0, {}};
        for (std::uint8_t i = 0; i < 4; ++i) rig.channels.push_back({ChannelKind::pad, i, i, false, 120us});
        for (std::uint8_t i = 0; i < 3; ++i) rig.channels.push_back({ChannelKind::gate, i, i, false, 10us});
        for (std::uint8_t i = 0; i < 4; ++i) rig.channels.push_back({ChannelKind::lamp, i, i, false, 10us});
        record(rig);
        record(ClockBound{at(now_), 100us});
    }
    [[nodiscard]] static TargetTime at(Duration moment) { return {boot, moment}; }
    [[nodiscard]] Now now() const { return {HostTime(now_), at(now_)}; }

    void step() {
        Duration next = now_ + tick;
        const Due due = conduct_.next_due();
        if (due.rig) next = std::min(next, std::max(due.rig->since_boot(), now_));
        if (due.host) next = std::min(next, std::max(due.host->time_since_epoch(), now_));
        if (!coming_.empty()) next = std::min(next, coming_.front().at);
        if (const auto move = athlete_.next()) next = std::min(next, *move);
        now_ = std::max(now_, next);
        while (!coming_.empty() && coming_.front().at <= now_) take_coming();
        while (athlete_.next() && *athlete_.next() <= now_) move(athlete_.take());
        conduct_.complete_until(at(now_), now());
        run_commands();
        conduct_.due(now());
        run_commands();
        if (aside_) others_take_turns();
        if (conduct_.scene().kind == SceneKind::awaiting_start && !athlete_.next()) athlete_.strike_to_start(now_ + 1s);
    }

    // What they strike is in sessions of their own.
    void others_take_turns() {
        aside_ = false;
        now_ += reading::duration_from(others_.uniform(others_least_s, others_most_s));
        coming_.clear();
        record(SessionResumed{});
        find_rig();
    }

    void come(Coming one) {
        one.order = order_++;
        coming_.push_back(std::move(one));
        std::push_heap(coming_.begin(), coming_.end(), later);
    }

    void take_coming() {
        std::pop_heap(coming_.begin(), coming_.end(), later);
        const Coming one = std::move(coming_.back());
        coming_.pop_back();
        if (one.event)
            record(*one.event);
        else
            athlete_.attacked(one.at, one.drop);
    }

    void move(const FloorMove& made) {
        const std::uint16_t sequence = sequence_++;
        if (!made.gate) {
            record(PadHit{at(made.at), sequence, made.pad, 500, 0});
            return;
        }
        record(GateEdge{at(made.at), sequence, *made.gate, true});
        come({made.at + 40ms, 0, GateEdge{at(made.at + 40ms), sequence_++, *made.gate, false}, {}});
    }

    void record(JournalEvent event) {
        const JournalRecord entry{position_++, HostTime(now_), std::move(event)};
        std::vector<ScoreResult> results;
        score_.fold(entry, results);
        conduct_.on_record(entry, now());
        for (const ScoreResult& result : results) conduct_.on_result(result, now());
        see(entry.event);
        run_commands();
    }

    void run_commands() {
        std::vector<ConductCommand> commands;
        conduct_.take(commands);
        for (const ConductCommand& command : commands) {
            if (const auto* append = std::get_if<Append>(&command)) record(append->event);
            if (const auto* lamps = std::get_if<OrderLamps>(&command)) order(*lamps);
            if (std::holds_alternative<SessionAside>(command)) aside_ = true;
        }
    }

    void order(const OrderLamps& lamps) {
        const std::uint16_t id = ++lamp_order_ == 0 ? ++lamp_order_ : lamp_order_;
        conduct_.lamps_ordered(lamps.cue, id, now());
        come({std::max(lamps.at.since_boot(), now_), 0, LampsSet{lamps.at, 0, id, lamps.lit}, {}});
    }

    // What the athlete and the coach make of what happens.
    void see(const JournalEvent& event) {
        if (const auto* planned = std::get_if<SetPlanned>(&event)) {
            athlete_.set_began(planned->begin.since_boot());
            tap_after(planned->begin.since_boot());
        } else if (std::holds_alternative<SetEnded>(event)) {
            athlete_.set_ended();
            if (apart_ && !conduct_.done()) conduct_.suspend(now());
        } else if (const auto* lie = std::get_if<RepOpened>(&event); lie != nullptr && lie->telegraphed) {
            // A lean is answered where the foot is to leave the floor, and a lie looks like any other lean.
            const Duration leans = lie->lean.since_boot();
            come({leans, 0, std::nullopt, leans + drill_.telegraph.delay.mean});
        } else if (const auto* opened = std::get_if<RepOpened>(&event); opened != nullptr && !opened->catch_trial) {
            Duration drop = opened->onset.since_boot();
            for (const AttackPhase& phase : opened->phases) {
                if (phase.phase == Phase::drop) break;
                drop += phase.length;
            }
            come({opened->onset.since_boot(), 0, std::nullopt, drop});
        } else if (const auto* closed = std::get_if<RepClosed>(&event)) {
            tap_after(std::max(closed->end.since_boot(), now_));
        }
    }

    void tap_after(Duration moment) {
        if (drill_.start != StartKind::tapped) return;
        const Duration tap = moment + coach_soonest + reading::duration_from(coach_.exponential(coach_mean_s));
        CoachInput input;
        input.act = CoachAct::tap_attack;
        input.choice = -1;
        come({tap, 0, input, {}});
    }

    const Drill drill_;
    const bool apart_;
    Conduct conduct_;
    Score score_;
    FloorAthlete athlete_;
    Random coach_, others_;
    bool aside_ = false;
    Duration now_ = 1s;
    std::vector<Coming> coming_;  // a heap, the next in front
    std::uint64_t order_ = 0;
    std::int64_t position_ = 0;
    std::uint16_t sequence_ = 0;
    std::uint16_t lamp_order_ = 0;
};

}  // namespace

Drill floor_drill(StartKind start, std::int32_t reps) {
    Drill drill;
    drill.name = "floor";
    drill.title = "floor";
    drill.start = start;
    drill.attacks = {AttackChoice{}};
    drill.sets = 2;
    drill.reps = reps;
    drill.rest = 5s;
    drill.sound = drill.screen = false;
    if (start == StartKind::pattern) drill.pattern = {{0, 1600ms}, {0, 2400ms}, {0, 1600ms}, {0, 3200ms}};
    if (start == StartKind::countered) drill.manners.struck = {0.6, 700ms};
    if (start == StartKind::lure) {
        drill.attacks.front().moment = Moment::lift;
        drill.lead = 250ms;
    }
    return drill;
}

Drill leaning_floor_drill(std::int32_t reps) {
    Drill drill = floor_drill(StartKind::random, reps);
    drill.attacks.front().moment = Moment::lift;
    drill.attacks.front().share = 9;
    AttackChoice feint;
    feint.kind = AttackKind::feint;
    drill.attacks.push_back(feint);
    drill.telegraph.shown = 0.8;
    return drill;
}

SessionTotals play_on_the_floor(const Drill& drill, const FloorHabits& habits, const FloorRun& run) {
    SessionBegan session;
    if (run.apart) session.evening = EveningId{1};
    session.session = SessionId{run.number + 1};
    session.seed = Random(run.seed + static_cast<std::uint64_t>(habits.family), run.number).next();
    session.drill = drill;
    if (run.known) session.prior = prior_of_earlier_days(habits, run.seed, run.number);
    return Floor(session, habits, run.method, run.seed, run.number).run();
}

}  // namespace breakstep::timeable
