#include "core/leading/simulated_bouts.hpp"

#include <algorithm>
#include <cmath>

#include "core/reading/seconds.hpp"

namespace breakstep::leading {
namespace {

using Law = Rhythm::Law;
using Other = BoutKind::Other;
constexpr Rhythm memoryless{};
constexpr Rhythm memoryless_b{Law::memoryless, 0.9, 0, 0.3};
constexpr double interval_least = 0.25;
constexpr double act_least = 0.05;

constexpr Rhythm beat(double mean, double variation) { return {Law::metronome, mean, variation, 0}; }
constexpr Rhythm clock_motor(double mean, double variation) { return {Law::clock_motor, mean, variation, 0}; }
constexpr Rhythm lognormal(double mean, double variation) { return {Law::lognormal, mean, variation, 0}; }
constexpr Rhythm gamma_10{Law::gamma_10, 1.0, 0, 0};
constexpr Rhythm uniform{Law::uniform, 2.0, 0, 0.4};
constexpr Rhythm one_beat_60{Law::one_beat_60, 0, 0, 0};
constexpr Rhythm long_short{Law::long_short, 0, 0.07, 0};

constexpr std::array kinds{
    BoutKind{"both memoryless", memoryless, memoryless_b},
    BoutKind{"A memoryless and fast (mean 0.8 s), B memoryless", {Law::memoryless, 0.4, 0, 0.4}, memoryless_b},
    BoutKind{"A memoryless and slow (mean 2 s), B memoryless", {Law::memoryless, 1.6, 0, 0.4}, memoryless_b},
    BoutKind{"A metronome 0.9 s CV 5 %, B memoryless", beat(.9, .05), memoryless_b},
    BoutKind{"A metronome 0.9 s CV 10 %, B memoryless", beat(.9, .10), memoryless_b},
    BoutKind{"two metronomes 0.9 s, CV 2 %", beat(.9, .02), beat(.9, .02)},
    BoutKind{"two metronomes 0.9 s, CV 5 %", beat(.9, .05), beat(.9, .05)},
    BoutKind{"two metronomes 0.9 s, CV 10 %", beat(.9, .10), beat(.9, .10)},
    BoutKind{"two metronomes 0.9 s, CV 20 %", beat(.9, .20), beat(.9, .20)},
    BoutKind{"metronomes 0.9 and 0.94 s, CV 5 %", beat(.9, .05), beat(.94, .05)},
    BoutKind{"metronomes 0.9 and 1.8 s, CV 5 %", beat(.9, .05), beat(1.8, .05)},
    BoutKind{"two metronomes 1.3 s, CV 15 %", beat(1.3, .15), beat(1.3, .15)},
    BoutKind{"A metronome CV 5 %, B reacts after 0.45 s CV 5 %", beat(.9, .05), beat(.45, .05), Other::reacts},
    BoutKind{"A metronome CV 5 %, B reacts after 0.45 s CV 20 %", beat(.9, .05), beat(.45, .20), Other::reacts},
    BoutKind{"A metronome CV 10 %, B reacts after 0.45 s CV 5 %", beat(.9, .10), beat(.45, .05), Other::reacts},
    BoutKind{"A metronome CV 20 %, B reacts after 0.45 s CV 5 %", beat(.9, .20), beat(.45, .05), Other::reacts},
    BoutKind{"A clock and motor CV 20 %, B reacts after 0.45 s CV 10 %", clock_motor(.9, .20), beat(.45, .10),
             Other::reacts},
    BoutKind{"A memoryless, B reacts after 0.15 s CV 10 %", memoryless, beat(.15, .10), Other::reacts},
    BoutKind{"A memoryless, B reacts after 0.30 s CV 10 %", memoryless, beat(.30, .10), Other::reacts},
    BoutKind{"A memoryless, B reacts after 0.45 s CV 10 %", memoryless, beat(.45, .10), Other::reacts},
    BoutKind{"A memoryless, B metronome 0.9 s CV 5 %", memoryless, beat(.9, .05)},
    BoutKind{"A lognormal 1.2 s CV 50 %, B metronome 0.9 s CV 5 %", lognormal(1.2, .5), beat(.9, .05)},
    BoutKind{"A gamma shape 10, B too", gamma_10, gamma_10},
    BoutKind{"A uniform 0.4 to 2.0 s, B too", uniform, uniform},
    BoutKind{"A 60 % at one beat, B memoryless", one_beat_60, memoryless_b},
    BoutKind{"A 60 % at one beat, B reacts after 0.45 s CV 10 %", one_beat_60, beat(.45, .10), Other::reacts},
    BoutKind{"both long-short, CV 7 %", long_short, long_short},
    BoutKind{"B times A's metronome CV 10 %, 0.45 s before, CV 5 %", beat(.9, .10), beat(.45, .05), Other::times},
    BoutKind{"B times A's long-short CV 7 %, 0.45 s before, CV 5 %", long_short, beat(.45, .05), Other::times},
    BoutKind{"outside: two metronomes CV 5 % on one drifting tempo, log SD 0.1", beat(.9, .05), beat(.9, .05),
             Other::own_rhythm, 0, .45, .2, .1},
    BoutKind{"outside: two metronomes CV 5 % on one drifting tempo, log SD 0.2", beat(.9, .05), beat(.9, .05),
             Other::own_rhythm, 0, .45, .2, .2},
};

double gamma(Random& random, double shape) {
    // Marsaglia & Tsang 2000, "A simple method for generating gamma variables"; shape at least 1.
    const double d = shape - 1.0 / 3.0;
    const double c = 1.0 / std::sqrt(9.0 * d);
    for (;;) {
        const double x = random.normal();
        const double v = std::pow(1.0 + c * x, 3.0);
        if (v > 0 && std::log1p(-random.unit()) < 0.5 * x * x + d - d * v + d * std::log(v)) return d * v;
    }
}

/// One person's own rhythm as it goes on.
class Player {
  public:
    Player(const Rhythm& rhythm, Random& random) : rhythm_(rhythm), random_(random), step_(random.below(2)) {
        last_delay_ = random.normal();
    }
    /// The next interval, and what of it can be known beforehand.
    [[nodiscard]] double next() { return std::max(draw(), interval_least); }
    [[nodiscard]] double expected() const {
        if (rhythm_.law != Law::long_short) return rhythm_.mean;
        return step_ % 2 == 0 ? 0.7 : 1.3;
    }

