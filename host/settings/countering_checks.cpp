// Which keys of a drill file don't go together, of those that say what the athlete and the opponent do about each
// other.
#include <fmt/format.h>

#include <algorithm>

#include "settings/countering_keys.hpp"
#include "settings/table_reader.hpp"

namespace breakstep {
namespace {

// Being first is a strike before the leg is up: the lift; what is asked of the other set is anything later.
void check_first_or_after(TableReader& top, const Drill& drill) {
    if (!drill.asks.first_or_after) return;
    const bool two = drill.attacks.size() == 2 && drill.attacks[0].kind != AttackKind::feint &&
                     drill.attacks[1].kind != AttackKind::feint;
    if (!two || drill.attacks[0].moment != Moment::lift || drill.attacks[1].moment == Moment::lift)
        top.refuse("first_or_after", "needs two attacks: the one met first, and the one met after",
                   "give two that are no feints, the first with moment = \"lift\", the second with a later one");
    if (drill.sets < 2)
        top.refuse("first_or_after", "needs two sets: one for each of the two", "give sets = 2 or more");
    if (drill.start != StartKind::drawn)
        top.refuse("first_or_after", "is only used by start = \"drawn\": nobody is first at what comes by itself",
                   "change start, or take it out");
}

void check_what_draws(TableReader& top, const Drill& drill) {
    if (drill.manners.names(DrewBy::strike) && drill.manners.door.share <= 0)
        top.refuse("draws", "names \"strike\", and no door is there to be opened by one",
                   "add a table [door] with share, delay_ms and pads");
}

// Who is led to the edge kicks when they like, and is answered there.
void check_edge(TableReader& top, const Drill& drill) {
    if (drill.asks.rung != RungAim::edge) {
        if (top.has("edge_within_ms"))
            top.refuse("edge_within_ms", "is only used by done_is = \"edge\"", "take it out, or change done_is");
        return;
    }
    if (drill.partner.source != AttackSource::partner || drill.start != StartKind::free)
        top.refuse("done_is", "is \"edge\": a partner is led there, who kicks when they like",
                   "add source = \"partner\" and start = \"free\", or change done_is");
    if (top.has("out_within_ms") || drill.asks.off_line ||
        std::any_of(drill.attacks.begin(), drill.attacks.end(),
                    [](const AttackChoice& each) { return each.then_pads != 0; }))
        top.refuse("done_is", "is \"edge\", and something else is asked beside the strike",
                   "take out_within_ms, off_line and then_pads out, or change done_is");
}

// The break lies ahead of the beat: whoever waits for the leg to come down has followed it.
void check_lure(TableReader& top, const Drill& drill) {
    if (drill.start != StartKind::lure || drill.partner.source == AttackSource::partner) return;
    for (const AttackChoice& each : drill.attacks)
        if (each.kind == AttackKind::feint || each.moment != Moment::lift || each.moments != 0)
            return top.refuse("start", "is \"lure\", whose beat is broken ahead of the kick",
                              "give every attack moment = \"lift\", and no feints");
}

}  // namespace

void check_countering(TableReader& top, const Drill& drill) {
    const bool drawn = drill.start == StartKind::drawn, countered = drill.start == StartKind::countered;
    for (const char* key : {"stepped_at", "retreated_from", "door", "draws"})
        if (top.has(key) && !drawn)
            top.refuse(key, "is only used by start = \"drawn\"", "take it out, or change start");
    if (top.has("struck") && !countered)
        top.refuse("struck", "is only used by start = \"countered\"", "take it out, or change start");
    if (countered && drill.manners.struck.share <= 0)
        top.refuse("start", "is \"countered\", but the opponent answers no strike",
                   "add a table [struck] with share and delay_ms");
    if (drill.test && drill.following.follows)
        top.refuse("level_follows", "can't be in a test", "a test is the same each time: take one of the two out");
    if (drill.asks.call_it_set > drill.sets)
        top.refuse("call_it_set", fmt::format("is {}, and there are {} sets", drill.asks.call_it_set, drill.sets),
                   "name a set that there is");
    if (drill.asks.call_it_set > 0 && drill.start != StartKind::random && drill.start != StartKind::pattern)
        top.refuse("call_it_set", "is only used by start = \"random\" and \"pattern\"", "take it out, or change start");
    check_first_or_after(top, drill);
    check_what_draws(top, drill);
    check_lure(top, drill);
    check_edge(top, drill);
    if (drill.asks.rung == RungAim::range) {
        for (const char* key : {"call_it_set", "level_follows"})
            if (top.has(key))
                top.refuse(key, "makes no sense with done_is = \"range\": nothing is struck",
                           "take one of the two out");
        if (std::any_of(drill.attacks.begin(), drill.attacks.end(),
                        [](const AttackChoice& each) { return each.then_pads != 0; }))
            top.refuse("done_is", "is \"range\", where nothing is struck, and an attack has then_pads",
                       "take one of the two out");
    }
    if (drill.asks.no_more_ground && !drawn)
        top.refuse("no_more_ground", "is only used by start = \"drawn\"", "take it out, or change start");
    const bool partner = drill.partner.source == AttackSource::partner;
    if (partner && (drill.start == StartKind::lure || countered))
        top.refuse("start", fmt::format("is \"{}\", which no partner can be told in time", word(drill.start)),
                   "take random, pattern, tapped, free or coin");
}

}  // namespace breakstep
