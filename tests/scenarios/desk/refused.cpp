// What is refused at the desk's own door, by real sockets: everything below the pages.
#include <doctest/doctest.h>

#include <chrono>
#include <thread>

#include "scenarios/desk/hall.hpp"

using namespace breakstep;
using namespace breakstep::tests;
using namespace std::chrono_literals;

namespace {

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

Reply said(DeskHall& hall, const std::string& request, bool tls = false) {
    Client client(hall.port(), tls);
    client.send(request);
    return client.reply();
}

constexpr const char* ask_pause = R"({"what":"pause"})";

RepSeen rep(std::int32_t id) {
    RepSeen seen{0, SessionId{5}, AthleteId{7}, {}};
    seen.result.rep = RepId{id};
    return seen;
}

}  // namespace

TEST_CASE("without pairing nothing of the hall is told, nothing is taken, and no line opens") {
    DeskHall hall;
    hall.publish(rep(1));
    for (const char* path : {"/", "/athletes", "/video", "/phones", "/progress", "/drill?name=drop",
                             "/replay?session=0000000000000005&rep=1"}) {
        CAPTURE(path);
        const Reply reply = said(hall, get(hall.host(), path));
        CHECK(reply.status == 303);
        CHECK(reply.headers.at("location") == "/pair");
        CHECK(reply.body.empty());
    }
    CHECK(said(hall, post(hall.host(), "/ask", ask_pause, "Origin: http://" + hall.host() + "\r\n")).status == 401);
    Client line(hall.port());
    CHECK(open_line(line, hall.host(), {}).status == 401);
    CHECK(hall.asked() == 0);
    const Reply page = said(hall, get(hall.host(), "/pair"));
    CHECK(page.status == 200);
    CHECK_FALSE(has(page.body, "Heron"));
}

TEST_CASE("every answer carries its guards, and a style or script tells nothing") {
    DeskHall hall;
    for (const char* path : {"/pair", "/desk.css", "/evening.js", "/nothing", "/icon.svg"}) {
        CAPTURE(path);
        const Reply reply = said(hall, get(hall.host(), path));
        const std::string policy = reply.headers.at("content-security-policy");
        CHECK(has(policy, "default-src 'none'"));
        CHECK(has(policy, "frame-ancestors 'none'"));
        CHECK_FALSE(has(policy, "unsafe"));
        CHECK(reply.headers.at("x-content-type-options") == "nosniff");
        CHECK(reply.headers.contains("cache-control"));
        CHECK_FALSE(has(reply.body, "Heron"));
        CHECK_FALSE(reply.headers.contains("server"));
    }
}

