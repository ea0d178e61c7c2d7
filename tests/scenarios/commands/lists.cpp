// `rung` and `leads` as a stranger types them, with lists from anywhere.
#include <doctest/doctest.h>

#include <cmath>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <vector>

#include "support/room.hpp"

using namespace breakstep::testing;

namespace {

std::string golden_rung(const std::string& line_end) {
    std::string text = "evening,on_time" + line_end;
    int evening = 0;
    for (const std::string reps : {"1011110110", "1110111011", "11111111"}) {
        ++evening;
        for (const char rep : reps) text += "evening " + std::to_string(evening) + "," + rep + line_end;
    }
    return text;
}

// The golden bout in which A follows B.
std::string golden_bout() {
    struct Seen {
        int length;
        std::vector<int> acts;
    };
    const std::vector<Seen> bout{{131, {84}}, {95, {52}},   {172, {35, 130}}, {88, {}},
                                 {120, {71}}, {210, {166}}, {104, {58}},      {147, {30, 99}},
                                 {79, {36}},  {185, {142}}, {112, {70}},      {97, {50}},
                                 {160, {61}}, {138, {90}},  {225, {181}},     {108, {66}}};
    std::ostringstream text;
    text << "time_s,who\n3,a\n";
    int now = 300;
    const auto row = [&](int at, char who) {
        text << at / 100 << '.' << (at % 100) / 10 << at % 10 << ',' << who << '\n';
    };
    for (const Seen& seen : bout) {
        for (const int act : seen.acts) row(now + act, 'b');
        now += seen.length;
        row(now, 'a');
    }
    return text.str();
}

}  // namespace

TEST_CASE("a rung is read from a list, whatever its line ends, a mark before it or the order of its columns") {
    const Room room;
    room.write("unix.csv", golden_rung("\n"));
    room.write("windows.csv", "\xEF\xBB\xBF" + golden_rung("\r\n"));
    std::string turned = "on_time , Evening\n";
    std::istringstream rows(golden_rung("\n"));
    std::string row;
    std::getline(rows, row);
    while (std::getline(rows, row))
        turned += row.substr(row.find(',') + 1) + ",\"" + row.substr(0, row.find(',')) + "\"\n";
    room.write("turned.csv", turned);
    for (const char* file : {"unix.csv", "windows.csv", "turned.csv"}) {
        CAPTURE(file);
        const Said said = room.run(std::string("rung ") + file + " --mark 0.5 --json");
        REQUIRE_MESSAGE(said.code == 0, said.err);
        const auto json = nlohmann::json::parse(said.out);
        CHECK(std::abs(json.at("wealth").get<double>() - 95.645324) <= 5.1e-7);
        CHECK(json.at("passed_at") == 24);
        CHECK(json.at("step_down_at").is_null());
        CHECK(json.at("step_down_wealth").get<double>() < 1);
    }
    const Said words = room.run("rung unix.csv");
    CHECK(has(words.out, "Passed: on time 23 of 28 over three evenings; the mark is half."));
    CHECK_FALSE(has(words.out, "ealth"));
    CHECK(has(room.run("rung unix.csv --details").out, "ealth"));
    CHECK(has(room.run("rung unix.csv --mark 0.8").out, "On time 23 of 28; the mark is 80 %."));
}

TEST_CASE("a rung that is too hard is said kindly, from the second evening on") {
    const Room room;
    std::string text = "evening,on_time\n";
    for (int rep = 0; rep < 30; ++rep) text += "Tuesday,0\n";
    room.write("first.csv", text);
    const auto first = nlohmann::json::parse(room.run("rung first.csv --json").out);
    CHECK(first.at("step_down_wealth").get<double>() > 20);
    CHECK(first.at("step_down_at").is_null());
    room.write("second.csv", text + "Thursday,0\n");
    const auto second = nlohmann::json::parse(room.run("rung second.csv --json").out);
    CHECK(second.at("step_down_at") == 31);
    CHECK(has(room.run("rung second.csv").out, "This rung is hard for you just now (0 of 31)."));
    // The same weekday again is another evening.
    room.write("weeks.csv", text + "Thursday,0\nTuesday,0\n");
    CHECK(nlohmann::json::parse(room.run("rung weeks.csv --json").out).at("evenings") == 3);
}

