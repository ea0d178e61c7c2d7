// Terms of athletes whose truth is known: how often the claims are wrong, and how often they find what is there.
//
// A term: 20 athletes, 10 weekly evenings, every second one truly improving by 3 day-to-day SDs in all. A value = level
// + truth + day scatter (SD of the athlete's own, mean 1; autocorrelation 0 or .3 from evening to evening) + noise of
// variance 20 / reps, reps 15 to 60; evenings are missed with probability .1.
#include <algorithm>
#include <cmath>
#include <vector>

#include <doctest/doctest.h>

#include "core/progress/claims.hpp"
#include "core/progress/false_discovery.hpp"
#include "core/progress/squad.hpp"
#include "core/random.hpp"

using namespace breakstep::progress;
using breakstep::Random;

namespace {

constexpr std::size_t athletes = 20;
constexpr int weeks = 10;

struct TermLaw {
    double autocorrelation = 0;
    double gain = 3;
    double missed = 0.1;
    double improving = 0.5;
};

struct Athlete {
    bool improving = false;
    std::vector<EveningValue> evenings;
    std::vector<double> sampling_variances;
};

Athlete athlete_of(const TermLaw& law, bool improving, Random& random) {
    Athlete athlete;
    athlete.improving = improving;
    const double level = 10 + 2 * random.normal(), day_sd = random.uniform(.5, 1.5);
    double scatter = day_sd * random.normal();
    for (int week = 0; week < weeks; ++week) {
        const double truth = improving ? law.gain * week / (weeks - 1) : 0;
        const double variance = 20.0 / (15 + random.below(46));
        const double value = level + truth + scatter + std::sqrt(variance) * random.normal();
        const double r = law.autocorrelation;
        scatter = r * scatter + std::sqrt(1 - r * r) * day_sd * random.normal();
        if (random.chance(law.missed)) continue;
        athlete.evenings.push_back({week * 7.0, value});
        athlete.sampling_variances.push_back(variance);
    }
    return athlete;
}

std::vector<Athlete> term_of(const TermLaw& law, Random& random) {
    std::vector<Athlete> term;
    for (std::size_t i = 0; i < athletes; ++i)
        term.push_back(athlete_of(law, static_cast<double>(i) < law.improving * athletes, random));
    return term;
}

struct Rates {
    int unchanged = 0, improving = 0;
    int false_improved = 0, false_worse = 0, found = 0;
    [[nodiscard]] double false_rate() const { return static_cast<double>(false_improved) / unchanged; }
    [[nodiscard]] double false_worse_rate() const { return static_cast<double>(false_worse) / unchanged; }
    [[nodiscard]] double power() const { return static_cast<double>(found) / improving; }

    void count(bool truly, Claim claim) {
        (truly ? improving : unchanged) += 1;
        if (truly) found += claim == Claim::improved ? 1 : 0;
        if (!truly) false_improved += claim == Claim::improved ? 1 : 0;
        if (!truly) false_worse += claim == Claim::worse ? 1 : 0;
    }
};

Rates at_end_of_terms(const TermLaw& law, int terms, std::uint64_t seed) {
    Random random(seed);
    Rates rates;
    for (int term = 0; term < terms; ++term)
        for (const Athlete& athlete : term_of(law, random))
            rates.count(athlete.improving, claim_at_end_of_term(athlete.evenings, Better::higher).claim);
    return rates;
}

/// Improved, or worse, at any weekly look: the first claim counts.
Claim first_weekly_claim(const Athlete& athlete) {
    for (std::size_t look = fewest_evenings; look <= athlete.evenings.size(); ++look) {
        const Claim claim = claim_this_week(std::span(athlete.evenings).first(look), Better::higher).claim;
        if (claim == Claim::improved || claim == Claim::worse) return claim;
    }
    return Claim::no_clear_change;
}

}  // namespace

