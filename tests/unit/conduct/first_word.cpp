// The click of every contact, and when the word of a rep comes.
#include <algorithm>

#include <doctest/doctest.h>

#include "unit/conduct/conduct_bench.hpp"

using namespace breakstep;
using testing::ConductBench;

namespace {

SessionBegan session_of(Feedback feedback, bool catch_trials = false) {
    SessionBegan session;
    session.session = SessionId{1};
    session.seed = 3;
    session.rules = rules_of_today;
    session.feedback = feedback;
    session.drill.name = "any";
    session.drill.sets = 2;
    session.drill.rest = 1s;
    session.drill.reps = 3;
    session.drill.wait_minimum = 900ms;
    session.drill.wait_extra = catch_trials ? 3s : 300ms;
    session.drill.wait_cap = catch_trials ? 1500ms : 5s;
    AttackChoice single;
    session.drill.attacks = {single};
    return session;
}

std::vector<FirstWord> words_of(const ConductBench& bench) {
    std::vector<FirstWord> words;
    for (const ScoreResult& result : bench.results)
        if (const auto* word = std::get_if<FirstWord>(&result)) words.push_back(*word);
    return words;
}

std::optional<HostTime> settled_at(const ConductBench& bench, RepId rep) {
    for (const JournalRecord& entry : bench.journal)
        if (const auto* settled = std::get_if<ContactSettled>(&entry.event))
            if (settled->rep == rep) return entry.recorded;
    return std::nullopt;
}

std::ptrdiff_t clicks(const ConductBench& bench) {
    return std::count(bench.sounds.begin(), bench.sounds.end(), CueSound::click);
}

// Strikes once in each attack, `after` its toe-off.
auto striking(Duration after) {
    return [after, struck = RepId{-1}](ConductBench& bench) mutable {
        const auto opened = bench.all<RepOpened>();
        if (opened.empty() || opened.back().catch_trial || opened.back().rep == struck) return;
        if (bench.rig_now() < opened.back().onset + after) return;
        struck = opened.back().rep;
        bench.strike();
    };
}

}  // namespace

TEST_CASE("told at once, a strike from toe-off - lead on has its word 30 ms after its stamp, and the close agrees") {
    for (const Duration after : {-60ms, 100ms, 400ms, 650ms, 900ms}) {
        ConductBench bench(session_of(Feedback::at_once), CueDevices{true, false});
        bench.connect();
        bench.play_set(striking(after));
        const auto words = words_of(bench);
        REQUIRE(words.size() == 3);
        for (const FirstWord& word : words) {
            const auto at = settled_at(bench, word.rep.rep);
            REQUIRE(at);
            const auto& reps = bench.score().reps();
            const auto whole =
                std::find_if(reps.begin(), reps.end(), [&](const RepResult& rep) { return rep.rep == word.rep.rep; });
            REQUIRE(whole != reps.end());
            CHECK(whole->verdict == word.rep.verdict);
            CHECK(whole->phase == word.rep.phase);
            CHECK(whole->contact_from_onset == word.rep.contact_from_onset);
        }
        CHECK(clicks(bench) == 3);
        CHECK(std::count(bench.sounds.begin(), bench.sounds.end(), CueSound::good) +
                  std::count(bench.sounds.begin(), bench.sounds.end(), CueSound::bad) ==
              3);
    }
}

TEST_CASE("the word comes within 60 ms of the stamp where the link promises at once") {
    ConductBench bench(session_of(Feedback::at_once));
    bench.connect();
    bench.play_set(striking(450ms));
    for (const FirstWord& word : words_of(bench)) {
        const auto hits = bench.all<PadHit>();
        const HostTime at = *settled_at(bench, word.rep.rep);
        const bool near = std::any_of(hits.begin(), hits.end(), [&](const PadHit& hit) {
            const Duration waited = at.time_since_epoch() - hit.at.since_boot();
            return waited >= 30ms && waited <= 60ms;
        });
        CHECK(near);
    }
}

TEST_CASE("a strike in the wait has its click, and no word before toe-off") {
    ConductBench bench(session_of(Feedback::at_once));
    bench.connect();
    bench.play_set(striking(-300ms));
    const auto words = words_of(bench);
    REQUIRE(words.size() == 3);
    for (const FirstWord& word : words) {
        CHECK(word.rep.verdict == Verdict::early);
        const auto opened = bench.all<RepOpened>();
        const auto rep =
            std::find_if(opened.begin(), opened.end(), [&](const RepOpened& each) { return each.rep == word.rep.rep; });
        CHECK(settled_at(bench, word.rep.rep)->time_since_epoch() >= rep->onset.since_boot());
    }
}

TEST_CASE("where feints are drilled an early strike has its word at the close: at toe-off it would tell which it is") {
    SessionBegan session = session_of(Feedback::at_once);
    AttackChoice feint;
    feint.kind = AttackKind::feint;
    session.drill.attacks.push_back(feint);
    ConductBench bench(session);
    bench.connect();
    bench.play_set(striking(-300ms));
    CHECK(words_of(bench).empty());
    CHECK(bench.count<PadHit>() == 4);
}

TEST_CASE("in a catch trial a strike has the same click, and its word at the close") {
    ConductBench bench(session_of(Feedback::at_once, true), CueDevices{true, false});
    bench.connect();
    std::size_t strikes = 0;
    RepId struck{-1};
    for (int set = 0; set < 2; ++set) {
        bench.play_set([&](ConductBench& each) {
            const auto opened = each.all<RepOpened>();
            if (opened.empty() || !opened.back().catch_trial || opened.back().rep == struck) return;
            // Behind the close of the attack before, whose blow it would be.
            if (each.rig_now() < opened.back().onset + 900ms) return;
            struck = opened.back().rep;
            ++strikes;
            each.strike();
        });
        bench.pass(1500ms);
    }
    REQUIRE(strikes > 0);
    CHECK(clicks(bench) == static_cast<std::ptrdiff_t>(strikes));
    CHECK(words_of(bench).empty());
    CHECK(bench.score().totals().catch_trials_struck == static_cast<std::int32_t>(strikes));
}

TEST_CASE("told at the close, nothing comes before it, in a silent first set the click alone") {
    ConductBench bench(session_of(Feedback::at_close), CueDevices{true, false});
    bench.connect();
    bench.play_set(striking(450ms));
    CHECK(words_of(bench).empty());
    CHECK(clicks(bench) == 3);
    CHECK(bench.conduct().scene().verdict);

    ConductBench silent(session_of(Feedback::silent_first), CueDevices{true, false});
    silent.connect();
    silent.play_set(striking(450ms));
    CHECK(words_of(silent).empty());
    CHECK(clicks(silent) == 3);
    CHECK_FALSE(silent.conduct().scene().verdict);
    CHECK(std::count(silent.sounds.begin(), silent.sounds.end(), CueSound::good) == 0);
    CHECK(std::count(silent.sounds.begin(), silent.sounds.end(), CueSound::bad) == 0);
    silent.pass(1100ms);
    silent.play_set(striking(450ms));
    CHECK(words_of(silent).size() == 3);
}

TEST_CASE("two pads that rang for one blow click once") {
    ConductBench bench(session_of(Feedback::at_once), CueDevices{true, false});
    bench.connect();
    RepId struck{-1};
    bench.play_set([&](ConductBench& each) {
        const auto opened = each.all<RepOpened>();
        if (opened.empty() || opened.back().rep == struck || each.rig_now() < opened.back().onset + 450ms) return;
        struck = opened.back().rep;
        each.strike(PadRole::high_right);
        each.strike(PadRole::low_left);
    });
    CHECK(clicks(bench) == 3);
}
