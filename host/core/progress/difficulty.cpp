#include "core/progress/difficulty.hpp"

#include <cmath>

#include "core/progress/distributions.hpp"

namespace breakstep::progress {

double staircase_share(std::int32_t in_a_row) { return std::pow(0.5, 1.0 / in_a_row); }

double staircase_step_ratio(double share) { return share / (1 - share); }

double half_window(double timing_error, double share) { return timing_error * normal_quantile((1 + share) / 2); }

}  // namespace breakstep::progress
