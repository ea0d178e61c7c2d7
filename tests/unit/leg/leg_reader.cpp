// The leg reader with scripted legs of every kind, impossible orders, and any sequence of edges at all.
#include <doctest/doctest.h>

#include <string>
#include <vector>

#include "core/leg/leg_reader.hpp"
#include "core/random.hpp"

using namespace breakstep;
using namespace breakstep::leg;

namespace {

constexpr BootId boot{7};
TargetTime at(std::int64_t ms) { return {boot, Duration(ms * 1'000'000)}; }
constexpr Uncertainty low_bound = 40us, hip_bound = 60us, tap_bound = 30ms;

/// One edge of a script: "l" and "h" broken, "L" and "H" restored, "x" hands; with its time in ms.
struct Edge {
    char what;
    std::int64_t ms;
};

void tell(LegReader& reader, const std::vector<Edge>& script) {
    for (const Edge& edge : script) switch (edge.what) {
            case 'l':
            case 'L':
                reader.low(edge.what == 'l', at(edge.ms), low_bound);
                break;
            case 'h':
            case 'H':
                reader.hip(edge.what == 'h', at(edge.ms), hip_bound);
                break;
            default:
                reader.hands(at(edge.ms), tap_bound);
        }
}

/// "lift 0, up or pull-back 120, ..." in ms since 1 s.
std::string words(const LegReader& reader) {
    std::string text;
    for (const LegPhaseSeen& seen : reader.phases()) {
        if (!text.empty()) text += ", ";
        text.append(word(seen.phase)).append(" ");
        text += std::to_string((seen.at - at(1000)).count() / 1'000'000);
    }
    return text;
}

struct Leg {
    const char* name;
    std::optional<AttackKind> asked;
    std::vector<Edge> script;
    CameKind came;
    const char* phases;
};

const std::vector<Edge> kick{{'l', 1000}, {'h', 1120}, {'H', 1520}, {'L', 1680}};

std::vector<Edge> and_then(std::vector<Edge> script, const std::vector<Edge>& more) {
    script.insert(script.end(), more.begin(), more.end());
    return script;
}

}  // namespace

TEST_CASE("each kind of leg is read as what it is, with its phases") {
    const std::vector<Leg> legs{
        {"single", AttackKind::single, kick, CameKind::single, "lift 0, up or pull-back 120, drop 520, gap 680"},
        {"springs above the hip", AttackKind::rebound, kick, CameKind::single,
         "lift 0, up or pull-back 120, drop 520, gap 680"},
        {"carry, asked", AttackKind::carry, kick, CameKind::carry, "lift 0, up or pull-back 120, drop 520, gap 680"},
        {"held by the leg's own will", AttackKind::single, kick, CameKind::single,
         "lift 0, up or pull-back 120, drop 520, gap 680"},
        {"carry, asked, but held too short",
         AttackKind::carry,
         {{'l', 1000}, {'h', 1120}, {'H', 1519}, {'L', 1680}},
         CameKind::single,
         "lift 0, up or pull-back 120, drop 519, gap 680"},
        {"second lift",
         AttackKind::single,
         {{'l', 1000}, {'h', 1120}, {'H', 1400}, {'h', 1520}, {'H', 1800}, {'L', 1950}},
         CameKind::second_lift,
         "lift 0, up or pull-back 120, lift 400, up or pull-back 520, drop 800, gap 950"},
        {"reset", AttackKind::reset, and_then(kick, {{'l', 1900}, {'h', 2050}, {'H', 2300}, {'L', 2450}}),
         CameKind::reset,
         "lift 0, up or pull-back 120, drop 520, gap 680, lift 900, up or pull-back 1050, drop 1300, gap 1450"},
        {"kick, then a lift that stays low", AttackKind::single, and_then(kick, {{'l', 1900}, {'L', 2100}}),
         CameKind::reset, "lift 0, up or pull-back 120, drop 520, gap 680, lift 900, guard 1100"},
        {"leg-to-hands", AttackKind::leg_to_hands, and_then(kick, {{'x', 1900}}), CameKind::leg_to_hands,
         "lift 0, up or pull-back 120, drop 520, gap 680, hands 900"},
        {"feint", AttackKind::feint, {{'l', 1000}, {'L', 1240}}, CameKind::feint, "lift 0, guard 240"},
        {"two feints",
         AttackKind::feint,
         {{'l', 1000}, {'L', 1240}, {'l', 1500}, {'L', 1700}},
         CameKind::feint,
         "lift 0, guard 240, lift 500, guard 700"},
        {"a feint of exactly 150 ms",
         AttackKind::feint,
         {{'l', 1000}, {'L', 1150}},
         CameKind::feint,
         "lift 0, guard 150"},
        {"bounce", AttackKind::single, {{'l', 1000}, {'L', 1149}}, CameKind::bounce, ""},
        {"three bounces",
         std::nullopt,
         {{'l', 1000}, {'L', 1060}, {'l', 1200}, {'L', 1290}, {'l', 1400}, {'L', 1520}},
         CameKind::bounce,
         ""},
        {"bounces, then a kick",
         AttackKind::single,
         {{'l', 700}, {'L', 760}, {'l', 1000}, {'h', 1120}, {'H', 1520}, {'L', 1680}},
         CameKind::single,
         "lift 0, up or pull-back 120, drop 520, gap 680"},
        {"a kick, then a bounce on landing", AttackKind::single, and_then(kick, {{'l', 1700}, {'L', 1790}}),
         CameKind::single, "lift 0, up or pull-back 120, drop 520, gap 680"},
        {"the hip at exactly 400 ms",
         AttackKind::single,
         {{'l', 1000}, {'h', 1400}, {'H', 1600}, {'L', 1700}},
         CameKind::single,
         "lift 0, up or pull-back 400, drop 600, gap 700"},
        {"a quick hip, sooner than a bounce ends",
         AttackKind::single,
         {{'l', 1000}, {'h', 1090}, {'H', 1300}, {'L', 1400}},
         CameKind::single,
         "lift 0, up or pull-back 90, drop 300, gap 400"},
        {"nothing", AttackKind::single, {}, CameKind::nothing, ""},
    };
    for (const Leg& leg : legs) {
        CAPTURE(leg.name);
        LegReader reader(leg.asked);
        tell(reader, leg.script);
        CHECK(reader.close(at(4000)) == leg.came);
        CHECK(words(reader) == leg.phases);
        CHECK(reader.impossible() == Impossible::none);
    }
}

