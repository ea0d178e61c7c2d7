// The leg reader: what a partner's real leg does, from two light gates that it passes, one low (a quarter of hip
// height) and one at the hip. Edges with their gates' bounds go in; phases of the attack and, at the close, the kind
// that came go out, each border with the bound of the gate that saw it.
//
//   low broken                        the foot is off: a lift, if it lasts 150 ms or reaches the hip within 400 ms
//   hip broken within 400 ms          up or pull-back: which of the two no gate sees; springs above the hip count as up
//   hip restored, then low restored   a drop, then a gap: touchdown
//   hip restored, then hip broken     a second lift without touchdown: what lay between was lift, never drop
//   low restored without the hip      a bounce under 150 ms (no phase), else a feint: guard again
//   low broken again after touchdown  a reset
//
// So two phases are told only when they are certain, both with the time at which they began: a lift when it has lasted
// (passed() says so) or reached the hip, a drop when the foot is down. undecided() says what is open until then.
// An order that no leg can make ends the reading: the kind is impossible, with the reason; what was told before stays.
//
// A value; owned by the rep's attack source; one thread; fixed memory; cannot fail. Times of the rig's clock. Any
// sequence of edges is taken.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string_view>

#include "core/time.hpp"
#include "core/trade/rules.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep::leg {

struct LegPhaseSeen {
    Phase phase{};  ///< guard, lift, up_or_pull_back, drop, gap or hands
    TargetTime at;        ///< its begin
    Uncertainty bound{};  ///< of the gate, or of the tap
};

/// What can't be told yet.
enum class Undecided : std::uint8_t { nothing, lift_or_bounce, drop_or_second_lift };

class LegReader {
  public:
    static constexpr std::size_t phases_max = 48;

    /// `asked` is what the partner was told, if anything; low and hip say whether a gate is broken as the rep opens.
    explicit LegReader(std::optional<AttackKind> asked = std::nullopt, bool low_broken = false,
                       bool hip_broken = false);

    /// What the partner was told, where it is known only later. Before close().
    void ask(std::optional<AttackKind> asked) { asked_ = asked; }
    void low(bool broken, TargetTime at, Uncertainty bound);
    void hip(bool broken, TargetTime at, Uncertainty bound);
    /// The partner's hands, by the coach's tap or a gate for them. They count once the leg is down again.
    void hands(TargetTime at, Uncertainty bound);
    /// All edges before `now` have been told.
    void passed(TargetTime now);
    /// The rep is over: what came. Edges told later change nothing; those told before count, whatever their time.
    CameKind close(TargetTime at);

    /// Those that are certain, in order of time; only ever grows.
    [[nodiscard]] std::span<const LegPhaseSeen> phases() const { return {phases_.data(), count_}; }
    [[nodiscard]] Undecided undecided() const;
    /// No foot is off, and both gates are whole.
    [[nodiscard]] bool on_floor() const { return at_ == At::floor; }
    /// A gate has been broken since the reading began.
    [[nodiscard]] bool blocked() const { return at_ == At::blocked; }
    /// Of close(); `nothing` before.
    [[nodiscard]] CameKind came() const { return came_; }
    [[nodiscard]] Impossible impossible() const { return impossible_; }
    /// The longest time for which the hip stayed broken. `around` counts only in a carry.
    [[nodiscard]] Duration hip_longest() const { return hip_longest_; }
    [[nodiscard]] std::uint32_t bounces() const { return bounces_; }
    [[nodiscard]] std::uint32_t second_lifts() const { return second_lifts_; }
    /// Hands that came before the leg was down, without one, out of order, or again: told as no phase, so counted.
    [[nodiscard]] std::uint32_t hands_not_counted() const { return hands_not_counted_; }

    /// Edges told after the reading had ended, and those until a blocked gate was whole.
    [[nodiscard]] std::uint32_t ignored() const { return ignored_; }

  private:
    enum class At : std::uint8_t {
        blocked,  // a gate was broken from the start
        floor,    // before any lift, or after a feint, or in the gap
        off,      // the foot is off; it has not reached the hip
        above_hip,
        below_hip,  // it was above
        ended,      // impossible, or closed
    };
    struct Border {
        TargetTime at;
        Uncertainty bound{};
    };
    /// True if the edge may be used: time goes on, the gate's state changes, and the reading has not ended.
    [[nodiscard]] bool takes(bool& gate, bool broken, TargetTime at);
    [[nodiscard]] bool in_time(TargetTime at);
    void tell(Phase phase, const Border& border);
    void tell_lift();
    void leave_floor(const Border& border);
    void touch_floor(const Border& border);
    void settle_hands();
    void end(Impossible why);
    [[nodiscard]] CameKind kind() const;

    std::optional<AttackKind> asked_;
    At at_;
    bool low_broken_, hip_broken_;
    bool lift_told_ = false;
    Border left_{}, hip_crossed_{};  // the last low break; the last crossing of the hip
    std::optional<TargetTime> latest_;
    std::optional<Border> pending_hands_;
    std::array<LegPhaseSeen, phases_max> phases_{};
    std::size_t count_ = 0;
    std::uint32_t kicks_ = 0, feints_ = 0, bounces_ = 0, second_lifts_ = 0, hands_ = 0, hands_not_counted_ = 0;
    std::uint32_t ignored_ = 0;
    Duration hip_longest_{0};
    CameKind came_ = CameKind::nothing;
    Impossible impossible_ = Impossible::none;
};

}  // namespace breakstep::leg
