#include "core/reading/adversary.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "core/reading/law.hpp"
#include "core/reading/seconds.hpp"

namespace breakstep::reading {
namespace {

constexpr double shortest = shortest_entry_seconds;
constexpr double lognormal_sigma = 0.47238072707743883;  // sqrt(ln 1.25): CV 50 %
constexpr double box_width = 1.0 / 0.845;

enum class Kind : std::uint8_t { memoryless, lognormal, box };
struct Law {
    Kind kind = Kind::memoryless;
    double place = 1;  // mean beyond the shortest; log median; lower end on ln D
};

constexpr std::size_t cells = 120;
constexpr double low = -0.916290731874155 + 1e-6;  // ln 0.4
constexpr double high = 2.0;
constexpr double cell_width = (high - low) / static_cast<double>(cells);

double below(const Law& law, double logarithm) {  // P(ln D <= logarithm)
    switch (law.kind) {
        case Kind::memoryless:
            return -std::expm1(-std::max(std::exp(logarithm) - shortest, 0.0) / law.place);
        case Kind::lognormal:
            return 0.5 * std::erfc(-(logarithm - law.place) / (lognormal_sigma * std::sqrt(2.0)));
        case Kind::box:
            return std::clamp((logarithm - law.place) / box_width, 0.0, 1.0);
    }
    return 0;
}

constexpr std::size_t laws = 60;
struct Candidates {
    std::array<Law, laws> law;
    std::array<std::array<double, cells>, laws> probability;  // of each cell of ln D
};

Candidates make_candidates() {
    Candidates candidates;
    for (std::size_t i = 0; i < laws; ++i) {
        const auto step = static_cast<double>(i / 3);
        Law& law = candidates.law[i];
        law.kind = static_cast<Kind>(i % 3);
        law.place = law.kind == Kind::memoryless  ? 0.05 * std::pow(1.25, step)
                    : law.kind == Kind::lognormal ? -0.7 + 0.08 * step
                                                  : -0.9 + 0.08 * step;
        for (std::size_t c = 0; c < cells; ++c) {
            const double from = low + cell_width * static_cast<double>(c);
            candidates.probability[i][c] = below(law, from + cell_width) - below(law, from);
        }
    }
    return candidates;
}

double draw(const Law& law, Random& random) {
    switch (law.kind) {
        case Kind::memoryless:
            return shortest + random.exponential(law.place);
        case Kind::lognormal:
            return std::exp(law.place + lognormal_sigma * random.normal());
        case Kind::box:
            return std::exp(law.place + box_width * random.unit());
    }
    return 1;
}

}  // namespace

Adversary::Adversary(std::uint64_t seed, std::uint64_t drill) : random_(seed, drill * 64 + 63) {}

double Adversary::next(const TempoTest& test) {
    static const Candidates candidates = make_candidates();
    std::array<double, cells> payoff;
    for (std::size_t c = 0; c < cells; ++c)
        payoff[c] = test.multiplier_at(duration_from(std::exp(low + cell_width * (static_cast<double>(c) + 0.5))));
    std::size_t best = 0;
    double most = -1;
    for (std::size_t i = 0; i < laws; ++i) {
        double mean = 0;
        for (std::size_t c = 0; c < cells; ++c) mean += candidates.probability[i][c] * payoff[c];
        if (mean > most) {
            most = mean;
            best = i;
        }
    }
    return std::max(draw(candidates.law[best], random_), 1e-3);
}

}  // namespace breakstep::reading