TEST_CASE("impossible orders end the reading with the reason, and what was told before stays") {
    struct Wrong {
        std::vector<Edge> script;
        Impossible why;
        const char* phases;
    };
    const std::vector<Wrong> wrongs{
        {{{'h', 1000}}, Impossible::hip_without_low, ""},
        {and_then(kick, {{'h', 1800}}), Impossible::hip_without_low, "lift 0, up or pull-back 120, drop 520, gap 680"},
        {{{'l', 1000}, {'h', 1401}}, Impossible::hip_too_late, "lift 0"},
        {{{'l', 1000}, {'h', 1120}, {'L', 1300}}, Impossible::down_above_hip, "lift 0, up or pull-back 120"},
        {{{'l', 1000}, {'l', 1200}}, Impossible::edge_missing, "lift 0"},
        {{{'L', 1000}}, Impossible::edge_missing, ""},
        {{{'l', 1000}, {'h', 1120}, {'h', 1200}}, Impossible::edge_missing, "lift 0, up or pull-back 120"},
        {{{'l', 1000}}, Impossible::never_down, "lift 0"},
        {{{'l', 1000}, {'h', 1120}}, Impossible::never_down, "lift 0, up or pull-back 120"},
        {{{'l', 1000}, {'h', 1120}, {'H', 1500}}, Impossible::never_down, "lift 0, up or pull-back 120"},
        {{{'l', 1000}, {'L', 990}}, Impossible::out_of_order, ""},
    };
    for (const Wrong& wrong : wrongs) {
        LegReader reader(AttackKind::single);
        tell(reader, wrong.script);
        CHECK(reader.close(at(4000)) == CameKind::impossible);
        CHECK(reader.impossible() == wrong.why);
        CAPTURE(reason(wrong.why));
        CHECK(words(reader) == wrong.phases);
        CHECK_FALSE(reason(reader.impossible()).empty());
        // Whatever comes after changes nothing.
        tell(reader, {{'l', 5000}, {'h', 5100}});
        CHECK(words(reader) == wrong.phases);
        CHECK(reader.ignored() >= 2);
    }
}

TEST_CASE("each border carries the bound of the gate that saw it") {
    LegReader reader(AttackKind::leg_to_hands);
    tell(reader, and_then(kick, {{'x', 1900}}));
    reader.close(at(3000));
    const std::vector<Uncertainty> bounds{low_bound, hip_bound, hip_bound, low_bound, tap_bound};
    REQUIRE(reader.phases().size() == bounds.size());
    for (std::size_t i = 0; i < bounds.size(); ++i) CHECK(reader.phases()[i].bound == bounds[i]);
}

