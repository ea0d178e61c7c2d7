// Drills and opponents that set up, lure, follow and answer back, as files.
#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <set>

#include "settings/countering_keys.hpp"
#include "settings/drill_file.hpp"
#include "settings/next_file.hpp"

using namespace breakstep;

namespace {

const std::string whole = "title = \"t\"\n[[attack]]\nkind = \"single\"\n";

void told(const std::string& text, const std::string& words) {
    const auto read = parse_drill(text, "own.toml", "own", Settings{});
    CAPTURE(text);
    REQUIRE_FALSE(read.has_value());
    CHECK_MESSAGE(read.error().what.find(words) != std::string::npos, read.error().what);
}

}  // namespace

TEST_CASE("each shipped drill says in one sentence whom it is for") {
    const auto list = list_drills(Settings{});
    REQUIRE(list.has_value());
    CHECK(list->unusable.empty());
    std::set<std::string> sentences;
    for (const Drill& drill : list->drills) {
        CAPTURE(drill.name);
        CHECK(drill.whom.starts_with("For "));
        CHECK(drill.whom.ends_with("."));
        sentences.insert(drill.whom);
    }
    CHECK(sentences.size() == list->drills.size());
}

TEST_CASE("every key of countering is taken") {
    const auto drill = parse_drill(
        "title = \"t\"\nfor = \"For you.\"\nstart = \"drawn\"\ndraws = [\"step in\", \"strike\"]\nno_more_ground = "
        "true\n"
        "level_follows = true\nlevel_share = 0.8\ndone_is = \"leave\"\noff_line = true\ndelays_spread = 0.2\n"
        "[[attack]]\nkind = \"single\"\npads = [\"low left\"]\nthen_pads = [\"high left\"]\nthen_within_ms = 500\n"
        "[stepped_at]\nshare = 0.4\ndelay_ms = 220\n[retreated_from]\nshare = 0.6\ndelay_ms = 300\n"
        "[door]\npads = [\"high right\"]\nshare = 0.7\ndelay_ms = 450\n",
        "own.toml", "own", Settings{});
    REQUIRE_MESSAGE(drill.has_value(), drill.error().what);
    CHECK(drill->whom == "For you.");
    CHECK(drill->following == Following{true, 0.8});
    CHECK(drill->asks.rung == RungAim::leave);
    CHECK(drill->asks.out_within == 600ms);
    CHECK(drill->asks.off_line);
    CHECK(drill->asks.no_more_ground);
    CHECK(drill->manners.draws == 0b100010);
    CHECK(drill->manners.stepped_at == Manner{0.4, 220ms});
    CHECK(drill->manners.retreated_from == Manner{0.6, 300ms});
    CHECK(drill->manners.door == Manner{0.7, 450ms});
    CHECK(drill->manners.door_pads == pad_bit(PadRole::high_right));
    CHECK(drill->manners.spread == 0.2);
    CHECK(drill->attacks[0].then_pads == pad_bit(PadRole::high_left));
    CHECK(drill->attacks[0].then_within == 500ms);
}

TEST_CASE("what does not go together is told with its line") {
    told("start = \"countered\"\n" + whole, "answers no strike");
    told("call_it_set = 3\n" + whole, "there are 2 sets");
    told("start = \"drawn\"\ncall_it_set = 1\n" + whole, "call_it_set is only used");
    told("test = true\nlevel_follows = true\n" + whole, "can't be in a test");
    told("level_share = 0.8\n" + whole, "level_share is only used");
    told("first_or_after = true\n" + whole, "needs two attacks");
    told("draws = [\"step in\"]\n" + whole, "draws is only used");
    told("no_more_ground = true\n" + whole, "no_more_ground is only used");
    told("against = \"nobody\"\n" + whole, "own.toml, line 1");
    told(whole + "[struck]\nshare = 0.5\n", "struck is only used");
    told(whole + "then_within_ms = 500\n", "then_within_ms is only used");
    told("source = \"partner\"\nstart = \"lure\"\n" + whole, "no partner can be told");
}

