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

/// An athlete who stands at the foot of every rung.
progress::AthleteTerm climbing(const NextRules& rules) {
    progress::AthleteTerm term;
    term.rungs = progress::RungFold(1, rules.rungs).standings(0);
    return term;
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

TEST_CASE("a reason names every moment that its drill takes, and no other") {
    const auto next = load_next({});
    REQUIRE(next);
    std::size_t with_both = 0;
    for (const progress::NextRule& rule : next->rules) {
        const bool lands = rule.say.find("as the foot lands") != std::string::npos;
        const bool drops =
            rule.say.find("as it drops") != std::string::npos || rule.say.find("as it comes down") != std::string::npos;
        if (!lands && !drops) continue;
        CAPTURE(rule.name);
        const auto drill = load_drill(rule.drill, {});
        REQUIRE(drill);
        MomentSet taken = 0;
        for (const AttackChoice& attack : drill->attacks)
            if (attack.kind != AttackKind::feint)
                taken =
                    static_cast<MomentSet>(taken | (attack.moments != 0 ? attack.moments : moment_bit(attack.moment)));
        CHECK(lands == ((taken & moment_bit(Moment::gap)) != 0));
        CHECK(drops == ((taken & moment_bit(Moment::drop)) != 0));
        with_both += lands && drops ? 1 : 0;
    }
    CHECK(with_both > 0);
}

TEST_CASE("a newcomer begins at the first rung whose drill exists, and nobody is sent to a lift without warning") {
    const auto next = load_next({});
    REQUIRE(next.has_value());
    CHECK(progress::next_drill({}, next->rules)->drill == "in-and-out");
    for (const progress::NextRule& rule : next->rules) {
        CAPTURE(rule.name);
        const auto drill = load_drill(rule.drill, {});
        REQUIRE(drill.has_value());
        const bool warned =
            drill->start == StartKind::pattern || drill->start == StartKind::drawn || drill->start == StartKind::lure;
        for (const AttackChoice& attack : drill->attacks) CHECK((warned || attack.moment != Moment::lift));
        for (const char* never : {"wait for", "let the", "pass, then"})
            CHECK(rule.say.find(never) == std::string::npos);
    }
}

TEST_CASE("the rules climb the rungs one by one, whoever has passed a rung needs no lower one") {
    const auto next = load_next({});
    REQUIRE(next.has_value());
    progress::AthleteTerm term = climbing(*next);
    const auto passes = [&](std::int32_t number) {
        for (progress::RungStanding& rung : term.rungs)
            if (rung.number == number) rung.passed = true;
        return progress::next_drill(term, next->rules)->drill;
    };
    CHECK(progress::next_drill(term, next->rules)->drill == "in-and-out");
    CHECK(passes(1) == "taking-turns");
    CHECK(passes(2) == "gap-of-a-single-kick");
    CHECK(passes(4) == "feints");  // the gap too lies behind
    CHECK(passes(5) == "rebounds");
    term.claimed.cell = progress::Cell{Moment::gap, Counter::back_hand, Stance::closed, true};
    term.claimed.claim.claim = progress::Claim::worse;  // what the page says needs practice again
    CHECK(progress::next_drill(term, next->rules)->drill == "gap-of-a-single-kick");
    term.claimed.cell->moment = Moment::drop;
    CHECK(progress::next_drill(term, next->rules)->drill == "drop-of-a-single-kick");
    term.claimed.claim.claim = progress::Claim::no_clear_change;
    CHECK(progress::next_drill(term, next->rules)->drill == "rebounds");
    term.rhythm_wealth = 20;
    CHECK(progress::next_drill(term, next->rules)->drill == "hunted");
    term.rhythm_wealth = 1;
    CHECK(passes(6) == "legs-into-hands");
    CHECK(passes(7) == "two-back");
    CHECK(passes(8) == "lure");
    CHECK(passes(9) == "linked-techniques");
}

TEST_CASE(
    "a rung's reason has the counts so far and the mark, a child's has not, the rung below is the coach's to offer") {
    const auto next = load_next({});
    REQUIRE(next.has_value());
    progress::AthleteTerm term = climbing(*next);
    term.rungs[1].passed = true;  // taking turns
    progress::RungStanding& gap = term.rungs[2];
    REQUIRE(gap.number == 3);
    auto said = progress::next_drill(term, next->rules);
    CHECK(said->because == "rung 3, the gap: arrive as the foot lands");
    CHECK_FALSE(said->evidence.has_value());
    gap.on_time = 6;
    gap.reps = 26;
    gap.step_down = true;
    said = progress::next_drill(term, next->rules);
    CHECK(said->drill == "gap-of-a-single-kick");  // offered, never imposed
    CHECK(said->because == "rung 3, the gap (on time 6 of 26; the mark is half): arrive as the foot lands");
    CHECK(said->without_counts == "rung 3, the gap: arrive as the foot lands");
    CHECK(said->offer.find("6 of 26") != std::string::npos);
    CHECK(said->offer.find("stays passed") != std::string::npos);
    CHECK(said->evidence == progress::Share{6, 26});
}

TEST_CASE("every key of a rung is taken, and a rung that makes no sense is told") {
    const std::string rung =
        "[[rung]]\nnumber = 5\nname = \"kick or feint\"\ndrills = [\"feints\"]\nlevel = \"intermediate\"\nkinds = "
        "[\"single\", \"reset\"]\nmoment = \"drop\"\nstart = \"drawn\"\nmark = 0.45\nfeints = true\n";
    const auto next = parse_next(rung + "[[rule]]\nrung = 5\ndrill = \"feints\"\nsay = \"because\"\n", "next.toml");
    REQUIRE_MESSAGE(next.has_value(), next.error().text());
    progress::RungStandard standard;
    standard.number = 5;
    standard.name = "kick or feint";
    standard.drills = {"feints"};
    standard.level = Level::intermediate;
    standard.kinds = {AttackKind::single, AttackKind::reset};
    standard.moment = Moment::drop;
    standard.start = StartKind::drawn;
    standard.mark = 0.45;
    standard.feints = true;
    REQUIRE(next->rungs.size() == 1);
    CHECK(next->rungs[0] == standard);
    CHECK(next->rules[0].rung == 5);

    const auto told = [](const std::string& text, const std::string& what) {
        const Error error = error_of(text);
        CHECK_MESSAGE(error.what.find(what) != std::string::npos, error.what);
    };
    told(rung + rung + whole, "number stands twice");
    told(whole + "rung = 4\n", "which is not there");
    told(rung + whole + "rung = 5\nkind = \"carry\"\n", "kind makes no sense beside rung");
    told(rung + whole + "rung = 5\nfewer_than = 7\n", "more than one reason");
    told("[[rung]]\ndrills = [\"feints\"]\n" + whole, "number is missing");
    told("[[rung]]\nnumber = 3\n" + whole, "drills is missing");
    told("[[rung]]\nnumber = 3\ndrills = [4]\n" + whole, "drills has something else");
    told("[[rung]]\nnumber = 3\ndrills = [\"feints\"]\nmark = 0.1\n" + whole, "mark is 0.1");
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
