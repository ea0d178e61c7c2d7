#include "core/progress/false_discovery.hpp"

#include <algorithm>
#include <cstddef>
#include <numeric>

namespace breakstep::progress {

std::vector<double> false_discovery_adjusted(std::span<const double> p_values) {
    std::vector<std::size_t> order(p_values.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return p_values[a] < p_values[b]; });
    std::vector<double> adjusted(p_values.size());
    double least = 1;
    for (std::size_t i = order.size(); i-- > 0;) {
        const double scaled = p_values[order[i]] * static_cast<double>(p_values.size()) / static_cast<double>(i + 1);
        least = std::min(least, scaled);
        adjusted[order[i]] = least;
    }
    return adjusted;
}

}  // namespace breakstep::progress
