#include "core/reading/history.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace breakstep::reading {
namespace {

double median_of(double* values, std::size_t count) {
    std::sort(values, values + count);
    return count % 2 == 1 ? values[count / 2] : (values[count / 2 - 1] + values[count / 2]) / 2.0;
}

}  // namespace

void IntervalHistory::add(double interval, double logarithm, bool observed) {
    const auto place = static_cast<std::size_t>(size_) & (kept_max - 1);
    intervals_[place] = interval;
    logarithms_[place] = logarithm;
    observed_[place] = observed;
    ++size_;
}

double IntervalHistory::median(std::size_t count, std::size_t stride) const {
    std::array<double, 8> values;
    for (std::size_t i = 0; i < count; ++i) values[i] = interval((i + 1) * stride);
    return median_of(values.data(), count);
}

double IntervalHistory::median_above(double threshold) const {
    std::array<double, looked_back> values;
    std::size_t count = 0;
    const std::size_t last = std::min(kept(), looked_back);
    for (std::size_t back = 1; back <= last; ++back)
        if (observed(back) && interval(back) > threshold) values[count++] = interval(back);
    return count == 0 ? 0.0 : median_of(values.data(), count);
}

double IntervalHistory::median_after_nearest() const {
    constexpr std::size_t wanted = 3;
    const double last = logarithm(1);
    const double one_before = logarithm(2);
    std::array<double, wanted> distances;
    distances.fill(std::numeric_limits<double>::infinity());
    std::array<double, wanted> followed{};
    std::size_t found = 0;
    // Each candidate is the interval `back` steps ago with its own two pasts. Newest first, and an equal distance
    // replaces a newer one, so that ties go to the older.
    const auto oldest = static_cast<std::size_t>(std::min<std::uint64_t>(size_ - 2, looked_back));
    for (std::size_t back = 1; back <= oldest; ++back) {
        const double distance = std::abs(logarithm(back + 1) - last) + std::abs(logarithm(back + 2) - one_before);
        if (distance > distances[wanted - 1]) continue;
        std::size_t place = wanted - 1;
        for (; place > 0 && distance <= distances[place - 1]; --place) {
            distances[place] = distances[place - 1];
            followed[place] = followed[place - 1];
        }
        distances[place] = distance;
        followed[place] = interval(back);
        ++found;
    }
    return median_of(followed.data(), std::min(found, wanted));
}

}  // namespace breakstep::reading
