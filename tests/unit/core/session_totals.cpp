// A session's figures: rates, errors, the median and when it may not be told, home share, retreats.
#include <doctest/doctest.h>

#include <set>
#include <string>
#include <string_view>

#include "core/score/totals.hpp"
#include "support/journal_script.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

RepResult contact(Verdict verdict, Duration latency, Duration error = 0ns) {
    RepResult rep;
    rep.verdict = verdict;
    rep.scored = true;
    rep.contacted = true;
    rep.latency = latency;
    rep.error = error;
    return rep;
}
SessionTotals of(const std::vector<RepResult>& reps) {
    SessionTotals totals;
    scoring::add_reps(reps, totals);
    return totals;
}

const std::vector<AttackPhase> single{{Phase::lift, false, 110ms},
                                      {Phase::up, false, 170ms},
                                      {Phase::pull_back, false, 140ms},
                                      {Phase::drop, false, 130ms},
                                      {Phase::gap, false, 150ms}};

/// Fits any member of an aggregate.
struct Anything {
    template <class T>
    operator T() const;
};

/// How many members an aggregate has: the most values it can be made of.
template <class T, class... Values>
constexpr std::size_t member_count() {
    if constexpr (requires { T{Values{}..., Anything{}}; })
        return member_count<T, Values..., Anything>();
    else
        return sizeof...(Values);
}

}  // namespace

TEST_CASE("the totals' list of their members names each of them, once") {
    SessionTotals totals;
    std::set<std::string> names;
    std::set<const void*> places;
    fields(totals, [&](std::string_view name, const auto& member) {
        names.emplace(name);
        places.insert(&member);
    });
    CHECK(names.size() == member_count<SessionTotals>());
    CHECK(places.size() == names.size());
}

TEST_CASE("constant and variable and absolute error are the textbook's") {
    // Vector of the project's check list (Schmidt & Lee, from memory), population form.
    std::vector<RepResult> reps;
    for (const int error : {-20, 10, 30, -10, 0, 40, -30, 20})
        reps.push_back(contact(Verdict::on_time, 100ms, error * 1ms));
    const SessionTotals totals = of(reps);
    CHECK(*totals.constant_error_ms == doctest::Approx(5).epsilon(1e-12));
    CHECK(*totals.variable_error_ms == doctest::Approx(22.912878).epsilon(1e-7));
    CHECK(*totals.absolute_error_ms == doctest::Approx(20).epsilon(1e-12));
}

TEST_CASE("a strike in the wait is early, and no measure of how steadily attacks are met") {
    std::vector<RepResult> reps;
    for (const int error : {-20, 20}) reps.push_back(contact(Verdict::on_time, 100ms, error * 1ms));
    RepResult waiting = contact(Verdict::early, -6s, -6s);
    waiting.contact_from_onset = -5500ms;
    reps.push_back(waiting);
    CHECK(*of(reps).constant_error_ms == doctest::Approx(0).epsilon(1e-12));
    CHECK(*of(reps).variable_error_ms == doctest::Approx(20).epsilon(1e-12));
}

TEST_CASE("nothing struck gives no rate of errors and nothing scored no rate at all") {
    CHECK_FALSE(of({}).on_time_rate);
    RepResult missed;
    missed.verdict = Verdict::missed;
    missed.scored = true;
    const SessionTotals totals = of({missed});
    CHECK(totals.on_time_rate == 0.0);
    CHECK_FALSE(totals.constant_error_ms);
    CHECK_FALSE(totals.median_latency_ms);
}

TEST_CASE("the on-time rate counts around and leaves out what is not scored") {
    RepResult held;
    held.verdict = Verdict::held;
    held.asked.kind = AttackKind::feint;
    RepResult lost;
    lost.verdict = Verdict::void_rep;
    const SessionTotals totals = of({contact(Verdict::on_time, 1ms), contact(Verdict::around, 1ms),
                                     contact(Verdict::clash, 1ms), contact(Verdict::early, 1ms), held, lost});
    CHECK(totals.reps == 6);
    CHECK(totals.scored == 4);
    CHECK(totals.on_time_rate == 0.5);
    CHECK(totals.voids == 1);
    CHECK(totals.attacks == 4);
    CHECK(totals.feints == 1);
    CHECK(totals.feints_taken == 0);
}

