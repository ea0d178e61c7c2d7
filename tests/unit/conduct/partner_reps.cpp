// A partner's leg through conduct and score: cued, kicking at their own time, disobeying, impossible, gone.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "core/random.hpp"
#include "unit/conduct/conduct_bench.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

SessionBegan with_partner(AttackKind kind, StartKind start = StartKind::random, std::int32_t reps = 2) {
    return partner_session({kind}, reps, start);
}

/// One edge of a leg: so long after the moment of its first; "l" and "h" broken, "L" and "H" restored.
struct Edge {
    char what;
    Duration after;
};
const std::vector<Edge> kick{{'l', 0ms}, {'h', 120ms}, {'H', 520ms}, {'L', 680ms}};

/// A partner of a script: the n-th leg follows the n-th cue, `after` it.
class Partner {
  public:
    explicit Partner(std::vector<std::vector<Edge>> legs, Duration after = 400ms)
        : legs_(std::move(legs)), after_(after) {}

    void operator()(ConductBench& bench) {
        while (cues_ < bench.count<PartnerCued>()) {
            const TargetTime cue = bench.all<PartnerCued>()[cues_].at;
            if (cues_ < legs_.size()) kick_at(cue + after_, legs_[cues_]);
            ++cues_;
        }
        move(bench);
    }
    void kick_at(TargetTime toe_off, const std::vector<Edge>& leg) {
        for (const Edge& edge : leg) coming_.push_back({edge.what, toe_off + edge.after});
    }
    void strike_at(TargetTime at) { coming_.push_back({'s', at}); }
    void move(ConductBench& bench) {
        for (std::size_t i = 0; i < coming_.size();) {
            if (coming_[i].second > bench.rig_now()) {
                ++i;
                continue;
            }
            const char what = coming_[i].first;
            coming_.erase(coming_.begin() + static_cast<std::ptrdiff_t>(i));
            if (what == 's')
                bench.strike();
            else
                bench.edge(what == 'l' || what == 'L' ? GateRole::low : GateRole::hip, what == 'l' || what == 'h');
        }
    }

  private:
    std::vector<std::vector<Edge>> legs_;
    Duration after_;
    std::size_t cues_ = 0;
    std::vector<std::pair<char, TargetTime>> coming_;
};

ConductBench bench_for(const SessionBegan& session) {
    ConductBench bench(session);
    bench.gates = {GateRole::near_mark, GateRole::low, GateRole::hip};
    bench.partner_lamp = true;
    bench.connect();
    return bench;
}

std::string words(const ConductBench& bench, RepId rep) {
    std::string text;
    std::optional<TargetTime> first;
    for (const PhaseSeen& seen : bench.all<PhaseSeen>()) {
        if (seen.rep != rep) continue;
        if (!first) first = seen.at;
        if (!text.empty()) text += ", ";
        text.append(word(seen.phase)).append(" ");
        text += std::to_string((seen.at - *first).count() / 1'000'000);
    }
    return text;
}

}  // namespace

TEST_CASE("a cued partner's leg is read, told, and the athlete scored against it") {
    ConductBench bench = bench_for(with_partner(AttackKind::single));
    Partner partner({kick, kick});
    bool numbered_before_the_leg = false, struck = false;
    bench.play_set([&](ConductBench& b) {
        partner(b);
        if (b.count<PartnerCued>() == 1 && b.count<PhaseSeen>() == 0)
            numbered_before_the_leg = numbered_before_the_leg || b.conduct().scene().number > 0;
        // Into the first drop: 600 ms from toe-off.
        if (!struck && b.count<PhaseSeen>() > 0) partner.strike_at(b.all<PhaseSeen>().front().at + 600ms);
        struck = b.count<PhaseSeen>() > 0;
    });
    REQUIRE(bench.score().reps().size() == 2);
    CHECK(bench.told.size() == 2);
    CHECK_FALSE(numbered_before_the_leg);
    const RepResult& rep = bench.score().reps().front();
    // The gap's end is the opponent's mean length: nobody sees it.
    CHECK(words(bench, rep.rep) == "lift 0, up or pull-back 120, drop 520, gap 680, guard 930");
    CHECK(rep.came == CameKind::single);
    CHECK(obeyed(rep) == true);
    CHECK(rep.verdict == Verdict::on_time);
    CHECK(rep.phase == Phase::drop);
    CHECK(rep.source == OnsetSource::gate);
    // The pad's 100 and the gate's 20, and a little of the rate.
    CHECK(rep.uncertainty >= 120us);
    CHECK(rep.uncertainty < 121us);
    REQUIRE(rep.cue_to_toe_off);
    CHECK(*rep.cue_to_toe_off >= 400ms);
    CHECK(*rep.cue_to_toe_off <= 405ms);
    CHECK(rep.cue_uncertainty == 22us);
    CHECK(bench.score().reps().back().verdict == Verdict::missed);
    CHECK(bench.conduct().how_it_ended() == SessionEnd::finished);
}

