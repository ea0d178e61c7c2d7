// The rules of what comes next as a coach writes them.
#include "settings/next_file.hpp"

#include <doctest/doctest.h>

#include "settings/drill_file.hpp"

using namespace breakstep;

namespace {

Error error_of(const std::string& text) {
    const auto read = parse_next(text, "next.toml");
    REQUIRE_FALSE(read.has_value());
    CHECK(read.error().kind == ErrorKind::bad_input);
    CHECK(read.error().what.find("next.toml") != std::string::npos);
    return read.error();
}

const std::string whole = "[[rule]]\ndrill = \"feints\"\nsay = \"because\"\n";

}  // namespace

TEST_CASE("the rules that come with the program are read, end with one that always holds, and name drills that exist") {
    const auto next = load_next({});
    REQUIRE_MESSAGE(next.has_value(), next.error().text());
    CHECK(next->rules.size() > 5);
    const progress::NextRule& last = next->rules.back();
    CHECK_FALSE(last.above);
    CHECK_FALSE(last.below);
    CHECK_FALSE(last.fewer_than);
    CHECK_FALSE(last.can_be_timed);
    CHECK(progress::next_drill({}, next->rules).has_value());
    CHECK(next->plan == progress::PlanRules{});
    for (const progress::NextRule& rule : next->rules) CHECK(load_drill(rule.drill, {}).has_value());
}

TEST_CASE("a newcomer begins at the first rung whose drill exists, and nobody is sent to a lift without warning") {
    const auto next = load_next({});
    REQUIRE(next.has_value());
    CHECK(progress::next_drill({}, next->rules)->drill == "taking-turns");
    for (const progress::NextRule& rule : next->rules) {
        CAPTURE(rule.name);
        const auto drill = load_drill(rule.drill, {});
        REQUIRE(drill.has_value());
        const bool warned = drill->start == StartKind::pattern || drill->start == StartKind::drawn;
        for (const AttackChoice& attack : drill->attacks) CHECK((warned || attack.moment != Moment::lift));
        for (const char* never : {"wait for", "let the", "pass, then"})
            CHECK(rule.say.find(never) == std::string::npos);
    }
}

TEST_CASE("the rules climb the rungs one by one, and send back to a rung below its mark") {
    const auto next = load_next({});
    REQUIRE(next.has_value());
    progress::AthleteTerm term;
    const auto practise = [&](const progress::Situation& situation, Verdict verdict, std::uint32_t reps) {
        for (auto* situations : {&term.situations, &term.recent_situations})
            (*situations)[situation][static_cast<std::size_t>(verdict)] += reps;
        return progress::next_drill(term, next->rules)->drill;
    };
    const auto single = [](Moment moment, StartKind start) {
        return progress::Situation{AttackKind::single, moment, Counter::back_hand, Stance::closed, start};
    };
    const auto of_kind = [](AttackKind kind, Moment moment) {
        return progress::Situation{kind, moment, Counter::back_hand, Stance::closed, StartKind::random};
    };
    using enum Verdict;
    CHECK(practise(single(Moment::gap, StartKind::pattern), on_time, 19) == "taking-turns");
    CHECK(practise(single(Moment::gap, StartKind::pattern), on_time, 1) == "gap-of-a-single-kick");
    CHECK(practise(single(Moment::gap, StartKind::random), on_time, 20) == "drop-of-a-single-kick");
    CHECK(practise(single(Moment::drop, StartKind::random), on_time, 20) == "feints");
    CHECK(practise(of_kind(AttackKind::feint, Moment::drop), held, 20) == "rebounds");
    CHECK(practise(of_kind(AttackKind::rebound, Moment::gap), on_time, 20) == "legs-into-hands");
    CHECK(practise(of_kind(AttackKind::leg_to_hands, Moment::gap), on_time, 20) == "drawing-the-attack");
    term.answers[static_cast<std::size_t>(progress::Answer::leading)] = {15, 20};
    CHECK(progress::next_drill(term, next->rules)->drill == "linked-techniques");
    CHECK(practise(of_kind(AttackKind::feint, Moment::drop), took_the_feint, 40) == "feints");
    CHECK(practise(single(Moment::gap, StartKind::random), early, 60) == "gap-of-a-single-kick");
    CHECK(practise(single(Moment::gap, StartKind::pattern), late, 60) == "taking-turns");
}

