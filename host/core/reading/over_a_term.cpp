#include "core/reading/over_a_term.hpp"

#include <algorithm>
#include <numeric>

#include "core/trade/rules.hpp"

namespace breakstep::reading {

void TermTell::drill_ended(double wealth) {
    ++drills_;
    const auto k = static_cast<double>(drills_);
    // 1e300 is as good as certain; the limit keeps the product finite.
    running_ = std::min((running_ + 1.0 / (k * (k + 1.0))) * wealth, 1e300);
    if (told_at_ == 0 && total() >= tell_wealth) told_at_ = drills_;
}

double TermTell::total() const { return running_ + 1.0 / (static_cast<double>(drills_) + 1.0); }

std::vector<std::size_t> named_by_e_bh(std::span<const double> wealths, double rate) {
    std::vector<std::size_t> order(wealths.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return wealths[a] > wealths[b]; });
    const auto athletes = static_cast<double>(wealths.size());
    std::size_t named = 0;
    for (std::size_t k = 1; k <= order.size(); ++k)
        if (wealths[order[k - 1]] * rate * static_cast<double>(k) >= athletes) named = k;
    order.resize(named);
    return order;
}

}  // namespace breakstep::reading
