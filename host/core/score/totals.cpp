#include "core/score/totals.hpp"

#include <algorithm>
#include <cmath>

#include "core/reading/picked_or_guessed.hpp"
#include "core/trade/lead.hpp"

namespace breakstep::scoring {
namespace {

double milliseconds(Duration duration) { return static_cast<double>(duration.count()) / 1e6; }

void count(const RepResult& rep, SessionTotals& totals) {
    ++totals.reps;
    if (rep.verdict == Verdict::void_rep) {
        ++totals.voids;
        return;
    }
    if (rep.scored) ++totals.scored;
    if (rep.verdict == Verdict::on_time) ++totals.on_time;
    if (rep.verdict == Verdict::around) ++totals.around;
    if (rep.verdict == Verdict::clash) ++totals.clashes;
    const int contacted = rep.contacted ? 1 : 0;
    if (rep.catch_trial) {
        ++totals.catch_trials;
        totals.catch_trials_struck += contacted;
    } else if (was_feint(rep)) {
        ++totals.feints;
        totals.feints_taken += contacted;
    } else {
        ++totals.attacks;
        totals.attacks_contacted += contacted;
    }
}

// Timed by nothing: early, and no measure of how steadily attacks are met.
bool struck_in_wait(const RepResult& rep) { return rep.contact_from_onset && *rep.contact_from_onset < -lead_longest; }

void add_errors(const std::vector<RepResult>& reps, SessionTotals& totals) {
    std::vector<double> errors;
    for (const RepResult& rep : reps)
        if (rep.scored && rep.error && !struck_in_wait(rep)) errors.push_back(milliseconds(*rep.error));
    if (errors.empty()) return;
    const auto size = static_cast<double>(errors.size());
    double sum = 0, absolute = 0, squares = 0;
    for (const double error : errors) {
        sum += error;
        absolute += std::abs(error);
    }
    const double mean = sum / size;
    for (const double error : errors) squares += (error - mean) * (error - mean);
    totals.constant_error_ms = mean;
    totals.variable_error_ms = std::sqrt(squares / size);
    totals.absolute_error_ms = absolute / size;
}

// Latencies of one moment, counter and axis can be pooled; those of several can't (a hand is faster than a spin, and
// around runs from the held up), so that a session of several has no median of its own.
void add_median(const std::vector<RepResult>& reps, SessionTotals& totals) {
    std::vector<Duration> latencies;
    const RepResult* cell = nullptr;
    for (const RepResult& rep : reps) {
        if (!rep.scored || !rep.latency) continue;
        if (cell == nullptr) cell = &rep;
        const bool same_cell = rep.asked.moment == cell->asked.moment && rep.asked.moments == cell->asked.moments &&
                               rep.asked.counter == cell->asked.counter &&
                               (rep.verdict == Verdict::around) == (cell->verdict == Verdict::around);
        if (!same_cell) return;
        latencies.push_back(*rep.latency);
    }
    if (latencies.size() < fewest_for_median) return;
    std::sort(latencies.begin(), latencies.end());
    const std::size_t half = latencies.size() / 2;
    const Duration upper = latencies[half];
    const Duration lower = latencies.size() % 2 == 0 ? latencies[half - 1] : upper;
    totals.median_latency_ms = (milliseconds(lower) + milliseconds(upper)) / 2;
}

void add_picked_or_guessed(SessionTotals& totals) {
    const auto answered = reading::picked_or_guessed(
        {static_cast<std::uint64_t>(totals.attacks), static_cast<std::uint64_t>(totals.attacks_contacted),
         static_cast<std::uint64_t>(totals.feints), static_cast<std::uint64_t>(totals.feints_taken)});
    if (!answered) return;
    totals.d_prime = answered->d_prime;
    totals.d_prime_low = answered->low;
    totals.d_prime_high = answered->high;
    totals.d_prime_at_least_only = answered->at_least_only;
}

}  // namespace

void add_reps(const std::vector<RepResult>& reps, SessionTotals& totals) {
    for (const RepResult& rep : reps) count(rep, totals);
    if (totals.scored > 0)
        totals.on_time_rate = static_cast<double>(totals.on_time + totals.around) / static_cast<double>(totals.scored);
    add_errors(reps, totals);
    add_median(reps, totals);
    add_picked_or_guessed(totals);
}

}  // namespace breakstep::scoring
