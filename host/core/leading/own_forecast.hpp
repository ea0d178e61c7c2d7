// When a person enters next by their own rhythm alone: a forecast from their past intervals, whatever the other does.
// It is the explanation "own rhythm" that following must beat (follow_test.hpp), so it is a whole law, a density and a
// survival function, mixed from nine members:
//
//   free 0.20, free r      memoryless after a shift of 0.20 s / r at a pace learnt with forgetting 0.95 (gamma prior
//                          2, 1.5 s): e = D - shift, density of ln D: D al/be (be/(be+e))^(al+1)
//   wide                   a broad bell around the pace, its spread learnt from 0.45
//   median, pace, every second, every third, neighbours, mode
//                          the bells of the tempo test (reading/accounts.hpp), without their stakes
//
// with priors 2, 4, 3, 3, 3, 2, 2, 1, 2 of 22. After each interval the members that could speak are weighed by how well
// they said it; then all keep 96 % and 4 % goes back to the priors.
//
// Owned by one FollowTest; one thread; fixed memory, no allocation; cannot fail. Seconds.
#pragma once

#include <array>
#include <cstddef>

#include "core/reading/accounts.hpp"
#include "core/reading/history.hpp"

namespace breakstep::leading {

class OwnForecast {
  public:
    /// `shortest` is r: the shortest time in which the person can leave and enter again, in seconds.
    explicit OwnForecast(double shortest);

    /// Density of ln D at an interval D > 0, at least 1e-9.
    [[nodiscard]] double density(double interval) const;
    /// The chance that the interval is longer than `interval`; 1 for none.
    [[nodiscard]] double survival(double interval) const;

    /// The interval that came, above 0.
    void learn(double interval);

  private:
    static constexpr std::size_t members = 9;
    enum Member : std::size_t { free_short, free_own, wide, bells };  // from `bells` on those of Accounts, in its order
    using Each = std::array<double, members>;

    struct Free {  // memoryless after a shift: a gamma belief about the rate
        double shift;
        double shape = 2.0;
        double scale = 1.5;
        [[nodiscard]] double density(double interval) const;
        [[nodiscard]] double survival(double interval) const;
        void learn(double interval);
    };
    [[nodiscard]] Each densities(double interval) const;
    [[nodiscard]] double mixed(const Each& of_members) const;
    void look_ahead();
    void learn_wide(double logarithm);

    std::array<Free, 2> free_;
    reading::IntervalHistory history_;
    reading::Accounts accounts_{reading::TempoMethod::plain};
    reading::Bets bets_{};
    reading::Bet wide_bet_{};
    double wide_squares_ = 0;
    double wide_count_ = 0;
    double pace_weight_ = 0;  // of the pace account: how many intervals it remembers
    Each weights_;
    Each shares_{};  // of the members that can speak now, summing to 1
};

}  // namespace breakstep::leading
