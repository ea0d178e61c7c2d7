#include "core/progress/rank_tests.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "core/progress/distributions.hpp"
#include "core/random.hpp"

namespace breakstep::progress {
namespace {

constexpr double tail = 0.025;
constexpr std::size_t exact_below = 50;  // as R's wilcox.test does

/// Median of an ordered list that is not empty.
double middle_of(const std::vector<double>& ordered) {
    const std::size_t half = ordered.size() / 2;
    return ordered.size() % 2 == 1 ? ordered[half] : (ordered[half - 1] + ordered[half]) / 2;
}

/// P(V = v) of Wilcoxon's signed rank sum of n differences, v from 0.
std::vector<double> signed_rank_law(std::size_t n) {
    std::vector<double> law(n * (n + 1) / 2 + 1, 0.0);
    law[0] = 1;
    std::size_t reach = 0;
    for (std::size_t rank = 1; rank <= n; ++rank) {
        reach += rank;
        for (std::size_t v = reach + 1; v-- > 0;) law[v] = (law[v] + (v >= rank ? law[v - rank] : 0)) / 2;
    }
    return law;
}

/// P(W = w) of the rank sum of m among m + n, less its least value, w from 0 to m n. Each step of the recursion over
/// the greatest item keeps probabilities, so that nothing overflows.
std::vector<double> rank_sum_law(std::size_t m, std::size_t n) {
    std::vector<std::vector<double>> previous(m + 1), current(m + 1);
    for (std::size_t i = 0; i <= m; ++i) previous[i] = {1.0};
    for (std::size_t j = 1; j <= n; ++j) {
        current[0] = {1.0};
        for (std::size_t i = 1; i <= m; ++i) {
            current[i].assign(i * j + 1, 0.0);
            const double share = static_cast<double>(i) / static_cast<double>(i + j);
            for (std::size_t w = 0; w < current[i - 1].size(); ++w) current[i][w + j] += share * current[i - 1][w];
            for (std::size_t w = 0; w < previous[i].size(); ++w) current[i][w] += (1 - share) * previous[i][w];
        }
        std::swap(previous, current);
    }
    return previous[m];
}

struct Cut {
    std::size_t rank = 1;  ///< from 1: the interval runs from this one to the same one from the end
    double coverage = 0;
};

Cut exact_cut(const std::vector<double>& law) {
    double below = 0;
    std::size_t rank = 0;
    while (rank < law.size() && below + law[rank] <= tail) below += law[rank++];
    if (rank == 0) return {1, std::max(0.0, 1 - 2 * law[0])};
    return {rank, 1 - 2 * below};
}

Cut normal_cut(double mean, double variance, std::size_t pairs) {
    const double rank = std::floor(mean + normal_quantile(tail) * std::sqrt(variance));
    const auto whole = static_cast<std::size_t>(std::clamp(rank, 1.0, static_cast<double>((pairs + 1) / 2)));
    return {whole, 1 - 2 * tail};
}

Shift shift_from(std::vector<double>& pairs, const Cut& cut) {
    std::sort(pairs.begin(), pairs.end());
    return {middle_of(pairs), {pairs[cut.rank - 1], pairs[pairs.size() - cut.rank]}, cut.coverage};
}

double signed_rank_sum(std::span<const double> differences) {
    std::vector<double> present;
    for (const double difference : differences)
        if (difference != 0) present.push_back(difference);
    std::sort(present.begin(), present.end(), [](double a, double b) { return std::abs(a) < std::abs(b); });
    double sum = 0;
    for (std::size_t begin = 0; begin < present.size();) {
        std::size_t end = begin;
        while (end < present.size() && std::abs(present[end]) == std::abs(present[begin])) ++end;
        const double rank = static_cast<double>(begin + 1 + end) / 2;
        for (; begin < end; ++begin)
            if (present[begin] > 0) sum += rank;
    }
    return sum;
}

/// Sizes of the groups of equal values.
std::vector<double> ties_of(std::span<const double> values) {
    std::vector<double> ordered(values.begin(), values.end());
    std::sort(ordered.begin(), ordered.end());
    std::vector<double> sizes;
    for (std::size_t begin = 0, end = 0; begin < ordered.size(); begin = end) {
        while (end < ordered.size() && ordered[end] == ordered[begin]) ++end;
        if (end - begin > 1) sizes.push_back(static_cast<double>(end - begin));
    }
    return sizes;
}

/// Variance of Kendall's S without a trend, ties in both (Kendall 1975).
double score_variance(std::span<const double> x, std::span<const double> y) {
    const auto n = static_cast<double>(x.size());
    double variance = n * (n - 1) * (2 * n + 5) / 18;
    double pairs_x = 0, pairs_y = 0, triples_x = 0, triples_y = 0;
    for (const double t : ties_of(x)) {
        variance -= t * (t - 1) * (2 * t + 5) / 18;
        pairs_x += t * (t - 1);
        triples_x += t * (t - 1) * (t - 2);
    }
    for (const double t : ties_of(y)) {
        variance -= t * (t - 1) * (2 * t + 5) / 18;
        pairs_y += t * (t - 1);
        triples_y += t * (t - 1) * (t - 2);
    }
    variance += pairs_x * pairs_y / (2 * n * (n - 1));
    if (n > 2) variance += triples_x * triples_y / (9 * n * (n - 1) * (n - 2));
    return variance;
}

/// The slopes of all pairs of different x, of which there are `count`.
struct Slopes {
    std::span<const double> x, y;
    std::size_t count;

