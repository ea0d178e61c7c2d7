#include "core/progress/gain.hpp"

#include <algorithm>
#include <cmath>

#include "core/reading/timeable_index.hpp"

namespace breakstep::progress {
namespace {

/// Two-sided 95 %: the normal law's quantile of .975.
constexpr double z_of_95 = 1.959963984540054;
/// Form's scatter from evening to evening, on the logit scale: as the ladder has it (rung_account.hpp).
constexpr double evening_scatter = 0.3;

/// One side of the comparison.
struct Side {
    std::uint64_t hits = 0, of = 0;
    std::map<std::int32_t, std::uint64_t> by_day;

    [[nodiscard]] double rate() const { return static_cast<double>(hits) / static_cast<double>(of); }
    /// By how much fewer independent reps these stand for: 1 + (m - 1) rho, m the reps an evening weighed by
    /// themselves, rho the share of an evening in a rep's variance (its scatter times p (1 - p), squared, of p (1 -
    /// p)).
    [[nodiscard]] double design_effect() const {
        double squares = 0;
        for (const auto& [day, reps] : by_day) squares += static_cast<double>(reps) * static_cast<double>(reps);
        const double n = static_cast<double>(of), p = (static_cast<double>(hits) + 1) / (n + 2);
        return 1 + (squares / n - 1) * evening_scatter * evening_scatter * p * (1 - p);
    }
    [[nodiscard]] reading::Interval95 interval() const {
        const double n = static_cast<double>(of) / design_effect(), p = rate(), z2 = z_of_95 * z_of_95;
        const double middle = (p + z2 / (2 * n)) / (1 + z2 / n);
        const double half = z_of_95 / (1 + z2 / n) * std::sqrt(p * (1 - p) / n + z2 / (4 * n * n));
        return {middle - half, middle + half};
    }
};

}  // namespace

void GainTally::add(const SessionFact& session, const RepFact& rep, bool hit) {
    // A test is compared with tests, and where the level follows a rep is as hard as the athlete is good.
    if (session.test || rep.window != 1 || rep.kind == AttackKind::feint) return;
    Way way{};
    switch (rep.start) {
        case StartKind::random:
            // Of a drill whose attacks are drawn one that came by itself is neither.
            if (session.start != StartKind::random) return;
            way = Way::random;
            break;
        case StartKind::drawn:
            way = Way::drawn;
            break;
        case StartKind::pattern:
            way = Way::pattern;
            break;
        default:
            return;
    }
    const Cell cell{rep.moment, rep.counter, session.stance, false, rep.moments};
    reps_[{cell, rep.kind, session.level}][static_cast<std::size_t>(way)].push_back({session.day, hit});
}

Gain GainTally::of(StartKind start) const {
    const Way asked = start == StartKind::pattern ? Way::pattern : Way::drawn;
    Side one, random;
    for (const auto& [alike, ways] : reps_) {
        const auto& these = ways[static_cast<std::size_t>(asked)];
        const auto& those = ways[static_cast<std::size_t>(Way::random)];
        const std::size_t count = std::min(these.size(), those.size());
        const auto take = [count](const std::vector<One>& all, Side& side) {
            for (auto each = all.end() - static_cast<std::ptrdiff_t>(count); each != all.end(); ++each) {
                ++side.of;
                side.hits += each->hit ? 1 : 0;
                ++side.by_day[each->day];
            }
        };
        take(these, one);
        take(those, random);
    }
    Gain gain;
    gain.of = one.of;
    gain.on_time = one.hits;
    gain.on_time_random = random.hits;
    if (gain.of == 0) return gain;
    const reading::Interval95 a = one.interval(), b = random.interval();
    gain.difference = one.rate() - random.rate();
    gain.low = gain.difference - std::hypot(one.rate() - a.low, b.high - random.rate());
    gain.high = gain.difference + std::hypot(a.high - one.rate(), random.rate() - b.low);
    return gain;
}

}  // namespace breakstep::progress
