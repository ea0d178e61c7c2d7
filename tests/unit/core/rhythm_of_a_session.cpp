// From gates to the reading: which entries of a session are read, what cuts and voids their intervals, and what comes
// back.
#include <cmath>

#include <doctest/doctest.h>

#include "core/random.hpp"
#include "core/reading/reading_method.hpp"
#include "support/journal_script.hpp"

using namespace breakstep;
using namespace breakstep::testing;
using reading::ReadingMethod;

namespace {

constexpr Duration set_begin = 1s;

struct Session {
    JournalScript script;
    SessionBegan began;

    explicit Session(StartKind start = StartKind::random, bool test = false) {
        began.drill.start = start;
        began.drill.test = test;
        began.drill.attacks = {AttackChoice{}};
        script.add(began);
        script.connect({}, 0ms);
    }
    // Toe-offs and ends; what the set plans before it starts.
    void plan(const std::vector<std::pair<Duration, Duration>>& attacks, Duration begin = set_begin,
              bool redrawn = false) {
        SetPlanned planned{0, script.at(begin), redrawn, {}};
        std::int32_t rep = redrawn ? 100 : 0;
        for (const auto& [onset, end] : attacks)
            planned.reps.push_back({RepId{rep++}, script.at(onset), script.at(end)});
        script.add(planned);
    }
    // In through the near mark at `at` and out again 250 ms later, the shortest that is two passes. In-times of 250 ms
    // keep the shortest interval at 0.40 s.
    std::uint16_t enter(Duration at) {
        const std::uint16_t sequence = script.sequence;
        script.cross(at, GateRole::near_mark);
        script.cross(at + 250ms, GateRole::near_mark);
        return sequence;
    }
    // The far mark proves the athlete outside the near one.
    void start_outside() { script.cross(set_begin, GateRole::far_mark); }
    Duration enter_all(Duration at, const std::vector<double>& intervals) {
        enter(at);
        for (const double interval : intervals) enter(at += Duration(std::llround(interval * 1e9)));
        return at;
    }
};

const std::vector<double> golden{.82, .79, .85, .80, .83, .78, .81, 1.40, .82, .80, .84, .79};

}  // namespace

TEST_CASE("the golden intervals through gates give the golden windows") {
    // The first golden trace: H 8 of n 9, C 2.458316, Timeable 84.7134.
    Session session;
    session.start_outside();
    session.plan({{60s, 61s}});
    session.enter_all(2s, golden);
    const Folded folded(session.script);
    const SessionTotals totals = folded.score.totals();
    CHECK(totals.windows == 9);
    CHECK(totals.caught == 8);
    CHECK(totals.caught_by_chance == doctest::Approx(2.458316).epsilon(1e-6));
    REQUIRE(totals.timeable);
    CHECK(*totals.timeable == doctest::Approx(84.7134).epsilon(1e-6));
    REQUIRE(folded.score.intervals().size() == golden.size());
    CHECK(folded.score.intervals()[7].length == 1400ms);
    CHECK_FALSE(folded.score.intervals()[7].caught);
    CHECK(folded.all<IntervalRead>().size() == golden.size());
}

TEST_CASE("by two signs no out-time is held to be shorter than gates can see") {
    // In-times of 250 ms: the shortest interval is 0.40 s by the plain method, 0.50 s by two signs, and only intervals
    // beyond it can win. Beats of 0.50 s are thus no beat to two signs.
    const auto timed = [](double beat, ReadingMethod method) {
        Session session;
        session.start_outside();
        session.plan({{60s, 61s}});
        session.enter_all(2s, std::vector<double>(30, beat));
        return Folded(session.script, method).score.totals().sign;
    };
    CHECK(timed(0.50, ReadingMethod::plain) == Sign::tell);
    CHECK(timed(0.50, ReadingMethod::two_signs) == Sign::none);
    CHECK(timed(0.80, ReadingMethod::two_signs) == Sign::tell);
}

