// Which kick comes after which, as somebody's own kicks teach it: a first-order chain, told apart from mere favourites.
//
// A row of the chain is one of its own only where the kicks say so; all others share one row, which is what came after
// the rest of them. (Not the shares of all kicks: who always follows hands with a feint makes feints common, and the
// shares would put that many after every other kick, too; such a copy feints at everything and hides the habit.)
// Whether a row is its own: how likely its kicks and the rest's are under two laws against one (Dirichlet priors of
// half a kick a kind, integrated out; Kass & Raftery 1995, "Bayes factors", JASA 90, 773-795), 20 times as likely for
// every kind that came, since each is asked: so that an order is seen where there is none at most once in 20. The row
// that says most is taken out first, then the others are asked anew.
//
// Pure; any thread; can't fail.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "core/trade/vocabulary.hpp"

namespace breakstep::copying {

inline constexpr std::size_t kind_count = 6;  ///< by AttackKind
using KindCounts = std::array<std::uint64_t, kind_count>;
using KindShares = std::array<double, kind_count>;

/// Kicks in order; what lies between two stretches is not known.
using Stretches = std::vector<std::vector<AttackKind>>;

struct KickOrder {
    std::array<KindShares, kind_count> after{};  ///< each row 1 in all; of kinds that came alone
    std::array<bool, kind_count> own{};          ///< rows of their own
    [[nodiscard]] bool any() const;
};

[[nodiscard]] KindCounts counts_of(const Stretches& stretches);
/// All rows 0 where nothing was kicked.
[[nodiscard]] KickOrder order_of(const Stretches& stretches);

}  // namespace breakstep::copying
