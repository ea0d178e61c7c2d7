// Opponents as they are typed: listed, copied from a partner, played, and gone with the partner; a rung given by hand;
// a level that goes on where it stood.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

#include "support/room.hpp"

using namespace breakstep::testing;
using nlohmann::json;

namespace {

constexpr const char* copy_file = ".config/breakstep/opponents/copy-of-curlew.toml";

void exchange(const Room& room, const char* seed) {
    const Said said =
        room.run("drill free-exchange --rig simulated --fast --athlete Heron --partner Curlew --store a.db --seed " +
                 std::string(seed));
    REQUIRE_MESSAGE(said.code == 0, said.err);
}

bool listed(const Room& room, const std::string& name) {
    const Said said = room.run("opponents list --json");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    const json all = json::parse(said.out).at("opponents");
    return std::any_of(all.begin(), all.end(), [&](const json& one) { return one.at("name") == name; });
}

}  // namespace

TEST_CASE("a partner who said yes is copied, played against, and gone with their copy when erased") {
    const Room room;
    exchange(room, "3");
    exchange(room, "4");
    const Said unasked = room.run("opponents copy Curlew --store a.db");
    CHECK(unasked.code == 2);
    CHECK(has(unasked.err, "has not said yes"));
    CHECK_FALSE(std::filesystem::exists(room.file(copy_file)));

    REQUIRE(room.run("athletes change Curlew --consent-on 2024-09-30 --consent-by herself --store a.db").code == 0);
    const Said copied = room.run("opponents copy Curlew --store a.db --json");
    REQUIRE_MESSAGE(copied.code == 0, copied.err);
    const json copy = json::parse(copied.out);
    CHECK(copy.at("name") == "copy-of-curlew");
    CHECK(copy.at("own_kicks") >= 40);
    CHECK(copy.at("sessions") == 2);
    CHECK(std::filesystem::exists(room.file(copy_file)));
    CHECK(listed(room, "copy-of-curlew"));
    CHECK(listed(room, "rusher"));
    // Learned anew it takes its own place, and no other's.
    CHECK(room.run("opponents copy Curlew --store a.db").code == 0);
    room.write(".config/breakstep/opponents/mine.toml", "title = \"mine\"\n");
    CHECK(room.run("opponents copy Curlew --name mine --store a.db").code == 2);

    room.write("own.toml",
               "title = \"Against Curlew\"\nfor = \"For Heron.\"\nagainst = \"copy-of-curlew\"\nsets = 1\nreps = 12\n");
    const Said played = room.run("drill own.toml --rig simulated --fast --athlete Heron --store a.db --seed 9 --json");
    REQUIRE_MESSAGE(played.code == 0, played.err);
    const json reps = json::parse(played.out).at("sessions").at(0).at("reps");
    CHECK(std::count_if(reps.begin(), reps.end(), [](const json& rep) { return rep.at("attack") != "nothing"; }) >=
          12);

    // Whoever else is erased leaves it.
    REQUIRE(room.run("athletes erase Heron --yes --store a.db").code == 0);
    CHECK(std::filesystem::exists(room.file(copy_file)));
    const Said erased = room.run("athletes erase Curlew --yes --store a.db");
    REQUIRE_MESSAGE(erased.code == 0, erased.err);
    CHECK(has(erased.out, "copy-of-curlew.toml"));
    CHECK_FALSE(std::filesystem::exists(room.file(copy_file)));
    CHECK_FALSE(listed(room, "copy-of-curlew"));
}

TEST_CASE("too few kicks make no copy, and who never kicked neither") {
    const Room room;
    REQUIRE(
        room.run("drill partner-kicks --rig simulated --fast --athlete Heron --partner Curlew --store a.db --seed 3")
            .code == 0);
    const Said told = room.run("opponents copy Curlew --simulated --store a.db");
    CHECK(told.code == 2);
    CHECK(has(told.err, "where nobody asked for it, and a copy takes 40"));
    CHECK(room.run("opponents copy Heron --simulated --store a.db").code == 2);
    CHECK(room.run("opponents copy Nobody --store a.db").code == 2);
    CHECK(room.run("opponents copy Curlew --name ../x --store a.db").code == 2);
}

TEST_CASE("a rung given by hand stands with its day, comes next, and is taken back") {
    const Room room;
    REQUIRE(room.run("drill taking-turns --rig simulated --fast --athlete Heron --store a.db --seed 3").code == 0);
    const auto heron = [&] {
        const Said said = room.run("progress --json --store a.db");
        REQUIRE_MESSAGE(said.code == 0, said.err);
        return json::parse(said.out).at("athletes").at(0);
    };
    CHECK(heron().at("placed") == nullptr);
    CHECK(heron().at("next").at("drill") == "in-and-out");
    REQUIRE(room.run("athletes change Heron --rung 4 --store a.db").code == 0);
    CHECK(heron().at("placed").at("rung") == 4);
    CHECK(heron().at("placed").at("on").get<std::string>().size() == 10);
    CHECK(heron().at("next").at("drill") == "drop-of-a-single-kick");
    CHECK(has(room.run("progress --details --store a.db").out, "put on rung 4 by the coach"));
    CHECK(room.run("athletes change Heron --rung 10 --store a.db").code == 2);
    REQUIRE(room.run("athletes change Heron --rung \"\" --store a.db").code == 0);
    CHECK(heron().at("placed") == nullptr);
    CHECK(heron().at("next").at("drill") == "in-and-out");
}

TEST_CASE("the level of the last time is where the next session's second set begins") {
    const Room room;
    // As the window follows: p and the two steps' sum of the drill and the rules.
    constexpr double share = 0.75, steps = 0.16;
    const auto adaptive = [&](const char* seed) {
        const Said said =
            room.run("drill the-drop-narrows --rig simulated --fast --athlete Curlew --store a.db --json --seed " +
                     std::string(seed));
        REQUIRE_MESSAGE(said.code == 0, said.err);
        std::vector<json> reps;
        const json all = json::parse(said.out);
        for (const json& rep : all.at("sessions").at(0).at("reps"))
            if (rep.at("set").get<int>() > 1 && rep.at("scored") == true && rep.at("counts_for_rung") == false)
                reps.push_back(rep);
        REQUIRE(reps.size() >= 2);
        return reps;
    };
    const auto first = adaptive("3"), second = adaptive("4");
    CHECK(first.front().at("window") == 1.0);
    const json& last = first.back();
    const bool hit = last.at("verdict") == "on time";
    const double stood =
        std::clamp(last.at("window").get<double>() * std::exp(hit ? -steps * (1 - share) : steps * share), 0.4, 1.0);
    CHECK(second.front().at("window").get<double>() == doctest::Approx(stood).epsilon(1e-9));
}
