// The least value of a smooth function of a few numbers, without its derivatives: Nelder & Mead's simplex (1965), begun
// anew where it ended until that gains nothing. Pure; any thread; the same bits on every run.
#pragma once

#include <functional>
#include <vector>

namespace breakstep::progress {

struct Least {
    std::vector<double> at;
    double value = 0;
    bool settled = false;  ///< false: the steps ran out first
};

/// `start` is not empty; `step` is the first simplex' size in every direction. `function` may give infinity where it is
/// not defined, but not at the start.
[[nodiscard]] Least minimise(const std::function<double(const std::vector<double>&)>& function,
                             std::vector<double> start, double step);

}  // namespace breakstep::progress
