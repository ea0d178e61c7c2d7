#include "core/leading/coin_drill.hpp"

#include <algorithm>
#include <cmath>

#include "core/leading/follow_test.hpp"
#include "core/trade/rules.hpp"

namespace breakstep::leading {

void CoinDrill::add(bool cued, bool entered) {
    const auto missed = [](const Count& count) { return count.of - count.entered; };
    const auto ones = static_cast<double>(entered ? after_cue_.entered : missed(after_cue_));
    const auto all = ones + static_cast<double>(entered ? after_nothing_.entered : missed(after_nothing_));
    const double guess =
        entered ? std::max(0.5, (ones + 2.0) / (all + 3.0)) : std::min(0.5, (ones + 1.0) / (all + 3.0));
    log_wealth_ += std::log(2.0 * (cued ? guess : 1.0 - guess));
    Count& count = cued ? after_cue_ : after_nothing_;
    ++count.of;
    count.entered += entered ? 1 : 0;
    if (told_at_ == 0 && log_wealth_ >= std::log(tell_wealth)) told_at_ = trials();
}

double CoinDrill::wealth() const { return wealth_from(log_wealth_); }

}  // namespace breakstep::leading
