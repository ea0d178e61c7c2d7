// What the coach asks of the partner, of the plan and of the rig by the phone, and what is asked of the coach there.
#include <doctest/doctest.h>

#include "desk/live/seen_json.hpp"
#include "unit/desk/bench.hpp"

using namespace breakstep;
using namespace breakstep::desk;
using breakstep::tests::DeskBench;

namespace {

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

AthleteSeen heron(bool may) { return {AthleteId{7}, "Heron <b>", "Tuesday", may ? "kept" : "refused", may}; }

}  // namespace

TEST_CASE("the partner's list goes to the evening from the phone that commands, and from no other") {
    DeskBench bench;
    const std::string coach = bench.paired(), other = bench.paired("watch");
    const std::string body = R"({"what":"partner_next","athlete":"","text":"+feint"})";
    CHECK(bench.answer(DeskBench::post("/ask", body, coach)).status == 200);
    REQUIRE(bench.asked.size() == 1);
    CHECK(bench.asked.front().what == evening::Ask::partner_next);
    CHECK(bench.asked.front().text == "+feint");
    CHECK(bench.answer(DeskBench::post("/ask", body, other)).status == 403);
    CHECK(bench.answer(DeskBench::post("/ask", body)).status == 401);
    CHECK(bench.answer(DeskBench::post("/ask", R"({"what":"minutes","text":"2 15"})", coach)).status == 200);
    CHECK(bench.asked.back().what == evening::Ask::minutes);
    CHECK(bench.asked.size() == 2);
}

TEST_CASE("cue, list, signs and rig stand in the view, and what is not there is null") {
    EveningView view;
    std::string json = json_of(view);
    for (const char* none : {R"("cue":null)", R"("partner_next":null)", R"("signs":null)", R"("board":"")"})
        CHECK(has(json, none));
    view.partner_cue = PartnerCueSeen{"Curlew", "a feint", Side::left, true, {}, {}};
    view.partner_next = PartnerNextSeen{"Curlew", {"single", "feint", "nothing"}, {"feint"}, "single"};
    view.signs =
        SignsSeen{"Heron", SessionId{3}, Sign::hunch, Sign::none, "same beat: 0.82 s", "", true, 9, 4, 1.6, "", ""};
    view.rig_now.parts = {{"gate", "hip", 0, std::nullopt, 12}};
    json = json_of(view);
    for (const char* part :
         {R"("what":"a feint")", R"("listed":["feint"])", R"("planned":"single")", R"("timed":"maybe")",
          R"("read":"no sign")", R"("caught":4)", R"("luck":2.0)", R"("blocked_s":12)"})
        CHECK_MESSAGE(has(json, part), part, " in ", json);
}

TEST_CASE("a first word is marked, and its close replaces it") {
    RepSeen seen{1, SessionId{5}, AthleteId{7}, {}};
    seen.first = true;
    CHECK(has(json_of(seen, 1), R"("first":true)"));
    seen.first = false;
    CHECK(has(json_of(seen, 2), R"("first":false)"));
    DeskBench bench;
    RepSeen first = seen;
    first.first = true;
    bench.reps = {first};
    CHECK(bench.desk->feed().refresh());
    Feed::Place place;
    CHECK(has(bench.desk->feed().missed(place), R"("n":1)"));
    seen.number = 2;
    seen.result.verdict = Verdict::on_time;
    bench.reps.push_back(seen);
    CHECK(bench.desk->feed().refresh());
    const std::string closed = bench.desk->feed().missed(place);
    CHECK(has(closed, R"("n":2)"));
    CHECK_FALSE(has(closed, R"("n":1,)"));
    REQUIRE(bench.desk->feed().find(SessionId{5}, RepId{0}) != nullptr);
    CHECK(bench.desk->feed().find(SessionId{5}, RepId{0})->result.verdict == Verdict::on_time);
}

TEST_CASE("a question is answered once, by its number, by the phone that commands") {
    DeskBench bench;
    Questions questions;
    bench.house.questions = &questions;
    bench.view.reset();
    bench.begin();
    const std::string coach = bench.paired(), other = bench.paired("watch");
    CHECK(has(bench.answer(DeskBench::get("/", coach)).body, "Before the evening"));
    questions.say("12.0 min <i>warm-up</i>");
    Questions::Seen ask;
    ask.title = "Who is <b>here</b>?";
    ask.choices = {{"1", "Heron", "Tuesday", true, false, ""}};
    ask.go = "These are here";
    questions.ask(ask);
    const std::string json = bench.answer(DeskBench::get("/questions", other)).body;
    CHECK(has(json, R"("open":true)"));
    CHECK(has(json, R"("ticks":true)"));
    CHECK(has(json, "warm-up"));
    const std::string number = std::to_string(questions.seen().number);
    const auto line = [&](const std::string& of, const std::string& cookie) {
        return bench.answer(DeskBench::post("/line", R"({"number":)" + of + R"(,"line":"1"})", cookie));
    };
    CHECK(line(number, other).status == 403);
    CHECK(line(number, "").status == 401);
    CHECK(has(line("999", coach).body, "too late"));
    CHECK_FALSE(questions.take());
    CHECK(has(line(number, coach).body, "taken"));
    CHECK(has(line(number, coach).body, "too late"));
    CHECK(questions.take() == "1");
    CHECK_FALSE(questions.take());
    CHECK(bench.answer(DeskBench::post("/line", R"({"number":1,"line":"\u0007"})", coach)).status == 400);
    CHECK(bench.answer(DeskBench::post("/line", R"({"number":-1,"line":"1"})", coach)).status == 400);
    // What was said before that answer is of before.
    questions.say("next");
    CHECK(questions.seen().lines == std::vector<std::string>{"next"});
    bench.view = std::make_shared<EveningView>();
    CHECK(has(bench.answer(DeskBench::get("/questions", coach)).body, R"("evening":true)"));
    CHECK(has(bench.answer(DeskBench::get("/", coach)).body, "At the rig"));
}

