// In a running set the rig's events cost score no memory: what it keeps between them was set aside before.
#include <cstdlib>
#include <new>

#include <doctest/doctest.h>

#include "support/journal_script.hpp"

namespace {

std::size_t allocations = 0;

}  // namespace

// Counts every allocation of this test program. All of new and delete that the program uses is replaced, so that the
// sanitizers see one kind of memory. Not inlined: g++ 12 would warn falsely of mixing new with free.
[[gnu::noinline]] void* operator new(std::size_t size) {
    ++allocations;
    if (void* memory = std::malloc(size == 0 ? 1 : size)) return memory;
    throw std::bad_alloc();
}
[[gnu::noinline]] void* operator new(std::size_t size, const std::nothrow_t&) noexcept {
    ++allocations;
    return std::malloc(size == 0 ? 1 : size);
}
[[gnu::noinline]] void operator delete(void* memory) noexcept { std::free(memory); }
[[gnu::noinline]] void operator delete(void* memory, std::size_t) noexcept { std::free(memory); }

using namespace breakstep;
using namespace breakstep::testing;

TEST_CASE("an event of the rig allocates nothing once a set has run for a while") {
    const std::vector<AttackPhase> single{{Phase::lift, false, 110ms},
                                          {Phase::up, false, 170ms},
                                          {Phase::pull_back, false, 140ms},
                                          {Phase::drop, false, 130ms},
                                          {Phase::gap, false, 150ms}};
    JournalScript script;
    script.begin();
    script.plan(0, 1s);
    for (int i = 0; i < 400; ++i) {
        const Duration toe_off = 5s + i * 4s;
        script.open(RepId{i}, {}, single, toe_off, toe_off + 1200ms);
        script.confirm(RepId{i}, single, toe_off);
        for (int k = 0; k < 6; ++k) script.cross(toe_off - 2s + k * 390ms + i * 1ms, GateRole::near_mark);
        script.cross(toe_off + 310ms, GateRole::far_mark);
        script.hit(toe_off + 450ms);
        script.hit(toe_off + 800ms);
        script.close(RepId{i}, toe_off + 1200ms);
    }
    Score score;
    std::vector<ScoreResult> results;
    results.reserve(16);
    std::size_t counted = 0, events = 0;
    for (std::size_t i = 0; i < script.records.size(); ++i) {
        const JournalRecord& record = script.records[i];
        results.clear();
        const std::size_t before = allocations;
        score.fold(record, results);
        const bool of_the_rig =
            std::holds_alternative<PadHit>(record.event) || std::holds_alternative<GateEdge>(record.event);
        // The first half sets the memory aside.
        if (!of_the_rig || i < script.records.size() / 2) continue;
        ++events;
        counted += allocations - before;
    }
    CHECK(events > 2000);
    // The list of intervals that a session keeps grows by doubling, so at most once in the second half; a sign has
    // words.
    CHECK(counted <= 8);
    CHECK(score.reps().size() == 400);
}