TEST_CASE("every key of a rule and of the plan is taken") {
    const auto next = parse_next(
        "[[rule]]\nname = \"held leg\"\nkind = \"carry\"\nmoment = \"gap\"\ncounter = \"spin\"\nstance = "
        "\"open\"\nstart = \"drawn\"\n"
        "over = \"term\"\nverdicts = [\"clash\", \"got hit\"]\nabove = 0.25\nbelow = 0.9\nreps_min = 12\n"
        "drill = \"around-the-held-leg\"\nsay = \"{share}\"\n[[rule]]\nanswer = \"leading\"\nfewer_than = 7\n"
        "drill = \"feints\"\nsay = \"x\"\n[[rule]]\ncan_be_timed = true\ndrill = \"hunted\"\nsay = \"y\"\n"
        "[plan]\nweeks = 4\norder = [\"lift\", \"drop\"]\n",
        "next.toml");
    REQUIRE_MESSAGE(next.has_value(), next.error().text());
    progress::NextRule rule;
    rule.name = "held leg";
    rule.kind = AttackKind::carry;
    rule.moment = Moment::gap;
    rule.counter = Counter::spin;
    rule.stance = Stance::open;
    rule.start = StartKind::drawn;
    rule.recent = false;
    rule.verdicts = {Verdict::clash, Verdict::got_hit};
    rule.above = .25;
    rule.below = .9;
    rule.reps_min = 12;
    rule.drill = "around-the-held-leg";
    rule.say = "{share}";
    REQUIRE(next->rules.size() == 3);
    CHECK(next->rules[0] == rule);
    CHECK(next->rules[1].answer == progress::Answer::leading);
    CHECK(next->rules[1].fewer_than == 7U);
    CHECK(next->rules[1].name == "rule 2");
    CHECK(next->rules[2].can_be_timed);
    CHECK(next->plan == progress::PlanRules{4, {Moment::lift, Moment::drop}});
}

TEST_CASE("a rule that is wrong or makes no sense is told with file, line and what is allowed") {
    struct Case {
        std::string text, what, to_do;
    };
    const Case cases[] = {
        {"", "rule is missing", "[[rule]]"},
        {"[[rule]]\nsay = \"x\"\n", "drill is missing", "breakstep drills"},
        {"[[rule]]\ndrill = \"feints\"\n", "say is missing", "reason"},
        {whole + "kind = \"cary\"\n", "kind", "carry"},
        {whole + "above = 1.5\n", "above", "0 to 1"},
        {whole + "reps_min = 0\n", "reps_min", "1 to"},
        {whole + "verdict = [\"clash\"]\n", "verdict", "verdicts"},
        {whole + "verdicts = [\"clashes\"]\n", "verdicts", "clash"},
        {whole + "above = 0.2\nfewer_than = 3\n", "more than one reason", "keep one"},
        {whole + "answer = \"the gap\"\nmoment = \"gap\"\n", "moment", "take it out"},
        {whole + "kind = \"feint\"\ncounter = \"spin\"\n", "counter", "take it out"},
        {whole + "[plan]\nweeks = 0\n", "plan.weeks", "1 to 12"},
        {whole + "[plan]\norder = [\"up\"]\n", "plan.order", "lift"},
    };
    for (const Case& one : cases) {
        CAPTURE(one.text);
        const Error error = error_of(one.text);
        CAPTURE(error.text());
        CHECK(error.what.find(one.what) != std::string::npos);
        CHECK(error.to_do.find(one.to_do) != std::string::npos);
    }
}