TEST_CASE("a steady beat raises maybe and then yes at the entries that tip it and once each") {
    Session session;
    session.start_outside();
    session.plan({{60s, 61s}});
    session.enter_all(2s, std::vector<double>(15, 0.82));
    const Folded folded(session.script);
    const auto signs = folded.all<SignRaised>();
    REQUIRE(signs.size() == 2);
    CHECK(signs[0].sign == Sign::hunch);
    CHECK(signs[1].sign == Sign::tell);
    CHECK(signs[1].wealth >= 20);
    CHECK(signs[0].wealth >= 8);
    CHECK(signs[1].at > signs[0].at);
    CHECK(signs[1].reason.find("same beat") != std::string::npos);
    CHECK(signs[1].cause == "one beat");
    CHECK_FALSE(signs[1].last_intervals.empty());
    CHECK(signs[1].last_intervals.size() <= 6);
    CHECK(folded.score.totals().sign == Sign::tell);
    CHECK_FALSE(folded.score.totals().sign_reason.empty());
}

TEST_CASE("a test drill reads the same and shows nothing") {
    Session session(StartKind::random, true);
    session.start_outside();
    session.plan({{60s, 61s}});
    session.enter_all(2s, std::vector<double>(15, 0.82));
    const Folded folded(session.script);
    CHECK(folded.all<SignRaised>().empty());
    CHECK(folded.score.totals().sign == Sign::tell);
}

TEST_CASE("the next planned onset cuts an interval and an interval begun in an attack is void") {
    Session session;
    session.start_outside();
    session.plan({{4s, 5s}, {9s, 10s}});
    session.enter(2s);
    session.enter(3s);
    session.enter(4500ms);  // answers the attack
    session.enter(6s);
    session.enter(7500ms);
    const Folded folded(session.script);
    const auto& read = folded.score.intervals();
    REQUIRE(read.size() == 4);
    CHECK(read[0].length == 1s);
    CHECK_FALSE(read[0].cut);
    CHECK_FALSE(read[0].voided);
    CHECK(read[1].cut);
    CHECK(read[1].length == 1s);
    CHECK_FALSE(read[1].voided);
    CHECK(read[2].voided);
    CHECK_FALSE(read[3].voided);
    CHECK_FALSE(read[3].cut);
}

TEST_CASE("a catch trial has no onset that could cut") {
    Session session;
    session.start_outside();
    // The wait after the first attack is a catch trial: from its end, as long as the cap.
    session.plan({{4s, 5s}, {5s, 10s}, {12s, 13s}});
    session.enter(6s);
    session.enter(7s);
    session.enter(11s);
    const auto read = Folded(session.script).score.intervals();
    REQUIRE(read.size() == 2);
    CHECK_FALSE(read[0].voided);
    CHECK_FALSE(read[1].voided);
    CHECK_FALSE(read[1].cut);
}

TEST_CASE("nothing outside a set is read") {
    Session session;
    session.start_outside();
    session.enter(1500ms);
    session.plan({{20s, 21s}}, 3s);
    session.enter(4s);
    session.enter(5s);
    session.script.add(SetEnded{0, true});
    session.enter(6s);
    session.enter(7s);
    const Folded folded(session.script);
    CHECK(folded.score.intervals().size() == 1);
    CHECK(folded.all<ActSeen>().size() == 5);
}

TEST_CASE("a plan drawn again voids the interval whose cue did not stand before") {
    Session session;
    session.start_outside();
    session.plan({{4s, 5s}});
    session.enter(2s);
    session.plan({{4200ms, 5s}}, 3100ms, true);
    session.enter(3s);
    session.enter(3800ms);
    const auto read = Folded(session.script).score.intervals();
    REQUIRE_MESSAGE(read.size() == 2, "no entry is overlooked while the new plan has not begun");
    CHECK(read[0].voided);
    CHECK(read[0].length == 1s);
    CHECK_FALSE(read[1].voided);
}

TEST_CASE("lost events and the rig's return void the open interval") {
    for (const bool lost : {true, false}) {
        Session session;
        session.start_outside();
        session.plan({{60s, 61s}});
        session.enter(2s);
        if (lost) session.script.add(EventsLost{session.script.boot, 90, 91});
        if (!lost) session.script.connect({}, 2500ms);
        session.script.cross(2600ms, GateRole::far_mark);
        session.enter(3s);
        session.enter(4s);
        const auto read = Folded(session.script).score.intervals();
        // The interval that began before the hole is no interval; the first after it begins anew.
        REQUIRE(read.size() == 1);
        CHECK(read[0].began == session.script.at(3s));
    }
}