TEST_CASE("a lift is told once it can be no bounce any more, a drop once the foot is down") {
    LegReader reader;
    reader.low(true, at(1000), low_bound);
    CHECK(reader.undecided() == Undecided::lift_or_bounce);
    reader.passed(at(1149));
    CHECK(words(reader).empty());
    reader.passed(at(1150));
    CHECK(words(reader) == "lift 0");
    CHECK(reader.undecided() == Undecided::nothing);
    reader.hip(true, at(1200), hip_bound);
    reader.hip(false, at(1500), hip_bound);
    reader.passed(at(1600));
    CHECK(words(reader) == "lift 0, up or pull-back 200");
    CHECK(reader.undecided() == Undecided::drop_or_second_lift);
    reader.low(false, at(1650), low_bound);
    CHECK(words(reader) == "lift 0, up or pull-back 200, drop 500, gap 650");
    CHECK(reader.hip_longest() == 300ms);
}

TEST_CASE("a gate that is broken as the rep opens is waited for, one that stays so makes the rep impossible") {
    LegReader stood(AttackKind::single, true, false);
    tell(stood, {{'L', 800}});
    tell(stood, kick);
    CHECK(stood.close(at(3000)) == CameKind::single);
    CHECK(stood.ignored() == 1);
    LegReader stays(AttackKind::single, true, false);
    tell(stays, {{'h', 1000}, {'H', 1200}});
    CHECK(stays.close(at(3000)) == CameKind::impossible);
    CHECK(stays.impossible() == Impossible::blocked);
    CHECK(stays.phases().empty());
}

TEST_CASE("hands count once the leg is down, others are counted apart, and a tap may come before an earlier edge") {
    LegReader early(AttackKind::leg_to_hands);
    tell(early, {{'x', 900}, {'l', 1000}, {'h', 1120}, {'x', 1300}, {'H', 1520}, {'L', 1680}});
    CHECK(early.close(at(3000)) == CameKind::single);
    CHECK(early.hands_not_counted() == 2);
    LegReader raced(AttackKind::leg_to_hands);
    tell(raced, {{'l', 1000}, {'h', 1120}, {'H', 1520}, {'x', 1800}, {'L', 1680}, {'x', 1850}});
    CHECK(raced.close(at(3000)) == CameKind::leg_to_hands);
    CHECK(words(raced) == "lift 0, up or pull-back 120, drop 520, gap 680, hands 800");
    CHECK(raced.hands_not_counted() == 1);
    LegReader alone;
    tell(alone, {{'x', 900}});
    CHECK(alone.close(at(3000)) == CameKind::nothing);
    CHECK(alone.hands_not_counted() == 1);
}

TEST_CASE("another boot of the rig in the middle of a leg makes it impossible") {
    LegReader reader;
    tell(reader, {{'l', 1000}});
    reader.passed(TargetTime{BootId{8}, 5s});
    reader.hip(true, TargetTime{BootId{8}, 1120ms}, hip_bound);
    CHECK(reader.impossible() == Impossible::out_of_order);
    CHECK(reader.close(TargetTime{BootId{9}, 0s}) == CameKind::impossible);
}

TEST_CASE("an edge before a moment that was said to be passed is out of order, never a bounce after a lift was told") {
    LegReader reader;
    tell(reader, {{'l', 1000}});
    reader.passed(at(1200));
    tell(reader, {{'L', 1100}});
    CHECK(reader.impossible() == Impossible::out_of_order);
    CHECK(words(reader) == "lift 0");
}

TEST_CASE("a gate that flickers fills no more than a rep can hold") {
    LegReader reader;
    std::vector<Edge> script{{'l', 1000}, {'h', 1100}};
    for (int i = 0; i < 100; ++i) {
        script.push_back({'H', 1110 + 20 * i});
        script.push_back({'h', 1120 + 20 * i});
    }
    tell(reader, script);
    CHECK(reader.close(at(9000)) == CameKind::impossible);
    CHECK(reader.impossible() == Impossible::flickering);
    CHECK(reader.phases().size() == LegReader::phases_max);
}

TEST_CASE("what was asked is obeyed by what came, springs above the hip are not told apart") {
    CHECK(obeys(AttackKind::single, CameKind::single));
    CHECK(obeys(AttackKind::rebound, CameKind::single));
    CHECK(obeys(AttackKind::carry, CameKind::carry));
    CHECK_FALSE(obeys(AttackKind::carry, CameKind::single));
    CHECK(obeys(AttackKind::leg_to_hands, CameKind::leg_to_hands));
    CHECK(obeys(AttackKind::reset, CameKind::reset));
    CHECK(obeys(AttackKind::feint, CameKind::feint));
    for (const AttackKind asked : {AttackKind::single, AttackKind::rebound, AttackKind::carry, AttackKind::reset,
                                   AttackKind::leg_to_hands, AttackKind::feint})
        for (const CameKind came : {CameKind::second_lift, CameKind::bounce, CameKind::impossible, CameKind::nothing})
            CHECK_FALSE(obeys(asked, came));
}