TEST_CASE("who leads whom is read from a list of two people's acts, to the golden wealths") {
    const Room room;
    room.write("bout.csv", golden_bout());
    const Said said = room.run("leads bout.csv --json");
    REQUIRE_MESSAGE(said.code == 0, said.err);
    const auto json = nlohmann::json::parse(said.out);
    const auto& led = json.at("a_follows_b");
    CHECK(led.at("tell") == true);
    CHECK(led.at("hunch") == true);
    CHECK(led.at("tell_at") == 11);
    CHECK(std::abs(led.at("ln_e").get<double>() - std::log(417299.212678)) <= 1e-8);
    CHECK(std::abs(led.at("ln_x").get<double>() - std::log(309.748051)) <= 1e-8);
    CHECK(led.at("e").get<double>() == doctest::Approx(417299.212678));
    CHECK(led.at("x").get<double>() == doctest::Approx(309.748051));
    CHECK(led.at("hits") == 13);
    CHECK(led.at("of") == 17);
    CHECK(std::abs(led.at("chance").get<double>() - 3.772414) <= 5.1e-7);
    CHECK(led.at("lag_s").get<double>() == doctest::Approx(.44));
    for (const char* key : {"tell", "hunch", "tell_at", "e", "x", "ln_e", "ln_x", "lag_s", "hits", "of", "chance"})
        CHECK(json.at("b_follows_a").contains(key));
    CHECK(json.at("b_follows_a").at("tell") == false);
    CHECK(json.at("b_follows_a").at("tell_at").is_null());
    const Said words = room.run("leads bout.csv");
    CHECK(has(words.out,
              "B can make A go. A steps in about 0.44 s after B acts: 13 of 17. A's own rhythm alone would give 4."));
    CHECK(has(room.run("leads bout.csv --details").out, "the coin drill tells them apart"));
}

TEST_CASE("few acts are said to be few, many without a lead to show no sign") {
    const Room room;
    room.write("few.csv", "time_s,who\n1,a\n1.5,b\n2,A\n");
    CHECK(has(room.run("leads few.csv").out, "Too few acts to say"));
    room.write("semicolons.csv", "who;time_s\na;1\n");
    CHECK(has(room.run("leads semicolons.csv").out, "Too few acts to say: 1"));
    room.write("colons.csv", "who:time_s\na:1\n");
    CHECK(has(room.run("leads colons.csv").err, "the first line must name the columns"));
    std::string text = "who,time_s\n";
    for (int i = 0; i < 20; ++i)
        text += "a," + std::to_string(i * i % 97 + 100 * i) + "\nb," + std::to_string(100 * i + 98) + "\n";
    room.write("none.csv", text);
    const Said none = room.run("leads none.csv");
    CHECK_MESSAGE(none.code == 0, none.err);
    CHECK(has(none.out, "No sign that either leads, in 20 acts."));
}