TEST_CASE("picked or guessed comes from attacks and feints that are not void") {
    // 18 of 20 attacks and 2 of 10 feints: 1.927620 (.809299, 3.045941), computed by definition (Hautus 1995).
    std::vector<RepResult> reps;
    for (int i = 0; i < 20; ++i) {
        reps.push_back(contact(Verdict::on_time, 1ms));
        reps.back().contacted = i < 18;
    }
    for (int i = 0; i < 10; ++i) {
        reps.push_back(contact(Verdict::held, 1ms));
        reps.back().asked.kind = AttackKind::feint;
        reps.back().scored = false;
        reps.back().contacted = i < 2;
    }
    RepResult lost = contact(Verdict::void_rep, 1ms);
    reps.push_back(lost);
    const SessionTotals totals = of(reps);
    CHECK(*totals.d_prime == doctest::Approx(1.927620).epsilon(1e-6));
    CHECK(*totals.d_prime_low == doctest::Approx(0.809299).epsilon(1e-6));
    CHECK(*totals.d_prime_high == doctest::Approx(3.045941).epsilon(1e-6));
    CHECK_FALSE(totals.d_prime_at_least_only);
    CHECK_FALSE(of({contact(Verdict::on_time, 1ms)}).d_prime);
}

TEST_CASE("catch trials stay outside the feints") {
    RepResult trial;
    trial.catch_trial = true;
    trial.verdict = Verdict::took_the_feint;
    trial.contacted = true;
    const SessionTotals totals = of({trial});
    CHECK(totals.catch_trials == 1);
    CHECK(totals.catch_trials_struck == 1);
    CHECK(totals.feints == 0);
    CHECK(totals.attacks == 0);
}

TEST_CASE("no median under 20 scored contacts and none over several cells") {
    std::vector<RepResult> reps;
    for (int i = 1; i <= 19; ++i) reps.push_back(contact(Verdict::on_time, i * 10ms));
    CHECK_FALSE(of(reps).median_latency_ms);
    reps.push_back(contact(Verdict::late, 1s));
    CHECK(of(reps).median_latency_ms == 105.0);
    reps.push_back(contact(Verdict::early, -1s));
    CHECK(of(reps).median_latency_ms == 100.0);

    reps.back().asked.counter = Counter::spin;
    CHECK_FALSE(of(reps).median_latency_ms);
    reps.back() = contact(Verdict::around, 100ms);
    CHECK_MESSAGE(!of(reps).median_latency_ms, "around runs on another axis");
    reps.back() = contact(Verdict::on_time, 100ms);
    reps.back().scored = false;
    CHECK_MESSAGE(of(reps).median_latency_ms == 105.0, "what is not scored is no cell");
}

TEST_CASE("home share is the time between the marks over the time with the place known") {
    JournalScript script;
    script.begin();
    script.plan(0, 1s);
    AttackChoice asked;
    asked.counter = Counter::back_leg;
    script.open(RepId{0}, asked, single, 7s, 8200ms);
    script.confirm(RepId{0}, single, 7s);
    script.cross(2s, GateRole::near_mark);  // which way is unknown
    script.cross(3s, GateRole::far_mark);   // beyond from here
    script.cross(4s, GateRole::far_mark);   // between from here
    script.cross(6s, GateRole::near_mark);  // inside from here
    script.close(RepId{0}, 8s);
    const SessionTotals totals = Folded(script).score.totals();
    REQUIRE(totals.home_share);
    CHECK(*totals.home_share == doctest::Approx(2.0 / 5.0).epsilon(1e-12));

    JournalScript no_far;
    no_far.begin({true, false, false});
    no_far.hit(1s);
    no_far.open(RepId{0}, asked, single, 7s, 8200ms);
    no_far.confirm(RepId{0}, single, 7s);
    no_far.close(RepId{0}, 8s);
    CHECK_FALSE(Folded(no_far).score.totals().home_share);
}

TEST_CASE("a retreat is an attack answered by leaving the far mark without a strike") {
    const auto retreats = [](Duration left, std::optional<Duration> hit, bool voided) {
        JournalScript script;
        script.begin();
        script.plan(0, 1s);
        AttackChoice asked;
        script.open(RepId{0}, asked, single, 7s, 8200ms);
        script.confirm(RepId{0}, single, 7s);
        script.cross(2s, GateRole::near_mark);
        script.cross(3s, GateRole::far_mark);
        script.cross(4s, GateRole::far_mark);
        script.cross(left, GateRole::far_mark);
        if (hit) script.hit(*hit);
        script.close(RepId{0}, 8200ms);
        if (voided) script.void_rep(RepId{0}, VoidReason::coach);
        const Folded folded(script);
        CHECK(folded.score.reps()[0].retreated == (folded.score.totals().retreats == 1 || (voided && left >= 7s)));
        return folded.score.totals().retreats;
    };
    CHECK(retreats(7s, std::nullopt, false) == 1);
    CHECK(retreats(7s - 1ns, std::nullopt, false) == 0);
    CHECK(retreats(7300ms, 8s, false) == 0);
    CHECK(retreats(7s, std::nullopt, true) == 0);
}
