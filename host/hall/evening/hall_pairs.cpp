#include "hall/evening/hall_pairs.hpp"

namespace breakstep {
namespace {

constexpr Duration last_stands = 10s;
constexpr std::int32_t rounds_most = 20;

}  // namespace

std::optional<PairsClass> class_that_fits(const Drill& drill, std::uint64_t seed, Duration time,
                                          std::vector<std::pair<std::string, std::string>> names) {
    PairsOptions options;
    options.pairs = static_cast<std::int32_t>(names.size());
    const auto planned = [&]() -> std::optional<PairsClass> {
        std::vector<PairsRound> rounds = plan_pairs(drill, seed, options);
        if (rounds.empty() || rounds.back().end + last_stands > time) return std::nullopt;
        return PairsClass{drill, std::move(rounds), names};
    };
    for (options.rounds = rounds_most; options.rounds >= 2; options.rounds -= 2)
        if (auto found = planned()) return found;
    options.rounds = 2;
    for (; options.cues >= 1; --options.cues)
        if (auto found = planned()) return found;
    return std::nullopt;
}

HallPairs::HallPairs(const PairsClass& given, HostTime began) : steps_(steps_of(given)), began_(began) {}

std::optional<HallPairs::Step> HallPairs::due(HostTime now, bool paused) {
    if (paused) {
        if (paused_at_ || !view_) return std::nullopt;
        paused_at_ = now;
        // Nobody is to attack by a cue that stands still.
        view_->pairs = {};
        view_->pairs.words = "Pause.";
        view_->pairs.begin = view_->pairs.end = now;
        return Step{*view_, false};
    }
    const bool goes_on = paused_at_.has_value();
    if (goes_on) {
        began_ += now - *paused_at_;
        paused_at_.reset();
    }
    // What was missed (a computer that slept) is skipped: the class stands where its clock is.
    bool tone = false;
    for (; next_ < steps_.size() && began_ + steps_[next_].from <= now; ++next_) tone = tone || steps_[next_].tone;
    if (next_ == steps_.size() && now >= began_ + steps_.back().from + last_stands) {
        view_.reset();
        return std::nullopt;
    }
    // After a pause the same step stands at another time.
    if (next_ == shown_ && !goes_on) return std::nullopt;
    if (next_ == 0) return std::nullopt;
    shown_ = next_;
    view_ = pairs_view(steps_[next_ - 1], began_);
    return Step{*view_, tone};
}

}  // namespace breakstep