TEST_CASE("any sequence of edges is taken: phases are in order of time, only grow, and follow each other as legs do") {
    constexpr std::string_view what = "lLhHx";
    for (std::uint64_t seed = 0; seed < 4000; ++seed) {
        Random random(seed, 13);
        const bool wild = seed % 2 == 0;  // else edges alternate, and most legs are possible
        LegReader reader(random.chance(.5) ? std::optional(AttackKind::carry) : std::nullopt, random.chance(.05),
                         random.chance(.05));
        std::int64_t now = 1000;
        bool low = false, hip = false;
        std::vector<LegPhaseSeen> before;
        const auto check_phases = [&] {
            const auto phases = reader.phases();
            REQUIRE(phases.size() >= before.size());
            for (std::size_t i = 0; i < phases.size(); ++i) {
                if (i < before.size()) REQUIRE((phases[i].at == before[i].at && phases[i].phase == before[i].phase));
                if (i == 0) {
                    REQUIRE(phases[i].phase == Phase::lift);
                    continue;
                }
                REQUIRE(phases[i].at >= phases[i - 1].at);
                const Phase last = phases[i - 1].phase;
                switch (phases[i].phase) {
                    case Phase::lift:
                        REQUIRE(last != Phase::lift);
                        REQUIRE(last != Phase::drop);
                        break;
                    case Phase::guard:
                    case Phase::up_or_pull_back:
                        REQUIRE(last == Phase::lift);
                        break;
                    case Phase::drop:
                        REQUIRE(last == Phase::up_or_pull_back);
                        break;
                    case Phase::gap:
                        REQUIRE(last == Phase::drop);
                        break;
                    case Phase::hands:
                        REQUIRE((last == Phase::gap || last == Phase::guard));
                        break;
                    default:
                        REQUIRE(false);
                }
            }
            before.assign(phases.begin(), phases.end());
        };
        for (int i = 0; i < 60; ++i) {
            now += random.chance(.3) ? random.below(20) : random.below(420);
            const std::int64_t told = wild && random.chance(.05) ? now - random.below(500) : now;
            char edge = what[random.below(5)];
            if (!wild && edge != 'x') edge = random.chance(.5) ? (low ? 'L' : 'l') : (hip ? 'H' : 'h');
            if (edge == 'l' || edge == 'L') low = edge == 'l';
            if (edge == 'h' || edge == 'H') hip = edge == 'h';
            tell(reader, {{edge, told}});
            if (random.chance(.3)) reader.passed(at(now));
            if (wild && random.chance(.002)) reader.low(true, TargetTime{BootId{1}, 1s}, low_bound);
            check_phases();
        }
        const CameKind came = reader.close(at(now + random.below(500)));
        check_phases();
        REQUIRE((came == CameKind::impossible) == (reader.impossible() != Impossible::none));
        REQUIRE(reader.close(at(now + 9000)) == came);
    }
}

TEST_CASE("legs drawn with spread are read as they went, whatever else the foot did before") {
    Random random(99);
    std::array<int, 4> read{};
    for (int rep = 0; rep < 2000; ++rep) {
        std::vector<Edge> script;
        std::int64_t now = 500;
        for (std::uint32_t bounce = random.below(3); bounce > 0; --bounce) {
            script.push_back({'l', now});
            now += 20 + random.below(129);
            script.push_back({'L', now});
            now += 30 + random.below(300);
        }
        const std::uint32_t kind = random.below(4);  // feint, single, second lift, reset
        script.push_back({'l', now});
        if (kind == 0) {
            now += 150 + random.below(240);
            script.push_back({'L', now});
        } else {
            for (std::uint32_t lift = 0; lift < (kind == 2 ? 2U : 1U); ++lift) {
                now += 60 + random.below(200);
                script.push_back({'h', now});
                now += 150 + random.below(500);
                script.push_back({'H', now});
            }
            now += 80 + random.below(200);
            script.push_back({'L', now});
            if (kind == 3) {
                now += 80 + random.below(300);
                for (const auto& [edge, wait] : {std::pair{'l', 0U}, {'h', 120U}, {'H', 300U}, {'L', 150U}})
                    script.push_back({edge, now += wait});
            }
        }
        LegReader reader(AttackKind::single);
        tell(reader, script);
        constexpr std::array kinds{CameKind::feint, CameKind::single, CameKind::second_lift, CameKind::reset};
        REQUIRE(reader.close(at(now + 400)) == kinds[kind]);
        ++read[kind];
    }
    for (const int count : read) CHECK(count > 400);
}
