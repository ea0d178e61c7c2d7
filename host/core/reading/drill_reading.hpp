// Reading a whole drill: every clock and every choice of one athlete, and what they give away.
//
// By the method of two signs (reading_method.hpp) there are two promises, each with a wealth, a sign, a reason of its
// own: can be timed is a mean of the clocks' wealths, can be read one of the choices'. By the plain method there is one
// for everything, and the second stays at 1 and "no sign". Streams that the drill can't have are left out before it
// starts and the rest is scaled to 1. The in clock is off unless asked for: technique alone makes it regular.
//
// A mean of wealths is itself a wealth wherever no stake is open, so 20 is a tell (at most 5 % of unpredictable drills)
// and 8 a hunch (at most 12.5 %). Clocks, and all of the plain method, are judged at entries; choices as the athlete
// goes (went()), when the number of retreats before it and what was chosen are settled together.
//
// Clocks. Entry: from one entry (first break of an inward pass of the near mark) to the next, with a shortest interval
// of max(0.40 s, shortest out-time + median of the last 8 in-times), fixed as the interval begins. In: from an entry to
// leaving; out: from leaving to the next entry. An attack cuts an interval at its planned onset. An interval is void if
// it begins during an attack, if an attack that nobody planned beforehand falls into it, or if a secret coin said that
// it may be cued (drawn and hunted drills). Nothing is dropped for its own length: the end of a set cuts too.
//
// Choices by two signs. Retreat: how many before going, of those goings that had one at all (one, two, three or more;
// p* 0.60): who never retreats is no clock. Depth: against the best single law in hindsight, so that no fixed habit is
// a fault. Side, pad, moment: a preference up to p* is no fault.
//
// Fed in the order of the rig's stamps by the score fold; owned by it; one thread. Memory is bounded by the planned
// attacks of one set; nothing is allocated per event but the words of a sign. A time of another boot of the rig than
// the open intervals' makes these void. Cannot fail.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "core/reading/choice_test.hpp"
#include "core/reading/known_athlete.hpp"
#include "core/reading/reading_method.hpp"
#include "core/reading/reasons.hpp"
#include "core/reading/tempo_test.hpp"
#include "core/reading/timeable_index.hpp"
#include "core/time.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep::reading {

/// What earlier sessions taught, by clock. As text: the three of known_athlete.hpp with "|" between, "" for strangers.
struct KnownRhythms {
    std::array<KnownAthlete, clock_count> clocks;
    bool operator==(const KnownRhythms&) const = default;
};
[[nodiscard]] std::string to_text(const KnownRhythms& known);
[[nodiscard]] Expected<KnownRhythms> known_rhythms_from(std::string_view text);

struct DrillReadingSettings {
    ReadingMethod method = ReadingMethod::plain;
    std::array<bool, clock_count> clocks{true, true, false};  ///< entry, out, in
    /// For each choice stream (retreat, depth, side, pad, moment) what its symbols are called; fewer than two: the
    /// drill can't have the stream. Side, pad and moment only where the athlete chooses freely among what is offered.
    /// Retreats before going: by the plain method none, one, two, three or more; by two signs the last three of these.
    std::array<std::vector<std::string>, stream_count - clock_count> labels;
    /// The shortest time out between two stays that can be seen. Whoever feeds in gates says so if theirs is longer.
    Duration shortest_out = 150ms;
    bool coin = false;  ///< drawn and hunted drills: intervals are void unless coin(false) frees them
    KnownRhythms known;
};

/// An attack whose onset was fixed beforehand.
struct PlannedCue {
    TargetTime onset;  ///< toe-off
    TargetTime end;    ///< of the attack
};

/// An interval of a clock as it ended.
struct IntervalOutcome {
    TargetTime began;
    Duration length{};  ///< to the entry, or to the cue that cut it
    bool cut = false;
    bool voided = false;
    std::optional<Window> window;  ///< as announced, since `began`
    bool counted = false;          ///< the window is in H, C and n
    bool caught = false;           ///< the entry fell into it, whether or not it counted
};

/// A sign as it is raised.
struct RaisedSign {
    SignKind kind = SignKind::timed;
    Sign sign = Sign::none;  ///< hunch or tell
    Reason reason;
    double wealth = 1;
};

