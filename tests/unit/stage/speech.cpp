// One thing speaks at a time, and nothing is written over a limb that counts.
#include "devices/stage/speech.hpp"

#include <doctest/doctest.h>

#include <cctype>
#include <set>
#include <string>

#include "report/drawing/verdict_words.hpp"
#include "unit/stage/pixels.hpp"

using namespace breakstep;
using namespace pixels;
using What = Speech::What;

namespace {

std::string text_of(const VerdictFacts& facts) {
    std::string text;
    for (const TextRun& run : second_line(facts, palette(Theme::dark_hall))) text += run.text;
    return text;
}

StageView all_at_once() {
    StageView view = live({});
    view.message = StageMessage{"The rig does not answer.", "Check the cable."};
    view.verdict = StageVerdict{Verdict::clash, Moment::drop, Phase::up, VoidReason::none, false, start};
    view.nudge = StageNudge{"Same beat", Sign::tell, {}, start};
    view.count = StageCount{start, 700ms};
    view.prompt = "Strike a pad to start.";
    return view;
}

}  // namespace

TEST_CASE("a message goes before a verdict, a verdict before a nudge, then the count, then the prompt") {
    StageView view = all_at_once();
    CHECK(speech_at(view, start).what == What::message);
    view.message.reset();
    CHECK(speech_at(view, start).what == What::verdict);
    view.verdict.reset();
    CHECK(speech_at(view, start).what == What::nudge);
    view.nudge.reset();
    CHECK(speech_at(view, start).what == What::count);
    view.count.reset();
    CHECK(speech_at(view, start).what == What::prompt);
    view.prompt.clear();
    CHECK(speech_at(view, start).what == What::nothing);
}

TEST_CASE("a verdict comes whole, stays 900 ms and fades in 150 ms") {
    StageView view = live({});
    view.verdict = StageVerdict{Verdict::on_time, Moment::drop, Phase::drop, VoidReason::none, false, start};
    CHECK(speech_at(view, start - 1ns).what == What::nothing);
    CHECK(speech_at(view, start) == Speech{What::verdict, 1});
    CHECK(speech_at(view, start + 900ms) == Speech{What::verdict, 1});
    CHECK(speech_at(view, start + 975ms).strength == doctest::Approx(0.5));
    CHECK(speech_at(view, start + 1050ms).what == What::nothing);
}

TEST_CASE("a verdict is shown while its own attack plays out, and never over an attack that began after it") {
    StageView view = live({{7, start, single()}, {8, start + 600ms, single()}});
    view.verdict = StageVerdict{Verdict::early, Moment::drop, Phase::lift, VoidReason::none, false, start + 100ms};
    CHECK(speech_at(view, start + 300ms).what == What::verdict);
    CHECK(speech_at(view, start + 600ms - 1ns).what == What::verdict);
    CHECK(speech_at(view, start + 600ms).what == What::nothing);
    CHECK(speech_at(view, start + 900ms).what == What::nothing);
}

TEST_CASE("nudge, count and prompt wait for guard") {
    for (const What what : {What::nudge, What::count, What::prompt}) {
        StageView view = live({{7, start, single()}});
        if (what == What::nudge) view.nudge = StageNudge{"Same beat", Sign::tell, {}, start};
        if (what == What::count) view.count = StageCount{start, 700ms};
        if (what == What::prompt) view.prompt = "Strike a pad to start.";
        for (Duration at = 0ms; at < 1200ms; at += 10ms) REQUIRE(speech_at(view, start + at).what == What::nothing);
        CHECK(speech_at(view, start + 1200ms).what == what);  // 950 ms of attack, 250 ms back to guard
    }
}

TEST_CASE("the attack shown is the last that has begun") {
    const StageView view = live({{7, start, single()}, {8, start + 2s, single()}});
    CHECK_FALSE(attack_at(view, start - 1ns));
    CHECK(attack_at(view, start)->attack->rep == 7);
    CHECK(attack_at(view, start + 1999ms)->attack->rep == 7);
    CHECK(attack_at(view, start + 2s)->attack->rep == 8);
    CHECK(attack_at(view, start + 2100ms)->since_toe_off == 100ms);
}

TEST_CASE("the three lamps light one after another") {
    const StageCount count{start, 700ms};
    CHECK(lamps_lit(count, start - 1ns) == 0);
    CHECK(lamps_lit(count, start) == 1);
    CHECK(lamps_lit(count, start + 699ms) == 1);
    CHECK(lamps_lit(count, start + 700ms) == 2);
    CHECK(lamps_lit(count, start + 1400ms) == 3);
    CHECK(lamps_lit(count, start + 60s) == 3);
}

