// A drill: what is practised, as read from a drill file and as written into the journal of each session that runs it.
// A value; any thread. The settings reader checks ranges; the folds rely on them.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "core/time.hpp"
#include "core/trade/opponent.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep {

/// Bit i is PadRole i. 0 means any pad is right.
using PadSet = std::uint8_t;
[[nodiscard]] constexpr PadSet pad_bit(PadRole role) { return static_cast<PadSet>(1U << static_cast<unsigned>(role)); }

/// Bit i is Moment i. 0 means the one moment alone.
using MomentSet = std::uint8_t;
[[nodiscard]] constexpr MomentSet moment_bit(Moment moment) {
    return static_cast<MomentSet>(1U << static_cast<unsigned>(moment));
}

/// One kind of attack in a drill, with the answer it asks for.
struct AttackChoice {
    AttackKind kind = AttackKind::single;
    std::int32_t rebounds = 1;  ///< 1 .. 4, used by rebound
    std::int32_t share = 1;     ///< how many of a block are of this kind, 1 .. 20
    Moment moment = Moment::drop;
    Counter counter = Counter::front_hand;
    PadSet pads = 0;
    /// A strike in any of these is on time; `moment` is one of them, the first by time. 0: `moment` alone.
    MomentSet moments = 0;
    /// A second strike is asked for: on one of these pads, so soon after the first. 0: none.
    PadSet then_pads = 0;
    Duration then_within = 600ms;
    template <class Archive>
    void fields(Archive& archive) {
        archive(kind, rebounds, share, moment, counter, pads);
        archive.added(moments);
        archive.added(then_pads, then_within);
    }
    [[nodiscard]] bool asks(Moment which) const {
        return moments == 0 ? which == moment : (moments & moment_bit(which)) != 0;
    }
    bool operator==(const AttackChoice&) const = default;
};

/// A step of a coach's pattern: which of the drill's attacks, and how long after the end of the one before.
struct PatternStep {
    std::int32_t attack = 0;  ///< index into Drill::attacks
    Duration wait{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(attack, wait);
    }
    bool operator==(const PatternStep&) const = default;
};

/// How the opponent gives itself away: before toe-off the trunk leans and the standing heel rises. A lean that no kick
/// follows is a lie: the drill's feints lean at the same share, and where they are too few for `lies`, some leans end
/// in nothing (a catch trial of their own).
struct Telegraph {
    LengthRange delay{400ms, 300ms, 500ms};  ///< from the lean's begin to toe-off
    double spread = 0.15;                    ///< its coefficient of variation
    double shown = 0;                        ///< share of the attacks that lean; 0: none, and no lies
    double lies = 0.2;                       ///< of the leans, so many end in no kick
    template <class Archive>
    void fields(Archive& archive) {
        archive(delay, spread, shown, lies);
    }
    bool operator==(const Telegraph&) const = default;
};

/// An opponent that can be drawn answers after a delay of its own, where this is given; else anywhere in 200 to 600 ms.
struct DrawnDelay {
    Duration mean{};  ///< 0: not given
    double spread = 0.15;
    template <class Archive>
    void fields(Archive& archive) {
        archive(mean, spread);
    }
    bool operator==(const DrawnDelay&) const = default;
};

enum class LeadSides : std::uint8_t { left, right, both };

/// A drill with a partner: whose leg attacks, and how long a set without cues lasts.
struct WithPartner {
    AttackSource source{};
    Duration round = 60s;  ///< of a set in which the partner kicks when they like
    template <class Archive>
    void fields(Archive& archive) {
        archive(source, round);
    }
    bool operator==(const WithPartner&) const = default;
};

/// A level that follows the athlete, in training alone: the window of the asked moment moves rep by rep, the pace set
/// by set, until so many in a hundred are on time. Of the sets after the first a secret third of the reps stays at the
/// drill's own level, and those count for a rung.
struct Following {
    bool follows = false;
    double share = 0.75;  ///< of on time, 0.5 .. 0.95
    template <class Archive>
    void fields(Archive& archive) {
        archive(follows, share);
    }
    bool operator==(const Following&) const = default;
};

/// What else is asked of the athlete, beside the strike.
struct Asks {
    RungAim rung{};
    Duration out_within{};         ///< out of the near mark so soon after contact; 0: not asked
    bool off_line = false;         ///< the attack line left at contact
    std::int32_t call_it_set = 0;  ///< in this set, from 1, the athlete calls their own result; 0: in none
    bool first_or_after = false;   ///< a coin for each set: the first attack is asked for, or the second
    bool no_more_ground = false;   ///< none given between the act that draws the attack and the answer
    Duration edge_within{};        ///< of RungAim::edge: the answer so soon after the partner was led there
    template <class Archive>
    void fields(Archive& archive) {
        archive(rung, out_within, off_line, call_it_set, first_or_after, no_more_ground);
        archive.added(edge_within);
    }
    bool operator==(const Asks&) const = default;
};

