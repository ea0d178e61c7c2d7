// Drill files whose keys don't go together, and faults that stand in another file than the one that was named.
#include <doctest/doctest.h>

#include "core/trade/junior.hpp"
#include "settings/drill_file.hpp"
#include "settings/next_file.hpp"
#include "settings/settings.hpp"

using namespace breakstep;

namespace {

std::string refusal(const std::string& text) {
    const auto read = parse_drill("title = \"t\"\n" + text, "own.toml", "own", Settings{});
    return read ? "" : read.error().what + "; " + read.error().to_do;
}

bool says(const std::string& refusal, const char* words) { return refusal.find(words) != std::string::npos; }

constexpr const char* lift = "[[attack]]\nkind = \"single\"\nmoment = \"lift\"\n";
constexpr const char* drop = "[[attack]]\nkind = \"single\"\nmoment = \"drop\"\n";
constexpr const char* feint = "[[attack]]\nkind = \"feint\"\n";

}  // namespace

TEST_CASE("a lure is answered as the foot lifts, and holds no feints") {
    const std::string lure = "start = \"lure\"\n";
    CHECK(refusal(lure + lift) == "");
    CHECK(says(refusal(lure + drop), "broken ahead of the kick"));
    CHECK(says(refusal(lure + lift + feint), "broken ahead of the kick"));
}

TEST_CASE(
    "who is to be first or after is asked for the lift and for something later, in sets enough, of a drawn kick") {
    const std::string coin = "start = \"drawn\"\nfirst_or_after = true\n";
    CHECK(refusal(coin + lift + drop) == "");
    for (const std::string& wrong : {std::string(drop) + lift, std::string(lift) + lift, std::string(lift) + feint,
                                     std::string(lift) + drop + drop}) {
        CAPTURE(wrong);
        CHECK(says(refusal(coin + wrong), "needs two attacks"));
    }
    CHECK(says(refusal(coin + "sets = 1\n" + lift + drop), "needs two sets"));
    CHECK(says(refusal("first_or_after = true\n" + std::string(lift) + drop), "start = \"drawn\""));
}

TEST_CASE("what is to draw the attack draws something") {
    const std::string drawn = "start = \"drawn\"\n";
    CHECK(refusal(drawn + "draws = [\"step in\"]\n" + drop) == "");
    CHECK(says(refusal(drawn + "draws = [\"nothing\"]\n" + drop), "draws nothing"));
    CHECK(says(refusal(drawn + "draws = [\"ground given\"]\n" + drop), "[retreated_from]"));
    CHECK(says(refusal(drawn + "draws = [\"strike\"]\n" + drop), "no door"));
    CHECK(refusal(drawn + "draws = [\"strike\"]\n" + drop +
                  "[door]\nshare = 0.5\npads = [\"low left\"]\ndelay_ms = 400\n") == "");
}

TEST_CASE("where room alone is asked for nothing is struck, called or narrowed") {
    const std::string range = "done_is = \"range\"\n";
    CHECK(refusal(range + drop) == "");
    CHECK(says(refusal(range + "call_it_set = 1\n" + drop), "nothing is struck"));
    CHECK(says(refusal(range + "level_follows = true\n" + drop), "nothing is struck"));
    CHECK(says(refusal(range + drop + "then_pads = [\"low left\"]\n"), "nothing is struck"));
}

TEST_CASE("a partner who is led to the edge kicks when they like, and nothing else is asked beside the strike") {
    const std::string free = "source = \"partner\"\nstart = \"free\"\n", edge = "done_is = \"edge\"\n";
    CHECK(refusal(free + edge + drop) == "");
    CHECK(refusal(free + edge + "edge_within_ms = 900\n" + drop) == "");
    CHECK(says(refusal(edge + drop), "a partner is led there"));
    CHECK(says(refusal("source = \"partner\"\n" + edge + drop), "start = \"free\""));
    CHECK(says(refusal("source = \"partner\"\nstart = \"coin\"\n" + edge + drop), "start = \"free\""));
    CHECK(says(refusal("start = \"drawn\"\n" + edge + drop), "a partner is led there"));
    CHECK(says(refusal(free + "edge_within_ms = 900\n" + drop), "is only used by done_is = \"edge\""));
    CHECK(says(refusal(free + edge + "edge_within_ms = 400\n" + drop), "edge_within_ms"));
    CHECK(says(refusal(free + edge + "off_line = true\n" + drop), "something else is asked"));
    CHECK(says(refusal(free + edge + "out_within_ms = 600\n" + drop), "something else is asked"));
    CHECK(says(refusal(free + edge + drop + "then_pads = [\"low left\"]\n"), "something else is asked"));
}

TEST_CASE("of an opponent that can't be read its own fault is told, and who there is") {
    const std::string told = refusal("against = \"rushr\"\n");
    CHECK_MESSAGE(says(told, "there is no opponent \"rushr\""), told);
    CHECK_MESSAGE(says(told, "rusher"), told);
    CHECK_FALSE(says(told, "needs at least one"));
}

TEST_CASE("a rule's words fill in what there is, and no two rules have one name") {
    const auto rules = [](const std::string& say, const char* second) {
        return parse_next("[[rule]]\nname = \"one\"\ndrill = \"feints\"\nsay = \"" + say + "\"\n[[rule]]\nname = \"" +
                              second + "\"\ndrill = \"feints\"\nsay = \"so\"\n",
                          "own.toml");
    };
    CHECK(rules("{count} of {of}, {share}", "two").has_value());
    REQUIRE_FALSE(rules("{foo}", "two").has_value());
    CHECK(says(rules("{foo}", "two").error().what, "nothing is filled in"));
    CHECK_FALSE(rules("{so far}", "two").has_value());
    REQUIRE_FALSE(rules("so", "one").has_value());
    CHECK(says(rules("so", "one").error().what, "stands twice"));
}

TEST_CASE("the rules that come with the program send nobody to a drill that needs a partner") {
    const auto next = load_next(Settings{});
    REQUIRE_MESSAGE(next.has_value(), next.error().what);
    std::vector<std::string> drills;
    for (const progress::NextRule& rule : next->rules) {
        drills.push_back(rule.drill);
        for (const auto& other : rule.instead) drills.push_back(other.drill);
    }
    for (const std::string& name : drills) {
        CAPTURE(name);
        const auto drill = load_drill(name, Settings{});
        REQUIRE(drill.has_value());
        CHECK(drill->partner.source == AttackSource::opponent);
    }
}

TEST_CASE("the rules that come with the program send no child to what its age is not for") {
    const auto next = load_next(Settings{});
    REQUIRE_MESSAGE(next.has_value(), next.error().what);
    for (const std::int32_t age : {8, 10, 11, 13}) {
        for (const progress::NextRule& rule : next->rules) {
            progress::AthleteTerm child;
            child.age = age;
            child.junior = true;
            // Put on the rule's rung, so that it is the one that is looked at.
            if (rule.rung) child.placed = {*rule.rung, 0};
            const auto chosen = progress::next_drill(child, next->rules);
            REQUIRE(chosen);
            CAPTURE(age);
            CAPTURE(rule.name);
            CAPTURE(chosen->drill);
            const auto drill = load_drill(chosen->drill, Settings{});
            REQUIRE(drill.has_value());
            CHECK(never_at_age(*drill, age) == "");
        }
    }
}
