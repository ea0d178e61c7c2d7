// How a simulated athlete starts sets, steps in and out by habit, gives ground, and stays readable for gates.
#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <string>

#include "athlete_run.hpp"
#include "core/reading/tempo_test.hpp"
#include "devices/simulated/scripted_athlete.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

AthleteSettings with_habit(const Habit& habit, std::uint64_t seed) {
    AthleteSettings settings;
    settings.profile = typical_athlete(Level::advanced);
    settings.profile.habit = habit;
    settings.profile.guesses = 0;
    settings.seed = seed;
    settings.patience = 36000s;
    return settings;
}

/// Intervals between entries, in s, over so much waiting in which nothing comes.
std::vector<double> intervals(const AthleteSettings& settings, Duration waiting) {
    AthleteRun run(settings);
    const HostTime begin = run.begin_set();
    run.run_for(waiting);
    std::vector<double> lengths;
    HostTime last{};
    bool inside = false;
    for (const HostTime pass : run.passes(GateRole::near_mark)) {
        if (pass < begin) continue;
        inside = !inside;
        if (!inside) continue;
        if (last > HostTime{}) lengths.push_back(milliseconds(pass - last) / 1000);
        last = pass;
    }
    return lengths;
}

double lag_one(const std::vector<double>& values) {
    const Moments found = moments(values);
    double sum = 0;
    for (std::size_t i = 1; i < values.size(); ++i) sum += (values[i] - found.mean) * (values[i - 1] - found.mean);
    return sum / static_cast<double>(values.size()) / (found.deviation * found.deviation);
}

}  // namespace

TEST_CASE("the memoryless one's entries are a shift and an exponential") {
    const Habit habit{HabitKind::memoryless, 1100ms, 0, 680ms, 0};
    std::vector<double> waits = intervals(with_habit(habit, 5), 3600s);
    REQUIRE(waits.size() > 1500);
    for (double& wait : waits) wait -= 0.68;
    const Moments found = moments(waits);
    CHECK(*std::min_element(waits.begin(), waits.end()) >= -1e-6);
    const double n = static_cast<double>(waits.size());
    CHECK(std::abs(found.mean - 1.1) < 4 * 1.1 / std::sqrt(n));
    CHECK(std::abs(found.deviation / found.mean - 1) < 0.1);
    // Kolmogorov-Smirnov against Exp(1.1): the 1 % point of sqrt(n) D is 1.628 (from memory).
    std::sort(waits.begin(), waits.end());
    double largest = 0;
    for (std::size_t i = 0; i < waits.size(); ++i) {
        const double law = 1 - std::exp(-waits[i] / 1.1);
        largest = std::max(
            {largest, std::abs(law - static_cast<double>(i) / n), std::abs(law - static_cast<double>(i + 1) / n)});
    }
    CHECK(std::sqrt(n) * largest < 1.628);
    CHECK(std::abs(lag_one(intervals(with_habit(habit, 6), 3600s))) < 4 / std::sqrt(n));
}

TEST_CASE("the metronome keeps its beat with the spread it is set to") {
    for (const double spread : {0.06, 0.12}) {
        const Habit habit{HabitKind::metronome, 1100ms, spread, 680ms, 0};
        const auto beats = intervals(with_habit(habit, 7), 1200s);
        REQUIRE(beats.size() > 800);
        const Moments found = moments(beats);
        CHECK(found.mean == doctest::Approx(1.1).epsilon(0.02));
        // Standard error of an SD: 1/sqrt(2n) of it, 2.5 % here (by definition); four of them.
        CHECK(found.deviation / found.mean == doctest::Approx(spread).epsilon(0.10));
    }
}

TEST_CASE("long-short takes turns") {
    const Habit habit{HabitKind::long_short, 1100ms, 0.06, 680ms, 0};
    const auto beats = intervals(with_habit(habit, 8), 600s);
    REQUIRE(beats.size() > 300);
    CHECK(lag_one(beats) < -0.8);
    CHECK(moments(beats).mean == doctest::Approx(1.1).epsilon(0.03));
}

