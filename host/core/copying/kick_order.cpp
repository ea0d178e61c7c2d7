#include "core/copying/kick_order.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <optional>

#include "core/trade/rules.hpp"

namespace breakstep::copying {
namespace {

std::size_t index(AttackKind kind) { return static_cast<std::size_t>(kind); }

double all(const KindCounts& counts) {
    return static_cast<double>(std::accumulate(counts.begin(), counts.end(), std::uint64_t{0}));
}

/// How likely the kicks are under shares of which nothing is known beforehand but which kinds come at all: half a kick
/// of prior for each (Krichevsky & Trofimov), as a logarithm.
double evidence(const KindCounts& counts, const KindShares& shares) {
    constexpr double prior = 0.5;
    double sum = 0, kinds = 0;
    for (std::size_t i = 0; i < kind_count; ++i) {
        if (shares[i] <= 0) continue;
        sum += std::lgamma(prior + static_cast<double>(counts[i])) - std::lgamma(prior);
        ++kinds;
    }
    return sum + std::lgamma(prior * kinds) - std::lgamma(prior * kinds + all(counts));
}

KindCounts plus(KindCounts one, const KindCounts& other) {
    for (std::size_t i = 0; i < kind_count; ++i) one[i] += other[i];
    return one;
}

struct Rows {
    std::array<KindCounts, kind_count> after{};
    KindCounts first{};  ///< of stretches
    KindShares shares{};

    /// What came where no row of its own says what comes.
    [[nodiscard]] KindCounts rest(const std::array<bool, kind_count>& own) const {
        KindCounts counts = first;
        for (std::size_t from = 0; from < kind_count; ++from)
            if (!own[from]) counts = plus(counts, after[from]);
        return counts;
    }
    /// How much likelier two laws make the row and the rest than one, as a logarithm.
    [[nodiscard]] double gain(std::size_t from, std::array<bool, kind_count> own) const {
        own[from] = true;
        const KindCounts others = rest(own);
        return evidence(after[from], shares) + evidence(others, shares) - evidence(plus(after[from], others), shares);
    }
};

/// The counts' shares, with half a kick at those that stand beside it: eight of eight is not always.
KindShares drawn_towards(const KindShares& beside, const KindCounts& counts) {
    constexpr double prior = 0.5;
    KindShares row{};
    for (std::size_t i = 0; i < kind_count; ++i)
        row[i] = (static_cast<double>(counts[i]) + prior * beside[i]) / (all(counts) + prior);
    return row;
}

}  // namespace

bool KickOrder::any() const { return std::find(own.begin(), own.end(), true) != own.end(); }

KindCounts counts_of(const Stretches& stretches) {
    KindCounts counts{};
    for (const auto& stretch : stretches)
        for (const AttackKind kind : stretch) ++counts[index(kind)];
    return counts;
}

KickOrder order_of(const Stretches& stretches) {
    KickOrder order;
    const KindCounts counts = counts_of(stretches);
    if (all(counts) == 0) return order;
    Rows rows;
    for (std::size_t i = 0; i < kind_count; ++i) rows.shares[i] = static_cast<double>(counts[i]) / all(counts);
    for (const auto& stretch : stretches) {
        if (!stretch.empty()) ++rows.first[index(stretch.front())];
        for (std::size_t i = 1; i < stretch.size(); ++i) ++rows.after[index(stretch[i - 1])][index(stretch[i])];
    }
    const auto kinds = static_cast<double>(kind_count - std::count(counts.begin(), counts.end(), 0U));
    const double enough = std::log(tell_wealth * kinds);
    for (;;) {
        std::optional<std::size_t> next;
        double most = enough;
        for (std::size_t from = 0; from < kind_count; ++from) {
            if (order.own[from]) continue;
            if (const double gain = rows.gain(from, order.own); gain >= most) {
                next = from;
                most = gain;
            }
        }
        if (!next) break;
        order.own[*next] = true;
    }
    const KindShares shared = drawn_towards(rows.shares, rows.rest(order.own));
    for (std::size_t from = 0; from < kind_count; ++from)
        order.after[from] = order.own[from] ? drawn_towards(shared, rows.after[from]) : shared;
    return order;
}

}  // namespace breakstep::copying
