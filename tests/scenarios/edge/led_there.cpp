// The edge through the whole chain: a partner on a simulated rig gives ground, comes to the end of their room and kicks
// there; one athlete leads them there, one crowds them, one never presses. Real bytes, the drill as it stands in
// config.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

#include "club/results/results.hpp"
#include "core/progress/rungs.hpp"
#include "core/score/exchange.hpp"
#include "hall/scene/advice.hpp"
#include "report/drawing/exchange_words.hpp"
#include "settings/drill_file.hpp"
#include "settings/next_file.hpp"
#include "store/rep_fact.hpp"
#include "support/fast_run.hpp"

using namespace breakstep;

namespace {

Drill edge_drill() {
    auto drill = load_drill("edge", Settings{});
    REQUIRE_MESSAGE(drill.has_value(), (drill ? "" : drill.error().text()));
    drill->rest = 5s;
    return *drill;
}

enum class Who { leads, crowds, never_presses };
constexpr Who everyone[] = {Who::leads, Who::crowds, Who::never_presses};
const char* name_of(Who who) { return who == Who::leads ? "leads" : who == Who::crowds ? "crowds" : "never presses"; }

AthleteProfile profile(Who who, AdviceKind follows = AdviceKind::none) {
    AthleteProfile athlete = typical_athlete(Level::advanced);
    if (who == Who::crowds) athlete.crowds = 0.9;
    if (who == Who::never_presses) athlete.passive = 1;
    athlete.follows = follows;
    return athlete;
}

/// What truly happened, beside what was told.
struct Played {
    std::vector<RepResult> reps;
    scoring::EdgeCounts counts;
    int truly_least = 0, truly_most = 0;  ///< visits to the edge in sets; those at a set's very border may count or not
    std::vector<AdviceKind> advice;       ///< after each set
    [[nodiscard]] bool told(AdviceKind kind) const {
        return std::find(advice.begin(), advice.end(), kind) != advice.end();
    }
};

SimulatedTargetSettings rig(std::uint64_t seed) { return for_a_partner(simulated_target_settings(seed)); }

Played played(const AthleteProfile& athlete, const Drill& drill, std::uint64_t seed) {
    FastRun run(seed, rig(seed));
    run.target.set_partner(run.driver.now(), PartnerSettings::for_drill(drill, seed));
    run.target.set_athlete(run.driver.now(), AthleteSettings::for_drill(athlete, drill, seed));
    const auto how = run.run(drill, seed);
    REQUIRE(how.has_value());
    REQUIRE(*how == SessionEnd::finished);
    Played done;
    done.reps = run.score().reps();
    const auto counts = scoring::edge_counts(run.score().exchange(), done.reps);
    REQUIRE(counts.has_value());
    done.counts = *counts;
    constexpr Duration border = 60ms;
    std::vector<std::pair<HostTime, HostTime>> sets;
    for (const JournalRecord& record : run.records()) {
        if (std::holds_alternative<SetPlanned>(record.event)) sets.push_back({record.recorded, record.recorded});
        if (std::holds_alternative<SetEnded>(record.event)) sets.back().second = record.recorded;
    }
    for (const HostTime at : run.target.partner()->at_the_edge())
        for (const auto& [begin, end] : sets) {
            done.truly_least += at > begin + border && at < end - border ? 1 : 0;
            done.truly_most += at > begin - border && at < end + border ? 1 : 0;
        }
    for (int set = 0; set < drill.sets; ++set) {
        std::vector<RepResult> reps;
        for (const RepResult& rep : done.reps)
            if (rep.set == set) reps.push_back(rep);
        done.advice.push_back(advice_of(reps, run.score().totals().sign, drill.start).kind);
    }

    // Through the bytes and once more: the same to the bit.
    Score again;
    std::vector<ScoreResult> ignored;
    for (const JournalRecord& record : run.records()) {
        std::string bytes;
        encode(record.event, bytes);
        const auto read = decode(kind_of(record.event), bytes);
        REQUIRE(read.has_value());
        again.fold({record.position, record.recorded, *read}, ignored);
    }
    CHECK(again.reps() == done.reps);
    CHECK(again.totals() == run.score().totals());
    CHECK(scoring::edge_counts(again.exchange(), again.reps()) == counts);
    return done;
}

int passes(const std::vector<RepResult>& reps) {
    return static_cast<int>(std::count_if(reps.begin(), reps.end(), [](const RepResult& rep) {
        return rep.verdict != Verdict::void_rep && rep.rung_hit.value_or(false);
    }));
}
int attacks(const std::vector<RepResult>& reps) {
    return static_cast<int>(std::count_if(reps.begin(), reps.end(), [](const RepResult& rep) { return rep.scored; }));
}

}  // namespace

