// The one-sided envelope of the sound stream. With callbacks only ever late, the line through the two corners of the
// hull about the middle of the readings is the highest line below all of them in the mean (the support line of a convex
// hull).
//
// How far the least late callback is from never late is not seen, but the density of lateness near its least value is:
// if it is even there, the distance from the truth to the least reading and the distances between the next ones are
// alike exponential draws, so that the truth lies farther below the line than the k-th reading lies above it with
// probability 2^-k. Seven give 1/128. Two readings lie on the line because it was laid through them, so the ninth least
// is taken. It holds about the middle of the readings; at their newest end the rate's uncertainty adds as much again.
// Half a frame is the grid of the stream itself.
#include <algorithm>

#include "link/clock.hpp"

namespace breakstep {

namespace {

constexpr std::int64_t block_length = 100'000'000;
constexpr std::size_t blocks_kept = 300;
constexpr std::size_t rank = 9;
constexpr double half_frame = 1e9 / (2.0 * audio_frames_per_second);
/// Sound devices run on crystals.
constexpr double excess_max = 500e-6;
/// All readings of three blocks (0.3 s) so much later than the line: that is no lateness, the stream has moved.
constexpr double move_least = 1'000'000;
constexpr std::size_t moved_blocks = 3;

/// 48,000 frames a second: 62,500 ns for three frames.
std::int64_t nominal_time(AudioFrame frame) {
    constexpr std::int64_t last = envelope::farthest / 62'500 * 3;
    const std::int64_t number = std::clamp(static_cast<std::int64_t>(frame), -last, last);
    return number / 3 * 62'500 + envelope::rounded(static_cast<double>(number % 3) * 62'500 / 3);
}
static_assert(audio_frames_per_second == 48'000);

}  // namespace

AudioClock::AudioClock() : side_(envelope::Direction::upper, block_length, blocks_kept) {}

void AudioClock::clear() {
    side_.clear();
    has_fit_ = false;
    next_fit_x_ = 0;
}

void AudioClock::callback(AudioFrame first, HostTime called) {
    const std::int64_t x = nominal_time(first);
    side_.add(x, called.time_since_epoch().count());
    if (side_.blocks() < rank || x < next_fit_x_) return;
    next_fit_x_ = x + block_length;
    fit();
}

double AudioClock::supporting_excess() const {
    const double middle = hull_.front().x / 2;
    for (std::size_t i = 1; i < hull_.size(); ++i) {
        if (hull_[i].x < middle) continue;
        const double slope = (hull_[i].y - hull_[i - 1].y) / (hull_[i].x - hull_[i - 1].x);
        return std::clamp(slope, -excess_max, excess_max);
    }
    return 0;
}

bool AudioClock::stream_has_moved() const {
    if (minima_.size() < rank + moved_blocks) return false;
    const double limit = std::max(move_least, 4 * bound_);
    return has_fit_ && std::all_of(minima_.end() - moved_blocks, minima_.end(), [&](double m) { return m > limit; });
}

void AudioClock::fit() {
    envelope::Point reference = side_.newest();
    side_.hull(reference, hull_);
    double excess = supporting_excess();
    double height = envelope::least_distance(hull_, excess);
    reference.y += envelope::rounded(height);
    side_.block_minima(reference, excess, minima_);
    if (stream_has_moved()) {
        ++moves_;
        side_.forget_before(reference.x - static_cast<std::int64_t>(moved_blocks - 1) * block_length);
        has_fit_ = false;
        return;
    }
    std::nth_element(minima_.begin(), minima_.begin() + (rank - 1), minima_.end());
    excess_ = excess;
    const double in_the_middle = std::max(minima_[rank - 1], 0.0);
    const auto span = static_cast<double>(reference.x - side_.oldest_x());
    rate_uncertainty_ = std::min(excess_max, 2 * in_the_middle / std::max(span, 1.0));
    bound_ = 2 * in_the_middle + half_frame;
    reference_ = reference;
    has_fit_ = true;
}

Uncertainty AudioClock::bound_at(double distance) const {
    const double away = distance < 0 ? -distance : distance;
    return Uncertainty{envelope::rounded(bound_ + rate_uncertainty_ * away + envelope::relaxation(away))};
}

HostReading AudioClock::host_time_from(AudioFrame frame) const {
    const std::int64_t dx = nominal_time(frame) - reference_.x;
    const auto away = static_cast<double>(dx);
    return {HostTime{Duration{reference_.y + dx + envelope::rounded(excess_ * away)}}, bound_at(away)};
}

AudioReading AudioClock::audio_frame_from(HostTime time) const {
    const std::int64_t dy = envelope::within_reach(time.time_since_epoch().count()) - reference_.y;
    const auto away = static_cast<double>(dy);
    const std::int64_t x = reference_.x + dy - envelope::rounded(away * excess_ / (1 + excess_));
    const std::int64_t whole = x / 62'500;
    const double part = static_cast<double>(x % 62'500) * 3 / 62'500;
    return {AudioFrame{whole * 3 + envelope::rounded(part)}, bound_at(away)};
}

}  // namespace breakstep