TEST_CASE("of the club, Heron can be timed and Curlew can't") {
    // The warning's own promise: at most 5 % of unpredictable drills reach 20 (Ville's inequality).
    const auto told = [](std::string_view call_sign) {
        int count = 0;
        for (std::uint64_t seed = 1; seed <= 40; ++seed) {
            AthleteSettings settings;
            settings.profile = *find_athlete(call_sign);
            settings.profile.guesses = 0;
            settings.seed = seed;
            settings.patience = 36000s;
            auto lengths = intervals(settings, 90s);
            if (lengths.size() > 24) lengths.resize(24);
            reading::TempoTest test;
            double most = 1;
            for (const double length : lengths) {
                test.predict(530ms);
                test.entered(Duration(static_cast<std::int64_t>(length * 1e9)));
                most = std::max(most, test.wealth());
            }
            count += most >= 20 ? 1 : 0;
        }
        return count;
    };
    CHECK(told("Heron") >= 38);
    CHECK(told("Curlew") <= 4);  // 2 expected at most; 4 or fewer has a chance of .95 at 5 % (binomial)
}

TEST_CASE("it starts a set only when the ready lamp alone is lit, and stands at home through the count") {
    AthleteRun run(with_habit({}, 9));
    run.run_for(60s);
    CHECK(run.strikes.empty());
    const HostTime lit = run.now;
    run.begin_set();
    CHECK(run.strikes.front().at - lit > 1s);
    CHECK(run.strikes.front().at - lit < 6s);
    CHECK(run.passes(GateRole::back_mark).empty());  // behind it, a count is cancelled
    CHECK(run.athlete.place() == Place::home);
    CHECK(run.strikes.size() == 1);
}

TEST_CASE("a start that was not taken is tried again, and after a set the next one begins the same way") {
    AthleteRun run(with_habit({}, 10));
    run.lamps(lamp_bit(LampRole::ready));
    run.run_for(20s);
    CHECK(run.strikes.size() >= 3);
    run.lamps(0);
    run.run_for(30s);
    const std::size_t before = run.strikes.size();
    run.begin_set();
    (void)run.play_after_wait(opponent_defaults(Level::intermediate), AttackKind::single);
    run.run_for(1s);
    const std::size_t after_one = run.strikes.size();
    CHECK(after_one > before);
    run.begin_set();
    CHECK(run.strikes.size() == after_one + 1);
}

TEST_CASE("one that gives ground twice does so before every answer") {
    AthleteSettings settings = with_habit({HabitKind::memoryless, 3600s, 0, 360000s, 0}, 11);
    settings.profile = still_athlete(Level::advanced);
    settings.profile.ground = {0, 0, 1, 0};
    AthleteRun run(settings);
    run.begin_set();
    std::string answers;
    for (int i = 0; i < 30; ++i) {
        const auto played = run.play_after_wait(opponent_defaults(Level::advanced), AttackKind::single);
        answers += played.strike ? 'x' : '-';
    }
    // The first attack is answered before any count of retreats was drawn.
    CHECK(answers.substr(0, 16) == "x--x--x--x--x--x");
}

TEST_CASE("its passes of a mark can be told apart by gates, and every beam it breaks it leaves") {
    for (const AthleteProfile& profile : demo_club()) {
        AthleteSettings settings;
        settings.profile = profile;
        settings.seed = 12;
        AthleteRun run(settings);
        run.begin_set();
        for (int i = 0; i < 25; ++i)
            (void)run.play_after_wait(opponent_defaults(profile.grade),
                                      i % 4 == 3 ? AttackKind::feint : AttackKind::single);
        run.run_for(5s);
        std::map<GateRole, int> bodies;
        std::map<GateRole, std::vector<HostTime>> breaks;
        for (const BeamAct& beam : run.beams) {
            bodies[beam.gate] += beam.blocked ? 1 : -1;
            if (beam.blocked) breaks[beam.gate].push_back(beam.at);
        }
        for (const auto& [gate, count] : bodies) CHECK(count == 0);
        for (auto& [gate, times] : breaks) {
            // Two legs a pass: gaps between breaks are those of legs, or those of passes of their own.
            for (std::size_t i = 1; i < times.size(); ++i) {
                const Duration gap = times[i] - times[i - 1];
                CHECK(gap >= 0ns);
                CHECK((i % 2 == 1 ? gap < 500ms : gap >= 250ms));
            }
        }
    }
}

