// The clock of the rig against the clock of the host, and the sound device's stream against the host: an envelope.
//
// Every reply (and every event) says "rig time t was at host time u at the latest"; every request says "at u at the
// earliest". A line of the one clock against the other fits if it lies between both sets; its slack is the gap that is
// left for it. Over the last minute the line of widest slack is found first (golden section over the rate, 36 steps, as
// the slack is concave in it); then all lines that fit are weighed alike, as a uniform prior does: offset and rate are
// their mean, and the bound is the half-width about the mean that holds 99 of 100 of them. (The middle of the widest
// slack alone is as good a guess, but half that slack held the truth only 88 times in 100 on a link of 1 ms ticks and
// 53 times on one with a 16 ms latency timer.) Each reading is relaxed with age by 0.025e-6 * age^2 s. A negative slack
// that the newest readings alone do not heal means that a clock jumped.
//
// Only + - * / on differences; times in and out are integer ns. One owner each (the link, the engine), the engine's
// thread. Constant asymmetry of the way there and back can't be seen from inside: only the sync input can.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "core/time.hpp"
#include "link/envelope.hpp"

namespace breakstep {

/// A time converted to another clock, with the half-width that holds the truth 99 times in 100.
struct HostReading {
    HostTime at;
    Uncertainty bound{};
};
struct TargetReading {
    TargetTime at;
    Uncertainty bound{};
};
struct AudioReading {
    AudioFrame at{};
    Uncertainty bound{};
};

class RigClock {
  public:
    RigClock();

    /// Forgets everything; readings of `boot` follow.
    void begin(BootId boot);
    [[nodiscard]] BootId boot() const { return boot_; }

    /// `at` must be of the boot begun. Readings that are not later than the newest of their kind are passed over.
    void was_at_latest(TargetTime at, HostTime latest);
    void was_at_earliest(TargetTime at, HostTime earliest);

    enum class Fit : std::uint8_t { none, fitted, jumped };
    /// Fits all readings so far, valid at the newest. `none`: one of the sides is still empty. `jumped`: the readings
    /// contradict each other; everything is forgotten.
    Fit fit();

    [[nodiscard]] bool has_fit() const { return has_fit_; }
    /// Conversions need has_fit(), and `time` of the boot begun. Away from the newest reading the bound grows.
    [[nodiscard]] HostReading host_time_from(TargetTime time) const;
    [[nodiscard]] TargetReading target_time_from(HostTime time) const;
    /// At the newest reading; unknown_uncertainty without a fit.
    [[nodiscard]] Uncertainty bound() const;
    /// The newest reading fitted.
    [[nodiscard]] TargetTime newest() const { return {boot_, Duration{reference_.x}}; }
    /// Host seconds per rig second, minus 1.
    [[nodiscard]] double rate_excess() const { return estimate_.excess; }
    /// The half-width about it that holds the truth 99 times in 100.
    [[nodiscard]] double rate_uncertainty() const { return estimate_.excess_half_width; }

  private:
    struct Line {
        double excess = 0, upper = 0, lower = 0;  ///< distances to both hulls at the reference, ns
        [[nodiscard]] double slack() const { return upper + lower; }
        [[nodiscard]] double middle() const { return (upper - lower) / 2; }
    };
    /// The mean of all lines that fit, about the reference, and how far they spread.
    struct Estimate {
        double offset = 0, offset_half_width = 0, excess = 0, excess_half_width = 0;
    };
    [[nodiscard]] Line line_with(double excess) const;
    [[nodiscard]] Line widest_line() const;
    [[nodiscard]] double edge(double fitting, double limit) const;
    [[nodiscard]] Estimate weigh(const Line& widest) const;
    [[nodiscard]] bool agrees_with_last_fit(envelope::Point reference, const Line& line) const;
    [[nodiscard]] double bound_at(double distance) const;
    void settle();

    BootId boot_{};
    envelope::Side latest_, earliest_;
    std::vector<envelope::LocalPoint> upper_hull_, lower_hull_;  ///< kept for their storage
    double centre_ = 0, range_;                                  ///< of the rate's excess that may be
    bool has_fit_ = false;
    bool went_back_ = false;
    envelope::Point reference_;  ///< on the line: the newest rig time, and the host time it corresponds to
    Estimate estimate_;          ///< its offset is in the reference already
};

/// Frames of the sound stream against the host's clock, from the times of the audio callbacks: they are only ever late,
/// so the line lies below all of them and touches the earliest. Its bound is the seventh least lateness above the line
/// (see audio_clock.cpp). After an underrun the stream has moved: the readings before it are forgotten.
class AudioClock {
  public:
    AudioClock();
    /// The callback that asked for frames from `first` on began at `called`. In order.
    void callback(AudioFrame first, HostTime called);
    void clear();
    /// Enough callbacks were seen: about a second of them.
    [[nodiscard]] bool has_fit() const { return has_fit_; }
    /// When the callback that begins with `frame` is called if it is not late. Needs has_fit().
    [[nodiscard]] HostReading host_time_from(AudioFrame frame) const;
    /// The frame whose callback would be called at `time`. Needs has_fit().
    [[nodiscard]] AudioReading audio_frame_from(HostTime time) const;
    /// How often the stream was seen to have moved.
    [[nodiscard]] std::int64_t moves() const { return moves_; }

  private:
    void fit();
    [[nodiscard]] double supporting_excess() const;
    [[nodiscard]] bool stream_has_moved() const;
    [[nodiscard]] Uncertainty bound_at(double distance) const;

    envelope::Side side_;
    std::vector<envelope::LocalPoint> hull_;
    std::vector<double> minima_;
    std::int64_t next_fit_x_ = 0;
    bool has_fit_ = false;
    envelope::Point reference_;
    double excess_ = 0;
    double bound_ = 0;
    double rate_uncertainty_ = 0;
    std::int64_t moves_ = 0;
};

}  // namespace breakstep
