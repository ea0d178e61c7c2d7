// One attack as the pictures need it: its kind, and its phases with their lengths, counted from toe-off. The live
// stage, the strips and the pages all draw from this one shape, so that they can't disagree.
//
// Plain values, any thread; the caller fills them. A phase that is missing draws nothing, it does not fail.
#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "core/time.hpp"
#include "core/trade/opponent.hpp"
#include "core/trade/vocabulary.hpp"

namespace breakstep {

struct AttackTimeline {
    AttackKind kind = AttackKind::single;
    std::vector<AttackPhase> phases;  ///< one after another from toe-off; empty: a catch trial, nothing comes
    /// For a feint alone: the length of the lift it pretends to be. The limb rises exactly as that lift would, to 60 %
    /// of it, and goes back in the rest. 0: 58 % of the feint, which is the table's ratio of a lift to a feint.
    Duration feint_lift{};

    /// Since toe-off: where phase `index` begins; for index == phases.size() where the attack ends.
    [[nodiscard]] Duration begin_of(std::size_t index) const;
    [[nodiscard]] Duration end() const { return begin_of(phases.size()); }
    /// The phase that is current; nothing before toe-off and after the end. A border belongs to the later phase.
    [[nodiscard]] std::optional<std::size_t> index_at(Duration since_toe_off) const;
};

}  // namespace breakstep