  private:
    double draw() {
        const auto noise = [&] { return 1.0 + rhythm_.variation * random_.normal(); };
        switch (rhythm_.law) {
            case Law::memoryless:
                return rhythm_.shift + random_.exponential(rhythm_.mean);
            case Law::metronome:
                return rhythm_.mean * noise();
            case Law::clock_motor: {
                // Clock variance 0.4 and twice a motor variance of 0.3 make 1, with a lag-1 correlation of -0.3.
                const double delay = random_.normal();
                const double off = std::sqrt(0.4) * random_.normal() + std::sqrt(0.3) * (delay - last_delay_);
                last_delay_ = delay;
                return rhythm_.mean * (1.0 + rhythm_.variation * off);
            }
            case Law::lognormal:
                return random_.lognormal(rhythm_.mean, rhythm_.variation);
            case Law::gamma_10:
                return rhythm_.mean / 10.0 * gamma(random_, 10.0);
            case Law::uniform:
                return random_.uniform(rhythm_.shift, rhythm_.mean);
            case Law::one_beat_60:
                return random_.chance(0.6) ? 0.8 * (1.0 + 0.06 * random_.normal()) : 0.4 + random_.exponential(0.9);
            case Law::long_short: {
                const double mean = expected();
                ++step_;
                return mean * noise();
            }
        }
        return 1.0;
    }

