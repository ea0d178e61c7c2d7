// A partner's kept drills make an opponent who kicks like them: shares, order, pace; and what can be read of the one
// can be read of the other.
#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <functional>
#include <optional>
#include <utility>
#include <vector>

#include "club/opponents/copied_opponent.hpp"
#include "core/copying/partner_study.hpp"
#include "core/trade/plan.hpp"
#include "hall/drivers/fast_driver.hpp"
#include "settings/countering_keys.hpp"
#include "settings/drill_file.hpp"
#include "store/memory_journal.hpp"
#include "support/kicks.hpp"

using namespace breakstep;
using testing::can_be_read;

namespace {

constexpr HostTime begin{Duration{1'000'000'000}};
constexpr int drills = 5;

PartnerSettings partner_with(std::optional<std::pair<AttackKind, AttackKind>> habit, std::uint64_t seed) {
    PartnerSettings leg;
    leg.seed = seed;
    leg.own_pace = 1000ms;
    // Single, reset, hands and feint alike: none of them is a favourite.
    leg.own_kinds = {1, 0, 0, 1, 1, 1};
    leg.own_habit = habit;
    leg.lengths = opponent_defaults(Level::advanced);
    return leg;
}

/// A simulated rig whose sessions are studied as they run.
struct StudiedRig {
    explicit StudiedRig(std::uint64_t seed) : target(for_a_partner(simulated_target_settings(seed)), begin) {
        driver.core().on_records = [this](SessionId, std::span<const JournalRecord> records) {
            for (const JournalRecord& record : records) study.fold(record);
        };
    }
    SimulatedTarget target;
    VirtualCues cues{nullptr, begin};
    MemoryJournal journal;
    FastDriver driver{EngineSettings{}, target, journal, cues, nullptr, begin};
    copying::PartnerStudy study;
};

/// Five free exchanges at the simulated rig.
copying::PartnerStudy studied(const std::function<PartnerSettings(std::uint64_t)>& partner,
                              const AthleteProfile& athlete, std::uint64_t seed) {
    StudiedRig rig(seed);
    auto drill = load_drill("free-exchange", Settings{});
    REQUIRE(drill.has_value());
    drill->rest = 5s;
    for (int i = 0; i < drills; ++i) {
        const std::uint64_t one = seed + static_cast<std::uint64_t>(i);
        SessionBegan session;
        session.session = SessionId{one + 1};
        session.athlete = AthleteId{7};
        session.seed = one;
        session.drill = *drill;
        session.participants = {{ParticipantRole::athlete, AthleteId{7}, Side::right},
                                {ParticipantRole::partner, AthleteId{8}, Side::right}};
        rig.driver.pass(5s);
        rig.target.set_partner(rig.driver.now(), partner(one));
        rig.target.set_athlete(rig.driver.now(), {athlete, drill->attacks, one});
        REQUIRE(rig.driver.run(session, {}, 3600s).has_value());
    }
    return std::move(rig.study);
}

Drill copied(const copying::PartnerCopy& copy) {
    Athlete partner;
    partner.id = AthleteId{8};
    partner.call_sign = "Dunlin";
    auto opponent = parse_opponent(opponent_text(copy, partner), "copy.toml", "copy", Settings{});
    if (!opponent) FAIL(opponent.error().what);
    return *opponent;
}

/// As many kicks of the copy as of the partner, in sets of as many as their stretches.
std::vector<std::vector<AttackKind>> kicks_of(const Drill& copy, const std::vector<std::vector<AttackKind>>& as_many,
                                              std::uint64_t seed) {
    std::vector<std::vector<AttackKind>> kicks;
    std::int32_t set = 0;
    for (const auto& stretch : as_many) {
        auto& one = kicks.emplace_back();
        for (const PlannedAttack& planned :
             plan_set(copy, seed, set++, static_cast<std::int32_t>(stretch.size()), 1, 0))
            if (!planned.catch_trial) one.push_back(copy.attacks[static_cast<std::size_t>(planned.attack)].kind);
    }
    return kicks;
}

/// Kicks of the partner's own law, without a rig.
std::vector<std::vector<AttackKind>> kicks_by_law(const PartnerSettings& law,
                                                  const std::vector<std::vector<AttackKind>>& as_many, Random& random) {
    constexpr AttackKind alike[] = {AttackKind::single, AttackKind::reset, AttackKind::leg_to_hands, AttackKind::feint};
    std::vector<std::vector<AttackKind>> kicks;
    std::optional<AttackKind> last;
    for (const auto& stretch : as_many) {
        auto& one = kicks.emplace_back();
        while (one.size() < stretch.size()) {
            const bool habit = law.own_habit && last == law.own_habit->first && random.chance(law.own_habit_share);
            last = habit ? law.own_habit->second : alike[random.below(4)];
            one.push_back(*last);
        }
    }
    return kicks;
}

/// In how many of a hundred runs as long as the partner's the reading tells.
int told_of_a_hundred(const std::function<std::vector<std::vector<AttackKind>>(std::uint64_t)>& kicks) {
    int told = 0;
    for (std::uint64_t run = 0; run < 100; ++run) told += can_be_read(kicks(run)) ? 1 : 0;
    return told;
}

using Counts = std::array<double, copying::kind_count>;
Counts counts_of(const std::vector<std::vector<AttackKind>>& kicks, double& all) {
    Counts counts{};
    all = 0;
    for (const auto& stretch : kicks)
        for (const AttackKind kind : stretch) {
            ++counts[static_cast<std::size_t>(kind)];
            ++all;
        }
    return counts;
}

}  // namespace

namespace {

void has_the_partners_lengths(const copying::PartnerCopy& copy, const Drill& opponent) {
    const OpponentSettings& true_lengths = opponent_defaults(Level::advanced);
    CHECK(copy.level == Level::advanced);
    const auto near = [](Duration one, Duration other) {
        return std::abs(static_cast<double>(one.count()) / static_cast<double>(other.count()) - 1) < 0.05;
    };
    CHECK(near(opponent.opponent.drop.mean, true_lengths.drop.mean));
    CHECK(near(opponent.opponent.lift.mean, true_lengths.lift.mean));
    CHECK(near(opponent.opponent.up.mean + opponent.opponent.pull_back.mean,
               true_lengths.up.mean + true_lengths.pull_back.mean));
    CHECK(near(opponent.opponent.feint.mean, true_lengths.feint.mean));
    CHECK(opponent.opponent.spread == doctest::Approx(true_lengths.spread).epsilon(0.3));
    // At least 1.2 s, and 1 s more in the mean, from the end of the kick before.
    CHECK(opponent.wait_minimum > 1100ms);
    CHECK(opponent.wait_minimum < 1450ms);
    CHECK(opponent.wait_minimum + opponent.wait_extra > 1900ms);
    CHECK(opponent.wait_minimum + opponent.wait_extra < 2600ms);
}

void has_the_partners_shares(const std::vector<std::vector<AttackKind>>& partner,
                             const std::vector<std::vector<AttackKind>>& copy) {
    double n = 0, m = 0;
    const Counts theirs = counts_of(partner, n), its = counts_of(copy, m);
    CHECK(n == m);
    for (std::size_t i = 0; i < copying::kind_count; ++i) {
        const double p = (theirs[i] + its[i]) / (n + m);
        CAPTURE(i);
        CHECK(std::abs(theirs[i] / n - its[i] / m) <= 3 * std::sqrt(p * (1 - p) * (1 / n + 1 / m)) + 1 / n);
    }
}

/// Of a hundred runs each: the partner's own law, and the copy learned from five drills of it.
struct ToldOfARig {
    int law = 0, copy = 0;
};

ToldOfARig told_of_a_rig(std::optional<std::pair<AttackKind, AttackKind>> habit, std::uint64_t seed) {
    CAPTURE(habit.has_value());
    CAPTURE(seed);
    const copying::PartnerStudy study =
        studied([&](std::uint64_t one) { return partner_with(habit, one); }, *find_athlete("Curlew"), seed);
    const copying::PartnerCopy copy = study.copy();
    CHECK(copy.sessions == drills);
    REQUIRE(copy.own_kicks >= 150);
    CHECK(copy.order.any() == habit.has_value());
    CHECK(can_be_read(study.stretches()) == habit.has_value());
    const Drill opponent = copied(copy);
    has_the_partners_shares(study.stretches(), kicks_of(opponent, study.stretches(), seed));
    has_the_partners_lengths(copy, opponent);
    Random random(seed);
    const ToldOfARig told{
        told_of_a_hundred(
            [&](std::uint64_t) { return kicks_by_law(partner_with(habit, seed), study.stretches(), random); }),
        told_of_a_hundred([&](std::uint64_t run) { return kicks_of(opponent, study.stretches(), seed + run); })};
    MESSAGE(copy.own_kicks, " kicks: told of 100 runs by the partner's law ", told.law, ", by the copy ", told.copy);
    return told;
}

}  // namespace

TEST_CASE(
    "a copy learned from five partner drills has the partner's shares, order and pace, and can be read where they "
    "can") {
    constexpr int partners = 8;
    double law = 0, copy = 0, squares = 0;
    for (std::uint64_t partner = 0; partner < partners; ++partner) {
        const ToldOfARig told =
            told_of_a_rig(std::pair{AttackKind::leg_to_hands, AttackKind::feint}, 300 + 100 * partner);
        CHECK(told.law >= 90);
        law += told.law;
        copy += told.copy;
        squares += told.copy * told.copy;
    }
    law /= partners;
    copy /= partners;
    const double error = std::sqrt((squares / partners - copy * copy) / (partners - 1));
    MESSAGE("a habit, told of 100 runs by the partners' laws ", law, ", by their copies ", copy, ", give or take ",
            error);
    // Counting under 300 kicks costs 2 of 100 (unit/copying).
    CHECK(copy >= law - 2 - 3 * error);
    CHECK(copy >= 90);
}

TEST_CASE("a copy of a partner without a habit has none") {
    for (const std::uint64_t seed : {300U, 400U, 500U, 600U}) {
        const ToldOfARig told = told_of_a_rig(std::nullopt, seed);
        // A promise of 1 in 40 for this stream, and three standard errors.
        CHECK(told.law <= 7);
        CHECK(told.copy <= 7);
    }
}

TEST_CASE("a partner who goes at a retreat is copied so, and the copy goes as often and as soon") {
    // Chance of 90 in 100, and three standard errors of a hundred waits.
    constexpr double springs = 0.9, off = 0.09;
    AthleteProfile athlete = *find_athlete("Curlew");
    athlete.habit.roams = 0.7;
    for (const std::int32_t retreats : {1, 2})
        for (const std::uint64_t seed : {700U, 800U, 900U}) {
            CAPTURE(retreats);
            CAPTURE(seed);
            const auto partner = [&](std::uint64_t one) {
                PartnerSettings leg = partner_with(std::nullopt, one);
                leg.own_pace = 6000ms;
                leg.springs_at_retreat = retreats;
                leg.springs = springs;
                leg.springs_after = 450ms;
                return leg;
            };
            const copying::PartnerCopy copy = studied(partner, athlete, seed).copy();
            const auto& manner = retreats == 1 ? copy.after_one_retreat : copy.after_two_retreats;
            REQUIRE(manner.has_value());
            CHECK_FALSE((retreats == 1 ? copy.after_two_retreats : copy.after_one_retreat).has_value());
            MESSAGE("after ", retreats, ": goes in ", manner->share, ", ", manner->delay.count() / 1'000'000,
                    " ms after");
            CHECK(std::abs(manner->share - springs) <= off);
            CHECK(manner->delay > 420ms);
            CHECK(manner->delay < 480ms);
            const Drill opponent = copied(copy);
            if (retreats == 1) {
                CHECK(std::abs(opponent.manners.retreated_from.share - manner->share) < 0.006);
            } else {
                CHECK(opponent.manners.names(DrewBy::ground_given_twice));
                CHECK(std::abs(1 - opponent.withheld - manner->share) < 0.006);
            }
        }
}

TEST_CASE("who was told what to do teaches lengths alone") {
    StudiedRig rig(61);
    auto drill = load_drill("partner-kicks", Settings{});
    REQUIRE(drill.has_value());
    drill->sets = 2;
    drill->reps = 10;
    drill->rest = 5s;
    SessionBegan session;
    session.session = SessionId{2};
    session.athlete = AthleteId{7};
    session.seed = 61;
    session.drill = *drill;
    PartnerSettings leg;
    leg.seed = 61;
    leg.lengths = drill->opponent;
    leg.unasked = 0;
    leg.goes_early = 0;
    rig.target.set_partner(rig.driver.now(), leg);
    rig.target.set_athlete(rig.driver.now(), {*find_athlete("Curlew"), drill->attacks, 61});
    REQUIRE(rig.driver.run(session, {}, 3600s).has_value());
    const copying::PartnerCopy copy = rig.study.copy();
    CHECK(copy.kicks >= 15);
    CHECK(copy.own_kicks == 0);
    CHECK_FALSE(copy.after_two_retreats.has_value());
}
