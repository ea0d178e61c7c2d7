#include "core/score/lure_watch.hpp"

#include "core/reading/lure.hpp"
#include "core/trade/rules.hpp"

namespace breakstep::scoring {

LureWatch::Expected LureWatch::entry(TargetTime at) {
    if (last_ && !last_->same_boot(at)) interrupted();
    if (!test_) test_.emplace();
    if (last_) {
        const Duration interval = at - *last_;
        if (interval <= Duration{}) return {};
        if (committed_) {
            if (!breaking_) breaking_ = interval;
            last_ = at;
            return {};
        }
        if (set_.size() == lure_entries_max) return {};
        set_.push_back(interval);
        (void)test_->entered(interval);
    }
    last_ = at;
    const reading::Forecast& forecast = test_->predict(usual_shortest);
    return {forecast.window, forecast.window && test_->wealth() >= hunch_wealth};
}

void LureWatch::opened() { committed_ = true; }

LureRead LureWatch::closed(bool contact_in_lift) {
    LureRead read;
    read.played = true;
    // Who did not step in again broke nothing; what was set is told all the same.
    const reading::LureScore score =
        reading::score_lure(set_, breaking_.value_or(lure_patience), usual_shortest, contact_in_lift);
    read.windows = static_cast<std::int32_t>(score.set.scored);
    read.caught = static_cast<std::int32_t>(score.set.hits);
    read.wealth = score.set_wealth;
    read.readable = score.readable;
    if (breaking_) {
        read.ahead = score.ahead;
        read.broken = score.broken;
    }
    interrupted();
    return read;
}

void LureWatch::interrupted() {
    test_.reset();
    set_.clear();
    breaking_.reset();
    last_.reset();
    committed_ = false;
}

}  // namespace breakstep::scoring
