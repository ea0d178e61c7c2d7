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
    CHECK(std::count_if(reps.begin(), reps.end(), [](const json& rep) { return rep.at("attack") != "nothing"; }) >= 12);

    // Whoever else is erased leaves it.
    REQUIRE(room.run("athletes erase Heron --yes --store a.db").code == 0);
    CHECK(std::filesystem::exists(room.file(copy_file)));
    const Said erased = room.run("athletes erase Curlew --yes --store a.db");
    REQUIRE_MESSAGE(erased.code == 0, erased.err);
    CHECK(has(erased.out, "copy-of-curlew.toml"));
    CHECK_FALSE(std::filesystem::exists(room.file(copy_file)));
    CHECK_FALSE(listed(room, "copy-of-curlew"));
}

TEST_CASE("a copy goes with the yes it was made with, and with the name it bears") {
    const Room room;
    exchange(room, "3");
    exchange(room, "4");
    const auto copied = [&](const std::string& yes) {
        REQUIRE(room.run("athletes change Curlew --consent-by herself --store a.db " + yes).code == 0);
        REQUIRE(room.run("opponents copy Curlew --store a.db").code == 0);
        REQUIRE(std::filesystem::exists(room.file(copy_file)));
    };
    copied("--consent-on 2024-09-30");
    const Said no = room.run("athletes change Curlew --no-consent --store a.db");
    CHECK(no.code == 0);
    CHECK(has(no.err, "copy-of-curlew.toml"));
    CHECK_FALSE(std::filesystem::exists(room.file(copy_file)));

    // A yes that ran out since: nobody typed a no, and nobody plays it.
    copied("--consent-on 2024-09-30");
    const std::string text = room.text(copy_file);
    REQUIRE(room.run("athletes change Curlew --consent-on 2024-09-30 --consent-until 2024-10-01 --consent-by herself "
                     "--store a.db")
                .code == 0);
    CHECK_FALSE(std::filesystem::exists(room.file(copy_file)));
    room.write(copy_file, text);
    room.write("own.toml", "title = \"Against Curlew\"\nfor = \"For Heron.\"\nagainst = \"copy-of-curlew\"\n");
    const Said played = room.run("drill own.toml --rig simulated --fast --athlete Heron --store a.db --seed 9");
    CHECK(played.code == 2);
    CHECK(has(played.err, "its partner's yes has ended"));
    CHECK_FALSE(std::filesystem::exists(room.file(copy_file)));
    room.write(copy_file, text);
    CHECK(room.run("opponents list --store a.db").code == 0);
    CHECK_FALSE(std::filesystem::exists(room.file(copy_file)));

    copied("--consent-on 2024-09-30 --consent-until \"\"");
    const Said renamed = room.run("athletes change Curlew --call-sign Dotterel --store a.db");
    CHECK(renamed.code == 0);
    CHECK(has(renamed.err, "opponents copy Dotterel"));
    CHECK_FALSE(std::filesystem::exists(room.file(copy_file)));
    // Dotterel kicks on no simulated rig: a yes is not taken for granted.
    REQUIRE(room.run("athletes change Dotterel --consent-on \"\" --consent-by \"\" --store a.db").code == 0);
    const Said granted = room.run("opponents copy Dotterel --simulated --store a.db");
    CHECK(granted.code == 2);
    CHECK(has(granted.err, "nobody of the simulated club"));
}

TEST_CASE("a copy's yes ends in any store, when it is taken back, and where its partner is joined to another") {
    const Room room;
    exchange(room, "3");
    exchange(room, "4");
    const auto copied = [&](const std::string& who, const std::string& yes) {
        REQUIRE(room.run("athletes change " + who + " --consent-by herself --store a.db " + yes).code == 0);
        REQUIRE(room.run("opponents copy " + who + " --store a.db").code == 0);
    };
    copied("Curlew", "--consent-on 2024-09-30 --consent-until 2199-01-01");
    std::string text = room.text(copy_file);
    CHECK(has(text, "2199-01-01"));
    text.replace(text.find("2199-01-01"), 10, "2024-10-01");
    room.write(copy_file, text);
    const Said listed_elsewhere = room.run("opponents list --store another.db");
    CHECK(has(listed_elsewhere.err, "its partner's yes has ended"));
    CHECK_FALSE(std::filesystem::exists(room.file(copy_file)));

    // Nobody of the simulated club: a yes that is taken back is no yes.
    REQUIRE(room.run("athletes change Curlew --call-sign Dotterel --store a.db").code == 0);
    constexpr const char* own = ".config/breakstep/opponents/copy-of-dotterel.toml";
    copied("Dotterel", "--consent-on 2024-09-30 --consent-until \"\"");
    REQUIRE(std::filesystem::exists(room.file(own)));
    CHECK(room.run("athletes change Dotterel --consent-on \"\" --consent-by \"\" --store a.db").code == 0);
    CHECK_FALSE(std::filesystem::exists(room.file(own)));

    copied("Dotterel", "--consent-on 2024-09-30");
    REQUIRE(room.run("athletes add Rook --store a.db").code == 0);
    const Said joined = room.run("athletes join Rook Dotterel --yes --store a.db");
    CHECK(joined.code == 0);
    CHECK(has(joined.err, "opponents copy Rook"));
    CHECK_FALSE(std::filesystem::exists(room.file(own)));
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

TEST_CASE("the export's counted reps are the ladder's") {
    const Room room;
    for (const char* seed : {"3", "4"})
        REQUIRE(room.run("drill taking-turns --rig simulated --fast --athlete Heron --store a.db --seed " +
                         std::string(seed))
                    .code == 0);
    const Said exported = room.run("export - --json --store a.db");
    REQUIRE_MESSAGE(exported.code == 0, exported.err);
    const json all = json::parse(exported.out);
    std::vector<int> counted;
    for (const json& session : all.at("sessions")) {
        int reps = 0;
        for (const json& rep : session.at("reps"))
            reps += rep.at("counts_for_rung") == true && rep.at("scored") == true ? 1 : 0;
        counted.push_back(reps);
    }
    REQUIRE(counted.size() == 2);
    CHECK(counted.front() == 0);
    const json heron = json::parse(room.run("progress --json --store a.db").out).at("athletes").at(0);
    int on_the_rung = 0;
    for (const json& rung : heron.at("rungs"))
        if (rung.at("rung") == 2) on_the_rung = rung.at("reps");
    CHECK(counted.back() == on_the_rung);
    CHECK(on_the_rung > 0);
}

TEST_CASE("a left-hander meets the drill's stance, not its mirror image") {
    const Room room;
    REQUIRE(room.run("athletes add Heron --lead left --store a.db").code == 0);
    const Said said =
        room.run("drill drop-of-a-single-kick --rig simulated --fast --athlete Heron --store a.db --seed 3");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    const json all = json::parse(room.run("export - --json --store a.db").out);
    const json& session = all.at("sessions").at(0);
    CHECK(session.at("stance") == "closed");
    CHECK(session.at("athlete_lead") == "left");
    for (const json& rep : session.at("reps")) CHECK(rep.at("opponent_lead") == "left");
}
