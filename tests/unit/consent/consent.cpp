// What a consent allows on which day, and when an evening is over.
#include <doctest/doctest.h>

#include <cstdlib>
#include <ctime>
#include <string>

#include "cli/consent/tonight_store.hpp"
#include "club/consent/sound_today.hpp"
#include "store/consent.hpp"
#include "store/tonight.hpp"

using namespace breakstep;

namespace {

Athlete born(int year) {
    Athlete athlete;
    athlete.call_sign = "Heron";
    athlete.birth_year = year;
    return athlete;
}

Athlete with(Consent consent) {
    Athlete athlete;
    athlete.call_sign = "Heron";
    athlete.consent = std::move(consent);
    return athlete;
}

/// This process in a zone of its own, for one test.
class ClockZone {
  public:
    explicit ClockZone(const char* zone) {
        setenv("TZ", zone, 1);
        tzset();
    }
    ~ClockZone() {
        unsetenv("TZ");
        tzset();
    }
    ClockZone(const ClockZone&) = delete;
    ClockZone& operator=(const ClockZone&) = delete;
};

std::int64_t local(int year, int month, int day, int hour, int minute = 0) {
    std::tm parts{};
    parts.tm_year = year - 1900;
    parts.tm_mon = month - 1;
    parts.tm_mday = day;
    parts.tm_hour = hour;
    parts.tm_min = minute;
    parts.tm_isdst = -1;
    return std::mktime(&parts);
}

}  // namespace

TEST_CASE("a child's own yes is none, by whatever name it was given") {
    Athlete plover = born(2017);
    plover.call_sign = "Plover";
    plover.real_name = "Pia Moor";
    const auto by = [&](const char* whom, const char* on = "2026-09-01") {
        plover.consent = Consent{on, whom, ""};
        return consent_state(plover, "2026-11-27");
    };
    for (const char* own : {"Plover", "plover", "PIA moor", "the athlete", "herself"}) {
        CAPTURE(own);
        CHECK(by(own) == ConsentState::not_asked);
        CHECK_FALSE(may_keep(plover, "2026-11-27"));
    }
    CHECK(by("guardian") == ConsentState::given);
    CHECK(by("Mother of Plover") == ConsentState::given);
    // Who gave it at sixteen gave it themselves; who gave it at fifteen did not, and is asked again when they may.
    plover.birth_year = 2010;
    CHECK(by("Plover", "2026-01-01") == ConsentState::given);
    CHECK(by("Plover", "2025-12-31") == ConsentState::not_asked);
    CHECK(may_keep(plover, "2026-11-27"));
    plover.birth_year.reset();
    CHECK(by("Plover") == ConsentState::given);
}

TEST_CASE("what can't be so today is told, with what it is about") {
    const auto wrong = [](const Athlete& athlete) { return unsound_today(athlete, "2026-11-27"); };
    CHECK_FALSE(wrong(born(2026)));
    CHECK_FALSE(wrong(born(1916)));
    for (const int year : {2027, 2062, 1915}) {
        const auto told = wrong(born(year));
        REQUIRE(told);
        CHECK(told->of == Unsound::Of::birth_year);
    }
    CHECK_FALSE(wrong(with({"2026-11-27", "the athlete", ""})));
    REQUIRE(wrong(with({"2026-11-28", "the athlete", ""})));
    CHECK(wrong(with({"2026-11-28", "the athlete", ""}))->of == Unsound::Of::consent_on);
    Athlete child = born(2017);
    child.consent = Consent{"2026-09-01", "heron", ""};
    REQUIRE(wrong(child));
    CHECK(wrong(child)->of == Unsound::Of::consent_by);
    child.consent->by = "guardian";
    CHECK_FALSE(wrong(child));
    child.consent_share_on = "2026-12-01";
    CHECK(wrong(child)->of == Unsound::Of::consent_share_on);
}

TEST_CASE("a consent holds to the end of its last day, and a no stands until a yes") {
    const Athlete heron = with({"2025-09-30", "guardian", "2026-09-30"});
    CHECK(consent_state(heron, "2026-09-30") == ConsentState::given);
    CHECK(may_keep(heron, "2026-09-30"));
    // A yes of a day to come is none yet.
    CHECK(consent_state(heron, "2025-09-29") == ConsentState::not_asked);
    CHECK(consent_state(heron, "2026-10-01") == ConsentState::expired);
    CHECK_FALSE(may_keep(heron, "2026-10-01"));
    CHECK(may_keep(with({"2025-09-30", "guardian", ""}), "2099-01-01"));
    Athlete refused;
    refused.consent_refused_on = "2026-09-30";
    CHECK(consent_state(refused, "2099-01-01") == ConsentState::refused);
    CHECK_FALSE(may_keep(refused, "2026-09-30"));
}

