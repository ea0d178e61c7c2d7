// What score hands to the reading of the athlete (reading/drill_reading.hpp): which entries, leavings, attacks and
// choices of a session count, and what comes back as results.
//
// Owned by Score; its thread; fed in the order of arrival, which the link keeps in sequence. Can't fail; a prior that
// can't be read counts as none. What is decided here:
// - Only what happens in a set is read: between sets the athlete rests and no rhythm is shown to anyone.
// - In random and pattern sets the planned onsets, fixed beforehand, cut intervals. A catch trial has no onset: it
// begins
//   where the attack before it ends (or with the plan) and lasts the wait's cap.
// - In drawn and hunted drills an interval counts only if the secret coin said that nothing may be cued in it; in
// tapped
//   ones none does. An attack that comes by itself after too long a silence is not the athlete's doing and its moment
//   is fixed by the close before it: it cuts, so that no interval is dropped for its own length.
// - The session names how it is read (reading_method_of); one that names nothing is read by the plain method.
// - Streams of choices that the drill leaves free are known before it starts. Side and pad: where every attack allows
// the
//   same two or more pads; the side only where both sides have as many of them, the pad only where it says more than
//   the side. The moment is always asked for, so never read. Retreat count and depth: only where the athlete leads
//   (drawn, hunted); elsewhere the drill itself says to answer every attack, and obeying it is no habit. By two signs
//   an answer without a retreat before it is not counted: who never retreats keeps no count.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <vector>

#include "core/reading/drill_reading.hpp"
#include "core/score/rig_log.hpp"
#include "core/score/score.hpp"

namespace breakstep::scoring {

/// The one place where a session's reading method is looked up.
[[nodiscard]] std::optional<reading::ReadingMethod> reading_method_of(const SessionBegan& session);

class Rhythm {
  public:
    using Results = std::vector<ScoreResult>;

    /// The rig as it first connected; what the drill lets be read is fixed with it. `instead`: the method, whatever the
    /// session names. A session of a method that this version does not know is not read.
    void begin(const SessionBegan& session, GateSet gates, PadSet pads,
               std::optional<reading::ReadingMethod> instead = std::nullopt);
    /// A reset of the board, a lost link, lost events: what is open is void.
    void interrupted();

    void plan(const SetPlanned& planned);
    void opened(const RepOpened& opened);
    void closed(TargetTime end);
    void set_ended(bool cancelled);
    /// The set that was planned last was somebody else's: all is as it was before it. Of any other set nothing happens.
    void take_back(std::int32_t set);
    void coin(const IntervalCoin& coin);

    /// An entry; the window in which the next is expected, if one is announced.
    std::optional<reading::Window> entry(TargetTime at, std::uint16_t sequence, Results& out);
    void left(TargetTime at);
    /// A real attack was decided and is not void. `depth`: 0 far mark unbroken, 1 far, 2 back, broken outward since
    /// toe-off. `at`: its contact, or its toe-off if there was none.
    void answered(const RepResult& result, std::uint8_t depth, TargetTime at, Results& out);

    [[nodiscard]] const std::vector<IntervalRead>& intervals() const { return intervals_; }
    void add_to(SessionTotals& totals) const;

  private:
    [[nodiscard]] bool scheduled() const;
    [[nodiscard]] bool in_set(TargetTime at) const;
    void plan_silence(TargetTime from, TargetTime now);
    void offer_pads(const Drill& drill, PadSet pads, reading::DrillReadingSettings& settings);
    void raise(const std::optional<reading::RaisedSign>& raised, TargetTime at, Results& out) const;

    struct Before {
        std::int32_t set;
        reading::DrillReading reading;
        std::size_t intervals;
    };

    std::unique_ptr<reading::DrillReading> reading_;  // none until begun
    std::optional<Before> before_;                    // the set that was planned last
    reading::ReadingMethod method_{};
    StartKind start_{};
    bool partner_ = false;  ///< whose kicks nobody planned: no interval counts
    Duration wait_cap_{};
    std::int32_t rules_ = 0;
    bool test_ = false;
    std::int32_t set_ = 0;
    std::optional<TargetTime> set_begin_, last_close_;
    std::optional<std::uint16_t> entry_sequence_;
    std::vector<PadRole> offered_;  // in order of symbol
    std::uint8_t retreats_in_a_row_ = 0;
    std::vector<reading::PlannedCue> cues_;  // kept for its memory
    std::vector<IntervalRead> intervals_;
};

}  // namespace breakstep::scoring