TEST_CASE("what came is kept beside what was asked, and scored as what it was") {
    ConductBench bench = bench_for(with_partner(AttackKind::single));
    Partner partner({{{'l', 0ms}, {'L', 250ms}}, kick});
    bench.play_set(partner);
    REQUIRE(bench.score().reps().size() == 2);
    const RepResult& feint = bench.score().reps().front();
    CHECK(feint.asked.kind == AttackKind::single);
    CHECK(feint.came == CameKind::feint);
    CHECK(obeyed(feint) == false);
    CHECK(feint.verdict == Verdict::held);
    CHECK_FALSE(feint.scored);
    CHECK(bench.score().totals().feints == 1);
}

TEST_CASE("who does not kick, and what no leg can do, is void with its reason and given again") {
    ConductBench bench = bench_for(with_partner(AttackKind::single));
    Partner partner({{}, {{'l', 0ms}, {'h', 430ms}, {'H', 700ms}, {'L', 850ms}}, kick, kick});
    bench.play_set(partner);
    REQUIRE(bench.score().reps().size() == 4);
    CHECK(bench.score().reps()[0].void_reason == VoidReason::no_attack);
    CHECK(bench.score().reps()[0].came == CameKind::nothing);
    CHECK(bench.score().reps()[1].void_reason == VoidReason::impossible_leg);
    CHECK(bench.score().reps()[1].impossible == Impossible::hip_too_late);
    CHECK(bench.score().reps()[2].came == CameKind::single);
    CHECK(bench.score().reps()[3].came == CameKind::single);
    for (const SetPlanned& planned : bench.all<SetPlanned>())
        CHECK(planned.reason == (planned.redrawn ? RedrawReason::no_kick : RedrawReason::none));
}

TEST_CASE("a kick that nobody asked for is a rep of its own, without a number, and takes none of the plan's") {
    ConductBench bench = bench_for(with_partner(AttackKind::single));
    Partner partner({kick, kick});
    bool kicked = false;
    bench.play_set([&](ConductBench& b) {
        if (!kicked && b.count<SetPlanned>() == 1) {
            partner.kick_at(b.all<SetPlanned>().front().begin + 100ms, kick);
            kicked = true;
        }
        partner(b);
    });
    REQUIRE(bench.score().reps().size() == 3);
    const RepResult& own = bench.score().reps().front();
    CHECK(own.number == 0);
    CHECK(own.came == CameKind::single);
    CHECK_FALSE(own.told);
    CHECK_FALSE(obeyed(own).has_value());
    CHECK(bench.score().reps()[1].number == 1);
    CHECK(bench.score().reps()[2].number == 2);
}

