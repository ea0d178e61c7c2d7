// Journals that make no sense: whatever a damaged or hostile store holds, score folds it, the same way each time, and
// never stops the program or compares two boots.
#include <doctest/doctest.h>

#include "core/random.hpp"
#include "support/journal_script.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

class Nonsense {
  public:
    explicit Nonsense(std::uint64_t seed) : random_(seed) {}

    JournalEvent event() {
        switch (random_.below(20)) {
            case 0:
                return session();
            case 1:
                return SessionEnded{static_cast<SessionEnd>(random_.below(4))};
            case 2:
            case 3:
                if (random_.chance(0.8)) return edge();
                return rig();
            case 4:
                if (random_.chance(0.8)) return edge();
                return EventsLost{boot(), number(), number()};
            case 5:
            case 6:
            case 7:
                return PadHit{time(), number(), static_cast<PadRole>(random_.below(4)), number(), 0};
            case 8:
            case 9:
            case 10:
            case 11:
                return edge();
            case 12:
                return planned();
            case 13:
                return opened();
            case 14:
            case 15:
                return PhaseBegan{rep(), static_cast<std::int32_t>(random_.below(9)) - 1, Phase::up, time(),
                                  1us,   static_cast<OnsetSource>(random_.below(5))};
            case 16:
                return RepClosed{rep(), time()};
            case 17:
                return RepVoided{rep(), static_cast<VoidReason>(random_.below(7))};
            case 18:
                return random_.chance(0.3) ? JournalEvent(SetEnded{0, random_.chance(0.5)})
                                           : JournalEvent(StartStruck{0, time()});
            default:
                return IntervalCoin{number(), random_.chance(0.5)};
        }
    }

    SessionBegan session() {
        SessionBegan began;
        began.drill.start = static_cast<StartKind>(random_.below(5));
        began.drill.lead = Duration(random_.below(200'000'000));
        if (random_.chance(0.8)) began.drill.attacks.resize(1 + random_.below(3));
        return began;
    }

  private:
    std::uint16_t number() { return static_cast<std::uint16_t>(random_.below(40)); }
    BootId boot() { return BootId{random_.chance(0.99) ? 1U : 2U}; }
    RepId rep() { return RepId{static_cast<std::int32_t>(random_.below(6))}; }
    TargetTime time() {
        if (random_.chance(0.01)) return {boot(), Duration(INT64_MAX)};
        if (random_.chance(0.01)) return {boot(), Duration(INT64_MIN)};
        // Mostly forward, so that something happens at all.
        now_ += Duration(random_.below(300'000'000));
        return {boot(), now_ - Duration(random_.chance(0.2) ? random_.below(2'000'000'000) : 0)};
    }
    GateEdge edge() {
        const auto gate = random_.chance(0.6) ? GateRole::near_mark : static_cast<GateRole>(random_.below(6));
        return {time(), number(), gate, random_.chance(0.6)};
    }
    RigConnected rig() {
        RigConnected connected{BoardId{1}, boot(), time(), 0, {}};
        for (std::uint8_t i = 0; i < 4; ++i)
            connected.channels.push_back({static_cast<ChannelKind>(1 + random_.below(3)), i,
                                          static_cast<std::uint8_t>(random_.below(9)), false, 100us});
        for (std::uint8_t i = 0; i < 3; ++i) connected.channels.push_back({ChannelKind::gate, i, i, false, 100us});
        return connected;
    }
    SetPlanned planned() {
        SetPlanned plan{0, time(), random_.chance(0.3), {}};
        for (std::uint32_t i = random_.below(4); i > 0; --i) plan.reps.push_back({rep(), time(), time()});
        return plan;
    }
    RepOpened opened() {
        RepOpened open;
        open.rep = rep();
        open.start = static_cast<StartKind>(random_.below(5));
        open.catch_trial = random_.chance(0.2);
        open.asked.kind = static_cast<AttackKind>(random_.below(6));
        open.asked.moment = static_cast<Moment>(random_.below(3));
        open.asked.counter = static_cast<Counter>(random_.below(5));
        open.onset = time();
        open.close = TargetTime(open.onset.boot(), time().since_boot());
        open.phases.resize(random_.below(7));
        for (AttackPhase& phase : open.phases) {
            phase.phase = static_cast<Phase>(random_.below(7));
            phase.held = random_.chance(0.3);
            phase.length = Duration(random_.chance(0.02) ? INT64_MAX : random_.below(300'000'000));
        }
        return open;
    }

    Random random_;
    Duration now_{};
};

}  // namespace

TEST_CASE("a journal that makes no sense is folded to the end and the same way twice") {
    std::int64_t decided = 0, read = 0;
    for (std::uint64_t seed = 1; seed <= 600; ++seed) {
        JournalScript script;
        Nonsense nonsense(seed);
        script.boot = BootId{1};
        script.add(nonsense.session());
        script.connect({}, 0ms);
        for (int i = 0; i < 400; ++i) script.add(nonsense.event());
        const Folded first(script), second(script);
        CHECK(first.score.reps() == second.score.reps());
        CHECK(first.score.totals().wealth == second.score.totals().wealth);
        for (std::size_t i = 1; i < first.score.reps().size(); ++i)
            CHECK(first.score.reps()[i - 1].rep < first.score.reps()[i].rep);
        decided += static_cast<std::int64_t>(first.score.reps().size());
        read += static_cast<std::int64_t>(first.score.intervals().size());
    }
    CHECK_MESSAGE(decided > 600, "or else nothing was tried");
    CHECK_MESSAGE(read > 600, "or else nothing was tried");
}
