// The words after a set: never an order that can't work, no counts for a child.
#include <doctest/doctest.h>

#include "club/athletes/naming.hpp"
#include "club/results/results.hpp"
#include "hall/scene/advice.hpp"
#include "hall/scene/scene_view.hpp"
#include "store/consent.hpp"

#include <sstream>

using namespace breakstep;

TEST_CASE("no advice tells to wait for the hip line, and each has a line and a reason") {
    for (int i = 1; i <= static_cast<int>(AdviceKind::keep_at_it); ++i) {
        SetAdvice advice;
        advice.kind = static_cast<AdviceKind>(i);
        advice.count = 3;
        advice.of = 10;
        advice.best_run = 4;
        const Advice words = words_of(advice, false);
        CAPTURE(words.line);
        CHECK_FALSE(words.line.empty());
        CHECK(words.reason.find('3') != std::string::npos);
        for (const char* never : {"pass the line", "hip line", "wait", "Wait", "calm"})
            CHECK(words.line.find(never) == std::string::npos);
        const Advice child = words_of(advice, true);
        CHECK(child.line == words.line);
        CHECK(child.reason == "Best run: 4 good ones in a row.");
    }
    CHECK(words_of(SetAdvice{}, false).line.empty());
    CHECK(words_of(SetAdvice{}, true).reason.empty());
}

TEST_CASE("the reason for a clash says what was measured, in seconds before the hip line") {
    SetAdvice advice;
    advice.kind = AdviceKind::arrive_in_the_drop;
    advice.count = 3;
    advice.of = 10;
    CHECK(words_of(advice, false).reason == "3 clashes.");
    advice.least_before_line = 40ms;
    advice.most_before_line = 110ms;
    CHECK(words_of(advice, false).reason == "3 clashes, 0.04 to 0.11 s before the hip line.");
    advice.rising = 2;
    CHECK(words_of(advice, false).reason == "3 clashes, 2 while it went up.");
}

TEST_CASE("a page of results has no jargon, and leaves the reps out for whoever has read them already") {
    SessionResults report;
    report.athlete = "Heron";
    report.drill = "feints";
    RepResult rep;
    rep.verdict = Verdict::on_time;
    rep.scored = true;
    rep.number = 7;
    rep.latency = 85ms;
    rep.uncertainty = 400us;
    rep.commit = Duration(-160ms);
    report.reps = {rep};
    report.totals.scored = 1;
    report.totals.on_time = 1;
    report.totals.on_time_rate = 1;
    report.totals.d_prime = 1.2;
    report.totals.d_prime_low = 0.4;
    report.totals.windows = 9;
    report.totals.caught_by_chance = 2;
    std::ostringstream whole, without;
    print_session(whole, report, true);
    print_session(without, report, false);
    CHECK(whole.str().find("on time in the drop") != std::string::npos);
    CHECK(whole.str().find("(went -160)") != std::string::npos);
    CHECK(without.str().find("on time in the drop") == std::string::npos);
    CHECK(without.str().find("1 of 1") != std::string::npos);
    for (const char* jargon : {"d'", "picked", "commit", "wealth", "chance", "window, "})
        CHECK(whole.str().find(jargon) == std::string::npos);
}

TEST_CASE("a habit is told while the drill runs, but never to who is under 12, or perhaps is") {
    Scene scene;
    scene.kind = SceneKind::running;
    scene.nudge =
        SignRaised{Sign::tell, {}, "one beat", "same beat: 0.8 s, six times", 25, {800ms, 810ms}, SignKind::timed};
    const Link link(LinkSettings{}, 1);
    SceneNames names;
    const auto nudge = [&] { return stage_view(scene, names, Score(), link, HostTime(), true).nudge; };
    REQUIRE(nudge().has_value());
    CHECK(nudge()->words == "Same beat");
    CHECK(nudge()->entries.size() == 3);
    names.nudged = false;
    CHECK_FALSE(nudge().has_value());

    Athlete athlete;
    CHECK(is_nudged(athlete));  // nobody said how old
    const int year = std::stoi(local_date(unix_now()).substr(0, 4));
    athlete.birth_year = year - 13;
    CHECK(is_nudged(athlete));
    athlete.birth_year = year - 12;  // still eleven, it may be
    CHECK_FALSE(is_nudged(athlete));
}
