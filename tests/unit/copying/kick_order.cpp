// The order of somebody's kicks, learned of as many as five partner drills hold: what can be read of them can be read
// of who kicks by what was learned, and where there is no order none is seen.
#include "core/copying/kick_order.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numeric>
#include <optional>
#include <utility>

#include "core/random.hpp"
#include "support/kicks.hpp"

using namespace breakstep;
using copying::kind_count;
using copying::KindShares;
using copying::Stretches;
using testing::can_be_read;

namespace {

// Five free exchanges of a simulated partner hold about so many of their own.
constexpr std::size_t stretch_count = 16, stretch_length = 18;

/// The chance of each kind after each; the kinds alike where nothing is said.
struct Law {
    std::array<KindShares, kind_count> after;
};

constexpr KindShares alike{0.25, 0, 0, 0.25, 0.25, 0.25};

Law law_of(std::optional<std::pair<AttackKind, AttackKind>> habit, double share) {
    Law law;
    law.after.fill(alike);
    if (!habit) return law;
    KindShares& row = law.after[static_cast<std::size_t>(habit->first)];
    for (double& each : row) each *= 1 - share;
    row[static_cast<std::size_t>(habit->second)] += share;
    return law;
}

AttackKind drawn(const KindShares& shares, Random& random) {
    double draw = random.unit();
    std::size_t last = 0;
    for (std::size_t i = 0; i < kind_count; ++i) {
        if (shares[i] <= 0) continue;
        last = i;
        draw -= shares[i];
        if (draw < 0) break;
    }
    return static_cast<AttackKind>(last);
}

Stretches kicks_by(const std::array<KindShares, kind_count>& after, const KindShares& first, Random& random) {
    Stretches kicks;
    for (std::size_t s = 0; s < stretch_count; ++s) {
        auto& stretch = kicks.emplace_back();
        while (stretch.size() < stretch_length)
            stretch.push_back(drawn(stretch.empty() ? first : after[static_cast<std::size_t>(stretch.back())], random));
    }
    return kicks;
}

struct Told {
    int partner = 0, counted = 0, copy = 0, order = 0;
};

/// What was counted after each kind, as it stands; the law where nothing was.
std::array<KindShares, kind_count> counted(const Stretches& kicks, const Law& law) {
    std::array<KindShares, kind_count> after{};
    for (const auto& stretch : kicks)
        for (std::size_t i = 1; i < stretch.size(); ++i)
            ++after[static_cast<std::size_t>(stretch[i - 1])][static_cast<std::size_t>(stretch[i])];
    for (std::size_t from = 0; from < kind_count; ++from) {
        const double n = std::accumulate(after[from].begin(), after[from].end(), 0.0);
        for (double& each : after[from]) each /= std::max(1.0, n);
        if (n == 0) after[from] = law.after[from];
    }
    return after;
}

/// Of so many partners, each copied once: how often the reading told the partner, who kicks as it was counted, and the
/// copy; and an order was seen.
Told told_of(const Law& law, int partners, std::uint64_t seed) {
    Told told;
    Random random(seed);
    for (int i = 0; i < partners; ++i) {
        const Stretches kicks = kicks_by(law.after, alike, random);
        const copying::KickOrder order = copying::order_of(kicks);
        told.partner += can_be_read(kicks) ? 1 : 0;
        told.counted += can_be_read(kicks_by(counted(kicks, law), alike, random)) ? 1 : 0;
        told.copy += can_be_read(kicks_by(order.after, alike, random)) ? 1 : 0;
        told.order += order.any() ? 1 : 0;
    }
    return told;
}

double three_errors(int one, int other, int of) {
    const double p = static_cast<double>(one) / of, q = static_cast<double>(other) / of;
    return 3 * std::sqrt((p * (1 - p) + q * (1 - q)) / of);
}

constexpr std::pair<AttackKind, AttackKind> feints_after_hands{AttackKind::leg_to_hands, AttackKind::feint};

}  // namespace

TEST_CASE("a habit is told in a copy as often as in its partner, but for what counting under 300 kicks costs") {
    constexpr int partners = 400;
    for (const double share : {0.7, 0.8, 0.9, 0.95}) {
        CAPTURE(share);
        const Told told = told_of(law_of(feints_after_hands, share), partners, 5);
        MESSAGE("kept in ", share, ": of ", partners, " partners told ", told.partner, ", of who kicks as counted ",
                told.counted, ", of copies ", told.copy);
        CHECK(told.order == partners);
        // Whoever counts errs to both sides, and errs away from a habit that nearly always shows; nothing beyond that.
        CHECK(std::abs(told.copy - told.counted) / double{partners} <=
              three_errors(told.copy, told.counted, partners) + 0.01);
        CHECK(told.copy >= 0.9 * told.partner);
    }
}

TEST_CASE("where there is no order, hardly any is seen, and nothing can be read of a copy") {
    constexpr int partners = 1000;
    const Told told = told_of(law_of(std::nullopt, 0), partners, 6);
    MESSAGE("without a habit: of ", partners, " an order seen in ", told.order, ", copies told ", told.copy);
    CHECK(told.order <= partners / 20);
    // The promise of the stream, 1 in 40.
    CHECK(told.copy <= partners / 40);
}

TEST_CASE("what always follows one kick does not come more often after the others") {
    Random random(7);
    const Law law = law_of(feints_after_hands, 0.9);
    std::size_t own = 0;
    double feints = 0;
    constexpr int partners = 100;
    for (int i = 0; i < partners; ++i) {
        const copying::KickOrder order = copying::order_of(kicks_by(law.after, alike, random));
        for (const bool each : order.own) own += each ? 1 : 0;
        feints +=
            order.after[static_cast<std::size_t>(AttackKind::single)][static_cast<std::size_t>(AttackKind::feint)];
    }
    CHECK(own >= partners);
    CHECK(own <= partners * 21 / 20);
    // A quarter by the law; the shares of all kicks would say .39. Each of some 220 kicks.
    CHECK(feints / partners == doctest::Approx(0.25).epsilon(0.04));
}

TEST_CASE("nobody's kicks have no order, and one kick makes none") {
    CHECK_FALSE(copying::order_of({}).any());
    const copying::KickOrder one = copying::order_of({{AttackKind::feint}});
    CHECK_FALSE(one.any());
    for (const KindShares& row : one.after) CHECK(row[static_cast<std::size_t>(AttackKind::feint)] == 1);
}