TEST_CASE("at the end of a term at most 5 % of those who did not improve are called improved") {
    // False rates .025 and .043 (autocorrelation .3) and power .57 without missed evenings were found by simulation
    // before this was written.
    const std::uint64_t seed = 1971;
    for (const double autocorrelation : {0.0, 0.3})
        for (const double missed : {0.0, 0.1}) {
            const Rates rates = at_end_of_terms({autocorrelation, 3, missed}, 2000, seed);
            MESSAGE("end of term, seed " << seed << ", autocorrelation " << autocorrelation << ", missed " << missed
                                         << ": false improved " << rates.false_rate() << ", false worse "
                                         << rates.false_worse_rate() << ", power " << rates.power()
                                         << " (expected about " << (autocorrelation > 0 ? .043 : .025) << " and .57)");
            CHECK(rates.unchanged == 20'000);
            CHECK(rates.false_rate() <= .05);
            CHECK(rates.false_worse_rate() <= .05);
            if (autocorrelation == 0) CHECK(rates.false_rate() <= .029);  // .025 and 3.5 standard errors
            CHECK(rates.power() > .4);
        }
}

TEST_CASE("over a whole term of weekly looks as few are called improved by mistake") {
    const std::uint64_t seed = 1984;
    for (const double autocorrelation : {0.0, 0.3}) {
        Random random(seed);
        Rates rates;
        for (int term = 0; term < 1000; ++term)
            for (const Athlete& athlete : term_of({autocorrelation, 3, 0}, random))
                rates.count(athlete.improving, first_weekly_claim(athlete));
        MESSAGE("weekly looks, seed " << seed << ", autocorrelation " << autocorrelation << ": false improved "
                                      << rates.false_rate() << ", power " << rates.power() << " (expected .014)");
        CHECK(rates.false_rate() <= .05);
        if (autocorrelation == 0) CHECK(rates.false_rate() <= .018);  // .014 and 3.5 standard errors
        CHECK(rates.power() > .25);
    }
}

TEST_CASE("a look every week without correction, slopes of the squad and sampling error alone claim too much") {
    // Why the rule is what it is: found by simulation .09, .27 and .11.
    const std::uint64_t seed = 1993;
    Random random(seed);
    int unchanged = 0, every_week = 0, pooled = 0, sampling = 0;
    for (int term = 0; term < 200; ++term) {
        const auto squad = term_of({0, 3, 0}, random);
        std::vector<SquadPoint> points;
        for (std::size_t i = 0; i < squad.size(); ++i)
            for (std::size_t e = 0; e < squad[i].evenings.size(); ++e)
                points.push_back(
                    {i, squad[i].evenings[e].day, squad[i].evenings[e].value, squad[i].sampling_variances[e]});
        const auto fit = fit_squad(points, athletes);
        REQUIRE(fit);
        for (std::size_t i = 0; i < squad.size(); ++i) {
            if (squad[i].improving) continue;
            ++unchanged;
            bool looked = false;
            for (std::size_t look = 5; look <= squad[i].evenings.size(); ++look) {
                const auto claim = claim_at_end_of_term(std::span(squad[i].evenings).first(look), Better::higher);
                looked = looked || claim.p_better < .025;
            }
            every_week += looked ? 1 : 0;
            pooled += fit->lines[i].slope_interval.low > 0 ? 1 : 0;
            double days_square = 0, mean_variance = 0;
            for (std::size_t e = 0; e < squad[i].evenings.size(); ++e) {
                days_square += (squad[i].evenings[e].day - 31.5) * (squad[i].evenings[e].day - 31.5);
                mean_variance += squad[i].sampling_variances[e] / weeks;
            }
            const auto line = *straight_line(squad[i].evenings);
            sampling += line.slope / std::sqrt(mean_variance / days_square) > 1.959964 ? 1 : 0;
        }
    }
    const auto rate = [&](int count) { return static_cast<double>(count) / unchanged; };
    MESSAGE("seed " << seed << ": false improved with a look every week " << rate(every_week)
                    << ", by the squad's pooled slopes " << rate(pooled) << ", by sampling error alone "
                    << rate(sampling));
    CHECK(rate(every_week) > .05);
    CHECK(rate(pooled) > .05);
    CHECK(rate(sampling) > .05);
}

TEST_CASE("the group table names few by mistake") {
    // Benjamini & Hochberg 1995: the share of false names is at most the rate times the share of the unchanged, 10 % of
    // half here (two-sided p, so a false "worse" counts as well).
    const std::uint64_t seed = 2002;
    Random random(seed);
    double false_share = 0;
    const int terms = 1000;
    for (int term = 0; term < terms; ++term) {
        const auto squad = term_of({0, 3, 0.1}, random);
        std::vector<double> p_values;
        for (const Athlete& athlete : squad)
            p_values.push_back(claim_at_end_of_term(athlete.evenings, Better::higher).p_two_sided());
        const auto adjusted = false_discovery_adjusted(p_values);
        int named = 0, wrong = 0;
        for (std::size_t i = 0; i < squad.size(); ++i)
            if (adjusted[i] <= .1) {
                ++named;
                wrong += squad[i].improving ? 0 : 1;
            }
        false_share += named > 0 ? static_cast<double>(wrong) / named : 0;
    }
    MESSAGE("seed " << seed << ": false discovery rate " << false_share / terms << ", at most .05 expected");
    CHECK(false_share / terms < .06);
    CHECK(false_share > 0);
}

TEST_CASE("the squad's lines hold the truth nearly as often as they say") {
    // Short of 95 %, because the variances they rest on are estimates too, which Henderson's errors leave out (Kackar &
    // Harville 1984). They are shown, never claimed from.
    const std::uint64_t seed = 2010;
    Random random(seed);
    int held = 0, lines = 0, squad_held = 0, fits = 0;
    for (int term = 0; term < 200; ++term) {
        // Slopes normal between athletes, as the model has it: .3 a week on the mean, SD .2.
        std::vector<SquadPoint> points;
        std::vector<double> slopes;
        for (std::size_t i = 0; i < athletes; ++i) {
            slopes.push_back((.3 + .2 * random.normal()) / 7);
            const double level = 10 + 2 * random.normal();
            for (int week = 0; week < weeks; ++week) {
                const double v = 20.0 / (15 + random.below(46));
                if (!random.chance(.1))
                    points.push_back({i, week * 7.0,
                                      level + slopes[i] * week * 7 + random.normal() + std::sqrt(v) * random.normal(),
                                      v});
            }
        }
        const auto fit = fit_squad(points, athletes);
        REQUIRE(fit);
        ++fits;
        squad_held += fit->slope_interval.low <= .3 / 7 && .3 / 7 <= fit->slope_interval.high ? 1 : 0;
        for (std::size_t i = 0; i < athletes; ++i) {
            ++lines;
            held +=
                fit->lines[i].slope_interval.low <= slopes[i] && slopes[i] <= fit->lines[i].slope_interval.high ? 1 : 0;
        }
    }
    const double share = static_cast<double>(held) / lines, squad_share = static_cast<double>(squad_held) / fits;
    MESSAGE("seed " << seed << ": lines hold " << share << ", the squad's slope " << squad_share << " (95 % meant)");
    CHECK(share > .90);
    CHECK(share < .98);
    CHECK(squad_share > .90);
}
