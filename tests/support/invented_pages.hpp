// Pages of invented athletes with everything that a page can hold, for tests and benchmarks of the drawing.
#pragma once

#include <algorithm>
#include <chrono>
#include <cmath>

#include "core/random.hpp"
#include "core/trade/opponent.hpp"
#include "report/pages/athlete_page.hpp"
#include "report/pages/evening_page.hpp"
#include "report/pages/group_page.hpp"

namespace breakstep::pages {
namespace invented {

/// Where on the leg an invented answer falls: the share of the way from toe-off to touchdown, and how much it varies.
struct Timing {
    double mean, spread;
    double takes_feints;
};

inline Verdict verdict_at(const AttackTimeline& attack, Duration contact) {
    const auto index = attack.index_at(contact);
    if (!index) return Verdict::late;
    switch (attack.phases[*index].phase) {
        case Phase::drop:
            return Verdict::on_time;
        case Phase::up:
        case Phase::pull_back:
        case Phase::hands:
            return Verdict::clash;
        case Phase::lift:
            return Verdict::early;
        default:
            return Verdict::late;
    }
}

inline StripRep invented_rep(Random& random, bool feint, const Timing& timing) {
    const AttackKind kind = feint ? AttackKind::feint : AttackKind::single;
    StripRep rep;
    rep.attack = {kind, draw_attack(opponent_defaults(Level::intermediate), kind, 1, random), {}};
    if (feint) {
        rep.verdict = Verdict::held;
        if (!random.chance(timing.takes_feints)) return rep;
        rep.verdict = Verdict::took_the_feint;
        rep.contact = 320ms + Duration{std::llround(random.uniform(0, 9e7))};
        rep.commit = *rep.contact - 240ms;
        return rep;
    }
    if (random.chance(0.06)) {
        rep.verdict = Verdict::missed;
        return rep;
    }
    const auto touchdown = static_cast<double>(rep.attack.begin_of(4).count());
    const double share = std::max(0.3, timing.mean + timing.spread * random.normal());
    rep.contact = Duration{std::llround(share * touchdown)};
    rep.commit = *rep.contact - Duration{std::llround(random.uniform(2.2e8, 3.2e8))};
    rep.verdict = verdict_at(rep.attack, *rep.contact);
    return rep;
}

inline TestStrip invented_test(std::string title, std::uint64_t seed, const Timing& timing) {
    TestStrip test;
    test.title = std::move(title);
    Random random(seed);
    for (int number = 1; number <= 40; ++number) {
        StripRep rep = invented_rep(random, number % 5 == 3, timing);
        rep.number = number;
        if (rep.attack.kind == AttackKind::feint)
            test.held.count(rep.verdict == Verdict::held);
        else
            test.on_time.count(rep.verdict == Verdict::on_time);
        test.reps.push_back(std::move(rep));
    }
    return test;
}

/// Entries, some at one beat; windows announced as a reader would, attacks that cut.
inline RhythmPeriod invented_rhythm(std::string title, std::uint64_t seed, double at_one_beat, Sign sign, int raised) {
    RhythmPeriod period;
    period.title = std::move(title);
    period.sign = sign;
    period.drills = 6;
    period.raised = raised;
    RhythmLane strip;
    Random random(seed);
    Duration now{}, next_attack = 2600ms;
    while (now < 60s) {
        const double seconds =
            random.chance(at_one_beat) ? random.lognormal(0.9, 0.07) : 0.45 + random.exponential(0.55);
        const Duration interval{std::llround(seconds * 1e9)};
        if (now + interval > next_attack) {
            if (next_attack - now > 250ms) strip.steps.push_back({next_attack - now, true, {}, false});
            now = next_attack + 1900ms;
            next_attack = now + 3600ms + Duration{std::llround(random.exponential(1.4e9))};
            continue;
        }
        StepIn step{interval, false, {}, false};
        if (strip.steps.size() > 3) {
            step.guess = Guess{750ms, 1050ms};
            step.caught = interval >= 750ms && interval < 1050ms;
            ++strip.windows;
            strip.caught += step.caught ? 1 : 0;
        }
        strip.steps.push_back(step);
        now += interval;
    }
    strip.sign = sign;
    period.hits = {static_cast<std::uint64_t>(strip.caught), static_cast<std::uint64_t>(strip.windows),
                   strip.windows * 0.24};
    period.strip = std::move(strip);
    return period;
}

inline TermPlot invented_plot() {
    constexpr std::uint64_t on_time[] = {12, 14, 13, 19, 0, 15, 19, 22, 19, 24};  // of 32; 0: the evening was missed
    const auto first = std::chrono::sys_days{std::chrono::year{2026} / 9 / 1}.time_since_epoch().count();
    TermPlot plot;
    plot.title = "On time in the drop, evening by evening";
    std::vector<progress::EveningValue> values;
    for (std::size_t week = 0; week < std::size(on_time); ++week) {
        if (on_time[week] == 0) continue;
        const progress::Share share{on_time[week], 32};
        const auto day = static_cast<std::int32_t>(first + 7 * static_cast<std::int64_t>(week));
        plot.points.push_back({day, share.rate(), share.interval()});
        values.push_back({static_cast<double>(day), share.rate()});
    }
    plot.line = progress::straight_line(values);
    return plot;
}

}  // namespace invented

inline AthletePage invented_athlete_page() {
    AthletePage page;
    page.call_sign = "Heron";
    page.club = "Saltmarsh Hall";
    page.term = "1 September to 3 November, nine evenings";
    page.headline = "Heron now meets the drop on time 7\u00a0times\u00a0in\u00a010, up from 4 when the term began.";
    page.beyond = "That is more than the ups and downs from one evening to the next.";
    page.first_test = invented::invented_test("First test, 1 September", 4, {0.62, 0.22, 0.5});
    page.last_test = invented::invented_test("Last test, 3 November", 9, {0.90, 0.11, 0.15});
    page.plot = invented::invented_plot();
    page.rhythm = {invented::invented_rhythm("First three evenings", 5, 0.75, Sign::tell, 3),
                   invented::invented_rhythm("Last three evenings", 8, 0.05, Sign::none, 0)};
    page.answers = {{"meeting the lift", {4, 22}}, {"the gap", {21, 38}},  {"the drop", {131, 210}},
                    {"going around", {2, 4}},      {"at once", {96, 190}}, {"after giving ground", {38, 60}}};
    page.answers_words = "Most often on time: the drop (131 of 210); next to learn: the lift (4 of 22).";
    page.next = {"The drop, in open stance",
                 "Two sets of eight, back leg, single kicks.",
                 "on time in the drop, these four weeks",
                 {{"closed stance", {29, 42}}, {"open stance", {15, 40}}}};
    page.footer =
        "Bars hold the true value 95 times in 100. Heron is compared with Heron only. Kept on the club\u2019s own "
        "computer.";
    return page;
}

inline GroupPage invented_group_page() {
    using progress::Claim;
    const std::string drop = "on time in the drop", gap = "on time in the gap";
    GroupPage page;
    page.club = "Saltmarsh Hall";
    page.term = "1 September to 3 November 2026";
    page.expected_wrong =
        "3 improved, 1 the other way, the others not clearly changed. Of these 4 names about 0.1 are expected to be "
        "wrong by chance.";
    page.rows = {{"Avocet",
                  "next: Meeting the lift",
                  Claim::no_clear_change,
                  "",
                  false,
                  drop,
                  {{44, 96}},
                  {{51, 96}},
                  "46 to 53 %",
                  9,
                  642},
                 {"Curlew",
                  "next: The gap between two techniques",
                  Claim::improved,
                  "",
                  false,
                  drop,
                  {{33, 96}},
                  {{62, 96}},
                  "34 to 65 %",
                  10,
                  720},
                 {"Dunlin",
                  "next: Feints among attacks",
                  Claim::no_clear_change,
                  "",
                  false,
                  gap,
                  {{40, 90}},
                  {{37, 88}},
                  "44 to 42 %",
                  8,
                  566},
                 {"Heron",
                  "next: The drop, in open stance",
                  Claim::improved,
                  "",
                  false,
                  drop,
                  {{39, 96}},
                  {{65, 96}},
                  "41 to 68 %",
                  9,
                  655},
                 {"Lapwing", "next: Around the held leg", Claim::too_few, "", false, drop, {}, {}, "", 4, 240},
                 {"Plover",
                  "next: Drawing the attack",
                  Claim::improved,
                  "",
                  false,
                  gap,
                  {{45, 96}},
                  {{69, 94}},
                  "47 to 73 %",
                  10,
                  731},
                 {"Redshank",
                  "next: Legs into hands",
                  Claim::no_clear_change,
                  "",
                  false,
                  drop,
                  {{60, 96}},
                  {{63, 96}},
                  "63 to 66 %",
                  10,
                  712},
                 {"Turnstone",
                  "next: Taking turns",
                  Claim::worse,
                  "",
                  false,
                  drop,
                  {{58, 96}},
                  {{41, 96}},
                  "60 to 43 %",
                  9,
                  633}};
    page.plan_words = "One moment for each three-week block; the coach\u2019s word comes first.";
    page.plan = {{"weeks 1 to 3", "the lift", "on time 18 of 96, the least of the three"},
                 {"weeks 4 to 6", "the gap", "on time 252 of 486"},
                 {"weeks 7 to 9", "the drop", "on time 640 of 1002"}};
    page.footer = "Everyone is compared with themselves only. Bars hold the true value 95 times in 100.";
    return page;
}

inline EveningPage invented_evening_page() {
    EveningPage page;
    page.club = "Saltmarsh Hall";
    page.date = "Tuesday 3 November 2026";
    page.summary = "4 athletes, 6 drills, 200 reps; on time: gap 14 of 24, drop 84 of 128; feints held 20 of 32.";
    page.rows = {{"Curlew", "Test: drop of a single kick, front hand", "18:32", 40, {21, 32}, {6, 8}, 6, "no sign", ""},
                 {"Curlew", "Gap after a single kick, back hand", "18:58", 20, {12, 20}, {}, 3, "no sign", ""},
                 {"Heron", "Test: drop of a single kick, front hand", "18:40", 40, {24, 32}, {7, 8}, 5, "no sign", ""},
                 {"Heron", "Kick or feint", "19:06", 40, {22, 32}, {3, 8}, 4, "maybe", "1 void (coach)"},
                 {"Lapwing", "Test: drop of a single kick, front hand", "18:47", 40, {17, 32}, {4, 8}, 9, "yes", ""},
                 {"Plover",
                  "Drawing the attack",
                  "19:15",
                  20,
                  {2, 4},
                  {},
                  1,
                  "-",
                  "2 void (link lost), 14 events lost, cut off, not ended"}};
    page.odd = {"Heron, Kick or feint: 1 void (coach)",
                "Plover, Drawing the attack: 2 void (link lost), 14 events lost, cut off, not ended"};
    page.footer = "Everyone is compared with themselves only. Bars hold the true value 95 times in 100.";
    return page;
}

}  // namespace breakstep::pages