TEST_CASE("a question that was answered at the terminal is not asked on the phone any more") {
    Questions questions;
    questions.ask({});
    const std::uint64_t number = questions.seen().number;
    questions.answered();
    CHECK_FALSE(questions.answer(number, "yes"));
    CHECK_FALSE(questions.take());
    questions.ask({});
    CHECK_FALSE(questions.answer(number, "yes"));
    CHECK(questions.answer(questions.seen().number, "no"));
    questions.wait("It begins");
    CHECK_FALSE(questions.take());
}

TEST_CASE("taps are kept with an athlete whose results may be kept, and read again") {
    DeskBench bench;
    bool may = true;
    std::vector<TapsKept> kept;
    bench.house.athletes = [&]() -> Expected<std::vector<AthleteSeen>> { return std::vector{heron(may)}; };
    bench.house.keep_taps = [&](AthleteId id, const TapsKept& taps) -> Expected<void> {
        CHECK(id == AthleteId{7});
        kept.push_back(taps);
        kept.back().day = "2026-11-27";
        return {};
    };
    bench.house.taps_of = [&](AthleteId) -> Expected<std::vector<TapsKept>> { return kept; };
    bench.house.timeable = [](const std::string& list) -> Expected<TapAnswer> {
        return TapAnswer{"can be timed: <b>" + list, "{}"};
    };
    bench.begin();
    const std::string coach = bench.paired(), other = bench.paired("watch");
    const std::string body = R"({"athlete":"0000000000000007","a":[1,2.5],"b":[]})";
    CHECK(bench.answer(DeskBench::post("/keep", body, other)).status == 403);
    CHECK(bench.answer(DeskBench::post("/keep", body)).status == 401);
    CHECK(kept.empty());
    CHECK(has(bench.answer(DeskBench::post("/keep", body, coach)).body, "kept"));
    REQUIRE(kept.size() == 1);
    CHECK(kept.front().a == std::vector<double>{1, 2.5});
    CHECK(
        has(bench.answer(DeskBench::post("/keep", R"({"athlete":"0000000000000007","a":[]})", coach)).body, "refused"));
    CHECK(bench.answer(DeskBench::post("/keep", R"({"athlete":"","a":[1]})", coach)).status == 400);
    const std::string page = bench.answer(DeskBench::get("/athlete?id=0000000000000007", other)).body;
    CHECK(has(page, "2 step-ins"));
    CHECK(has(page, "can be timed: &lt;b&gt;time_s"));
    CHECK_FALSE(has(page, "<b>time_s"));
    CHECK_FALSE(has(page, "Heron <b>"));
    CHECK(has(bench.answer(DeskBench::get("/taps?athlete=0000000000000007&number=1", coach)).body, "[1.0,2.5]"));
    for (const char* none : {"/taps?athlete=0000000000000007&number=2", "/taps?athlete=0000000000000008&number=1",
                             "/taps?athlete=0000000000000007&number=x", "/taps?number=1", "/athlete?id=8"})
        CHECK(bench.answer(DeskBench::get(none, coach)).status == 404);
    may = false;
    CHECK(bench.answer(DeskBench::get("/taps?athlete=0000000000000007&number=1", coach)).status == 404);
    CHECK_FALSE(has(bench.answer(DeskBench::get("/athlete?id=0000000000000007", coach)).body, "step-ins"));
}

TEST_CASE("the rig's page says what was calibrated, one begins where no evening runs, by who commands") {
    DeskBench bench;
    int begun = 0;
    bench.house.calibrations = []() -> Expected<std::vector<CalibrationSeen>> {
        return std::vector<CalibrationSeen>{{"sound: <i>horn</i>", "today: 41.2 ms late"}};
    };
    bench.house.calibrate = [&] {
        ++begun;
        return std::string("it begins");
    };
    bench.begin();
    const std::string coach = bench.paired(), other = bench.paired("watch");
    CHECK(bench.answer(DeskBench::post("/calibrate", "{}", coach)).status == 404);  // an evening runs
    CHECK(begun == 0);
    bench.view.reset();
    const std::string page = bench.answer(DeskBench::get("/rig", other)).body;
    CHECK(has(page, "sound: &lt;i&gt;horn&lt;/i&gt;"));
    CHECK(has(page, "41.2 ms late"));
    CHECK(bench.answer(DeskBench::post("/calibrate", "{}", other)).status == 403);
    CHECK(bench.answer(DeskBench::post("/calibrate", "{}", coach)).status == 200);
    CHECK(begun == 1);
}

TEST_CASE("before pairing none of the floor's pages tells anything") {
    DeskBench bench;
    for (const char* path : {"/partner", "/rig", "/athlete?id=0000000000000007", "/questions", "/taps"}) {
        const WebResponse got = bench.answer(DeskBench::get(path));
        CHECK((got.status == 303 || got.status == 401));
        CHECK(got.body.find("Heron") == std::string::npos);
    }
}
