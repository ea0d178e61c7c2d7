// The live line by real sockets: garbage, slow readers, a restart; and TLS.
#include <doctest/doctest.h>

#include <openssl/ssl.h>

#include <chrono>
#include <filesystem>
#include <thread>

#include "core/random.hpp"
#include "scenarios/desk/hall.hpp"

using namespace breakstep;
using namespace breakstep::tests;
using namespace std::chrono_literals;

namespace {

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

RepSeen rep(std::int32_t id) {
    RepSeen seen{0, SessionId{5}, AthleteId{7}, {}};
    seen.result.rep = RepId{id};
    return seen;
}

std::string number(std::uint64_t n) { return "\"n\":" + std::to_string(n) + ","; }

/// What comes until `words` stand in it.
std::string until(Client& client, const std::string& words) {
    std::string all;
    const auto end = std::chrono::steady_clock::now() + 10s;
    while (!has(all, words) && std::chrono::steady_clock::now() < end) all = client.bytes(all.size() + 1);
    return all;
}

}  // namespace

TEST_CASE("garbage on a line closes that line alone, and asks nothing") {
    DeskHall hall;
    const Paired own = pair(hall);
    hall.publish(rep(1));
    Client good(hall.port());
    REQUIRE(open_line(good, hall.host(), own).status == 101);
    CHECK(has(until(good, number(1)), number(1)));
    const std::vector<std::string> garbage{
        frame(R"({"what":"end"})"),           // a command
        frame(R"({"ping":1,"what":"end"})"),  // and a hidden one
        frame("ping"),                        // no JSON
        frame(""),                            // nothing
        frame("\xff\xfe\xfd"),                // no UTF-8
        frame(R"({"ping":1})", 0x82),         // binary
        frame(R"({"ping":1})", 0x81, false),  // not masked
        frame(R"({"ping":1})", 0xF1),         // reserved bits
        frame("x", 0x83),                     // an opcode that is none
        frame(std::string(2000, ' ')),        // too long
        frame(std::string(126, 'a'), 0x89),   // a ping that is longer than pings are
        frame("", 0x80),                      // goes on with nothing
        std::string("\x81\xff\xff\xff\xff\xff\xff\xff\xff\xff", 10) + std::string(100, 'a'),  // 2^64 bytes
        std::string(200, '\xff')};
    for (std::size_t i = 0; i < garbage.size(); ++i) {
        CAPTURE(i);
        Client client(hall.port());
        REQUIRE(open_line(client, hall.host(), own).status == 101);
        client.send(garbage[i]);
        CHECK(client.is_closed_within(5s));
    }
    Random random(5, 9);
    for (int i = 0; i < 50; ++i) {
        CAPTURE(i);
        Client client(hall.port());
        REQUIRE(open_line(client, hall.host(), own).status == 101);
        std::string noise(1 + random.below(400), '\0');
        for (char& each : noise) each = static_cast<char>(random.below(256));
        client.send(noise);
    }
    CHECK(hall.asked() == 0);
    hall.publish(rep(2));
    CHECK(has(until(good, number(2)), number(2)));
    good.send(frame(R"({"ping":12.5})"));
    CHECK(has(until(good, R"({"pong":12.5})"), R"({"pong":12.5})"));
}

TEST_CASE("a line opens for a paired phone of this desk alone, and ends when the phone is forgotten") {
    DeskHall hall;
    const Paired own = pair(hall), second = pair(hall, "watch");
    Client client(hall.port()), other(hall.port());
    REQUIRE(open_line(client, hall.host(), second).status == 101);
    REQUIRE(open_line(other, hall.host(), own).status == 101);
    CHECK(has(until(client, "Heron"), "Heron"));
    Client forgets(hall.port());
    forgets.send(post(hall.host(), "/forget", "{}", second.headers(hall.host())));
    CHECK(forgets.reply().status == 200);
    hall.publish(rep(1));
    CHECK(client.is_closed_within(5s));
    CHECK(has(until(other, number(1)), number(1)));
    Client again(hall.port());
    CHECK(open_line(again, hall.host(), second).status == 401);
    Client wrong(hall.port());
    CHECK(open_line(wrong, hall.host(), own, "?from=1e9").status == 400);
}