TEST_CASE("the club has ten birds, each found by its call-sign in any case") {
    std::set<std::string_view> names;
    for (const AthleteProfile& athlete : demo_club()) names.insert(athlete.call_sign);
    CHECK(names.size() == demo_club().size());
    CHECK(names.size() >= 8);
    REQUIRE(find_athlete("hErOn").has_value());
    CHECK(find_athlete("heron")->habit.kind == HabitKind::metronome);
    CHECK(find_athlete("Curlew")->habit.kind == HabitKind::memoryless);
    CHECK_FALSE(find_athlete("Dodo").has_value());
    CHECK_FALSE(find_athlete("").has_value());
}

TEST_CASE("practice moves timing and choosing, never reactions, speed, age or habit, and never past its goal") {
    AthleteProfile from = typical_athlete(Level::beginner);
    from.age = 11;
    from.habit = Habit{HabitKind::metronome, 900ms, 0.06, 680ms, 0};
    const AthleteProfile goal = typical_athlete(Level::advanced);
    const AthleteProfile half = practised(from, goal, 0.5);
    CHECK(half.timing_ms == doctest::Approx((from.timing_ms + goal.timing_ms) / 2));
    CHECK(half.impulsive == doctest::Approx((from.impulsive + goal.impulsive) / 2));
    CHECK(half.picks == doctest::Approx((from.picks + goal.picks) / 2));
    CHECK(half.reaction.mu == from.reaction.mu);
    CHECK(half.speed == from.speed);
    CHECK(half.age == from.age);
    CHECK(half.habit.kind == HabitKind::metronome);
    CHECK(half.habit.beat == 900ms);
    CHECK(practised(from, goal, 1.4).timing_ms == goal.timing_ms);
    CHECK(practised(from, goal, -0.4).timing_ms == from.timing_ms);
}

TEST_CASE("a scripted athlete does exactly what the script says") {
    Script script;
    script.after_lamps = {{0, 0, 250ms, ScriptStrike{PadRole::low_left, 0.8}},
                          {0, 3, 10ms, ScriptPass{GateRole::near_mark, 100ms, 40ms}},
                          {1, 0, 0ms, ScriptBeam{GateRole::far_mark, true}}};
    script.at_times = {{HostTime(170s), ScriptStrike{PadRole::high_right, 0.5}}};
    ScriptedAthlete athlete(script, HostTime(100s));
    std::vector<AthleteAct> acts;
    const auto show = [&](Duration since, LampSet lit) {
        while (athlete.next_due() && *athlete.next_due() <= HostTime(100s) + since) athlete.due(*athlete.next_due());
        athlete.lamps(HostTime(100s) + since, lit);
    };
    show(1s, lamp_bit(LampRole::ready));
    show(3s, count_lamps(1));
    show(4s, 0);
    show(6s, lamps_of(Phase::lift));
    show(6200ms, lamps_of(Phase::up));
    show(6400ms, lamps_of(Phase::pull_back));
    show(6600ms, lamps_of(Phase::drop));
    show(6800ms, 0);
    show(7300ms, lamps_of(Phase::lift));  // a reset's second lift: the same attack
    show(7400ms, 0);
    show(9s, lamps_of(Phase::lift));
    show(80s, 0);
    athlete.take_acts(acts);
    REQUIRE(acts.size() == 8);
    const auto strike_at = [&](std::size_t i) { return std::get<StrikeAct>(acts[i]).at - HostTime(100s); };
    CHECK(strike_at(0) == 2s);  // starts the set a second after the ready lamp
    CHECK(strike_at(1) == 6250ms);
    CHECK(std::get<StrikeAct>(acts[1]).pad == PadRole::low_left);
    CHECK(std::get<BeamAct>(acts[2]).at - HostTime(100s) == 6610ms);
    CHECK(std::get<BeamAct>(acts[4]).at - HostTime(100s) == 6710ms);
    CHECK(std::get<BeamAct>(acts[6]).at - HostTime(100s) == 9s);
    CHECK(strike_at(7) == 70s);
}