TEST_CASE("a second lift is no drop, and a bounce opens nothing") {
    ConductBench bench = bench_for(with_partner(AttackKind::single, StartKind::free));
    Partner partner({});
    bool begun = false;
    bench.play_set([&](ConductBench& b) {
        if (!begun && b.count<SetPlanned>() == 1) {
            begun = true;
            const TargetTime begin = b.all<SetPlanned>().front().begin;
            partner.kick_at(begin + 1s, {{'l', 0ms}, {'L', 145ms}});
            partner.kick_at(begin + 3s,
                            {{'l', 0ms}, {'h', 120ms}, {'H', 400ms}, {'h', 500ms}, {'H', 700ms}, {'L', 900ms}});
        }
        partner.move(b);
    });
    REQUIRE(bench.score().reps().size() == 1);
    const RepResult& rep = bench.score().reps().front();
    CHECK(rep.number == 1);
    CHECK(rep.came == CameKind::second_lift);
    CHECK(words(bench, rep.rep) ==
          "lift 0, up or pull-back 120, lift 400, up or pull-back 500, drop 700, gap 900, guard 1150");
    // The round is over by time, not by reps.
    const Duration lasted = bench.all<RepClosed>().front().end - bench.all<SetPlanned>().front().begin;
    CHECK(lasted < 20s);
    CHECK(bench.rig_now() - bench.all<SetPlanned>().front().begin >= 20s);
}

TEST_CASE("without the partner's gates the session ends at once and says why") {
    ConductBench bench(with_partner(AttackKind::single));
    bench.gates = {GateRole::near_mark, GateRole::low};
    bench.partner_lamp = true;
    bench.connect();
    CHECK(bench.conduct().how_it_ended() == SessionEnd::no_partner_gates);
}

TEST_CASE("a drill of the edge ends at once without the partner's back mark, or without a near mark") {
    SessionBegan session = with_partner(AttackKind::single, StartKind::free);
    session.drill.asks.rung = RungAim::edge;
    session.drill.asks.edge_within = 1500ms;
    const std::vector<GateRole> whole{GateRole::near_mark, GateRole::low, GateRole::hip, GateRole::partner_back_mark};
    for (const auto& gates : {std::vector<GateRole>(whole.begin(), whole.end() - 1),
                              std::vector<GateRole>(whole.begin() + 1, whole.end())}) {
        ConductBench bench(session);
        bench.gates = gates;
        bench.connect();
        CHECK(bench.conduct().how_it_ended() == SessionEnd::no_edge_gates);
        CHECK(bench.count<SetPlanned>() == 0);
    }
    ConductBench bench(session);
    bench.gates = whole;
    bench.connect();
    CHECK_FALSE(bench.conduct().done());
    // Any other drill runs on such a rig as ever.
    session.drill.asks = {};
    ConductBench other(session);
    other.gates = {GateRole::low, GateRole::hip};
    other.connect();
    CHECK_FALSE(other.conduct().done());
}

TEST_CASE("a mark that a rig need not have, and that is dark as the session begins, is a socket without a gate") {
    SessionBegan session = with_partner(AttackKind::single, StartKind::free);
    session.drill.asks.rung = RungAim::edge;
    session.drill.asks.edge_within = 1500ms;
    const auto connected = [](bool optional, bool broken) {
        RigConnected rig{BoardId{9}, BootId{1}, TargetTime(BootId{1}, 10s), 0, {}};
        for (std::uint8_t i = 0; i < 4; ++i) rig.channels.push_back({ChannelKind::pad, i, i, false, 100us});
        for (std::uint8_t i = 0; i < gate_role_count; ++i)
            rig.channels.push_back({ChannelKind::gate, i, i, i == 7 && optional, 20us});
        rig.gates_broken = broken ? 0x80 : 0;
        return rig;
    };
    const Now now{HostTime{10s}, TargetTime(BootId{1}, 10s), std::nullopt};
    const auto ends = [&](std::initializer_list<RigConnected> rigs) {
        Conduct conduct(session, {});
        std::int64_t position = 0;
        for (const RigConnected& rig : rigs) conduct.on_record({position++, HostTime{10s}, rig}, now);
        return conduct.how_it_ended();
    };
    CHECK(ends({connected(true, true)}) == SessionEnd::no_edge_gates);
    CHECK(ends({connected(true, false)}) == std::nullopt);
    CHECK(ends({connected(false, true)}) == std::nullopt);
    // Back after a cut line: a foot may stand in it.
    CHECK(ends({connected(true, false), connected(true, true)}) == std::nullopt);
}

