// Curlew, a simulated athlete who keeps no beat and hardly ever gives ground, through whole drills where the athlete
// leads. One sign for tempo and choices together called that "can be timed: yes, without a retreat you go"; two signs
// must not.
#include <doctest/doctest.h>

#include <string>

#include "core/reading/reading_method.hpp"
#include "settings/drill_file.hpp"
#include "support/fast_run.hpp"

using namespace breakstep;
using reading::ReadingMethod;

namespace {

SessionTotals reread(const FastRun& run, ReadingMethod method) {
    Score score(method);
    std::vector<ScoreResult> results;
    for (const JournalRecord& record : run.records()) score.fold(record, results);
    return score.totals();
}

}  // namespace

TEST_CASE("an honest athlete is not told in drawn and hunted drills") {
    constexpr int seeds = 15;
    for (const std::string name : {"hunted", "drawing-the-attack"}) {
        CAPTURE(name);
        const auto drill = load_drill(name, Settings{});
        REQUIRE(drill);
        int plain = 0, timed = 0, read = 0, guesses = 0;
        for (int seed = 1; seed <= seeds; ++seed) {
            FastRun run(static_cast<std::uint64_t>(seed));
            REQUIRE(run.run(*drill, static_cast<std::uint64_t>(seed), "Curlew") == SessionEnd::finished);
            const SessionTotals one = reread(run, ReadingMethod::plain);
            plain += one.sign == Sign::tell ? 1 : 0;
            const SessionTotals two = reread(run, ReadingMethod::two_signs);
            CHECK_MESSAGE(two.wealth == run.score().totals().wealth, "a session of today is read by two signs");
            CHECK(run.score().totals().two_signs);
            timed += two.sign == Sign::tell ? 1 : 0;
            read += two.read_sign == Sign::tell ? 1 : 0;
            guesses += two.windows;
        }
        MESSAGE(name, ": plain ", plain, ", timed ", timed, ", read ", read, " of ", seeds, "; ", guesses, " guesses");
        CHECK_MESSAGE(plain >= 8, "the finding that this mends");
        // At most 1 in 20 each: 4 or more of 15 would come by bad luck once in two hundred times.
        CHECK(timed <= 3);
        CHECK(read <= 3);
        CHECK_MESSAGE(guesses >= seeds, "no tell because nothing was bet is no proof");
    }
}