TEST_CASE("digits pair once, and ten thousand guesses pair nobody, over sockets too") {
    DeskHall hall;
    const std::string digits = hall.digits();
    const std::string origin = "Origin: http://" + hall.host() + "\r\n", type = "application/x-www-form-urlencoded";
    CHECK(said(hall, post(hall.host(), "/pair", "code=" + digits, origin, type)).status == 303);
    CHECK(said(hall, post(hall.host(), "/pair", "code=" + digits, origin, type)).status == 403);
    const Paired own = pair(hall, "watch");
    REQUIRE_FALSE(own.cookie.empty());
    const std::string new_ones = hall.digits();
    std::size_t wrong = 0, others = 0;
    std::unique_ptr<Client> client;
    for (int guess = 0; guess < 10'000; ++guess) {
        if (guess % 500 == 0) client = std::make_unique<Client>(hall.port());
        std::string typed = std::to_string(guess);
        typed.insert(0, 6 - typed.size(), '0');
        if (typed == new_ones) continue;
        client->send(post(hall.host(), "/pair", "code=" + typed, origin, type));
        const Reply reply = client->reply();
        ++(reply.status == 403 && !reply.headers.contains("set-cookie") ? wrong : others);
    }
    CHECK(wrong >= 9'999);
    CHECK(others == 0);
    CHECK(said(hall, post(hall.host(), "/pair", "code=" + new_ones, origin, type)).status == 403);
    CHECK(hall.digits().empty());
    CHECK(said(hall, get(hall.host(), "/", own.cookie)).status == 200);
}

TEST_CASE("a foreign Host or Origin, or none where one is needed, is refused by socket and by line") {
    DeskHall hall;
    const Paired own = pair(hall);
    const std::string port = std::to_string(hall.port());
    for (const std::string& host : std::vector<std::string>{"evil.example", "evil.example:" + port, "127.0.0.1",
                                                            "127.0.0.1:1", "127.0.0.1:" + port + "@evil.example", ""}) {
        CAPTURE(host);
        CHECK(said(hall, get(host, "/", own.cookie)).status == 421);
        CHECK(said(hall, get(host, "/pair")).status == 421);
    }
    CHECK(said(hall, "GET / HTTP/1.1\r\n" + own.cookie + "\r\n").status == 421);
    CHECK(said(hall, get(hall.host(), "/", "Host: evil.example\r\n" + own.cookie)).status == 421);
    for (const std::string& origin :
         {std::string("http://evil.example"), std::string("null"), "https://" + hall.host(), "http://localhost:" + port,
          "http://" + hall.host() + ".evil.example", std::string()}) {
        CAPTURE(origin);
        const std::string line = origin.empty() ? std::string() : "Origin: " + origin + "\r\n";
        CHECK(said(hall, post(hall.host(), "/ask", ask_pause, own.cookie + own.token + line)).status == 403);
        Client client(hall.port());
        const Reply reply = open_line(client, hall.host(), own, "", origin.empty() ? "http://evil.example" : origin);
        CHECK(reply.status == 403);
    }
    CHECK(said(hall, post(hall.host(), "/ask", ask_pause, own.cookie + "Origin: http://" + hall.host() + "\r\n"))
              .status == 403);
    CHECK(said(hall, post(hall.host(), "/ask", ask_pause, own.headers(hall.host()) + "Sec-Fetch-Site: cross-site\r\n"))
              .status == 403);
    CHECK(hall.asked() == 0);
    CHECK(said(hall, post(hall.host(), "/ask", ask_pause, own.headers(hall.host()))).status == 200);
    CHECK(hall.asked() == 1);
}

TEST_CASE("what is too large is refused before it is read whole") {
    DeskHall hall;
    const Paired own = pair(hall);
    CHECK(said(hall, get(hall.host(), "/pair", "X-Long: " + std::string(20'000, 'a') + "\r\n")).status == 413);
    CHECK(said(hall, get(hall.host(), "/" + std::string(20'000, 'a'))).status == 413);
    CHECK(said(hall, get(hall.host(), "/" + std::string(2'000, 'a'), own.cookie)).status == 400);
    Client body(hall.port());
    body.send("POST /check HTTP/1.1\r\nHost: " + hall.host() + "\r\nContent-Type: application/json\r\n" +
              own.headers(hall.host()) + "Content-Length: 100000000\r\n\r\n");
    CHECK(body.reply().status == 413);
    Client chunks(hall.port());
    chunks.send("POST /check HTTP/1.1\r\nHost: " + hall.host() + "\r\nContent-Type: application/json\r\n" +
                own.headers(hall.host()) + "Transfer-Encoding: chunked\r\n\r\n");
    const std::string piece = "8000\r\n" + std::string(0x8000, 'a') + "\r\n";
    for (int i = 0; i < 4; ++i) chunks.send(piece);
    CHECK(chunks.reply().status == 413);
    CHECK(said(hall,
               post(hall.host(), "/check", R"({"text":")" + std::string(70'000, 'a') + "\"}", own.headers(hall.host())))
              .status == 400);
    CHECK(hall.server().counters().requests_refused >= 4);
    CHECK(said(hall, get(hall.host(), "/", own.cookie)).status == 200);
}

TEST_CASE("who sends slowly holds a place for ten seconds at most, and takes none from the others") {
    DeskHall hall;
    std::vector<std::unique_ptr<Client>> slow;
    for (int i = 0; i < 40; ++i) {
        slow.push_back(std::make_unique<Client>(hall.port()));
        slow.back()->send("GET / HTTP/1.1\r\nHo");
    }
    // Of one address 24 at most: who has no place is sent away at once, who has one is waited for.
    std::size_t away = 0;
    for (auto& each : slow)
        if (each->is_closed_within(100ms)) ++away;
    CHECK(away == 16);
    CHECK(hall.server().counters().connections_refused == 16);
    CHECK(slow.front()->is_closed_within(15s));
    for (std::size_t i = 1; i < 24; ++i) CHECK(slow[i]->is_closed_within(5s));
    CHECK(said(hall, get(hall.host(), "/pair")).status == 200);
}

TEST_CASE("what is no HTTP at all ends its own connection and nothing else") {
    DeskHall hall;
    const Paired own = pair(hall);
    for (const std::string& bytes :
         {std::string("\x16\x03\x01\x02"), std::string(100, '\0'), std::string("GET\r\n\r\n"),
          std::string("GET / HTTP/9.9\r\n\r\n"), std::string("POST /ask HTTP/1.1\r\nContent-Length: -1\r\n\r\n"),
          std::string("GET / HTTP/1.1\r\nHost : x\r\n\r\n"),
          "POST /ask HTTP/1.1\r\nHost: " + hall.host() + "\r\nContent-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n",
          "GET / HTTP/1.1\r\nHost: " + hall.host() + "\r\nX: a\r\n b\r\n\xff: c\r\n\r\n"}) {
        CAPTURE(bytes);
        Client client(hall.port());
        client.send(bytes + std::string(200, '\n'));
        const Reply reply = client.reply();
        CHECK((reply.status == 0 || reply.status == 303 || (reply.status >= 400 && reply.status < 500)));
    }
    for (const char* method : {"PUT", "DELETE", "OPTIONS", "TRACE", "CONNECT", "HEAD", "PATCH"}) {
        CAPTURE(method);
        std::string request = method;
        request += " / HTTP/1.1\r\nHost: " + hall.host() + "\r\n" + own.headers(hall.host()) + "\r\n";
        CHECK(said(hall, request).status == 405);
    }
    CHECK(hall.asked() == 0);
    CHECK(said(hall, get(hall.host(), "/", own.cookie)).status == 200);
}

TEST_CASE("no path leads to a file, however it is written") {
    DeskHall hall;
    const Paired own = pair(hall);
    for (const char* path : {"/../../etc/passwd", "/..%2f..%2fetc/passwd", "//etc/passwd", "/%2e%2e/key.pem",
                             "/./key.pem", "/desk.css/../key.pem", "/desk.css%00.pem", "/\\..\\key.pem",
                             "http://127.0.0.1/etc/passwd", "/e.db.desk/key.pem", "/phones/../key.pem"}) {
        CAPTURE(path);
        const Reply reply = said(hall, get(hall.host(), path, own.cookie));
        CHECK((reply.status == 400 || reply.status == 404));
        CHECK_FALSE(has(reply.body, "root:"));
        CHECK_FALSE(has(reply.body, "PRIVATE"));
    }
}

TEST_CASE("markup and script stand as words in every page and in every text that is sent") {
    DeskHall hall;
    const Paired own = pair(hall);
    const std::string evil = "<script>alert(1)</script><img src=x onerror=alert(1)>";
    for (const char* path : {"/", "/phones", "/drills", "/video", "/partner", "/rig"}) {
        CAPTURE(path);
        const Reply page = said(hall, get(hall.host(), path, own.cookie));
        CHECK(page.status == 200);
        CHECK(has(page.body, "Saltmarsh &lt;b&gt;Hall&lt;/b&gt;"));
        CHECK_FALSE(has(page.body, "<b>Hall</b>"));
        CHECK_FALSE(has(page.body, "<i>drop</i>"));
    }
    const std::string note = R"({"what":"note","athlete":"","text":")" + evil + "\"}";
    CHECK(said(hall, post(hall.host(), "/ask", note, own.headers(hall.host()))).status == 200);
    CHECK(hall.notes() == std::vector<std::string>{evil});
    for (const auto& [path, body] : std::vector<std::pair<std::string, std::string>>{
             {"/comes", R"({"name":")" + evil + R"(","sure":false})"}, {"/check", R"({"text":")" + evil + "\"}"}}) {
        const Reply reply = said(hall, post(hall.host(), path, body, own.headers(hall.host())));
        CHECK(reply.status == 200);
        // As JSON it is data: no browser reads it as a page.
        CHECK(has(reply.headers.at("content-type"), "application/json"));
        CHECK(has(reply.body, "<script>"));
    }
    CHECK(said(hall, get(hall.host(), "/drill?name=" + std::string("%3Cscript%3E"), own.cookie)).status == 404);
    CHECK_FALSE(has(said(hall, post(hall.host(), "/pair", "code=%3Cscript%3E", "Origin: http://" + hall.host() + "\r\n",
                                    "application/x-www-form-urlencoded"))
                        .body,
                    "<script>"));
}

TEST_CASE("who watches commands nothing, by any request") {
    DeskHall hall;
    const Paired first = pair(hall), second = pair(hall);
    for (const auto& [path, body] :
         std::vector<std::pair<std::string, std::string>>{{"/ask", ask_pause},
                                                          {"/ask", R"({"what":"end"})"},
                                                          {"/comes", R"({"name":"Rail","sure":true})"},
                                                          {"/leaves", R"({"athlete":"0000000000000007"})"},
                                                          {"/ask", R"({"what":"partner_next","text":"feint"})"},
                                                          {"/ask", R"({"what":"minutes","text":"1 5"})"},
                                                          {"/line", R"({"number":1,"line":"all"})"},
                                                          {"/keep", R"({"athlete":"0000000000000007","a":[1]})"},
                                                          {"/calibrate", "{}"},
                                                          {"/digits", "{}"}}) {
        CAPTURE(path);
        CHECK(said(hall, post(hall.host(), path, body, second.headers(hall.host()))).status == 403);
    }
    // The token is of the other one's page.
    CHECK(said(hall, post(hall.host(), "/ask", ask_pause,
                          first.cookie + second.token + "Origin: http://" + hall.host() + "\r\n"))
              .status == 403);
    CHECK(hall.asked() == 0);
    CHECK(said(hall, post(hall.host(), "/ask", ask_pause, first.headers(hall.host()))).status == 200);
}
