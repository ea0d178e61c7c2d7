// What a coach is told of a free exchange: a claim, what it rests on, and a partner whom nobody named.
#include <doctest/doctest.h>

#include "core/random.hpp"
#include "report/drawing/exchange_words.hpp"

using namespace breakstep;
using namespace breakstep::scoring;

namespace {

Duration s(double seconds) { return Duration(static_cast<std::int64_t>(seconds * 1e9)); }

/// A partner who kicks 0.45 s or so after the second step back, always.
Exchange after_two_retreats() {
    Random random(4);
    Exchange exchange;
    double now = 1;
    for (int i = 0; i < 30; ++i) {
        exchange.retreat(s(now));
        now += 0.8 + random.exponential(0.8);
        exchange.retreat(s(now));
        const double kick = now + random.lognormal(0.45, 0.15);
        exchange.lift(s(kick));
        now = kick + 0.8 + random.exponential(0.8);
    }
    exchange.complete(s(now));
    return exchange;
}

bool has(const std::string& text, const char* part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("what makes a partner kick is said with its count and what luck would give") {
    const Exchange exchange = after_two_retreats();
    REQUIRE(exchange.partner_habit() == PartnerHabit::after_two_retreats);
    const ExchangeSaid said = what_makes_them_kick_words(exchange, "Curlew");
    CHECK(said.claim == "Give ground twice and Curlew kicks.");
    CHECK_MESSAGE(has(said.evidence, "Curlew kicks about 0.4"), said.evidence);
    CHECK_MESSAGE(has(said.evidence, " s after the second step back: "), said.evidence);
    CHECK_MESSAGE(has(said.evidence, "Curlew's own rhythm alone would give "), said.evidence);
    CHECK(partner_habit_words(exchange, "Curlew") == said.claim + " " + said.evidence);
    const std::string unnamed = partner_habit_words(exchange, "");
    CHECK_MESSAGE(unnamed.starts_with("Give ground twice and the partner kicks. The partner kicks about "), unnamed);
    bool told = false;
    for (const std::string& line : exchange_words(exchange, "Heron", "Curlew"))
        told = told || line.starts_with("Give ground twice");
    CHECK(told);
}

TEST_CASE("nothing is made of too few acts, and never that somebody does not follow") {
    Exchange exchange;
    CHECK(what_makes_them_kick_words(exchange, "Curlew").claim.empty());
    CHECK(partner_habit_words(exchange, "Curlew").empty());
    CHECK(who_leads_words(exchange, "Heron", "Curlew").claim == "Too few acts to say.");
    Random random(9);
    double entry = 1, lift = 1.5;
    while (entry < 60) exchange.entry(s(entry)), entry += 0.6 + random.exponential(1.0);
    while (lift < 60) exchange.lift(s(lift)), lift += 0.9 + random.exponential(1.2);
    exchange.complete(60s);
    CHECK(who_leads_words(exchange, "Heron", "Curlew").claim.starts_with("No sign that either leads, in "));
}

TEST_CASE("the coin says how often after a cue and how often after none") {
    Exchange exchange;
    for (int i = 0; i < 24; ++i) {
        const bool cued = i % 2 == 0;
        exchange.coin(s(10.0 * i + 10), {i, {}, cued, 450ms, 1200ms});
        if (cued) exchange.entry(s(10.0 * i + 10.7));
        exchange.complete(s(10.0 * i + 15));
    }
    const ExchangeSaid said = who_leads_words(exchange, "Heron", "Curlew");
    CHECK(said.claim == "Curlew makes Heron go.");
    CHECK(said.evidence == "After a cue Heron stepped in 12 of 12 times, after none 0 of 12.");
}
