// The choice test: can the athlete's next choice be guessed (side, pad, moment, how many retreats, how deep)? A Bayes
// mixture of six predictors says how likely each symbol is before it is seen; three wealths bet on that.
//
//   U  product of A P(symbol). For choices the athlete makes freely among A offered symbols. Null: each symbol has
//      probability 1/A given everything seen.
//   T  bets on the likeliest symbol against p* = 0.60 / 0.45 / 0.40 for A = 2 / 3 / 4: stake f = clamp((P - p*) / (1 -
//   p*),
//      0, 0.95), multiplier 1 - f + f hit / p*. Null: no symbol has probability above p*. For habits; a drill may set
//      another p*.
//   I  product of P over that of the best single distribution in hindsight. Labels "a pattern, not a favourite"; and
//      where every fixed habit is allowed it is a test: it never exceeds the wealth against the habit's own law.
//
// Predictors and priors: context tree of depth 3 (4), the symbol's share (2), repeat or switch (2), as 2 ago (1), as 3
// ago (1), repeat or switch by the length of the run, up to 3 (1.5). A miss shares what is left equally.
//
// Owned by one fold; one thread; allocates only in its constructor; constant cost per choice; cannot fail.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string_view>

#include "core/reading/context_tree.hpp"
#include "core/reading/running_sum.hpp"

namespace breakstep::reading {

enum class Predictor : std::uint8_t { tree, share, repeat, as_two_ago, as_three_ago, run };
inline constexpr std::size_t predictor_count = 6;

struct Guess {
    std::uint8_t symbol = 0;  ///< the likeliest; ties (within 1e-12) go to the lowest
    double probability = 0;   ///< what the mixture gives it
};

class ChoiceTest {
  public:
    /// `symbols` is A: 2 .. symbols_max for U and I, 2 .. 4 for T; `bound` is p*, habit_bound() if left out.
    explicit ChoiceTest(std::size_t symbols, std::optional<double> bound = std::nullopt);

    [[nodiscard]] std::size_t symbols() const { return symbols_; }
    [[nodiscard]] const Guess& guess() const { return guess_; }
    [[nodiscard]] const Probabilities& probabilities() const { return mixture_; }

    /// The athlete chose `symbol` (below A): settles, learns, and fixes the next guess.
    void look(std::uint8_t symbol);

    [[nodiscard]] double log_wealth_free() const { return log_free_.value(); }    ///< ln U
    [[nodiscard]] double log_wealth_habit() const { return log_habit_.value(); }  ///< ln T; 0 if A is above 4
    [[nodiscard]] double log_pattern() const;                                     ///< ln I
    [[nodiscard]] std::uint64_t hits() const { return hits_; }
    [[nodiscard]] std::uint64_t seen() const { return seen_; }
    [[nodiscard]] std::uint64_t count(std::uint8_t symbol) const { return counts_[symbol]; }
    /// The predictor with most weight now.
    [[nodiscard]] Predictor leader() const;
    /// How often the last symbol was repeated, of seen() - 1.
    [[nodiscard]] std::uint64_t repeats() const { return repeats_; }

  private:
    struct Binary {  // does it happen again? A beta estimate
        double yes;
        double no;
        [[nodiscard]] double share() const { return yes / (yes + no); }
        void add(bool again) { (again ? yes : no) += 1.0; }
    };
    void predict();
    [[nodiscard]] Probabilities same_as(std::size_t ago, double probability) const;
    [[nodiscard]] Probabilities shares() const;
    [[nodiscard]] Binary& run_of_now() { return runs_[run_ - 1]; }

    std::size_t symbols_;
    double bound_;
    ContextTree tree_;
    std::array<std::uint64_t, symbols_max> counts_{};
    Binary repeat_{0.5, 0.5};
    Binary two_ago_{1.0, 1.0};
    Binary three_ago_{1.0, 1.0};
    std::array<Binary, 3> runs_{Binary{0.5, 0.5}, Binary{0.5, 0.5}, Binary{0.5, 0.5}};
    std::array<double, predictor_count> log_weights_;
    std::array<Probabilities, predictor_count> predictions_{};
    Probabilities mixture_{};
    Guess guess_;
    std::array<std::uint8_t, 3> past_{};  // newest first
    std::size_t run_ = 1;                 // 1 .. 3
    std::uint64_t seen_ = 0;
    std::uint64_t hits_ = 0;
    std::uint64_t repeats_ = 0;
    RunningSum log_free_;
    RunningSum log_habit_;
    RunningSum log_mixture_;
};

/// p*: the greatest probability that the null of T allows any symbol. `symbols` is 2, 3 or 4.
[[nodiscard]] double habit_bound(std::size_t symbols);

}  // namespace breakstep::reading
