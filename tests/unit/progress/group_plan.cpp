// What the group does in the coming weeks: in which order, and on whose reps that rests.
#include "core/progress/group_plan.hpp"

#include <vector>

#include <doctest/doctest.h>

using namespace breakstep;
using namespace breakstep::progress;

namespace {

constexpr Situation single_drop{AttackKind::single, Moment::drop, Counter::front_hand, Stance::closed};
constexpr Situation single_gap{AttackKind::single, Moment::gap, Counter::front_hand, Stance::open};
constexpr Situation turns{AttackKind::single, Moment::gap, Counter::back_hand, Stance::closed, StartKind::pattern};

void add(AthleteTerm& term, const Situation& situation, std::uint32_t on_time, std::uint32_t of) {
    term.sessions = 1;
    term.recent_situations[situation][static_cast<std::size_t>(Verdict::on_time)] += on_time;
    term.recent_situations[situation][static_cast<std::size_t>(Verdict::late)] += of - on_time;
}

}  // namespace

TEST_CASE("the plan takes the weakest moment first, three weeks each, and the coach's order above all") {
    std::vector<AthleteTerm> terms(3);
    for (AthleteTerm& term : terms) {
        add(term, single_drop, 14, 20);
        add(term, single_gap, 8, 20);
    }
    const auto plan = group_plan(terms, {});
    REQUIRE(plan.size() == 3);
    CHECK(plan[0].moment == Moment::gap);
    CHECK(plan[0].on_time == Share{24, 60});
    CHECK(plan[0].athletes == 3);
    CHECK(plan[0].rate == doctest::Approx(.4));
    CHECK(plan[0].told);
    CHECK(plan[0].first_week == 1);
    CHECK(plan[0].last_week == 3);
    CHECK(plan[1].moment == Moment::drop);
    CHECK(plan[2].moment == Moment::lift);  // it needs drawn attacks: last, however often it was practised
    CHECK(plan[2].first_week == 7);
    CHECK_FALSE(plan[0].by_coach);

    const auto ordered = group_plan(terms, {2, {Moment::lift, Moment::drop}});
    REQUIRE(ordered.size() == 2);
    CHECK(ordered[0].moment == Moment::lift);
    CHECK(ordered[1].first_week == 3);
    CHECK(ordered[1].last_week == 4);
    CHECK(ordered[1].by_coach);
}

TEST_CASE("the plan never rests on one athlete of many, however much they trained") {
    std::vector<AthleteTerm> terms(8);
    for (AthleteTerm& term : terms) add(term, single_drop, 15, 20);
    add(terms[2], single_gap, 65, 224);
    add(terms[3], single_gap, 1, 4);  // fewer than an evening's reps say nothing
    add(terms[4], single_gap, 2, 10);
    auto plan = group_plan(terms, {});
    CHECK(plan[0].moment == Moment::drop);
    CHECK(plan[1].moment == Moment::gap);
    CHECK(plan[1].athletes == 2);
    CHECK_FALSE(plan[1].told);

    add(terms[5], single_gap, 2, 10);
    plan = group_plan(terms, {});
    CHECK(plan[0].moment == Moment::gap);
    CHECK(plan[0].athletes == 3);
    CHECK(plan[0].on_time == Share{69, 244});
}

TEST_CASE("who trains most does not speak for the group: each athlete's rate counts alike") {
    std::vector<AthleteTerm> terms(3);
    for (AthleteTerm& term : terms) add(term, single_drop, 10, 20);
    add(terms[0], single_gap, 20, 200);
    add(terms[1], single_gap, 18, 20);
    add(terms[2], single_gap, 18, 20);
    const auto plan = group_plan(terms, {});
    CHECK(plan[0].moment == Moment::drop);
    CHECK(plan[1].rate == doctest::Approx(19. / 30));
    CHECK(plan[1].on_time == Share{56, 240});
}

TEST_CASE("of a group of two both stand behind the plan, and of one the one") {
    for (const std::size_t count : {std::size_t{1}, std::size_t{2}}) {
        std::vector<AthleteTerm> terms(count);
        for (AthleteTerm& term : terms) {
            add(term, single_gap, 15, 20);
            add(term, single_drop, 5, 20);
        }
        terms.emplace_back();  // imported values alone: trains with nobody
        const auto plan = group_plan(terms, {});
        CHECK(plan[0].moment == Moment::drop);
        CHECK(plan[0].told);
        CHECK(plan[0].athletes == count);
    }
}

TEST_CASE("a drill in a known pattern says nothing for the plan") {
    std::vector<AthleteTerm> terms(3);
    for (AthleteTerm& term : terms) {
        add(term, turns, 2, 40);
        add(term, single_drop, 15, 20);
    }
    const auto plan = group_plan(terms, {});
    CHECK(plan[0].moment == Moment::drop);
    CHECK(plan[1].moment == Moment::gap);
    CHECK(plan[1].on_time.of == 0);
    CHECK_FALSE(plan[1].told);
}
