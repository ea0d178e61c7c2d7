#include "core/trade/opponent.hpp"

#include <algorithm>
#include <cmath>
#include <string>

#include <doctest/doctest.h>

using namespace breakstep;

namespace {

constexpr Level levels[] = {Level::beginner, Level::intermediate, Level::advanced};

std::string sequence(AttackKind kind, int rebounds = 1) {
    Random random(7);
    std::string text;
    for (const AttackPhase& phase : draw_attack(opponent_defaults(Level::intermediate), kind, rebounds, random)) {
        if (!text.empty()) text += ' ';
        text += phase.held ? "held-" : "";
        text += word(phase.phase);
    }
    return text;
}

struct Moments {
    double mean = 0, spread = 0;
    Duration shortest = Duration::max(), longest = Duration::min();
};
Moments moments_of(const std::vector<double>& lengths) {
    Moments moments;
    for (const double length : lengths) moments.mean += length / static_cast<double>(lengths.size());
    double variance = 0;
    for (const double length : lengths) {
        variance += (length - moments.mean) * (length - moments.mean) / static_cast<double>(lengths.size());
        moments.shortest = std::min(moments.shortest, Duration(std::llround(length * 1e6)));
        moments.longest = std::max(moments.longest, Duration(std::llround(length * 1e6)));
    }
    moments.spread = std::sqrt(variance) / moments.mean;
    return moments;
}

// Lengths in ms of the phase at `index` over many attacks.
Moments draw_many(const OpponentSettings& settings, AttackKind kind, std::size_t index, std::uint64_t seed) {
    Random random(seed);
    std::vector<double> lengths;
    for (int i = 0; i < 4000; ++i) {
        const auto attack = draw_attack(settings, kind, 1, random);
        lengths.push_back(static_cast<double>(attack[index].length.count()) / 1e6);
    }
    return moments_of(lengths);
}

}  // namespace

TEST_CASE("each attack kind has the phases of the trade") {
    // The sequences in words; common practice, no source.
    CHECK(sequence(AttackKind::single) == "lift up pull-back drop gap");
    CHECK(sequence(AttackKind::rebound, 1) == "lift up pull-back up pull-back drop gap");
    CHECK(sequence(AttackKind::rebound, 4) ==
          "lift up pull-back up pull-back up pull-back up pull-back up pull-back drop gap");
    CHECK(sequence(AttackKind::carry) == "lift held-up up pull-back drop gap");
    CHECK(sequence(AttackKind::reset) == "lift up pull-back drop gap lift up pull-back drop gap");
    CHECK(sequence(AttackKind::leg_to_hands) == "lift up pull-back drop gap hands");
    CHECK(sequence(AttackKind::feint) == "lift");
    CHECK_MESSAGE(sequence(AttackKind::single, 4) == sequence(AttackKind::single, 1), "rebounds are a rebound's alone");
}

TEST_CASE("every length stays in its range and near its mean at every level") {
    for (const Level level : levels) {
        const OpponentSettings settings = opponent_defaults(level);
        const struct {
            AttackKind kind;
            std::size_t index;
            const LengthRange& range;
        } rows[] = {{AttackKind::single, 0, settings.lift},        {AttackKind::single, 1, settings.up},
                    {AttackKind::single, 2, settings.pull_back},   {AttackKind::single, 3, settings.drop},
                    {AttackKind::single, 4, settings.gap},         {AttackKind::carry, 1, settings.carry},
                    {AttackKind::leg_to_hands, 5, settings.hands}, {AttackKind::feint, 0, settings.feint},
                    {AttackKind::rebound, 3, settings.up},         {AttackKind::reset, 5, settings.lift}};
        for (const auto& row : rows) {
            CAPTURE(word(level));
            CAPTURE(row.index);
            const Moments moments = draw_many(settings, row.kind, row.index, 20);
            CHECK(moments.shortest >= row.range.shortest);
            CHECK(moments.longest <= row.range.longest);
            // Redrawing trims the tails: the mean moves by a few per cent at most, the spread only shrinks.
            const double mean = static_cast<double>(row.range.mean.count()) / 1e6;
            CHECK(moments.mean == doctest::Approx(mean).epsilon(0.03));
            CHECK(moments.spread <= settings.spread * 1.05);
            CHECK(moments.spread >= settings.spread * 0.6);
        }
    }
}

TEST_CASE("an untidy opponent spreads twice as wide as a beginner and keeps to the ranges") {
    OpponentSettings settings = opponent_defaults(Level::beginner);
    const Moments tidy = draw_many(settings, AttackKind::single, 4, 3);
    settings.untidy = true;
    const Moments untidy = draw_many(settings, AttackKind::single, 4, 3);
    CHECK(untidy.spread > 1.3 * tidy.spread);
    CHECK(untidy.shortest >= settings.gap.shortest);
    CHECK(untidy.longest <= settings.gap.longest);

    // With room on both sides the spread is the 30 % of an untidy opponent.
    settings.gap = {350ms, 1ms, 10s};
    CHECK(draw_many(settings, AttackKind::single, 4, 3).spread == doctest::Approx(0.30).epsilon(0.05));
}

TEST_CASE("an opponent without spread kicks at the means") {
    OpponentSettings settings = opponent_defaults(Level::advanced);
    settings.spread = 0;
    Random random(1);
    const auto attack = draw_attack(settings, AttackKind::single, 0, random);
    CHECK(attack[0].length == 110ms);
    CHECK(attack[4].length == 150ms);
}

TEST_CASE("a range of one length is that length whatever the spread") {
    OpponentSettings settings = opponent_defaults(Level::advanced);
    settings.lift = {100ms, 100ms, 100ms};
    settings.spread = 0.5;
    Random random(1);
    for (int i = 0; i < 20; ++i) CHECK(draw_attack(settings, AttackKind::feint, 0, random).size() == 1);
    for (int i = 0; i < 20; ++i) CHECK(draw_attack(settings, AttackKind::single, 0, random)[0].length == 100ms);
}

TEST_CASE("the same seed draws the same attack") {
    Random first(99), second(99), other(100);
    const OpponentSettings settings = opponent_defaults(Level::beginner);
    const auto attack = draw_attack(settings, AttackKind::rebound, 3, first);
    CHECK(attack == draw_attack(settings, AttackKind::rebound, 3, second));
    CHECK(attack != draw_attack(settings, AttackKind::rebound, 3, other));
}

TEST_CASE("levels read back from their words") {
    for (const Level level : levels) CHECK(from_word<Level>(word(level)) == level);
    CHECK_FALSE(from_word<Level>("expert").has_value());
}