TEST_CASE("who was never asked is kept, but no junior is") {
    CHECK(may_keep(Athlete{}, "2026-11-26"));
    CHECK(consent_state(Athlete{}, "2026-11-26") == ConsentState::not_asked);
    CHECK(may_keep(born(2010), "2026-01-01"));
    CHECK_FALSE(may_keep(born(2011), "2026-12-31"));
    CHECK(may_keep(born(2011), "2027-01-01"));
    CHECK(guardian_answers(born(2011), "2026-12-31"));
    Athlete asked = born(2015);
    asked.consent = Consent{"2026-09-01", "guardian", ""};
    CHECK(may_keep(asked, "2026-11-26"));
}

TEST_CASE("sharing needs a yes of its own, beside a consent that holds") {
    Athlete heron = with({"2026-01-01", "guardian", "2026-09-30"});
    CHECK_FALSE(may_share(heron, "2026-05-01"));
    heron.consent_share_on = "2026-02-01";
    CHECK(may_share(heron, "2026-05-01"));
    CHECK_FALSE(may_share(heron, "2026-01-15"));
    CHECK_FALSE(may_share(heron, "2026-10-01"));
    Athlete never;
    never.consent_share_on = "2026-02-01";
    CHECK_FALSE(may_share(never, "2026-05-01"));
}

TEST_CASE("a consent that ends this month is one that still holds and has its last day in it") {
    const Athlete heron = with({"2025-09-30", "guardian", "2026-11-20"});
    CHECK(ends_this_month(heron, "2026-11-01"));
    CHECK(ends_this_month(heron, "2026-11-20"));
    CHECK_FALSE(ends_this_month(heron, "2026-11-21"));
    CHECK_FALSE(ends_this_month(heron, "2026-10-31"));
    CHECK_FALSE(ends_this_month(heron, "2025-11-01"));
    CHECK_FALSE(ends_this_month(with({"2025-09-30", "guardian", ""}), "2026-11-01"));
}

TEST_CASE("an evening is over at four in the morning, where the hall is") {
    for (const char* name : {"UTC", "Europe/Berlin", "America/St_Johns", "Pacific/Auckland"}) {
        CAPTURE(name);
        const ClockZone zone(name);
        const std::int64_t recorded = local(2026, 11, 26, 21, 40);
        CHECK_FALSE(tonight_is_over(recorded, recorded));
        CHECK_FALSE(tonight_is_over(recorded, local(2026, 11, 26, 23, 59)));
        CHECK_FALSE(tonight_is_over(recorded, local(2026, 11, 27, 3, 59)));
        CHECK(tonight_is_over(recorded, local(2026, 11, 27, 4, 0)));
        CHECK(tonight_is_over(recorded, local(2026, 12, 26, 22, 0)));
        // After midnight it is still the same evening; what begins at four is the next.
        CHECK_FALSE(tonight_is_over(local(2026, 11, 27, 1, 0), local(2026, 11, 27, 3, 0)));
        CHECK(tonight_is_over(local(2026, 11, 27, 3, 59), local(2026, 11, 27, 4, 0)));
        CHECK_FALSE(tonight_is_over(local(2026, 11, 27, 4, 0), local(2026, 11, 27, 20, 0)));
        // A clock that was set back by days.
        CHECK(tonight_is_over(recorded, local(2026, 11, 20, 21, 0)));
    }
}

TEST_CASE("the evening's file stands beside its store, under a name that is told from stores") {
    CHECK(tonight_path("hall/club.db") == "hall/club.tonight.db");
    CHECK(tonight_path("hall/club.store") == "hall/club.store.tonight.db");
    CHECK(tonight_path("club") == "club.tonight.db");
    CHECK(is_tonight("hall/club.tonight.db"));
    CHECK_FALSE(is_tonight("hall/club.db"));
    CHECK_FALSE(is_tonight("tonight.db/club.db"));
}
