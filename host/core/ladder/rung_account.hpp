// The bet behind a rung of the ladder: is the athlete's true rate beyond a mark? Day-to-day form moves the rate, so the
// reps of one evening are not independent, and the bet is between two athletes who both scatter from evening to
// evening: on the logit scale by a standard deviation of 0.30 around their mean.
//
//   B(k, n, e) = sum_m w_m q_m^k (1 - q_m)^(n-k),  q_m = logistic(e + 0.30 z_m)    k of n reps this evening, mean e
//   L_d        = B(k, n, logit mark + d) / B(k, n, logit mark),  d = 0.45, 0.90, 1.60 (below: -0.45, -0.90, -1.60)
//   W          = (1/3) sum_d (Z_d + s_e) L_d + rest_e            e = 1, 2, ... the evening
//   an evening's end: Z_d = (Z_d + s_e) L_d
//
// with z_m, w_m the five nodes of Gauss-Hermite quadrature; s_1 = 0.75, s_e = 0.25 / ((e-1) e), rest_e = 0.25 / e: each
// evening opens with fresh money, so that an athlete who has learnt is not held down by the first evenings.
//
// Promise (Ville 1939): as long as the rate of every evening scatters so, or less, about a mean at or below the mark
// (below: at or above), W reaches 20 in at most 1 of 20 athletes, however long and whenever one looks: L_d rises with
// every hit, so a lower mean only lowers W.
//
// A value; owned by its rung; one thread; fixed memory; constant cost for each rep; cannot fail. All is kept as
// logarithms, so no run of reps is too long for it.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

namespace breakstep::ladder {

enum class Beyond : std::uint8_t { above, below };

class RungAccount {
  public:
    /// `mark` is a rate, 0 < mark < 1; else a broken invariant (Rung::at says so to a person).
    RungAccount(double mark, Beyond side);

    void add(bool hit);
    /// The next rep belongs to another evening. Without a rep since the last call nothing happens: an evening counts
    /// from its first rep.
    void end_evening();

    [[nodiscard]] double log_wealth() const { return log_wealth_; }
    /// Up to 1e300; beyond that it stays there.
    [[nodiscard]] double wealth() const;
    [[nodiscard]] bool has_enough() const;
    [[nodiscard]] bool ever_had_enough() const { return ever_had_enough_; }
    [[nodiscard]] double mark() const { return mark_; }
    /// Evenings with a rep, the one that is open too.
    [[nodiscard]] std::uint64_t evenings() const { return evenings_; }
    [[nodiscard]] std::uint64_t hits() const { return hits_; }
    [[nodiscard]] std::uint64_t reps() const { return reps_; }

  private:
    static constexpr std::size_t nodes = 5;
    static constexpr std::size_t steps = 3;
    /// One law of the rate: an evening's mean on the logit scale, seen through the nodes.
    struct Law {
        std::array<double, nodes> log_hit{}, log_miss{};
        std::array<double, nodes> log_likelihood{};  // of this evening's reps, weights included
        explicit Law(double mean = 0);
        void begin();
        void add(bool hit);
        [[nodiscard]] double log_chance() const;  // ln B
    };
    void begin_evening();
    [[nodiscard]] double log_fresh() const;  // ln s_e
    void reckon();

    double mark_;
    Law null_;
    std::array<Law, steps> rivals_;
    std::array<double, steps> log_staked_{};  // ln (Z_d + s_e) of the evening that is open
    std::array<double, steps> log_earned_{};  // ln Z_d, as if the evening ended now
    double log_wealth_ = 0;
    bool open_ = false;
    bool ever_had_enough_ = false;
    std::uint64_t evenings_ = 0;
    std::uint64_t hits_ = 0;
    std::uint64_t reps_ = 0;
};

}  // namespace breakstep::ladder