TEST_CASE("who leads is done far more often than who crowds and who never presses, and each is told their own") {
    const Drill drill = edge_drill();
    int done[3] = {}, all[3] = {};
    scoring::EdgeCounts sum[3];
    int told_crowding[3] = {}, told_to_press[3] = {}, called_crowding[3] = {};
    constexpr int sessions = 6;
    for (int i = 0; i < sessions; ++i)
        for (const Who who : everyone) {
            const auto w = static_cast<std::size_t>(who);
            const Played one = played(profile(who), drill, 200 + static_cast<std::uint64_t>(i));
            done[w] += passes(one.reps);
            all[w] += attacks(one.reps);
            sum[w].led += one.counts.led;
            sum[w].crowded += one.counts.crowded;
            sum[w].unknown += one.counts.unknown;
            sum[w].attacked += one.counts.attacked;
            sum[w].answered += one.counts.answered;
            told_crowding[w] += one.told(AdviceKind::lead_from_outside) ? 1 : 0;
            called_crowding[w] +=
                edge_words(one.counts).claim.find("crowding is not leading") != std::string::npos ? 1 : 0;
            told_to_press[w] += one.told(AdviceKind::press_back) ? 1 : 0;
            // Each visit that the partner truly made, and no other.
            const auto told = one.counts.led + one.counts.crowded + one.counts.unknown;
            CHECK(told >= one.truly_least);
            CHECK(told <= one.truly_most);
        }
    for (const Who who : everyone) {
        const auto w = static_cast<std::size_t>(who);
        const std::string name = name_of(who);
        MESSAGE(name << ": done " << done[w] << " of " << all[w] << "; led " << sum[w].led << ", too close "
                     << sum[w].crowded << ", unknown " << sum[w].unknown << ", attacked " << sum[w].attacked << ", met "
                     << sum[w].answered);
        CHECK(done[w] == sum[w].answered);
    }
    CHECK(sum[0].led > 5 * sum[0].crowded);
    CHECK(sum[1].crowded > 3 * sum[1].led);
    CHECK(sum[2].led + sum[2].crowded == 0);
    CHECK(3 * done[0] > all[0]);
    CHECK(10 * done[1] < all[1]);
    CHECK(done[2] == 0);
    // Advice wants two attacks of a set that say so; that it was crowding stands at each rest.
    CHECK(told_crowding[1] >= sessions / 2);
    CHECK(called_crowding[1] == sessions);
    CHECK(called_crowding[2] == 0);
    CHECK(told_to_press[2] >= sessions - 1);
    CHECK(told_crowding[0] + told_crowding[2] == 0);
    CHECK(told_to_press[0] <= 1);
    CHECK(told_to_press[1] <= 1);
}

namespace {

/// How many of so many athletes have passed the ladder's last rung by this drill alone after so many evenings, and what
/// share of the counted reps was done.
struct Climbed {
    int passed = 0;
    std::uint64_t done = 0, counted = 0;
};

Climbed climbed(Who who, int athletes, int evenings) {
    const auto rungs = load_ladder();
    REQUIRE_MESSAGE(rungs.has_value(), (rungs ? "" : rungs.error().text()));
    const Drill drill = edge_drill();
    progress::RungFold fold(static_cast<std::size_t>(athletes), *rungs);
    for (int athlete = 0; athlete < athletes; ++athlete)
        for (int evening = 0; evening < evenings; ++evening) {
            progress::SessionFact session;
            session.athlete = static_cast<std::size_t>(athlete);
            session.day = evening;
            session.start = drill.start;
            session.level = drill.level;
            session.drill = drill.name;
            fold.begin(session);
            const auto seed = static_cast<std::uint64_t>(1000 * (athlete + 1) + evening);
            for (const RepResult& rep : played(profile(who), drill, seed).reps) fold.add(fact_of(rep));
        }
    Climbed all;
    for (int athlete = 0; athlete < athletes; ++athlete)
        for (const auto& standing : fold.standings(static_cast<std::size_t>(athlete))) {
            if (standing.name != "leading") {
                CHECK(standing.reps == 0);
                continue;
            }
            all.passed += standing.passed ? 1 : 0;
            all.done += standing.on_time;
            all.counted += standing.reps;
        }
    return all;
}

}  // namespace