TEST_CASE("without a cue that only the partner sees a cued drill ends at once, and a free one runs") {
    for (const StartKind start : {StartKind::random, StartKind::free}) {
        ConductBench bench(with_partner(AttackKind::single, start));
        bench.gates = {GateRole::low, GateRole::hip};
        bench.connect();
        CHECK(bench.conduct().done() == (start == StartKind::random));
    }
}

TEST_CASE("a gate torn off in a set voids what it spoilt, stops the cues, and the set goes on once it is mended") {
    ConductBench bench = bench_for(with_partner(AttackKind::single, StartKind::random, 3));
    // The low gate goes dark in the second leg and stays so.
    Partner partner({kick, {{'l', 0ms}, {'h', 120ms}, {'H', 500ms}}, kick, kick});
    bool mended = false;
    std::size_t cued_while_dark = 0;
    bench.play_set([&](ConductBench& b) {
        partner(b);
        if (b.count<RepClosed>() < 2 || mended) return;
        const TargetTime torn = b.all<RepClosed>()[1].end;
        cued_while_dark = b.count<PartnerCued>();
        if (b.rig_now() - torn < 30s) return;
        mended = true;
        b.edge(GateRole::low, false);
    });
    CHECK(mended);
    CHECK(cued_while_dark == 2);
    REQUIRE(bench.score().reps().size() == 4);
    CHECK(bench.score().reps()[0].came == CameKind::single);
    CHECK(bench.score().reps()[1].impossible == Impossible::never_down);
    CHECK(bench.score().reps()[3].came == CameKind::single);
    CHECK(bench.conduct().how_it_ended() == SessionEnd::finished);
}

TEST_CASE("a gate that stays dark ends the session after a minute, and what was done is kept") {
    ConductBench bench = bench_for(with_partner(AttackKind::single, StartKind::random, 3));
    Partner partner({kick, {{'l', 0ms}, {'h', 120ms}, {'H', 500ms}}});
    bench.play_set(partner);
    CHECK(bench.conduct().how_it_ended() == SessionEnd::no_partner_gates);
    CHECK(bench.score().reps().front().came == CameKind::single);
    CHECK(bench.score().reps().front().verdict != Verdict::void_rep);
}

TEST_CASE("any leg at all: reps open and close once, phases stay in order, and rescoring gives the same") {
    for (std::uint64_t seed = 1; seed <= 60; ++seed) {
        CAPTURE(seed);
        Random random(seed, 3);
        const StartKind start = random.chance(0.5) ? StartKind::free : StartKind::random;
        ConductBench bench = bench_for(with_partner(AttackKind::carry, start, 3));
        Partner partner({});
        bool low = false, hip = false;
        TargetTime next = bench.rig_now();
        std::size_t overdue = 0;
        bench.play_set([&](ConductBench& b) {
            // What can't be done yet is not due, or a driver would call for it without end.
            const auto due = b.conduct().next_due().rig;
            if (due && *due <= b.rig_now()) ++overdue;
            if (b.rig_now() < next) return;
            if (random.chance(0.2)) b.strike();
            if (random.chance(0.6)) {
                low = !low;
                b.edge(GateRole::low, low);
            } else {
                hip = !hip;
                b.edge(GateRole::hip, hip);
            }
            next = b.rig_now() + Duration(random.below(500) * 1'000'000ULL);
        });
        CHECK(overdue == 0);
        CHECK(bench.count<RepOpened>() == bench.count<RepClosed>());
        CHECK(bench.count<RepOpened>() == bench.score().reps().size());
        CHECK(bench.score().totals().misplaced_events == 0);
        std::optional<PhaseSeen> before;
        for (const PhaseSeen& seen : bench.all<PhaseSeen>()) {
            if (before && before->rep == seen.rep) CHECK(seen.at >= before->at);
            if (before && before->rep == seen.rep && seen.phase == Phase::drop)
                CHECK(before->phase == Phase::up_or_pull_back);
            before = seen;
        }
        Score again;
        std::vector<ScoreResult> ignored;
        for (const JournalRecord& record : bench.journal) again.fold(record, ignored);
        CHECK(again.reps() == bench.score().reps());
        CHECK(again.totals() == bench.score().totals());
    }
}
