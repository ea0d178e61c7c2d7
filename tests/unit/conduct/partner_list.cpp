// What the coach lists for the partner: asked in order, in the place of the plan's, and only where a partner is cued.
#include <doctest/doctest.h>

#include "unit/conduct/conduct_bench.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

constexpr std::int32_t number(AttackKind kind) { return static_cast<std::int32_t>(kind); }
constexpr std::int32_t single = number(AttackKind::single), reset = number(AttackKind::reset),
                       feint = number(AttackKind::feint), carry = number(AttackKind::carry);

SessionBegan with_partner(std::int32_t reps, StartKind start = StartKind::random) {
    return partner_session({AttackKind::single, AttackKind::reset}, reps, start);
}

ConductBench bench_for(const SessionBegan& session) {
    ConductBench bench(session);
    bench.gates = {GateRole::near_mark, GateRole::low, GateRole::hip};
    bench.partner_lamp = true;
    bench.connect();
    return bench;
}

/// A partner who kicks 400 ms after each cue, whatever it asks.
struct Kicks {
    std::size_t cues = 0;
    std::vector<std::pair<TargetTime, char>> coming{};
    void operator()(ConductBench& bench) {
        for (; cues < bench.count<PartnerCued>(); ++cues) {
            const TargetTime lift = bench.all<PartnerCued>()[cues].at + 400ms;
            for (const auto& [what, after] : {std::pair{'l', Duration{}}, {'h', 120ms}, {'H', 520ms}, {'L', 680ms}})
                coming.emplace_back(lift + after, what);
        }
        while (!coming.empty() && coming.front().first <= bench.rig_now()) {
            const char what = coming.front().second;
            coming.erase(coming.begin());
            bench.edge(what == 'l' || what == 'L' ? GateRole::low : GateRole::hip, what == 'l' || what == 'h');
        }
    }
};

std::vector<std::int32_t> told(const ConductBench& bench) {
    std::vector<std::int32_t> kinds;
    for (const TellPartner& each : bench.told) kinds.push_back(number(each.what.kind));
    return kinds;
}

}  // namespace

TEST_CASE("what is listed is asked in order, and then the plan goes on") {
    ConductBench bench = bench_for(with_partner(6));
    bench.list({false, {reset, reset, feint}});
    Kicks kicks;
    bench.play_set([&](ConductBench& b) { kicks(b); });
    const auto asked = told(bench);
    REQUIRE(asked.size() >= 6);
    CHECK(std::vector<std::int32_t>(asked.begin(), asked.begin() + 3) == std::vector{reset, reset, feint});
    CHECK(bench.conduct().partner_list().empty());
    // Three of each were planned: those that were listed first are not asked twice over.
    CHECK(std::count(asked.begin() + 3, asked.begin() + 6, single) >= 2);
    std::vector<AttackKind> opened;
    for (const RepOpened& rep : bench.all<RepOpened>()) opened.push_back(rep.asked.kind);
    REQUIRE(opened.size() >= 3);
    CHECK(opened[0] == AttackKind::reset);
    CHECK(opened[2] == AttackKind::feint);  // though the drill has none
}

TEST_CASE("what is left of a list ends with its set") {
    SessionBegan session = with_partner(2);
    session.drill.sets = 2;
    ConductBench bench = bench_for(session);
    bench.list({false, {reset, reset, feint, feint}});
    Kicks kicks;
    bench.play_set([&](ConductBench& b) { kicks(b); });
    CHECK(bench.count<SetEnded>() == 1);
    CHECK(bench.conduct().partner_list().empty());
}

TEST_CASE("a cue that falls away is no rep, and the next one comes after a wait of its own") {
    const auto first_cue = [](const PartnerList& list) {
        ConductBench bench = bench_for(with_partner(2));
        bench.list(list);
        Kicks kicks;
        bench.play_set([&](ConductBench& b) { kicks(b); });
        CHECK(bench.count<RepOpened>() == 2);
        REQUIRE(bench.count<PartnerCued>() == 2);
        REQUIRE(bench.count<SetPlanned>() >= 1);
        return bench.all<PartnerCued>()[0].at - bench.all<SetPlanned>()[0].begin;
    };
    const Duration usual = first_cue({}), later = first_cue({false, {asked_nothing}});
    CHECK(later >= usual + Drill{}.wait_minimum);
}

TEST_CASE("a list is put in the other's place, added to, or taken away") {
    ConductBench bench = bench_for(with_partner(4));
    bench.list({false, {single, reset}});
    bench.list({true, {feint}});
    CHECK(bench.conduct().partner_list() == std::deque{single, reset, feint});
    bench.list({false, {reset}});
    CHECK(bench.conduct().partner_list() == std::deque{reset});
    bench.list({});
    CHECK(bench.conduct().partner_list().empty());
    bench.list({false, {carry, 77, -9, single}});
    CHECK(bench.conduct().partner_list() == std::deque{single});
    bench.list({true, std::vector<std::int32_t>(50, single)});
    CHECK(bench.conduct().partner_list().size() == partner_list_most);
    CHECK(bench.conduct().list_refusal(carry));
    CHECK_FALSE(bench.conduct().list_refusal(feint));
}

TEST_CASE("no list is taken where no partner is cued, or a test asks what it always asks") {
    SessionBegan alone = with_partner(2);
    alone.drill.partner = {};
    SessionBegan test = with_partner(2);
    test.drill.test = true;
    for (const SessionBegan& session :
         {alone, test, with_partner(2, StartKind::free), with_partner(2, StartKind::coin)}) {
        ConductBench bench = bench_for(session);
        CHECK(bench.conduct().list_refusal());
        bench.list({false, {single}});
        CHECK(bench.conduct().partner_list().empty());
    }
    const ConductBench tapped = bench_for(with_partner(2, StartKind::tapped));
    CHECK_FALSE(tapped.conduct().list_refusal());
    CHECK(tapped.conduct().list_refusal(asked_nothing));
}
