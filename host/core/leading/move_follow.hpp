// Who answers whom with advance and retreat: can A's next move be told from B's last two moves better than from A's own
// habits?
//
//   P  cross prediction: a Bayes mixture of four tables of Krichevsky-Trofimov estimates over the contexts (b1),
//      (b1, a1), (b1, b2), (b1, b2, a1), priors 4, 2, 2, 1; b1, b2 are B's last two moves, a1 A's last one; zeros as
//      past
//   ln E = sum ln P(y) - max(ln of the best own chain of order 2 in hindsight, sum ln of the choice test's own mixture)
//
// Tell at 40 where both directions are asked (20 where one is), hunch at 16 (8).
// Promise (exact): for every own chain of order 2 or less, B doing what it likes, copying A too, E ever reaches 40 in
// at most 1 of 40: against each fixed chain the ratio is a martingale, and the best one in hindsight is at least as
// large. Outside it: an own cycle that needs a clock or a longer memory and that B knows. Say "given your own last two
// moves".
//
// Owned by one fold; one thread; allocates in its constructor; constant cost a move; cannot fail.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "core/reading/choice_test.hpp"
#include "core/reading/running_sum.hpp"

namespace breakstep::leading {

class MoveFollow {
  public:
    /// `symbols` is A, 2 to 4: with two, 0 advances and 1 retreats.
    explicit MoveFollow(std::size_t symbols = 2);

    /// The one who may lead moved; `move` below `symbols`.
    void other_moved(std::uint8_t move);
    /// The one who may be led moved.
    void moved(std::uint8_t move);

    [[nodiscard]] double log_e() const;
    /// Has E ever reached `wealth`? Asked for 40 and 16, or 20 and 8.
    [[nodiscard]] bool ever_reached(double wealth) const;
    [[nodiscard]] std::uint64_t seen() const { return own_.seen(); }
    /// Moves that the cross prediction called (ties to the lowest).
    [[nodiscard]] std::uint64_t hits() const { return hits_; }

  private:
    static constexpr std::size_t tables = 4;
    using Contexts = std::array<std::size_t, tables>;
    [[nodiscard]] Contexts contexts() const;
    [[nodiscard]] double chance(std::size_t table, std::size_t context, std::uint8_t symbol) const;
    void count_own(std::uint8_t move);

    std::size_t symbols_;
    std::array<std::vector<double>, tables> counts_;  // by context, then symbol
    std::array<double, tables> log_weights_;
    std::vector<double> own_counts_;  // by (a1, a2), then symbol
    double log_own_chain_ = 0;        // of the best chain in hindsight
    reading::ChoiceTest own_;
    reading::RunningSum log_cross_, log_own_mixture_;
    std::array<std::uint8_t, 2> others_{}, owns_{};  // newest first
    double most_log_e_ = 0;
    std::uint64_t hits_ = 0;
};

}  // namespace breakstep::leading
