// Plans with leans and lies, several moments that are right, classes of pairs: what conduct and a class are drawn from.
#include <doctest/doctest.h>

#include "core/trade/pairs.hpp"
#include "core/trade/plan.hpp"

using namespace breakstep;

namespace {

Drill lift_drill(double shown, double lies, std::int32_t feints) {
    Drill drill;
    AttackChoice kick;
    kick.moment = Moment::lift;
    kick.share = 8;
    drill.attacks = {kick};
    if (feints > 0) {
        AttackChoice feint;
        feint.kind = AttackKind::feint;
        feint.share = feints;
        drill.attacks.push_back(feint);
    }
    drill.telegraph.shown = shown;
    drill.telegraph.lies = lies;
    return drill;
}

struct Leans {
    int attacks = 0, leaned = 0, feints_leaned = 0, nothings = 0, plain_catch_trials = 0;
    [[nodiscard]] double lies() const {
        return static_cast<double>(feints_leaned + nothings) / static_cast<double>(leaned + feints_leaned + nothings);
    }
};

Leans leans_of(const Drill& drill) {
    Leans leans;
    for (std::uint64_t seed = 1; seed <= 40; ++seed)
        for (const PlannedAttack& planned : plan_set(drill, seed, 0, 60, 1, 0)) {
            const bool leant = planned.telegraph > Duration{};
            const bool feint = drill.attacks[static_cast<std::size_t>(planned.attack)].kind == AttackKind::feint;
            if (planned.catch_trial) {
                (leant ? leans.nothings : leans.plain_catch_trials) += 1;
            } else if (feint) {
                leans.feints_leaned += leant ? 1 : 0;
            } else {
                ++leans.attacks;
                leans.leaned += leant ? 1 : 0;
            }
        }
    return leans;
}

}  // namespace

TEST_CASE("leans and lies come in the shares that the drill asks for") {
    for (const std::int32_t feints : {0, 1}) {
        const Leans leans = leans_of(lift_drill(0.8, 0.2, feints));
        const double shown = static_cast<double>(leans.leaned) / leans.attacks;
        CHECK(shown == doctest::Approx(0.8).epsilon(0.04));
        CHECK(leans.lies() == doctest::Approx(0.2).epsilon(0.1));
        CHECK((leans.feints_leaned > 0) == (feints > 0));
        CHECK(leans.nothings > 0);
    }
    // More feints than lies are asked for: all of them lean, and nothing is added.
    CHECK(leans_of(lift_drill(0.8, 0.1, 4)).nothings == 0);
    const Leans none = leans_of(lift_drill(0, 0.2, 1));
    CHECK(none.leaned + none.feints_leaned + none.nothings == 0);
}

TEST_CASE("a drill without leans is drawn as it was before there were any, and leans change nothing else of one") {
    const Drill with = lift_drill(0.8, 0.0, 1), without = lift_drill(0, 0.0, 1);
    auto leaning = plan_set(with, 7, 0, 30, 1, 0), plain = plan_set(without, 7, 0, 30, 1, 0);
    REQUIRE(leaning.size() == plain.size());
    for (std::size_t i = 0; i < plain.size(); ++i) {
        CHECK(leaning[i].wait == plain[i].wait);
        CHECK(leaning[i].phases == plain[i].phases);
        CHECK(plain[i].telegraph == Duration{});
    }
}

TEST_CASE("a lean lies between the drill's bounds, inside its wait, and a lie outlasts what it pretends") {
    for (const PlannedAttack& planned : plan_set(lift_drill(1, 0.4, 0), 3, 0, 60, 1, 0)) {
        if (planned.telegraph == Duration{}) continue;
        CHECK(planned.telegraph >= 300ms);
        CHECK(planned.telegraph <= 500ms);
        CHECK((planned.catch_trial ? planned.lie_after : planned.wait) - planned.telegraph >= 700ms);
        if (planned.catch_trial) CHECK(planned.wait == planned.lie_after + 700ms);
    }
}

TEST_CASE("only a lift that neither a pattern nor an act brings needs a screen") {
    Drill drill = lift_drill(0.8, 0.2, 1);
    CHECK(needs_a_screen(drill));
    drill.start = StartKind::drawn;
    CHECK_FALSE(needs_a_screen(drill));
    drill.start = StartKind::pattern;
    CHECK_FALSE(needs_a_screen(drill));
    drill.start = StartKind::random;
    drill.attacks.front().moment = Moment::drop;
    CHECK_FALSE(needs_a_screen(drill));
    drill.attacks.front().moments = moment_bit(Moment::drop) | moment_bit(Moment::lift);
    CHECK(needs_a_screen(drill));
}

TEST_CASE("several moments are named in the order in which they come") {
    CHECK(words_of(Moment::drop, 0) == "drop");
    CHECK(words_of(Moment::drop, moment_bit(Moment::gap) | moment_bit(Moment::drop)) == "drop or gap");
}

TEST_CASE("a class of pairs is the same for the same seed, and one pair more changes nobody else's attacks") {
    const Drill drill = lift_drill(0, 0, 2);
    PairsOptions options;
    const auto one = plan_pairs(drill, 5, options), same = plan_pairs(drill, 5, options),
               other = plan_pairs(drill, 6, options);
    options.pairs = 5;
    const auto more = plan_pairs(drill, 5, options);
    REQUIRE(one.size() == 2);
    CHECK(one[0].first_attacks);
    CHECK_FALSE(one[1].first_attacks);
    bool differs = false;
    for (std::size_t r = 0; r < one.size(); ++r)
        for (std::size_t i = 0; i < one[r].cues.size(); ++i) {
            CHECK(one[r].cues[i].attacks == same[r].cues[i].attacks);
            CHECK(one[r].cues[i].at == same[r].cues[i].at);
            differs = differs || one[r].cues[i].attacks != other[r].cues[i].attacks;
            auto first_four = more[r].cues[i].attacks;
            first_four.pop_back();
            CHECK(first_four == one[r].cues[i].attacks);
        }
    CHECK(differs);
}

TEST_CASE("a class goes on without overlaps: change over, cues of three seconds, waits of three or more") {
    PairsOptions options;
    options.rounds = 3;
    Duration at{};
    for (const PairsRound& round : plan_pairs(lift_drill(0, 0, 1), 9, options)) {
        CHECK(round.change_from == at);
        CHECK(round.begin - round.change_from == 20s);
        at = round.begin;
        for (const PairsCue& cue : round.cues) {
            CHECK(cue.at - at >= 3s);
            CHECK(cue.until - cue.at == 3s);
            CHECK(cue.attacks.size() == 4);
            at = cue.until;
        }
        CHECK(round.end - at == 3s);
        at = round.end;
    }
}
