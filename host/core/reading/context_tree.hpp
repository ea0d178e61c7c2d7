// Context-tree weighting of depth 3 (Willems, Shtarkov & Tjalkens 1995) with the estimator of Krichevsky & Trofimov
// (1981) in each node: the Bayes mixture over all trees whose leaves are the last 0 to 3 symbols. alpha is 1/2 for two
// symbols, else 1 / A. Each node keeps the log of the ratio of its own estimate to that of its children, so that a
// prediction costs one pass along the path of the present past.
//
// Owned by whoever predicts; one thread; memory is allocated once, by the constructor; cannot fail.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <vector>

namespace breakstep::reading {

inline constexpr std::size_t symbols_max = 16;
/// Probability of each symbol; entries from A on are 0.
using Probabilities = std::array<double, symbols_max>;

/// The estimator's pseudo-count.
[[nodiscard]] constexpr double pseudo_count(std::size_t symbols) {
    return symbols == 2 ? 0.5 : 1.0 / static_cast<double>(symbols);
}

class ContextTree {
  public:
    static constexpr std::size_t depth = 3;

    /// `symbols` is A, 2 .. symbols_max. `past` is what came before the first symbol, oldest first; it is not counted.
    explicit ContextTree(std::size_t symbols, std::array<std::uint8_t, depth> past = {0, 0, 0});

    [[nodiscard]] Probabilities predict() const;
    /// `symbol` is below A.
    void look(std::uint8_t symbol);

  private:
    struct Path {
        std::array<std::size_t, depth + 1> nodes;
        std::array<Probabilities, depth + 1> weighted;  // of the subtree below each node
    };
    [[nodiscard]] Path weigh() const;
    [[nodiscard]] double estimate(std::size_t node, std::size_t symbol) const;

    std::size_t symbols_;
    std::array<std::uint8_t, depth> past_;
    std::vector<double> counts_;      // [node][symbol]
    std::vector<double> totals_;      // [node]
    std::vector<double> log_ratios_;  // [node], own estimate over the children's
};

}  // namespace breakstep::reading