TEST_CASE("a phone that comes back from the last number it had gets the rest once, after a restart everything anew") {
    DeskHall hall;
    const Paired own = pair(hall);
    std::string run;
    {
        Client client(hall.port());
        REQUIRE(open_line(client, hall.host(), own).status == 101);
        for (std::int32_t i = 1; i <= 5; ++i) hall.publish(rep(i));
        const std::string came = until(client, number(5));
        const auto at = came.find("\"run\":\"");
        REQUIRE(at != std::string::npos);
        run = came.substr(at + 7, came.find('"', at + 7) - at - 7);
    }
    for (std::int32_t i = 6; i <= 8; ++i) hall.publish(rep(i));
    {
        Client client(hall.port());
        REQUIRE(open_line(client, hall.host(), own, "?run=" + run + "&from=5").status == 101);
        const std::string came = until(client, number(8));
        for (std::uint64_t n = 1; n <= 5; ++n) CHECK_FALSE(has(came, number(n)));
        for (std::uint64_t n = 6; n <= 8; ++n) CHECK(has(came, number(n)));
    }
    hall.restart();
    Client client(hall.port());
    REQUIRE(open_line(client, hall.host(), own, "?run=" + run + "&from=8").status == 101);
    const std::string came = until(client, number(8));
    for (std::uint64_t n = 1; n <= 8; ++n) CHECK(has(came, number(n)));
    CHECK_FALSE(has(came, run));
}

TEST_CASE("who never reads holds up nobody") {
    DeskHall hall;
    const Paired own = pair(hall);
    Client deaf(hall.port()), good(hall.port());
    REQUIRE(open_line(deaf, hall.host(), own).status == 101);
    REQUIRE(open_line(good, hall.host(), own).status == 101);
    constexpr std::int32_t many = 20'000;
    for (std::int32_t i = 1; i <= many; ++i) hall.publish(rep(i));
    const std::string last = number(static_cast<std::uint64_t>(many));
    std::string tail;
    const auto end = std::chrono::steady_clock::now() + 30s;
    std::size_t read = 0;
    while (!has(tail, last) && std::chrono::steady_clock::now() < end) {
        const std::string all = good.bytes(read + 1);
        tail = all.substr(read > 50 ? read - 50 : 0);
        read = all.size();
    }
    CHECK(has(tail, last));
}

TEST_CASE("in the hall everything goes by TLS 1.2 or later, with the certificate whose fingerprint is shown") {
    // A computer that is in no network has no hall to open.
    std::unique_ptr<DeskHall> opened;
    try {
        opened = std::make_unique<DeskHall>(true);
    } catch (const std::runtime_error& problem) {
        CHECK(has(problem.what(), "in no network"));
        MESSAGE("this computer is in no network: TLS was not tried");
        return;
    }
    DeskHall& hall = *opened;
    const std::string fingerprint = hall.server().place().fingerprint;
    CHECK(fingerprint.size() == 95);
    {
        Client plain(hall.port());
        plain.send(get(hall.host(), "/pair"));
        CHECK(plain.reply().status == 0);
    }
    Client client(hall.port(), true);
    REQUIRE(client.is_open());
    CHECK(client.fingerprint() == fingerprint);
    client.send(get(hall.host(), "/pair"));
    const Reply page = client.reply();
    CHECK(page.status == 200);
    const Paired own = pair(hall, "command", true);
    REQUIRE(own.cookie.starts_with("Cookie: __Host-desk="));
    Client asks(hall.port(), true);
    asks.send(post(hall.host(), "/ask", R"({"what":"pause"})", own.headers(hall.host(), true)));
    CHECK(asks.reply().status == 200);
    asks.send(post(hall.host(), "/ask", R"({"what":"pause"})", own.headers(hall.host(), false)));
    CHECK(asks.reply().status == 403);
    Client line(hall.port(), true);
    CHECK(open_line(line, hall.host(), own, "", "https://" + hall.host()).status == 101);
    CHECK(has(until(line, "Heron"), "Heron"));
    for (const int version : {TLS1_VERSION, TLS1_1_VERSION}) {
        SSL_CTX* context = SSL_CTX_new(TLS_client_method());
        SSL_CTX_set_security_level(context, 0);
        SSL_CTX_set_min_proto_version(context, version);
        SSL_CTX_set_max_proto_version(context, version);
        BIO* bio = BIO_new_ssl_connect(context);
        BIO_set_conn_hostname(bio, hall.host().c_str());
        CHECK(BIO_do_connect(bio) <= 0);
        BIO_free_all(bio);
        SSL_CTX_free(context);
    }
    // The key stays this computer's, and stays the same over a restart.
    hall.restart();
    CHECK(hall.server().place().fingerprint == fingerprint);
}
