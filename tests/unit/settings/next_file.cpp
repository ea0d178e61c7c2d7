// The rules of what comes next as a coach writes them.
#include "app/settings/next_file.hpp"

#include <doctest/doctest.h>

#include "app/settings/drill_file.hpp"

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

TEST_CASE("every key of a rule and of the plan is taken") {
    const auto next = parse_next(
        "[[rule]]\nname = \"held leg\"\nkind = \"carry\"\nmoment = \"gap\"\ncounter = \"spin\"\nstance = \"open\"\n"
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