    template <class Each>
    void each(Each take) const {
        for (std::size_t i = 0; i < x.size(); ++i)
            for (std::size_t j = i + 1; j < x.size(); ++j)
                if (x[i] != x[j]) take((y[j] - y[i]) / (x[j] - x[i]));
    }
    [[nodiscard]] std::vector<double> all() const {
        std::vector<double> slopes;
        slopes.reserve(count);
        each([&](double slope) { slopes.push_back(slope); });
        return slopes;
    }
    /// Of pairs drawn by chance, always the same ones; ordered.
    [[nodiscard]] std::vector<double> some(std::size_t wanted) const {
        Random random(x.size(), 0x736c6f7065);
        std::vector<double> slopes;
        const auto size = static_cast<std::uint32_t>(x.size());
        for (std::size_t tried = 0; tried < 2 * wanted && slopes.size() < wanted; ++tried) {
            const std::size_t i = random.below(size), j = random.below(size);
            if (x[i] != x[j]) slopes.push_back((y[j] - y[i]) / (x[j] - x[i]));
        }
        std::sort(slopes.begin(), slopes.end());
        return slopes;
    }
};

constexpr std::size_t slope_places = 4;

/// The slopes at these places in their order. Years of an athlete's days are millions of pairs: a sample says between
/// which two slopes a place must lie, so that all are looked at once and only few are ordered; the numbers are those of
/// the whole order, to the bit.
std::array<double, slope_places> slopes_at(const Slopes& slopes, const std::array<std::size_t, slope_places>& places) {
    constexpr std::size_t few = 200'000, sampled = 32'768;
    struct Bracket {
        double from = -HUGE_VAL, to = HUGE_VAL;
        std::size_t below = 0;
        std::vector<double> inside{};
    };
    std::array<Bracket, slope_places> brackets;
    if (slopes.count > few) {
        const std::vector<double> sample = slopes.some(sampled);
        const auto size = static_cast<double>(sample.size());
        for (std::size_t i = 0; i < slope_places && !sample.empty(); ++i) {
            const double share = static_cast<double>(places[i]) / static_cast<double>(slopes.count);
            const double off = 6 * std::sqrt(size * share * (1 - share)) + 6;  // six standard deviations
            if (share * size - off > 0) brackets[i].from = sample[static_cast<std::size_t>(share * size - off)];
            if (share * size + off < size - 1) brackets[i].to = sample[static_cast<std::size_t>(share * size + off)];
        }
        slopes.each([&](double slope) {
            for (Bracket& bracket : brackets) {
                if (slope < bracket.from)
                    ++bracket.below;
                else if (slope <= bracket.to)
                    bracket.inside.push_back(slope);
            }
        });
    }
    std::array<double, slope_places> found{};
    for (std::size_t i = 0; i < slope_places; ++i) {
        auto& [from, to, below, inside] = brackets[i];
        // Few of them, or a sample that misled.
        if (places[i] < below || places[i] - below >= inside.size()) {
            inside = slopes.all();
            below = 0;
        }
        const auto place = inside.begin() + static_cast<std::ptrdiff_t>(places[i] - below);
        std::nth_element(inside.begin(), place, inside.end());
        found[i] = *place;
    }
    return found;
}

double sign(double value) { return value > 0 ? 1 : value < 0 ? -1 : 0; }

}  // namespace

std::optional<PairedShift> shift_of(std::span<const double> differences) {
    const std::size_t n = differences.size();
    if (n == 0) return std::nullopt;
    std::vector<double> pairs;
    pairs.reserve(n * (n + 1) / 2);
    for (std::size_t i = 0; i < n; ++i)
        for (std::size_t j = i; j < n; ++j) pairs.push_back((differences[i] + differences[j]) / 2);
    const auto size = static_cast<double>(n);
    const Cut cut = n < exact_below
                        ? exact_cut(signed_rank_law(n))
                        : normal_cut(size * (size + 1) / 4, size * (size + 1) * (2 * size + 1) / 24, pairs.size());
    PairedShift result;
    static_cast<Shift&>(result) = shift_from(pairs, cut);
    result.rank_sum = signed_rank_sum(differences);
    return result;
}

std::optional<Shift> shift_between(std::span<const double> before, std::span<const double> after) {
    if (before.empty() || after.empty()) return std::nullopt;
    std::vector<double> pairs;
    pairs.reserve(before.size() * after.size());
    for (const double from : before)
        for (const double to : after) pairs.push_back(to - from);
    const auto m = static_cast<double>(before.size()), n = static_cast<double>(after.size());
    const Cut cut = before.size() < exact_below && after.size() < exact_below
                        ? exact_cut(rank_sum_law(before.size(), after.size()))
                        : normal_cut(m * n / 2, m * n * (m + n + 1) / 12, pairs.size());
    return shift_from(pairs, cut);
}

std::optional<MannKendall> mann_kendall(std::span<const double> x, std::span<const double> y) {
    if (x.size() < 3 || x.size() != y.size()) return std::nullopt;
    MannKendall result;
    for (std::size_t i = 0; i < x.size(); ++i)
        for (std::size_t j = i + 1; j < x.size(); ++j) result.score += sign(x[j] - x[i]) * sign(y[j] - y[i]);
    result.variance = score_variance(x, y);
    // A variance of zero, up to rounding, is a list with nothing to order.
    if (!(result.variance > 1e-9)) return std::nullopt;
    result.z = (result.score - sign(result.score)) / std::sqrt(result.variance);
    result.p = std::min(1.0, 2 * normal_cumulative(-std::abs(result.z)));
    return result;
}

std::optional<TheilSen> theil_sen(std::span<const double> x, std::span<const double> y) {
    if (x.size() < 3 || x.size() != y.size()) return std::nullopt;
    std::size_t count = x.size() * (x.size() - 1) / 2;
    for (const double tied : ties_of(x)) count -= static_cast<std::size_t>(tied * (tied - 1) / 2);
    if (count == 0) return std::nullopt;
    const auto pairs = static_cast<double>(count);
    const double reach = -normal_quantile(tail) * std::sqrt(std::max(0.0, score_variance(x, y)));
    const double low = std::max(std::nearbyint((pairs - reach) / 2) - 1, 0.0);
    const double high = std::min(std::nearbyint((pairs + reach) / 2), pairs - 1);
    const auto at = slopes_at(
        {x, y, count}, {static_cast<std::size_t>(low), (count - 1) / 2, count / 2, static_cast<std::size_t>(high)});
    return TheilSen{count % 2 == 1 ? at[1] : (at[1] + at[2]) / 2, {at[0], at[3]}};
}

}  // namespace breakstep::progress
