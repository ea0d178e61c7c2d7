#include "core/progress/simplex.hpp"

#include <algorithm>
#include <cmath>
#include <cstddef>

namespace breakstep::progress {
namespace {

using Function = std::function<double(const std::vector<double>&)>;

/// The rounding of a deviance of some thousands is about 1e-12; nothing finer can be told.
constexpr double finest = 1e-11;
constexpr int steps_per_run = 2000;
constexpr int runs = 20;

struct Corner {
    std::vector<double> at;
    double value = 0;
};

/// The point `distance` times as far from `centre` as `corner` is, on the line through both.
Corner on_line(const Function& function, const std::vector<double>& centre, const Corner& corner, double distance) {
    Corner result{centre, 0};
    for (std::size_t i = 0; i < centre.size(); ++i) result.at[i] += distance * (corner.at[i] - centre[i]);
    result.value = function(result.at);
    return result;
}

bool small(const std::vector<Corner>& corners) {
    double widest = 0;
    for (const Corner& corner : corners)
        for (std::size_t i = 0; i < corner.at.size(); ++i)
            widest = std::max(widest, std::abs(corner.at[i] - corners[0].at[i]));
    return widest < 1e-5 && corners.back().value - corners[0].value < finest;
}

/// One step; corners are in order of value before and after.
void step_once(const Function& function, std::vector<Corner>& corners) {
    const std::size_t size = corners.size() - 1;
    std::vector<double> centre(size, 0.0);
    for (std::size_t c = 0; c < size; ++c)
        for (std::size_t i = 0; i < size; ++i) centre[i] += corners[c].at[i] / static_cast<double>(size);
    Corner& worst = corners.back();
    Corner reflected = on_line(function, centre, worst, -1);
    if (reflected.value < corners[0].value) {
        Corner expanded = on_line(function, centre, worst, -2);
        worst = expanded.value < reflected.value ? std::move(expanded) : std::move(reflected);
    } else if (reflected.value < corners[size - 1].value) {
        worst = std::move(reflected);
    } else {
        const bool outside = reflected.value < worst.value;
        Corner nearer = on_line(function, centre, worst, outside ? -0.5 : 0.5);
        if (nearer.value < std::min(reflected.value, worst.value)) {
            worst = std::move(nearer);
        } else {
            for (std::size_t c = 1; c <= size; ++c) corners[c] = on_line(function, corners[0].at, corners[c], 0.5);
        }
    }
    std::stable_sort(corners.begin(), corners.end(),
                     [](const Corner& a, const Corner& b) { return a.value < b.value; });
}

}  // namespace

Least minimise(const Function& function, std::vector<double> start, double step) {
    Least best{std::move(start), 0, false};
    best.value = function(best.at);
    for (int run = 0; run < runs && !best.settled; ++run) {
        std::vector<Corner> corners{{best.at, best.value}};
        for (std::size_t i = 0; i < best.at.size(); ++i) {
            Corner corner{best.at, 0};
            corner.at[i] += step;
            corner.value = function(corner.at);
            corners.push_back(std::move(corner));
        }
        std::stable_sort(corners.begin(), corners.end(),
                         [](const Corner& a, const Corner& b) { return a.value < b.value; });
        bool ended = false;
        for (int i = 0; i < steps_per_run && !ended; ++i) {
            step_once(function, corners);
            ended = small(corners);
        }
        best.settled = ended && best.value - corners[0].value < 10 * finest;
        best.at = corners[0].at;
        best.value = corners[0].value;
        step /= 2;
    }
    return best;
}

}  // namespace breakstep::progress
