// The envelope against other methods, on models of four kinds of link, and its bound against the truth.
#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "comparators.hpp"
#include "link/clock.hpp"
#include "support/link_models.hpp"

namespace breakstep::test {
namespace {

constexpr double length = 300e9;
constexpr double probe_period = 50e6;
/// The envelope looks back 60 s; errors are compared once that is filled.
constexpr double compared_from = 60e9;
constexpr int traces = 24;

HostTime host_time(double ns) { return HostTime{Duration{static_cast<std::int64_t>(ns)}}; }
TargetTime rig_time(double ns) { return {BootId{1}, Duration{static_cast<std::int64_t>(ns)}}; }

/// Errors of one method on one trace, us.
struct Errors {
    std::vector<double> us;
    [[nodiscard]] double mean_square() const {
        double sum = 0;
        for (const double error : us) sum += error * error;
        return sum / static_cast<double>(us.size());
    }
    [[nodiscard]] double percentile_99() const {
        std::vector<double> sizes;
        for (const double error : us) sizes.push_back(std::fabs(error));
        const auto at = sizes.begin() + static_cast<std::ptrdiff_t>(sizes.size() * 99 / 100);
        std::nth_element(sizes.begin(), at, sizes.end());
        return *at;
    }
};

/// A figure over traces, with the standard error of its mean: traces are independent, times within one are not.
struct Figure {
    double mean = 0, standard_error = 0;
};

Figure figure(const std::vector<double>& values) {
    const auto n = static_cast<double>(values.size());
    double sum = 0;
    for (const double value : values) sum += value;
    const double mean = sum / n;
    double squares = 0;
    for (const double value : values) squares += (value - mean) * (value - mean);
    return {mean, std::sqrt(squares / (n - 1) / n)};
}

enum Method : std::size_t { best_of_eight, clock_filter, regression, kalman, envelope_method, methods };

struct TraceResult {
    std::array<Errors, methods> errors;
    std::uint64_t probes = 0, inside = 0;              ///< from ready on, at any time of the trace
    std::uint64_t early_probes = 0, early_inside = 0;  ///< the first ten seconds of it
    double ready_at = -1;                              ///< s: when cues might have started
    double bound_sum = 0;                              ///< us, over compared probes
    int jumps = 0;
};

TraceResult follow(const LinkTrace& trace) {
    TraceResult result;
    RigClock clock;
    clock.begin(BootId{1});
    BestOfEight best;
    ClockFilter filter;
    DecayedRegression decayed;
    Kalman filtered;
    const std::array<Comparator*, 4> others{&best, &filter, &decayed, &filtered};
    double probe = 0;
    for (std::size_t i = 0; i < trace.readings.size(); ++i) {
        const Reading& reading = trace.readings[i];
        clock.was_at_latest(rig_time(reading.replied), host_time(reading.arrived));
        if (!reading.is_event) {
            clock.was_at_earliest(rig_time(reading.received), host_time(reading.sent));
            result.jumps += clock.fit() == RigClock::Fit::jumped ? 1 : 0;
            for (Comparator* other : others) other->take(reading);
        }
        if (result.ready_at < 0 && clock.has_fit() && clock.bound() < 500us) result.ready_at = reading.arrived / 1e9;
        const double next = i + 1 < trace.readings.size() ? trace.readings[i + 1].arrived : length;
        for (probe = std::max(probe, reading.arrived); probe < next; probe += probe_period) {
            if (result.ready_at < 0) continue;
            const double truth = trace.crystal.rig_time(probe);
            const TargetReading told = clock.target_time_from(host_time(probe));
            const double error = static_cast<double>(told.at.since_boot().count()) - truth;
            const bool is_inside = std::fabs(error) <= static_cast<double>(told.bound.count());
            ++result.probes;
            result.inside += is_inside ? 1 : 0;
            if (probe < 10e9) {
                ++result.early_probes;
                result.early_inside += is_inside ? 1 : 0;
            }
            if (probe < compared_from) continue;
            result.bound_sum += static_cast<double>(told.bound.count()) / 1e3;
            result.errors[envelope_method].us.push_back(error / 1e3);
            for (std::size_t k = 0; k < others.size(); ++k) {
                result.errors[k].us.push_back((others[k]->rig_time_at(probe) - truth) / 1e3);
            }
        }
    }
    return result;
}

/// The envelope's own column in the measurements that this design was chosen by: RMS and 99th percentile, us, of the
/// same four kinds of link (simulated, drift to 200 ppm, stalls to 20 ms).
struct Goal {
    double rms, percentile_99;
};
Goal goal_of(LinkKind kind) {
    switch (kind) {
        case LinkKind::ticks_both_ways:
            return {20, 52};
        case LinkKind::usb_device:
            return {24, 57};
        case LinkKind::latency_timer:
            return {52, 131};
        case LinkKind::pty:
            break;
    }
    return {7, 13};
}

std::string table_row(LinkKind kind, const std::vector<TraceResult>& results) {
    std::string row = std::string(name_of(kind));
    row.resize(30, ' ');
    for (std::size_t method = 0; method < methods; ++method) {
        double squares = 0;
        double percentiles = 0;
        for (const TraceResult& result : results) {
            squares += result.errors[method].mean_square();
            percentiles += result.errors[method].percentile_99();
        }
        std::array<char, 40> cell{};
        std::snprintf(cell.data(), cell.size(), "%6.0f/%-6.0f", std::sqrt(squares / traces), percentiles / traces);
        row += cell.data();
    }
    return row;
}

TEST_CASE("the envelope is as near as it was measured to be, and the truth is inside its bound") {
    MESSAGE("error in us, RMS/99th percentile: best of 8, clock filter, decayed regression, Kalman, envelope");
    for (const LinkKind kind : link_kinds) {
        CAPTURE(name_of(kind));
        std::vector<TraceResult> results;
        for (int i = 0; i < traces; ++i)
            results.push_back(follow(link_trace(kind, 1000 + static_cast<std::uint64_t>(i), length)));

        std::vector<double> squares, percentiles;
        std::uint64_t probes = 0, inside = 0, early = 0, early_inside = 0;
        double bounds = 0;
        std::vector<double> ready;
        for (const TraceResult& result : results) {
            squares.push_back(result.errors[envelope_method].mean_square());
            percentiles.push_back(result.errors[envelope_method].percentile_99());
            probes += result.probes;
            inside += result.inside;
            early += result.early_probes;
            early_inside += result.early_inside;
            bounds += result.bound_sum / static_cast<double>(result.errors[envelope_method].us.size()) / traces;
            ready.push_back(result.ready_at);
            CHECK(result.jumps == 0);
            CHECK(result.ready_at >= 0);
        }
        MESSAGE(table_row(kind, results));
        std::sort(ready.begin(), ready.end());
        MESSAGE("  inside the bound: " << 100.0 * static_cast<double>(inside) / static_cast<double>(probes) << " % of "
                                       << probes << ", in the first 10 s "
                                       << 100.0 * static_cast<double>(early_inside) / static_cast<double>(early)
                                       << " %; mean bound " << bounds << " us; ready after " << ready[traces / 2]
                                       << " s (median), " << ready.back() << " s (longest)");

        // One-sided: worse than the goal beyond what so few traces can tell (two standard errors of the mean) fails.
        const Goal goal = goal_of(kind);
        const Figure square = figure(squares);
        const Figure percentile = figure(percentiles);
        CHECK(square.mean - 2 * square.standard_error <= goal.rms * goal.rms);
        CHECK(percentile.mean - 2 * percentile.standard_error <= goal.percentile_99);
        CHECK(inside * 100 >= probes * 99);
        CHECK(early_inside * 100 >= early * 99);
        CHECK(ready[traces / 2] < 1.0);
    }
}

TEST_CASE("away from the newest exchange the bound grows, and still holds the truth") {
    for (const LinkKind kind : link_kinds) {
        CAPTURE(name_of(kind));
        std::uint64_t probes = 0, inside = 0;
        for (std::uint64_t seed = 1; seed <= 12; ++seed) {
            const LinkTrace trace = link_trace(kind, 5000 + seed, 40e9);
            RigClock clock;
            clock.begin(BootId{1});
            for (const Reading& reading : trace.readings) {
                clock.was_at_latest(rig_time(reading.replied), host_time(reading.arrived));
                if (reading.is_event) continue;
                clock.was_at_earliest(rig_time(reading.received), host_time(reading.sent));
                if (clock.fit() != RigClock::Fit::fitted || reading.arrived < 2e9) continue;
                for (const double away : {-10e9, -1e9, 1e9, 5e9}) {
                    const double host = reading.arrived + away;
                    const double truth = trace.crystal.rig_time(host);
                    const TargetReading target = clock.target_time_from(host_time(host));
                    ++probes;
                    inside += std::fabs(static_cast<double>(target.at.since_boot().count()) - truth) <=
                                      static_cast<double>(target.bound.count())
                                  ? 1
                                  : 0;
                    CHECK(target.bound >= clock.bound());
                }
            }
        }
        CHECK(inside * 100 >= probes * 99);
    }
}

}  // namespace
}  // namespace breakstep::test
