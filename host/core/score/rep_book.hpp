// The reps of a session: those that are open, with their phases as they are confirmed, and those that are decided.
//
// Owned by Score; its thread. Conduct decides ahead, so more than one rep may be open; each is told by its own id. A
// decided rep keeps its measured verdict under a coach's void, which can be taken back. Events that name a rep nobody
// opened, or a phase it does not have, are counted and change nothing. Can't fail.
#pragma once

#include <cstdint>
#include <vector>

#include "core/journal/events.hpp"
#include "core/score/attack.hpp"
#include "core/score/score.hpp"

namespace breakstep::scoring {

/// Times beyond this (36 years) are damage, and keeping them out keeps every sum in range.
[[nodiscard]] bool plausible(TargetTime at);

struct OpenRep {
    RepOpened opened;
    std::vector<std::optional<Onset>> onsets;   ///< one more than phases; empty for a catch trial
    VoidReason void_reason = VoidReason::none;  ///< not the coach's
    bool coach_void = false;
    bool partner = false, told = false;  ///< its attack is a partner's leg, who was told what to do
    struct Seen {
        Phase phase{};
        Onset onset;
    };
    std::vector<Seen> seen;  ///< in order of time; guard is the end
    std::optional<Onset> cue;

    /// A partner's attack, from its lift to its end; nothing without either. Before the close `came` is nothing.
    [[nodiscard]] std::optional<Attack> of_leg(Duration lead, CameKind came) const;
    /// The attack with every border confirmed, or nothing.
    [[nodiscard]] std::optional<Attack> confirmed(Duration lead) const;
    /// The attack as far as it is known: borders that are not confirmed yet by their planned lengths.
    [[nodiscard]] Attack so_far(Duration lead) const;
};

class RepBook {
  public:
    void open(const RepOpened& opened, VoidReason reason);
    void phase_began(const PhaseBegan& began);
    void leg_expected(const LegExpected& expected);
    void phase_seen(const PhaseSeen& seen);
    void partner_cued(const PartnerCued& cued);

    [[nodiscard]] OpenRep* find_open(RepId rep);
    [[nodiscard]] const std::vector<OpenRep>& open_reps() const { return open_; }
    /// The rep is no longer open; its result stands from now on and is appended to `out`.
    void decide(RepId rep, RepResult result, std::vector<ScoreResult>& out);

    /// A void, or its taking back, of a decided rep. False if there is no such rep.
    bool void_decided(RepId rep, VoidReason reason, std::vector<ScoreResult>& out);
    /// Contacts that came in the first 300 ms after a decided rep's end.
    void add_later_contacts(RepId rep, const std::vector<Duration>& from_onset, std::vector<ScoreResult>& out);

    /// Whether the athlete was out of reach in time, of a decided rep.
    void settle_way_out(RepId rep, bool in_time, const Asks& asks, std::vector<ScoreResult>& out);

    [[nodiscard]] bool is_decided(RepId rep) const { return index_of(rep) >= 0; }
    /// Of a decided rep.
    [[nodiscard]] std::optional<std::int32_t> set_of(RepId rep) const {
        const std::ptrdiff_t found = index_of(rep);
        return found < 0 ? std::nullopt : std::optional(results_[static_cast<std::size_t>(found)].set);
    }
    [[nodiscard]] bool is_void(RepId rep) const;
    /// The planned onset of a decided rep.
    [[nodiscard]] std::optional<Duration> onset_of(RepId rep) const;
    [[nodiscard]] const std::vector<RepResult>& results() const { return results_; }
    /// Retreats over the reps that are not void.
    [[nodiscard]] std::int32_t retreats() const;
    [[nodiscard]] std::int32_t misplaced() const { return misplaced_; }
    void count_misplaced() { ++misplaced_; }

  private:
    // The measured verdict, while a void of the coach's lies over it.
    struct Measured {
        Verdict verdict{};
        VoidReason reason{};
        bool scored = false;
        bool coach_void = false;
        Duration onset{};  ///< planned
    };
    [[nodiscard]] std::ptrdiff_t index_of(RepId rep) const;
    void lay_void(std::size_t index);

    std::vector<OpenRep> open_;
    std::vector<RepResult> results_;  // in order of id
    std::vector<Measured> measured_;  // beside results_
    std::int32_t misplaced_ = 0;
};

/// What was asked, before anything is known of the answer.
[[nodiscard]] RepResult asked_of(const RepOpened& opened);

}  // namespace breakstep::scoring
