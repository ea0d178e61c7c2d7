// Other ways to estimate one clock from another, to compare the envelope with: they live in the tests alone. Each sees
// the same exchanges and is asked for the rig's time at a host time. ns.
#pragma once

#include <algorithm>
#include <cmath>
#include <deque>
#include <memory>
#include <string_view>
#include <vector>

#include "support/link_models.hpp"

namespace breakstep::test {

class Comparator {
  public:
    virtual ~Comparator() = default;
    virtual void take(const Reading& exchange) = 0;
    [[nodiscard]] virtual double rig_time_at(double host) const = 0;

  protected:
    [[nodiscard]] static double round_trip(const Reading& r) { return (r.arrived - r.sent) - (r.replied - r.received); }
    [[nodiscard]] static double offset(const Reading& r) {
        return ((r.received - r.sent) + (r.replied - r.arrived)) / 2;
    }
    [[nodiscard]] static double middle(const Reading& r) { return (r.sent + r.arrived) / 2; }
};

/// The offset of the shortest of the last eight round trips.
class BestOfEight : public Comparator {
  public:
    void take(const Reading& exchange) override {
        last_.push_back(exchange);
        if (last_.size() > 8) last_.pop_front();
        const auto best = std::min_element(last_.begin(), last_.end(), [](const Reading& a, const Reading& b) {
            return round_trip(a) < round_trip(b);
        });
        offset_ = offset(*best);
    }
    [[nodiscard]] double rig_time_at(double host) const override { return host + offset_; }

  private:
    std::deque<Reading> last_;
    double offset_ = 0;
};

/// The clock filter of RFC 5905, section 10: of eight samples the one with the least distance, half its delay plus a
/// dispersion that grows by 15 ppm with age; never one older than the last that was used.
class ClockFilter : public Comparator {
  public:
    void take(const Reading& exchange) override {
        last_.push_back(exchange);
        if (last_.size() > 8) last_.pop_front();
        const double now = exchange.arrived;
        const auto distance = [&](const Reading& r) { return round_trip(r) / 2 + 15e-6 * (now - r.arrived); };
        const auto best = std::min_element(
            last_.begin(), last_.end(), [&](const Reading& a, const Reading& b) { return distance(a) < distance(b); });
        if (best->arrived < used_) return;
        used_ = best->arrived;
        offset_ = offset(*best);
    }
    [[nodiscard]] double rig_time_at(double host) const override { return host + offset_; }

  private:
    std::deque<Reading> last_;
    double offset_ = 0, used_ = -1;
};

/// Least squares of the offset over time; each sample's weight decays by 1/30 with every further one; round trips far
/// above the mean are left out.
class DecayedRegression : public Comparator {
  public:
    void take(const Reading& exchange) override {
        const double trip = round_trip(exchange);
        if (count_ > 8 && trip > trip_mean_ + 3 * std::sqrt(trip_variance_)) return;
        const double weight = count_++ < 30 ? 1.0 / count_ : decay;
        trip_variance_ = (1 - weight) * (trip_variance_ + weight * (trip - trip_mean_) * (trip - trip_mean_));
        trip_mean_ += weight * (trip - trip_mean_);
        if (count_ == 1) {
            x0_ = middle(exchange);
            y0_ = offset(exchange);
        }
        const double x = middle(exchange) - x0_;
        const double y = offset(exchange) - y0_;
        const double dx = x - x_mean_;
        const double dy = y - y_mean_;
        x_mean_ += weight * dx;
        y_mean_ += weight * dy;
        xx_ = (1 - weight) * (xx_ + weight * dx * dx);
        xy_ = (1 - weight) * (xy_ + weight * dx * dy);
    }
    [[nodiscard]] double rig_time_at(double host) const override {
        const double slope = xx_ > 0 ? xy_ / xx_ : 0;
        return host + y0_ + y_mean_ + slope * (host - x0_ - x_mean_);
    }

  private:
    static constexpr double decay = 1.0 / 30;
    int count_ = 0;
    double trip_mean_ = 0, trip_variance_ = 0;
    double x0_ = 0, y0_ = 0, x_mean_ = 0, y_mean_ = 0, xx_ = 0, xy_ = 0;
};

/// Offset and rate as the state; a measurement's deviation is what its round trip exceeds the shortest one so far by,
/// and the noise of the shortest.
class Kalman : public Comparator {
  public:
    void take(const Reading& exchange) override {
        const double trip = round_trip(exchange);
        least_ = started_ ? std::min(least_, trip) : trip;
        const double deviation = (trip - least_) / 2 + 10e3;
        const double now = middle(exchange);
        if (!started_) {
            started_ = true;
            now_ = now;
            offset_ = offset(exchange);
            p00_ = deviation * deviation;
            p11_ = 1e-3 * 1e-3;
            return;
        }
        const double dt = now - now_;
        now_ = now;
        offset_ += rate_ * dt;
        p00_ += dt * (2 * p01_ + dt * p11_) + walk * dt * dt * dt / 3;
        p01_ += dt * p11_ + walk * dt * dt / 2;
        p11_ += walk * dt;
        const double innovation = offset(exchange) - offset_;
        const double s = p00_ + deviation * deviation;
        const double k0 = p00_ / s;
        const double k1 = p01_ / s;
        offset_ += k0 * innovation;
        rate_ += k1 * innovation;
        p11_ -= k1 * p01_;
        p01_ -= k1 * p00_;
        p00_ -= k0 * p00_;
    }
    [[nodiscard]] double rig_time_at(double host) const override { return host + offset_ + rate_ * (host - now_); }

  private:
    /// Rate's random walk, per ns: 0.1 ppm in a second.
    static constexpr double walk = 0.1e-6 * 0.1e-6 / 1e9;
    bool started_ = false;
    double least_ = 0, now_ = 0, offset_ = 0, rate_ = 0, p00_ = 0, p01_ = 0, p11_ = 0;
};

}  // namespace breakstep::test
