// Hundreds of evenings that go wrong in every way a seed can draw; none may break a rule. A failure prints the seed:
// BREAKSTEP_SWARM_FROM=SEED BREAKSTEP_SWARM_SESSIONS=1 simulation --no-skip -tc="a swarm of any size*" plays it again.
#include <unistd.h>

#include <csignal>
#include <cstdio>
#include <cstdlib>
#include <cstring>
#include <map>
#include <string>

#include <doctest/doctest.h>

#include "core/journal/codec.hpp"
#include "simulation/swarm_rules.hpp"

using namespace breakstep;
using namespace breakstep::swarm;

namespace {

struct Seen {
    std::map<std::string, int> counts;
    void operator+=(const std::string& what) { ++counts[what]; }
};

std::string bytes_of(const Played& played) {
    std::string all;
    for (const auto& session : played.journal.sessions())
        for (const JournalRecord& record : session.records) {
            ByteWriter writer(all);
            writer(record.position, record.recorded);
            encode(record.event, all);
        }
    return all;
}

void look(const Played& played, Seen& seen) {
    seen += played.end ? "ended " + std::string(word(*played.end)) : "did not end";
    seen += "start " + std::string(word(played.plan.drill.start));
    if (played.killed) seen += "killed";
    if (!played.refusals.empty()) seen += "refused the coach";
    for (const auto& session : played.journal.sessions())
        for (const JournalRecord& record : session.records) {
            if (const auto* rep = std::get_if<RepVoided>(&record.event))
                seen += "void: " + std::string(word(rep->reason));
            if (const auto* plan = std::get_if<SetPlanned>(&record.event); plan != nullptr && plan->redrawn)
                seen += "redrawn " + std::to_string(static_cast<int>(plan->reason));
            seen += "event " + std::string(name_of(record.event));
        }
}

// A session that stops the program names its seed too: a broken invariant aborts, and nothing else would tell.
char seed_line[64] = "";
void tell_seed(int signal) {
    [[maybe_unused]] const auto written = ::write(STDERR_FILENO, seed_line, std::strlen(seed_line));
    std::signal(signal, SIG_DFL);
    std::raise(signal);
}

Seen swarm_of(std::uint64_t from, std::uint64_t sessions) {
    Seen seen;
    std::signal(SIGABRT, tell_seed);
    std::signal(SIGSEGV, tell_seed);
    for (std::uint64_t seed = from; seed < from + sessions; ++seed) {
        CAPTURE(seed);
        std::snprintf(seed_line, sizeof seed_line, "stopped in the swarm's session of seed %llu\n",
                      static_cast<unsigned long long>(seed));
        const Plan plan = draw_plan(seed);
        const Played played = play(plan);
        for (const std::string& rule : broken_rules(played)) FAIL_CHECK(rule);
        if (seed % 4 == 0) {
            const bool same = bytes_of(play(plan)) == bytes_of(played);
            CHECK_MESSAGE(same, "the same seed gave another journal");
        }
        look(played, seen);
    }
    return seen;
}

std::uint64_t number_from(const char* name, std::uint64_t otherwise) {
    const char* typed = std::getenv(name);
    return typed != nullptr ? std::strtoull(typed, nullptr, 10) : otherwise;
}

}  // namespace

TEST_CASE("a swarm of 200: sessions 1 to 50") { swarm_of(1, 50); }
TEST_CASE("a swarm of 200: sessions 51 to 100") { swarm_of(51, 50); }
TEST_CASE("a swarm of 200: sessions 101 to 150") { swarm_of(101, 50); }

TEST_CASE("a swarm of 200: sessions 151 to 200, which meet what a swarm should meet") {
    Seen seen = swarm_of(151, 50);
    for (const char* what : {"killed", "refused the coach", "ended finished", "start random", "start pattern",
                             "start drawn", "start hunted", "start tapped", "void: board_reset", "void: coach",
                             "event rig_lost", "event pad_hit", "event gate_edge", "event clock_bound"}) {
        CAPTURE(what);
        CHECK(seen.counts[what] > 0);
    }
}

TEST_CASE("a swarm of any size, given by BREAKSTEP_SWARM_FROM and BREAKSTEP_SWARM_SESSIONS" * doctest::skip()) {
    const Seen seen = swarm_of(number_from("BREAKSTEP_SWARM_FROM", 1), number_from("BREAKSTEP_SWARM_SESSIONS", 200));
    std::string all;
    for (const auto& [what, count] : seen.counts) all += what + " " + std::to_string(count) + "\n";
    MESSAGE(all);
}