/// One thing that the opponent does about the athlete: so often, so long after the act.
struct Manner {
    double share = 0;
    Duration delay = 300ms;
    template <class Archive>
    void fields(Archive& archive) {
        archive(share, delay);
    }
    bool operator==(const Manner&) const = default;
};

/// How the opponent takes being stepped at, retreated from, struck, and offered an open door.
struct Manners {
    std::string opponent;  ///< its name, of config/opponents; "": none of those
    Manner stepped_at, retreated_from, struck, door;
    PadSet door_pads = 0;  ///< a strike on one of these before the attack opens the door
    double spread = 0.15;  ///< of every delay, its coefficient of variation
    std::uint8_t draws =
        0;  ///< drawn: by which acts, bit i is DrewBy i; 0: a step in, a stop short, ground given twice
    std::uint8_t draws_too = 0;  ///< bit i is DrewBy i + 8
    template <class Archive>
    void fields(Archive& archive) {
        archive(opponent, stepped_at, retreated_from, struck, door, door_pads, spread, draws);
        archive.added(draws_too);
    }
    void draw_by(DrewBy act);
    /// Whether the act is named; nothing named is for the caller.
    [[nodiscard]] bool names(DrewBy act) const;
    [[nodiscard]] bool names_none() const { return draws == 0 && draws_too == 0; }
    bool operator==(const Manners&) const = default;
};

struct Drill {
    std::string name;   ///< lower case with hyphens: the file's name without .toml
    std::string title;  ///< one line for a coach
    bool test = false;  ///< a test freezes all but the order, with random waits; nothing adapts and no nudge is shown
    StartKind start = StartKind::random;
    Stance stance = Stance::closed;
    LeadSides lead_sides = LeadSides::right;
    std::vector<AttackChoice> attacks;  ///< at least one
    std::vector<PatternStep> pattern;   ///< used by StartKind::pattern, repeated as needed
    std::int32_t sets = 2;              ///< 1 .. 20
    std::int32_t reps = 10;             ///< a set, 1 .. 60
    Duration rest = 60s;                ///< between sets
    Duration wait_minimum = 1200ms;
    Duration wait_extra = 1500ms;  ///< mean of the exponential that is added: such waits do not age
    Duration wait_cap = 5s;        ///< a longer draw becomes a catch trial that closes here
    Duration lead = 100ms;         ///< how long before toe-off a strike already counts for lift, out of guard only
    double withheld = 0.25;        ///< drawn: share of the athlete's acts that draw nothing
    Level level = Level::intermediate;
    OpponentSettings opponent = opponent_defaults(Level::intermediate);
    bool lamps = true, sound = true, screen = true;  ///< the cues it may use
    Telegraph telegraph{};
    DrawnDelay drawn{};
    WithPartner partner{};
    Following following{};
    Asks asks{};
    Manners manners{};
    std::string whom;  ///< whom it is for, in one sentence
    /// An opponent with an order of its own (a copy of a partner): the chance of each attack after each, row by row, as
    /// many as the square of the attacks, each row 1 in all. Empty: blocks of the shares.
    std::vector<double> order{};
    template <class Archive>
    void fields(Archive& archive) {
        archive(name, title, test, start, stance, lead_sides, attacks, pattern, sets, reps, rest, wait_minimum,
                wait_extra, wait_cap, lead, withheld, level, opponent, lamps, sound, screen);
        archive.added(telegraph, drawn);
        archive.added(partner);
        archive.added(following, asks, manners, whom);
        archive.added(order);
    }
    bool operator==(const Drill&) const = default;
};

/// The drill as an athlete of that lead meets it. A drill is written for who leads right; whoever leads left meets the
/// mirrored opponent, so that its stance is theirs, too. One in which the opponent changes its lead stays, and a
/// partner leads as they do.
[[nodiscard]] Drill as_met_by(Drill drill, Side athlete_lead);

/// "drop", or "drop or gap" where several are right.
[[nodiscard]] std::string words_of(Moment moment, MomentSet moments);

/// Whether its lift can be met only by who sees the opponent lean: neither a pattern nor the athlete's own act brings
/// it. Lamps alone have no lean, so such a drill needs a screen.
[[nodiscard]] bool needs_a_screen(const Drill& drill);

/// Whether every number of it lies in a range that the folds can work with: somewhat wider than what a drill file may
/// say. A drill out of a file of bytes (a capture) is asked before it is run.
[[nodiscard]] bool in_range(const Drill& drill);

}  // namespace breakstep
