// The coach's keys: what each asks for, what is asked back, and what makes no sense.
#include <doctest/doctest.h>

#include "cli/evening/keyboard_hand.hpp"

using namespace breakstep;
using namespace breakstep::evening;

namespace {

struct Coach {
    std::vector<Request> asked;
    std::vector<std::string> came, said;
    std::vector<AthleteId> gone;
    std::string question;
    int left = 0;
    EveningView view;
    KeyboardHand hand{
        KeyboardDesk{[this](Request request) { asked.push_back(std::move(request)); },
                     [this](const std::string& name, bool sure) { came.push_back(name + (sure ? "!" : "")); },
                     [this](AthleteId athlete) { gone.push_back(athlete); },
                     [this] { ++left; },
                     nullptr,
                     [this](const std::string& line) { said.push_back(line); },
                     [this](const std::string& line) { question = line; },
                     {"gap", "drop"},
                     {"The gap", "The drop"}}};
    Coach() { view.people = {{AthleteId{1}, "Heron", "", 0, 0}, {AthleteId{2}, "Curlew", "", 0, 0}}; }
    void type(const std::string& keys) {
        for (const char key : keys) hand.key(key, view);
    }
};

}  // namespace

TEST_CASE("each key asks for one thing, and pause for the other half once it is a pause") {
    Coach coach;
    coach.type("nkvtr sgp");
    const Ask expected[] = {Ask::next, Ask::skip, Ask::void_last, Ask::take_back, Ask::repeat,
                            Ask::tap,  Ask::sore, Ask::go_on,     Ask::pause};
    REQUIRE(coach.asked.size() == std::size(expected));
    for (std::size_t i = 0; i < std::size(expected); ++i) CHECK(coach.asked[i].what == expected[i]);
    coach.view.paused = true;
    coach.type("p");
    CHECK(coach.asked.back().what == Ask::go_on);
    coach.type("y\n");
    CHECK(coach.asked.size() == std::size(expected) + 1);
    CHECK(coach.said.back().find("no such key") != std::string::npos);
}

TEST_CASE("an athlete is named by number or call-sign, and nobody else is taken") {
    Coach coach;
    coach.type("o2\n");
    REQUIRE(coach.asked.size() == 1);
    CHECK(coach.asked[0] == Request{Ask::someone_else, AthleteId{2}, ""});
    coach.type("cheron\n");
    CHECK(coach.asked.back() == Request{Ask::comes_back, AthleteId{1}, ""});
    coach.type("l3\n");
    CHECK(coach.gone.empty());
    CHECK(coach.question.find("Who leaves?") != std::string::npos);
    coach.type("Curlew\n");
    CHECK(coach.gone == std::vector{AthleteId{2}});
    CHECK(coach.question.empty());
}

TEST_CASE("a drill is changed by two answers, a note keeps its words, and Backspace takes a letter back") {
    Coach coach;
    coach.type("d1\n9\n2\n");
    REQUIRE(coach.asked.size() == 1);
    CHECK(coach.asked[0] == Request{Ask::drill, AthleteId{1}, "drop"});
    coach.type("mlate \xC3\xA4\x7Fhand\x08\n");
    CHECK(coach.asked.back() == Request{Ask::note, {}, "late han"});
    coach.type("m\n");
    CHECK(coach.asked.size() == 2);
}

TEST_CASE("a new call-sign is asked about, never silently made") {
    Coach coach;
    coach.type("aSnipe\n");
    CHECK(coach.came == std::vector<std::string>{"Snipe"});
    coach.hand.ask_whether_new("Snipe");
    coach.type("no\n");
    CHECK(coach.came.size() == 1);
    coach.hand.ask_whether_new("Snipe");
    coach.type("yes\n");
    CHECK(coach.came.back() == "Snipe!");
}

TEST_CASE("Escape asks before it ends anything, and takes a question back") {
    Coach coach;
    coach.type("\x1b");
    CHECK(coach.question.find("End the evening?") != std::string::npos);
    coach.type("no\n");
    CHECK(coach.asked.empty());
    coach.type("\x1byes\n");
    REQUIRE(coach.asked.size() == 1);
    CHECK(coach.asked[0].what == Ask::end);
    coach.type("elater\n");
    CHECK(coach.left == 1);
    coach.type("o\x1b");
    CHECK(coach.question.empty());
    coach.type("n");
    CHECK(coach.asked.back().what == Ask::next);
}

TEST_CASE("the partner's list is typed by numbers or words, and only where a partner is cued") {
    Coach coach;
    coach.type("f");
    CHECK(coach.question.empty());
    CHECK(coach.said.back().find("no partner") != std::string::npos);
    coach.view.partner_next = PartnerNextSeen{"Curlew", {"single", "feint", "nothing"}, {}, "single"};
    coach.type("f2 1, nothing\n");
    REQUIRE(coach.asked.size() == 1);
    CHECK(coach.asked[0] == Request{Ask::partner_next, {}, "feint, single, nothing"});
    coach.type("f+ 2\n");
    CHECK(coach.asked.back() == Request{Ask::partner_next, {}, "+feint"});
    coach.type("f\n");
    CHECK(coach.asked.back() == Request{Ask::partner_next, {}, ""});
    coach.type("f\x1b");
    CHECK(coach.asked.size() == 3);
}

TEST_CASE("a block's minutes are asked for by its number") {
    Coach coach;
    coach.type("b2 15\n");
    REQUIRE(coach.asked.size() == 1);
    CHECK(coach.asked[0] == Request{Ask::minutes, {}, "2 15"});
    coach.type("b\n");
    CHECK(coach.asked.size() == 1);
}