TEST_CASE(
    "on the ladder's last rung the first set of an evening counts, from the second on, and only who leads climbs") {
    for (const Who who : everyone) {
        const Climbed all = climbed(who, 2, 3);
        CAPTURE(name_of(who));
        CHECK(all.counted >= 4);
        CHECK(all.counted < 2 * 2 * 15);
        if (who == Who::leads)
            CHECK(4 * all.done > all.counted);
        else
            CHECK(10 * all.done < all.counted);
        if (who != Who::leads) CHECK(all.passed == 0);
    }
}

TEST_CASE("what is advised helps who does it") {
    const Drill drill = edge_drill();
    for (const auto& [who, advice] : {std::pair(Who::crowds, AdviceKind::lead_from_outside),
                                      std::pair(Who::never_presses, AdviceKind::press_back)}) {
        int without = 0, with = 0;
        for (std::uint64_t seed = 400; seed < 404; ++seed) {
            without += passes(played(profile(who), drill, seed).reps);
            with += passes(played(profile(who, advice), drill, seed).reps);
        }
        MESSAGE("done in 4 sessions without it " << without << ", with it " << with);
        CHECK(with >= 10);
        CHECK(with > 4 * without);
    }
}

TEST_CASE("a rig without the gate: the session ends before anything starts, and it is said what to do") {
    const Drill drill = edge_drill();
    for (const GateRole gone : {GateRole::partner_back_mark, GateRole::near_mark}) {
        SimulatedTargetSettings settings = rig(3);
        std::erase(settings.rig.gates, gone);
        FastRun run(3, settings);
        run.target.set_partner(run.driver.now(), PartnerSettings::for_drill(drill, 3));
        run.target.set_athlete(run.driver.now(), AthleteSettings::for_drill(profile(Who::leads), drill, 3));
        const auto how = run.run(drill, 3);
        REQUIRE(how.has_value());
        CHECK(*how == SessionEnd::no_edge_gates);
        CHECK(run.score().reps().empty());
        const auto& notices = run.driver.core().health_notices();
        REQUIRE_FALSE(notices.empty());
        CHECK(notices.back().to_do.find("across the back of the partner's box") != std::string::npos);
    }
}

TEST_CASE("a rig of a newer kind, whose gates have roles unknown here, runs the drill all the same") {
    // Its number counts, what it says does not.
    SimulatedTargetSettings settings = rig(4);
    settings.rig.gates[3] = static_cast<GateRole>(9);  // the attack line's socket
    const Drill drill = edge_drill();
    FastRun run(4, settings);
    run.target.set_partner(run.driver.now(), PartnerSettings::for_drill(drill, 4));
    run.target.set_athlete(run.driver.now(), AthleteSettings::for_drill(profile(Who::leads), drill, 4));
    const auto how = run.run(drill, 4);
    REQUIRE(how.has_value());
    CHECK(*how == SessionEnd::finished);
    CHECK(scoring::edge_counts(run.score().exchange(), run.score().reps())->led > 0);
}

TEST_CASE("how many pass by this drill in twelve evenings" * doctest::skip()) {
    for (const Who who : everyone) {
        const Climbed all = climbed(who, 6, 12);
        const std::string name = name_of(who);
        MESSAGE(name << ": " << all.passed << " of 6 passed, " << all.done << " of " << all.counted << " done");
    }
}