    const Rhythm& rhythm_;
    Random& random_;
    std::uint32_t step_;
    double last_delay_ = 0;
};

class Bout {
  public:
    Bout(const BoutKind& kind, Random random) : kind_(kind), random_(random), a_(kind.a, random_), b_(kind.b, random_) {
        plan_a(0);
        next_b_ = kind.other == Other::own_rhythm ? b_.next() * random_.unit() : 1e300;
    }

    std::vector<BoutAct> run() {
        std::vector<BoutAct> acts;
        for (;;) {
            if (next_a_ <= next_b_) {
                acts.push_back({Who::a, next_a_});
                if (acts_ >= act_looks.back()) return acts;
                plan_a(next_a_);
            } else {
                acts.push_back({Who::b, next_b_});
                act_of_b();
            }
        }
    }

  private:
    double pace() {
        if (kind_.common_pace <= 0) return 1.0;
        pace_ = 0.9 * pace_ + std::sqrt(1.0 - 0.81) * kind_.common_pace * random_.normal();
        return std::exp(pace_);
    }
    void plan_a(double now) {
        const double expected = a_.expected();
        next_a_ = now + a_.next() * pace();
        following_ = false;
        if (kind_.other == Other::own_rhythm) return;
        const double off = 1.0 + kind_.b.variation * random_.normal();
        const double wait = kind_.other == Other::reacts ? kind_.b.mean * off : expected - kind_.b.mean * off;
        next_b_ = now + std::max(wait, act_least);
    }
    void act_of_b() {
        const double now = next_b_;
        ++acts_;
        next_b_ = kind_.other == Other::own_rhythm ? now + b_.next() * pace() : 1e300;
        if (following_ || !random_.chance(kind_.follows)) return;
        following_ = true;
        next_a_ = now + std::max(random_.lognormal(kind_.lag, kind_.lag_variation), act_least);
    }

    const BoutKind& kind_;
    Random random_;
    Player a_, b_;
    double next_a_ = 0, next_b_ = 0, pace_ = 0;
    bool following_ = false;
    std::uint64_t acts_ = 0;
};

}  // namespace

std::span<const BoutKind> leaderless() { return kinds; }

std::vector<BoutAct> acts_of(const BoutKind& kind, std::uint64_t seed, std::uint32_t bout) {
    return Bout(kind, Random(seed, bout)).run();
}

BoutOutcome outcome_of(std::span<const BoutAct> acts) {
    BoutOutcome outcome;
    WhoLeads bout;
    std::uint64_t of_b = 0;
    for (const BoutAct& act : acts) {
        bout.entered(act.who, reading::duration_from(act.at));
        if (act.who == Who::b) {
            ++of_b;
            continue;
        }
        const FollowTest& test = bout.a_follows_b();
        outcome.own_rhythm = outcome.own_rhythm || test.log_e() >= std::log(40.0);
        outcome.luck = outcome.luck || test.log_x() >= std::log(20.0);
        for (std::size_t k = 0; k < act_looks.size(); ++k) {
            if (of_b > act_looks[k]) continue;
            outcome.tell[k] = test.tell_at().has_value();
            outcome.hunch[k] = test.hunch_at().has_value();
        }
    }
    outcome.wrong_way = bout.b_follows_a().sign() == Sign::tell;
    return outcome;
}

BoutFigures figures_of(const BoutKind& kind, std::uint32_t bouts, std::uint64_t seed) {
    BoutFigures figures;
    const double one = 1.0 / bouts;
    for (std::uint32_t bout = 0; bout < bouts; ++bout) {
        const BoutOutcome outcome = outcome_of(acts_of(kind, seed, bout));
        figures.own_rhythm += outcome.own_rhythm ? one : 0;
        figures.luck += outcome.luck ? one : 0;
        figures.wrong_way += outcome.wrong_way ? one : 0;
        for (std::size_t k = 0; k < act_looks.size(); ++k) {
            figures.tell[k] += outcome.tell[k] ? one : 0;
            figures.hunch[k] += outcome.hunch[k] ? one : 0;
        }
    }
    return figures;
}

}  // namespace breakstep::leading
