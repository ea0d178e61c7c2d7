// The plan of an evening as it is typed.
#include <doctest/doctest.h>

#include <algorithm>
#include <string>

#include "settings/evening_file.hpp"

using namespace breakstep;
using namespace breakstep::evening;

TEST_CASE("a block of the hall may name a drill for pairs, and asks nothing of the rig") {
    const auto blocks =
        parse_evening("[[block]]\ntitle = \"pairs\"\nminutes = 10\ndrill = \"taking-turns\"\n", "plan.toml");
    REQUIRE(blocks);
    CHECK(blocks->front().kind == BlockKind::hall);
    CHECK(blocks->front().drill == "taking-turns");
    for (const char* line : {"who = \"adults\"", "sets = 2", "reps = 8", "beyond_age = true"}) {
        const auto wrong =
            parse_evening(std::string("[[block]]\ntitle = \"pairs\"\nminutes = 10\n") + line + "\n", "plan.toml");
        REQUIRE_FALSE(wrong);
        CHECK(wrong.error().what.find("makes no sense in a block of the hall") != std::string::npos);
    }
}

TEST_CASE("the club's own plan names drills that exist") {
    const auto plan = load_evening("", {});
    REQUIRE_MESSAGE(plan, plan.error().what);
    CHECK(std::any_of(plan->blocks.begin(), plan->blocks.end(),
                      [](const Block& block) { return block.kind == BlockKind::hall && !block.drill.empty(); }));
}