/// What an entry told.
struct EntryRead {
    std::optional<IntervalOutcome> interval;  ///< of the entry clock; nullopt at the first entry of a stretch
    double wealth = 1;                        ///< of what can be timed
    std::optional<RaisedSign> raised;         ///< if this entry tipped it
    std::optional<Window> next;               ///< announced for the entry to come, since this one
};

class DrillReading {
  public:
    explicit DrillReading(DrillReadingSettings settings);

    /// The onsets of a set, fixed now. Replaces those planned from `now` on; an interval that is open then becomes void
    /// if its next onset is another, since it did not stand before the interval began.
    void plan(std::span<const PlannedCue> cues, TargetTime now);
    /// An attack that depends on the athlete's movement or on the coach: drawn, hunted, tapped.
    void unplanned(TargetTime onset, TargetTime end);
    /// Whether the interval that the last entry began may be cued.
    void coin(bool may_be_cued);

    EntryRead entry(TargetTime at);
    void left(TargetTime at);
    /// `symbol` below the number of the stream's labels. Ignored for a stream that the drill does not have.
    void chose(Stream stream, std::uint8_t symbol);
    /// The athlete went, and all that it chose in going has been told: judges what can be read. The plain method judges
    /// at entries only.
    std::optional<RaisedSign> went();

    /// The set ended at `at`, as planned: cuts what is open.
    void set_ended(TargetTime at);
    /// The link was lost, or events were: what is open is void.
    void interrupted();

    [[nodiscard]] double wealth(SignKind kind = SignKind::timed) const;
    [[nodiscard]] Sign sign(SignKind kind = SignKind::timed) const { return of(kind).sign; }
    /// Of the strongest sign so far.
    [[nodiscard]] const std::optional<Reason>& reason(SignKind kind = SignKind::timed) const { return of(kind).reason; }
    [[nodiscard]] HitCount count() const { return tally_.count(); }
    [[nodiscard]] const TempoTest* clock(Stream stream) const;
    [[nodiscard]] const ChoiceTest* choice(Stream stream) const;
    /// In the sign that it belongs to.
    [[nodiscard]] double weight(Stream stream) const;
    /// In-times are known, so that the shortest interval is the athlete's own.
    [[nodiscard]] bool knows_in_times() const { return in_count_ > 0; }
    /// The shortest interval of an entry that begins now.
    [[nodiscard]] Duration shortest_entry() const;
    /// Up to `count` last lengths of the entry clock that count as observed, oldest first: the nudge's bars.
    [[nodiscard]] std::vector<Duration> last_intervals(std::size_t count) const;

  private:
    struct Clock {
        TempoTest test;
        bool open = false;
        bool voided = false;
        TargetTime began;
        std::optional<Window> window;
    };
    void begin(Stream stream, TargetTime at, Duration shortest);
    std::optional<IntervalOutcome> finish(Stream stream, TargetTime at, bool entered);
    /// One promise: a mean of wealths, and the strongest sign that it gave.
    struct Promise {
        std::array<double, stream_count> weights{};
        Sign sign = Sign::none;
        std::optional<Reason> reason;
    };
    [[nodiscard]] const Promise& of(SignKind kind) const { return promises_[static_cast<std::size_t>(kind)]; }
    void weigh(Promise& promise, const std::array<double, stream_count>& weights) const;
    std::optional<RaisedSign> judge(SignKind kind);
    [[nodiscard]] Reason reason_of(Stream stream) const;
    [[nodiscard]] bool has(std::size_t stream) const;
    [[nodiscard]] double stream_wealth(std::size_t stream) const;
    [[nodiscard]] double needed(Stream stream) const;
    [[nodiscard]] const PlannedCue* next_cue(TargetTime after) const;
    [[nodiscard]] bool during_attack(TargetTime at) const;
    void leave_other_boot(TargetTime at);
    void forget_cues(TargetTime before);

    DrillReadingSettings settings_;
    std::array<Promise, 2> promises_;  // by SignKind; the plain method uses the first alone
    std::array<std::optional<Clock>, clock_count> clocks_;
    std::array<std::optional<ChoiceTest>, stream_count - clock_count> choices_;
    std::vector<PlannedCue> planned_;    // by onset
    std::vector<PlannedCue> unplanned_;  // since the oldest open interval began
    std::optional<TargetTime> entered_at_;
    bool inside_ = false;
    bool may_be_cued_ = false;
    std::array<Duration, 8> in_times_{};
    std::uint64_t in_count_ = 0;
    HitTally tally_;
};

}  // namespace breakstep::reading