TEST_CASE("each shipped opponent can be read, its kinds come to a hundred, and a drill stands against it") {
    std::set<std::string> names;
    for (const auto& entry : std::filesystem::directory_iterator(config_folder() / "opponents")) {
        const std::string name = entry.path().stem().string();
        CAPTURE(name);
        const auto opponent = load_opponent(name, Settings{});
        REQUIRE_MESSAGE(opponent.has_value(), opponent.error().what);
        int shares = 0;
        for (const AttackChoice& attack : opponent->attacks) shares += attack.share;
        CHECK(shares == 20);
        CHECK(opponent->whom.starts_with("For "));
        const auto drill = load_drill("against-" + name, Settings{});
        REQUIRE_MESSAGE(drill.has_value(), drill.error().what);
        CHECK(drill->attacks == opponent->attacks);
        CHECK(drill->manners == opponent->manners);
        CHECK(drill->withheld == opponent->withheld);
        // The lift is asked of nobody who does not draw it.
        for (const AttackChoice& attack : drill->attacks) CHECK(attack.moment != Moment::lift);
        names.insert(name);
    }
    CHECK(names == std::set<std::string>{"busy-front-leg", "follower", "linker", "mixed", "patient", "rusher"});
}

TEST_CASE("an opponent's lean is held to what a drill's is") {
    const auto read = parse_opponent(
        "title = \"t\"\nfor = \"For you.\"\n[kinds]\nsingle = 100\n[telegraph]\ndelay_ms = [500, 300, 900]\n",
        "own.toml", "own", Settings{});
    REQUIRE_FALSE(read.has_value());
    CHECK_MESSAGE(read.error().what.find("longer than 700 ms") != std::string::npos, read.error().what);
}

TEST_CASE("kinds that don't come to a hundred, or not by fives, are told") {
    const auto refused = [](const std::string& kinds, const std::string& words) {
        const auto read =
            parse_opponent("title = \"t\"\nfor = \"For you.\"\n[kinds]\n" + kinds, "own.toml", "own", Settings{});
        REQUIRE_FALSE(read.has_value());
        CHECK_MESSAGE(read.error().what.find(words) != std::string::npos, read.error().what);
    };
    refused("single = 50\n", "come to 50");
    refused("single = 97\nfeint = 3\n", "go by fives");
    refused("single = 100\njump = 5\n", "jump");
}

TEST_CASE("the ladder has the nine rungs, each with drills that are there and of its own start and level") {
    const auto ladder = load_ladder();
    REQUIRE_MESSAGE(ladder.has_value(), ladder.error().what);
    REQUIRE(ladder->size() == 9);
    for (std::size_t i = 0; i < 9; ++i) {
        const progress::RungStandard& rung = (*ladder)[i];
        CAPTURE(rung.name);
        CHECK(rung.number == static_cast<std::int32_t>(i) + 1);
        CHECK(rung.mark == (i < 2 ? 0.6 : i == 8 ? 0.4 : 0.5));
        CHECK(rung.feints == (i == 4 || i == 7));
        for (const std::string& name : rung.drills) {
            CAPTURE(name);
            const auto drill = load_drill(name, Settings{});
            REQUIRE(drill.has_value());
            CHECK(drill->level >= rung.junior_level.value_or(rung.level));
            CHECK((!rung.start || *rung.start == drill->start));
            bool any = false;
            for (const AttackChoice& attack : drill->attacks)
                any = any || ((!rung.moment || *rung.moment == attack.moment) &&
                              (rung.kinds.empty() ||
                               std::find(rung.kinds.begin(), rung.kinds.end(), attack.kind) != rung.kinds.end()));
            CHECK(any);
        }
    }
    CHECK_FALSE(parse_ladder("", "own.toml").has_value());
}