TEST_CASE("a list that can't be used is told with line and column, and the exit code 2") {
    const Room room;
    struct Wrong {
        const char *command, *text, *says;
    };
    for (const Wrong& wrong : {
             Wrong{"rung", "", "is missing"},
             Wrong{"rung", "evening,on_time\n", "nothing below it"},
             Wrong{"rung", "evening,on_time\r\n\r\n\r\n", "nothing below it"},
             Wrong{"rung", "evening,on_time\n1,1\n1,2\n", "line 3, column 2 (on_time): \"2\" is neither 0 nor 1"},
             Wrong{"rung", "evening,on_time\n1,\n", "line 2, column 2 (on_time): the cell is empty"},
             Wrong{"rung", "evening,on_time\n,1\n", "line 2, column 1 (evening): the evening is missing"},
             Wrong{"rung", "evening,on_time\n1,true\n", "line 2, column 2"},
             Wrong{"rung", "evening,on_time\n1\n", "line 2, column 2: the cell \"on_time\" is missing"},
             Wrong{"rung", "evening,on_time\n1,1,1\n", "line 2, column 3"},
             Wrong{"rung", "evening,late\n1,1\n", "line 1, column 2: there is no column \"late\""},
             Wrong{"rung", "evening,on_time\n\"1,1\n", "line 2, column 1: a quote is opened and never closed"},
             Wrong{"rung", "evening,on_time\n\xFF,1\n", "line 2, column 1: a character is not UTF-8"},
             Wrong{"rung --mark nan", "evening,on_time\n1,1\n", "above 0.15 and below 1"},
             Wrong{"rung --mark 0.15", "evening,on_time\n1,1\n", "above 0.15 and below 1"},
             Wrong{"rung --mark 1", "evening,on_time\n1,1\n", "above 0.15 and below 1"},
             Wrong{"rung --mark=-0.5", "evening,on_time\n1,1\n", "above 0.15 and below 1"},
             Wrong{"rung --mark half", "evening,on_time\n1,1\n", "--mark"},
             Wrong{"leads", "", "is missing"},
             Wrong{"leads", "time_s,who\n", "nothing below it"},
             Wrong{"leads", "time_s,who\n1,a\n0.5,b\n", "line 3, column 1 (time_s): the time 0.5 comes before"},
             Wrong{"leads", "time_s,who\n1,a\n1,b\n1,a\n", "line 4, column 1 (time_s): the time 1 stands twice"},
             Wrong{"leads", "time_s,who\n1,c\n", "line 2, column 2 (who): \"c\" is neither a nor b"},
             Wrong{"leads", "time_s,who\n1,\n", "line 2, column 2 (who): the cell is empty"},
             Wrong{"leads", "time_s,who\n,a\n", "line 2, column 1 (time_s): \"\" is not a number"},
             Wrong{"leads", "time_s,who\nnan,a\n", "\"nan\" is not a number"},
             Wrong{"leads", "time_s,who\ninf,a\n", "\"inf\" is out of range"},
             Wrong{"leads", "time_s,who\n1e300,a\n", "\"1e300\" is out of range"},
             Wrong{"leads", "time_s,who\n1e999,a\n", "line 2, column 1"},
             Wrong{"leads", "time_s,who\n1 s,a\n", "\"1 s\" is not a number"},
         }) {
        CAPTURE(wrong.command);
        CAPTURE(wrong.text);
        room.write("list.csv", wrong.text);
        const Said said = room.run(std::string(wrong.command) + " list.csv --json");
        CHECK(said.code == 2);
        CHECK_MESSAGE(has(said.err, wrong.says), said.err);
        CHECK(said.out.empty());
    }
    for (const char* typed : {"rung", "leads", "rung nowhere.csv", "leads .", "rung --table list.csv",
                              "leads --simulated 5 --table", "rung list.csv --seed 3"}) {
        CAPTURE(typed);
        const Said said = room.run(typed);
        CHECK(said.code == 2);
        CHECK_FALSE(said.err.empty());
        CHECK(said.out.empty());
    }
}

TEST_CASE("a name from a list can't act on the terminal") {
    const Room room;
    room.write("list.csv",
               "evening,on_time\n\x1B[31mred\xC2\x9B,1\n\"two\nlines, and more than forty characters of them\",0\n");
    const Said said = room.run("rung list.csv");
    REQUIRE(said.code == 0);
    CHECK_FALSE(has(said.out, "\x1B"));
    CHECK_FALSE(has(said.out, "\xC2\x9B"));
    CHECK(has(said.out, "?[31mred?"));
    CHECK(has(said.out, "two?lines"));
}

TEST_CASE("the tables are printed, the same for the same seed") {
    const Room room;
    for (const char* command : {"rung", "leads"}) {
        const std::string typed = std::string(command) + " --table --simulated 10 --seed ";
        const Said first = room.run(typed + "4");
        REQUIRE(first.code == 0);
        CHECK(has(first.out, "| --- |"));
        CHECK(room.run(typed + "4").out == first.out);
        CHECK(room.run(typed + "5").out != first.out);
    }
}
