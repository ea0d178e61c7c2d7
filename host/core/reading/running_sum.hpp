// A sum of many doubles that does not drift (Neumaier 1974, improved Kahan summation): the error stays a few units in
// the last place of the result however long the drill. A value; any thread; cannot fail.
#pragma once

#include <cmath>

namespace breakstep::reading {

class RunningSum {
  public:
    void add(double value) {
        const double sum = sum_ + value;
        correction_ += std::abs(sum_) >= std::abs(value) ? (sum_ - sum) + value : (value - sum) + sum_;
        sum_ = sum;
    }
    [[nodiscard]] double value() const { return sum_ + correction_; }

  private:
    double sum_ = 0;
    double correction_ = 0;
};

}  // namespace breakstep::reading