TEST_CASE("the second line says what was asked and what was hit") {
    CHECK(text_of({.verdict = Verdict::on_time, .asked = Moment::drop, .struck = Phase::drop}) == "in the drop");
    CHECK(text_of({.verdict = Verdict::late, .asked = Moment::lift, .struck = Phase::drop}) ==
          "for lift: that was the drop");
    CHECK(text_of({.verdict = Verdict::early, .asked = Moment::drop, .struck = Phase::lift}) ==
          "for drop: that was the lift");
    CHECK(text_of({.verdict = Verdict::early, .asked = Moment::drop, .struck = Phase::guard}) == "before the drop");
    CHECK(text_of({.verdict = Verdict::late, .asked = Moment::gap, .struck = Phase::guard}) == "after the gap");
    CHECK(text_of({.verdict = Verdict::clash, .asked = Moment::drop, .struck = Phase::up}) == "the leg was up");
    CHECK(text_of({.verdict = Verdict::clash, .asked = Moment::drop, .struck = Phase::hands}) == "into the hands");
    CHECK(text_of({.verdict = Verdict::held}) == "that was a feint");
    CHECK(text_of({.verdict = Verdict::held, .nothing_came = true}) == "nothing came");
    // Where room alone is asked for, a kick came and no feint.
    CHECK(text_of({.verdict = Verdict::held, .room = true}) == "out in time, home in time");
    CHECK(text_of({.verdict = Verdict::gave_ground, .retreated = true}) == "beyond the far mark");
    CHECK(text_of({.verdict = Verdict::gave_ground, .room = true}) == "not between the marks in time");
    CHECK(text_of({.verdict = Verdict::void_rep, .reason = VoidReason::link_lost}) == "the rig was away");
}

TEST_CASE("no verdict says a number, and each has words under it") {
    for (int v = 0; v <= static_cast<int>(Verdict::void_rep); ++v) {
        for (int reason = 0; reason <= static_cast<int>(VoidReason::coach); ++reason) {
            const std::string text =
                text_of({static_cast<Verdict>(v), Moment::gap, Phase::drop, static_cast<VoidReason>(reason), false});
            CHECK_FALSE(text.empty());
            for (const char letter : text) CHECK_FALSE(std::isdigit(static_cast<unsigned char>(letter)));
        }
    }
}

TEST_CASE("a notice about the rig is shown between reps and at rest, never while an attack plays or a verdict speaks") {
    StageView view = live({{
        1,
        start,
        single(),
    }});
    const auto differs = [&](HostTime at) {
        StageView with = view;
        with.notice = "the gate near has been blocked for 3 s: clear its beam, or align it again";
        return stage(with, at) != stage(view, at);
    };
    CHECK(differs(start - 1s));
    for (const Duration since : {0ms, 200ms, 450ms, 600ms}) CHECK_FALSE(differs(start + since));
    CHECK(differs(start + 5s));
    view.verdict = StageVerdict{Verdict::on_time, Moment::drop, Phase::drop, VoidReason::none, false, start + 2s};
    CHECK_FALSE(differs(start + 2500ms));
    CHECK(differs(start + 5s));
    view.verdict.reset();
    view.attacks.clear();
    view.prompt = "Strike a pad to start.";
    CHECK(differs(start));
    view.screen = StageScreen::rest;
    CHECK(differs(start));
}

TEST_CASE("a verdict is never written over another attack that is under way, and comes back behind it") {
    // Up before the word came: an opponent that answers.
    StageView view = live({{8, start, single()}});
    const Duration lasts = view.attacks.front().timeline.end();
    view.verdict =
        StageVerdict{Verdict::on_time, Moment::drop, Phase::drop, VoidReason::none, false, start + lasts - 100ms};
    view.verdict->rep = 7;
    CHECK(speech_at(view, start + lasts - 50ms).what == What::nothing);
    CHECK(speech_at(view, start + lasts + 50ms).what == What::verdict);
    view.verdict->rep = 8;
    CHECK(speech_at(view, start + lasts - 50ms).what == What::verdict);
}

TEST_CASE("the beat that was followed is over once the attack has come") {
    StageView view = live({{8, start, single()}});
    view.lure = StageLure{};
    view.lure->follows = true;
    CHECK(speech_at(view, start - 100ms).what == What::lure);
    CHECK(speech_at(view, start + view.attacks.front().timeline.end() + 700ms).what == What::nothing);
}
