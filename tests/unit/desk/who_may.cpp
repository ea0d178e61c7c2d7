// Who may use the desk: everything that is refused.
#include <doctest/doctest.h>

#include "desk/guard/pairing.hpp"
#include "desk/live/seen_json.hpp"
#include "unit/desk/bench.hpp"

using namespace breakstep;
using namespace breakstep::desk;
using breakstep::tests::DeskBench;

namespace {

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("before pairing a phone gets the pairing page and no other") {
    const DeskBench bench;
    bench.view->people.push_back({AthleteId{7}, "Heron", "drop", 0, 2});
    bench.desk->feed().refresh();
    for (const char* path :
         {"/", "/video", "/athletes", "/drills", "/progress", "/phones", "/replay?session=00&rep=1"}) {
        CAPTURE(path);
        const WebResponse got = bench.answer(DeskBench::get(path));
        CHECK(got.status == 303);
        CHECK(got.location == "/pair");
        CHECK_FALSE(has(got.body, "Heron"));
    }
    CHECK_FALSE(has(bench.answer(DeskBench::get("/pair")).body, "Heron"));
    CHECK(bench.answer(DeskBench::post("/ask", R"({"what":"pause"})")).status == 401);
    CHECK(bench.asked.empty());
    CHECK_FALSE(bench.desk->watch(DeskBench::post("/live", "")));
}

TEST_CASE("digits pair one phone, once, and only for ten minutes") {
    DeskBench bench;
    const std::string digits = bench.desk->new_digits().value_or("");
    REQUIRE(digits.size() == 6);
    const WebResponse first = bench.type(digits);
    CHECK(first.status == 303);
    CHECK(has(first.cookie, "HttpOnly"));
    CHECK(has(first.cookie, "SameSite=Strict"));
    CHECK(bench.type(digits).status == 403);
    const std::string late = bench.desk->new_digits().value_or("");
    bench.now += PairingCode::good_for;
    CHECK(bench.type(late).status == 403);
    CHECK(bench.desk->phones().all().size() == 1);
}

TEST_CASE("in the hall the cookie goes by TLS alone and belongs to this host") {
    const DeskBench bench;
    bench.desk->stand_at({true, {"127.0.0.1:8080"}, "https://10.42.0.1:8080/", "AB"});
    const std::string digits = bench.desk->new_digits().value_or("");
    WebRequest request = DeskBench::post("/pair", "code=" + digits);
    request.origin = "https://127.0.0.1:8080";
    request.content_type = "application/x-www-form-urlencoded";
    const WebResponse got = bench.answer(request);
    CHECK(got.cookie.starts_with("__Host-desk="));
    CHECK(has(got.cookie, "; Secure"));
}

TEST_CASE(
    "10,000 guesses by rote, ten a second, with new digits as soon as there may be: five are looked at in a minute") {
    PairingCode code([] { return std::string("735112"); });
    int looked_at = 0, passed_over = 0, renewed = 0;
    for (int guess = 0; guess < 10'000; ++guess) {
        const DeskTime now = guess * std::chrono::milliseconds(100);
        if (!code.digits(now) && code.renew(now)) ++renewed;
        const std::string digits = std::to_string(1'000'000 + guess).substr(1);
        const PairingCode::Answer answer = code.take(digits, now);
        REQUIRE(answer != PairingCode::Answer::paired);
        ++(answer == PairingCode::Answer::wrong ? looked_at : passed_over);
    }
    // Five in 0.4 s, then a minute's pause from the fifth on: 16 whole rounds of 60.4 s in 1,000 s, and one begun.
    CHECK(renewed == 17);
    CHECK(looked_at == 17 * PairingCode::tries);
    CHECK(passed_over == 10'000 - looked_at);
}

TEST_CASE("in a pause the right digits pair nobody") {
    PairingCode code([] { return std::string("735112"); });
    REQUIRE(code.renew(DeskTime{}));
    for (int i = 0; i < PairingCode::tries; ++i) CHECK(code.take("735113", DeskTime{}) == PairingCode::Answer::wrong);
    CHECK(code.take("735112", PairingCode::pause) == PairingCode::Answer::none);
    REQUIRE(code.renew(PairingCode::pause));
    CHECK(code.take("735112", PairingCode::pause) == PairingCode::Answer::paired);
    CHECK(code.take("735112", PairingCode::pause) == PairingCode::Answer::none);
}

TEST_CASE("10,000 wrong tries at the door leave a paired phone alone and pair none") {
    const DeskBench bench;
    const std::string own = bench.paired();
    for (int guess = 0; guess < 10'000; ++guess) REQUIRE(bench.type("not it").status == 403);
    CHECK(bench.desk->phones().all().size() == 1);
    CHECK(bench.answer(DeskBench::get("/", own)).status == 200);
}

TEST_CASE("after five wrong tries the digits are dead, the right ones too") {
    DeskBench bench;
    const std::string digits = bench.desk->new_digits().value_or("");
    const std::string wrong = digits == "000000" ? "000001" : "000000";
    for (int i = 0; i < PairingCode::tries; ++i) CHECK(bench.type(wrong).status == 403);
    CHECK(bench.type(digits).status == 403);
    CHECK_FALSE(bench.desk->new_digits());
    bench.now += PairingCode::pause;
    CHECK(bench.desk->new_digits());
}

TEST_CASE("a foreign Host, a foreign or missing Origin and a wrong form token are refused") {
    const DeskBench bench;
    const std::string own = bench.paired();
    const std::string body = R"({"what":"pause"})";
    CHECK(bench.answer(DeskBench::post("/ask", body, own)).status == 200);
    REQUIRE(bench.asked.size() == 1);
    WebRequest request = DeskBench::post("/ask", body, own);
    request.host = "saltmarsh.example:8080";
    CHECK(bench.answer(request).status == 421);
    for (const char* origin :
         {"", "null", "http://saltmarsh.example", "https://127.0.0.1:8080", "http://127.0.0.1:8081"}) {
        CAPTURE(origin);
        request = DeskBench::post("/ask", body, own);
        request.origin = origin;
        CHECK(bench.answer(request).status == 403);
        request.target = "/live";
        CHECK_FALSE(bench.desk->watch(request));
    }
    request = DeskBench::post("/ask", body, own);
    request.fetch_site = "cross-site";
    CHECK(bench.answer(request).status == 403);
    request = DeskBench::post("/ask", body, own);
    request.form_token.back() = request.form_token.back() == '0' ? '1' : '0';
    CHECK(bench.answer(request).status == 403);
    request = DeskBench::post("/ask", body, own);
    request.content_type = "text/plain";
    CHECK(bench.answer(request).status == 415);
    request = DeskBench::post("/ask", body, own);
    request.doubled = true;
    CHECK(bench.answer(request).status == 421);
    CHECK(bench.asked.size() == 1);
}

TEST_CASE("a watcher sees and commands nothing, command passes at the laptop only") {
    const DeskBench bench;
    const std::string first = bench.paired(), second = bench.paired();
    CHECK(bench.answer(DeskBench::get("/", second)).status == 200);
    CHECK(bench.answer(DeskBench::post("/ask", R"({"what":"end"})", second)).status == 403);
    CHECK(bench.answer(DeskBench::post("/digits", "{}", second)).status == 403);
    WebRequest take = DeskBench::post("/command", "{}", second);
    CHECK(bench.answer(take).status == 403);
    CHECK(bench.asked.empty());
    take.from_here = true;
    CHECK(bench.answer(take).status == 200);
    CHECK(bench.answer(DeskBench::post("/ask", R"({"what":"end"})", second)).status == 200);
    CHECK(bench.answer(DeskBench::post("/ask", R"({"what":"end"})", first)).status == 403);
}

TEST_CASE("no path leads out of the pages") {
    const DeskBench bench;
    const std::string own = bench.paired();
    for (const char* path :
         {"/../etc/passwd", "/..%2f..%2fetc/passwd", "//etc/passwd", "/%2e%2e/", "/desk.css/../key.pem", "etc", "",
          "/\\..\\", "/desk.css%00", "http://127.0.0.1/", "/?a=%zz", "/?a=1&a=2"}) {
        CAPTURE(path);
        CHECK(bench.answer(DeskBench::get(path, own)).status == 400);
    }
    for (const char* path : {"/key.pem", "/phones.txt", "/.desk", "/desk", "/live"}) {
        CAPTURE(path);
        CHECK(bench.answer(DeskBench::get(path, own)).status == 404);
    }
}

TEST_CASE("markup in a club's, an athlete's or a drill's name stands as text") {
    DeskBench bench;
    const std::string evil = "<script>alert('\"&</script>";
    bench.house.club = evil;
    bench.house.drills = {{evil, evil}};
    bench.house.athletes = [&]() -> Expected<std::vector<AthleteSeen>> {
        return std::vector<AthleteSeen>{{AthleteId{1}, evil, evil, evil, true}};
    };
    bench.house.progress = [&]() -> Expected<std::string> { return evil; };
    bench.house.drill_text = [&](const std::string&) -> Expected<std::string> { return "</textarea>" + evil; };
    bench.begin();
    const std::string own = bench.paired();
    for (const char* path : {"/", "/athletes", "/drills", "/progress", "/video", "/phones", "/pair",
                             "/drill?name=%3Cscript%3Ealert%28%27%22%26%3C%2Fscript%3E"}) {
        CAPTURE(path);
        const WebResponse got = bench.answer(DeskBench::get(path, own));
        CHECK(got.status == 200);
        CHECK(has(got.body, "&lt;script&gt;"));
        CHECK_FALSE(has(got.body, "<script>"));
        CHECK_FALSE(has(got.body, "</textarea>&lt;/textarea"));
    }
}

TEST_CASE("what no page of ours sends is refused, and asks nothing") {
    const DeskBench bench;
    const std::string own = bench.paired();
    for (const char* body :
         {"", "[]", "{", "null", R"({"what":"nothing"})", R"({"what":"end","more":1})", R"({"what":1})",
          R"({"what":"note","text":"\u0000"})", R"({"what":"skip","athlete":"zz"})", "{\"what\":\"\xff\"}"}) {
        CAPTURE(body);
        CHECK(bench.answer(DeskBench::post("/ask", body, own)).status == 400);
    }
    CHECK(bench.answer(DeskBench::post("/ask", R"({"what":"note","text":")" + std::string(201, 'a') + "\"}", own))
              .status == 400);
    CHECK(bench.asked.empty());
    for (const char* frame : {"", "{}", "ping", R"({"ping":"1"})", R"({"ping":1,"what":"end"})", "\xff\xfe"}) {
        CAPTURE(frame);
        CHECK_FALSE(ping_in(frame));
    }
    CHECK(ping_in(R"({"ping":12.5})") == 12.5);
}

TEST_CASE("a pairing outlives the program by its digest alone, and ends after twelve hours") {
    DeskBench bench;
    const std::string own = bench.paired(), token = own.substr(own.find('=') + 1);
    const std::string kept = bench.desk->phones().written();
    CHECK_FALSE(has(kept, token));
    bench.begin();
    CHECK(bench.answer(DeskBench::get("/", own)).status == 303);
    REQUIRE(bench.desk->phones().read(kept, bench.today));
    CHECK(bench.answer(DeskBench::get("/", own)).status == 200);
    CHECK(bench.answer(DeskBench::post("/ask", R"({"what":"pause"})", own)).status == 200);
    CHECK_FALSE(bench.desk->phones().read(kept + "more\n", bench.today));
    bench.today += Phones::holds_seconds;
    CHECK(bench.answer(DeskBench::get("/", own)).status == 303);
}