namespace {

const std::string ordered =
    "title = \"t\"\nfor = \"For you.\"\ndraws = [\"ground given twice\"]\n[kinds]\nsingle = 60\nfeint = 40\n"
    "[after.single]\nsingle = 250\nfeint = 750\n[after.feint]\nsingle = 1000\n";

}  // namespace

TEST_CASE("an opponent with an order of its own brings it into the drill, unless the drill names its own attacks") {
    const auto opponent = parse_opponent(ordered, "own.toml", "own", Settings{});
    REQUIRE_MESSAGE(opponent.has_value(), opponent.error().what);
    CHECK(opponent->order == std::vector<double>{0.25, 0.75, 1, 0});
    CHECK(opponent->manners.names(DrewBy::ground_given_twice));
    const auto wrong = [&](const std::string& from, const std::string& to, const std::string& words) {
        std::string text = ordered;
        text.replace(text.find(from), from.size(), to);
        const auto read = parse_opponent(text, "own.toml", "own", Settings{});
        CAPTURE(text);
        REQUIRE_FALSE(read.has_value());
        CHECK_MESSAGE(read.error().what.find(words) != std::string::npos, read.error().what);
    };
    wrong("feint = 750", "feint = 751", "come to 1001");
    wrong("[after.feint]\nsingle = 1000\n", "", "after.feint is missing");
    wrong("feint = 750", "reset = 750", "the others come to 250");
}

TEST_CASE("hands and a change of pace draw, and nothing is no act") {
    const auto drill = parse_drill("start = \"drawn\"\ndraws = [\"change of pace\", \"hand hidden\"]\n" + whole,
                                   "own.toml", "own", Settings{});
    REQUIRE_MESSAGE(drill.has_value(), drill.error().what);
    CHECK(drill->manners.names(DrewBy::change_of_pace));
    CHECK(drill->manners.names(DrewBy::hand_hidden));
    CHECK_FALSE(drill->manners.names(DrewBy::hand_shown));
    CHECK_FALSE(drill->manners.names(DrewBy::entry));
    told("start = \"drawn\"\ndraws = [\"nothing\"]\n" + whole, "names \"nothing\"");
}

TEST_CASE("every shipped opponent is listed, each says in one sentence whom it is for") {
    std::vector<Error> unusable;
    const auto opponents = list_opponents(Settings{}, unusable);
    REQUIRE(opponents.has_value());
    CHECK(unusable.empty());
    std::set<std::string> names;
    for (const Drill& each : *opponents) {
        names.insert(each.manners.opponent);
        CHECK(each.whom.starts_with("For "));
        CHECK(each.whom.ends_with("."));
        CHECK(each.order.empty());
    }
    for (const char* name : {"patient", "busy-front-leg", "rusher", "linker", "follower", "mixed"})
        CHECK(names.contains(name));
}

TEST_CASE("rung five asks a quarter of feints at a beginner's level of a junior, and the rules send them there") {
    const auto next = load_next(Settings{});
    REQUIRE_MESSAGE(next.has_value(), next.error().what);
    const auto fifth =
        std::find_if(next->rungs.begin(), next->rungs.end(), [](const auto& one) { return one.number == 5; });
    REQUIRE(fifth != next->rungs.end());
    CHECK(fifth->junior_level == Level::beginner);
    CHECK(fifth->level == Level::intermediate);
    progress::AthleteTerm junior;
    junior.junior = true;
    junior.placed = progress::AthleteTerm::Placed{5, 1};
    const auto drill = load_drill(progress::next_drill(junior, next->rules)->drill, Settings{});
    REQUIRE(drill.has_value());
    CHECK(drill->name == "feints-for-juniors");
    CHECK(drill->level == Level::beginner);
    std::int32_t feints = 0, all = 0;
    for (const AttackChoice& attack : drill->attacks) {
        all += attack.share;
        feints += attack.kind == AttackKind::feint ? attack.share : 0;
    }
    CHECK(4 * feints == all);
}