TEST_CASE("in drawn drills only intervals that the coin kept free are bet on") {
    const auto read = [](std::optional<bool> may_be_cued) {
        Session session(StartKind::drawn);
        session.start_outside();
        session.plan({});
        const std::uint16_t sequence = session.enter(2s);
        if (may_be_cued) session.script.add(IntervalCoin{sequence, *may_be_cued});
        session.enter(3s);
        return Folded(session.script).score.intervals().at(0);
    };
    CHECK(read(std::nullopt).voided);
    CHECK(read(true).voided);
    CHECK_FALSE(read(false).voided);
}

TEST_CASE("a coin for another entry frees nothing") {
    Session session(StartKind::hunted);
    session.start_outside();
    session.plan({});
    const std::uint16_t sequence = session.enter(2s);
    session.script.add(IntervalCoin{static_cast<std::uint16_t>(sequence + 1), false});
    session.enter(3s);
    CHECK(Folded(session.script).score.intervals().at(0).voided);
}

TEST_CASE("a called attack voids and one that comes by itself cuts") {
    const std::vector<AttackPhase> kick{{Phase::lift, false, 500ms}};
    const auto read = [&](StartKind start) {
        Session session(StartKind::drawn);
        session.start_outside();
        session.plan({});
        const std::uint16_t sequence = session.enter(2s);
        session.script.add(IntervalCoin{sequence, false});
        RepOpened opened;
        opened.start = start;
        opened.onset = session.script.at(set_begin + 8200ms);
        opened.close = session.script.at(set_begin + 9200ms);
        opened.phases = kick;
        session.script.add(opened);
        const std::uint16_t answer = session.enter(set_begin + 8500ms);
        session.script.add(IntervalCoin{answer, false});
        const std::uint16_t after = session.enter(set_begin + 9300ms);
        session.script.add(IntervalCoin{after, false});
        session.enter(set_begin + 10'300ms);
        return Folded(session.script).score.intervals();
    };
    const auto called = read(StartKind::drawn);
    REQUIRE(called.size() == 3);
    CHECK(called[0].voided);
    const auto by_itself = read(StartKind::random);
    REQUIRE(by_itself.size() == 3);
    CHECK_FALSE(by_itself[0].voided);
    CHECK(by_itself[0].cut);
    CHECK_MESSAGE(by_itself[0].length == set_begin + 8s - 2s, "cut where the silence ended, fixed beforehand");
    CHECK_MESSAGE(by_itself[1].voided, "it began in the attack");
    CHECK_FALSE(by_itself[2].voided);
}

TEST_CASE("tapped drills read nothing since the coach sees the athlete move") {
    Session session(StartKind::tapped);
    session.start_outside();
    session.plan({});
    session.enter_all(2s, std::vector<double>(15, 0.82));
    const SessionTotals totals = Folded(session.script).score.totals();
    CHECK(totals.sign == Sign::none);
    CHECK(totals.wealth == doctest::Approx(1).epsilon(1e-12));
}

TEST_CASE("an entry announces the window of the next") {
    Session session;
    session.start_outside();
    session.plan({{60s, 61s}});
    session.enter_all(2s, std::vector<double>(6, 0.8));
    const auto acts = Folded(session.script).all<ActSeen>();
    REQUIRE(acts.size() == 7);
    CHECK_FALSE(acts[0].window_begin);
    REQUIRE(acts[6].window_begin);
    CHECK(*acts[6].window_begin == 650ms);
    CHECK(*acts[6].window_end == 950ms);
}

TEST_CASE("a prior that can't be read counts as none") {
    Session session;
    session.began.prior = "not a prior at all";
    session.script.records.clear();
    session.script.add(session.began);
    session.script.connect({}, 0ms);
    session.start_outside();
    session.plan({{60s, 61s}});
    session.enter_all(2s, golden);
    CHECK(Folded(session.script).score.totals().caught == 8);
}

TEST_CASE("an athlete of free rhythm is left in peace") {
    int told = 0;
    for (std::uint64_t seed = 1; seed <= 50; ++seed) {
        Session session;
        session.start_outside();
        session.plan({{120s, 121s}});
        Random random(seed);
        std::vector<double> intervals;
        for (int i = 0; i < 30; ++i) intervals.push_back(0.5 + random.exponential(0.8));
        session.enter_all(2s, intervals);
        if (Folded(session.script).score.totals().sign == Sign::tell) ++told;
    }
    // The promise is 5 % at most; 7 or more of 50 would come by bad luck once in a hundred times.
    CHECK(told <= 6);
}

TEST_CASE("the same pad or side again and again is told where the athlete is free to choose it") {
    const std::vector<AttackPhase> single{{Phase::lift, false, 110ms},
                                          {Phase::up, false, 170ms},
                                          {Phase::pull_back, false, 140ms},
                                          {Phase::drop, false, 130ms},
                                          {Phase::gap, false, 150ms}};
    const auto fold = [&](PadSet pads, PadRole now_and_then, ReadingMethod method = ReadingMethod::plain) {
        Random random(8);
        Session session;
        session.began.drill.attacks.front().pads = pads;
        session.script.records.clear();
        session.script.add(session.began);
        session.script.connect({}, 0ms);
        session.start_outside();
        std::vector<std::pair<Duration, Duration>> attacks;
        for (int i = 0; i < 24; ++i) attacks.emplace_back(5s + i * 3s, 5700ms + i * 3s);
        session.plan(attacks);
        for (int i = 0; i < 24; ++i) {
            const Duration toe_off = attacks[static_cast<std::size_t>(i)].first;
            session.script.open(RepId{i}, session.began.drill.attacks.front(), single, toe_off, toe_off + 1200ms);
            session.script.confirm(RepId{i}, single, toe_off);
            session.enter(toe_off + 400ms);
            session.script.hit(toe_off + 450ms, random.chance(0.5) ? now_and_then : PadRole::high_left);
            session.script.close(RepId{i}, toe_off + 1200ms);
            session.enter(toe_off + 1300ms + (i * 7 % 5) * 100ms);
        }
        return Folded(session.script, method).score.totals();
    };
    const SessionTotals one_pad = fold(0, PadRole::high_left);
    CHECK(one_pad.sign == Sign::tell);
    CHECK(one_pad.sign_reason.find("you favour the high left pad") == 0);
    const SessionTotals one_side = fold(0, PadRole::low_left);
    CHECK(one_side.sign == Sign::tell);
    CHECK(one_side.sign_reason.find("you favour the left side") == 0);
    // By two signs the same is read, and no matter of tempo.
    const SessionTotals apart = fold(0, PadRole::low_left, ReadingMethod::two_signs);
    CHECK(apart.sign == Sign::none);
    CHECK(apart.sign_reason.empty());
    CHECK(apart.read_sign == Sign::tell);
    CHECK(apart.read_wealth >= 20);
    CHECK(apart.read_reason.find("you favour the left side") == 0);
    CHECK(apart.two_signs);
    CHECK_FALSE(one_side.two_signs);
    CHECK(fold(pad_bit(PadRole::high_left), PadRole::high_left, ReadingMethod::two_signs).read_sign == Sign::none);
    // One pad asked for: the drill chose it.
    CHECK(fold(pad_bit(PadRole::high_left), PadRole::high_left).sign == Sign::none);
}

TEST_CASE("where the athlete leads the count of retreats before an answer is read") {
    const std::vector<AttackPhase> single{{Phase::lift, false, 110ms},
                                          {Phase::up, false, 170ms},
                                          {Phase::pull_back, false, 140ms},
                                          {Phase::drop, false, 130ms},
                                          {Phase::gap, false, 150ms}};
    const auto fold = [&](StartKind start, ReadingMethod method = ReadingMethod::plain, int retreats = 2) {
        Session session(start);
        session.script.cross(1100ms, GateRole::near_mark);
        session.script.cross(1400ms, GateRole::far_mark);
        session.script.cross(1700ms, GateRole::far_mark);  // between the marks
        session.plan({});
        Random random(3);
        // Two retreats, then an answer, ten times over.
        for (int i = 0; i < 45; ++i) {
            const Duration toe_off = 5s + i * 3s;
            RepOpened opened;
            opened.rep = RepId{i};
            opened.start = start;
            opened.onset = session.script.at(toe_off);
            opened.close = session.script.at(toe_off + 1200ms);
            opened.phases = single;
            session.script.add(opened);
            session.script.confirm(RepId{i}, single, toe_off);
            if (i % 3 < retreats) {
                session.script.cross(toe_off + 100ms, GateRole::far_mark);
                if (random.chance(0.5)) {
                    session.script.cross(toe_off + 300ms, GateRole::back_mark);
                    session.script.cross(toe_off + 600ms, GateRole::back_mark);
                }
                session.script.cross(toe_off + 900ms, GateRole::far_mark);
            } else {
                session.script.cross(toe_off + 380ms, GateRole::near_mark);
                session.script.hit(toe_off + 450ms, static_cast<PadRole>(random.below(4)));
                session.script.cross(toe_off + 800ms, GateRole::near_mark);
            }
            session.script.close(RepId{i}, toe_off + 1200ms);
        }
        const Folded folded(session.script, method);
        for (const SignRaised& sign : folded.all<SignRaised>())
            CHECK(sign.kind == (method == ReadingMethod::plain ? SignKind::timed : SignKind::read));
        return folded.score.totals();
    };
    const SessionTotals drawn = fold(StartKind::drawn);
    CHECK(drawn.retreats == 30);
    CHECK(drawn.wealth > 1);
    INFO(drawn.sign_reason);
    CHECK(drawn.sign != Sign::none);
    CHECK(drawn.sign_reason.find("after two retreats you go") == 0);
    const SessionTotals apart = fold(StartKind::drawn, ReadingMethod::two_signs);
    CHECK(apart.sign == Sign::none);
    CHECK(apart.read_sign != Sign::none);
    CHECK(apart.read_reason.find("after two retreats you go") == 0);
    // Who never retreats is no clock, but the plain method called it one.
    const SessionTotals never = fold(StartKind::hunted, ReadingMethod::two_signs, 0);
    CHECK(never.sign == Sign::none);
    CHECK(never.read_sign == Sign::none);
    CHECK(never.read_reason.empty());
    CHECK(fold(StartKind::hunted, ReadingMethod::plain, 0).sign_reason.find("without a retreat you go") == 0);
    // Where the drill sets the moments, and asks for an answer each time, it is not read.
    CHECK(fold(StartKind::tapped).sign == Sign::none);
}

TEST_CASE("a set that was somebody else's takes back all that its rhythm told, and the next one is read on") {
    const auto made = [](bool second, bool moved, bool third) {
        Session session;
        session.start_outside();
        session.plan({{20s, 21s}});
        session.enter_all(2s, {1.1, 0.7, 1.9, 0.6, 1.4});
        session.script.add(SetEnded{0, false});
        const auto one_set = [&](std::int32_t set, Duration from, double beat) {
            SetPlanned planned{set, session.script.at(from), false, {}};
            planned.reps.push_back({RepId{set}, session.script.at(from + 30s), session.script.at(from + 31s)});
            session.script.add(planned);
            session.script.cross(from, GateRole::far_mark);
            session.enter_all(from + 1s, std::vector<double>(15, beat));
            session.script.open(RepId{set}, AttackChoice{}, {{Phase::lift, false, 200ms}}, from + 30s, from + 31s);
            std::get<RepOpened>(session.script.records.back().event).set = set;
            session.script.close(RepId{set}, from + 31s);
            session.script.add(SetEnded{set, false});
        };
        if (second) one_set(1, 100s, 0.82);
        if (moved) session.script.void_rep(RepId{1}, VoidReason::other_athlete);
        if (third) one_set(2, 200s, 1.3);
        return Folded(session.script).score;
    };
    const Score own = made(false, false, false), both = made(true, false, false), back = made(true, true, false);
    CHECK(both.totals().sign == Sign::tell);
    CHECK(back.totals().sign == own.totals().sign);
    CHECK(back.totals().windows == own.totals().windows);
    CHECK(back.totals().caught == own.totals().caught);
    CHECK(back.intervals().size() == own.intervals().size());
    CHECK(back.totals().voids == 1);
    // What comes after it is the athlete's own again.
    const Score after = made(true, true, true), without = made(false, false, true);
    CHECK(after.intervals().size() == without.intervals().size());
    CHECK(after.totals().windows == without.totals().windows);
    CHECK(after.totals().caught == without.totals().caught);
}
