// The truth test: hundreds of reps with known strikes, gates and lamps on the rig's real firmware, the host's answers
// against the truth. In simulated time, with drift, damage and a slow latency timer; and beside it a few reps at the
// pace of the wall clock over a pseudo-terminal. Ends with 0 only if every goal is met.
#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <future>
#include <nlohmann/json.hpp>

#include "core/random.hpp"
#include "truth/bench.hpp"
#include "truth/partner.hpp"
#include "truth/returning.hpp"

namespace {

using namespace breakstep;
using namespace breakstep::tests;

struct Wanted {
    int reps = 300, paced = 20, returns = 4;
    std::uint64_t seed = 1, events = 100'000;
    double drift_ppm = 200;
    std::uint64_t contacts = 2'000;
    bool json = false, partner = false;
};

double p99(std::vector<double> errors) {
    if (errors.empty()) return std::nan("");
    for (double& one : errors) one = std::abs(one);
    std::sort(errors.begin(), errors.end());
    return errors[std::min(errors.size() - 1, errors.size() * 99 / 100)];
}

std::vector<double> us_of(const std::vector<LatencyError>& errors) {
    std::vector<double> us;
    for (const LatencyError& one : errors) us.push_back(one.us);
    return us;
}

struct Summary {
    double bias_us = 0, sd_us = 0, covered = 0;
};

Summary summary(const LegReport& report) {
    std::vector<LatencyError> all = report.lamp_cued;
    all.insert(all.end(), report.host_cued.begin(), report.host_cued.end());
    Summary found;
    if (all.empty()) return found;
    const auto n = static_cast<double>(all.size());
    for (const LatencyError& one : all) {
        found.bias_us += one.us / n;
    }
    const auto inside = std::count_if(all.begin(), all.end(),
                                      [](const LatencyError& one) { return std::abs(one.us) <= one.stated_us; });
    found.covered = static_cast<double>(inside) / n;
    for (const LatencyError& one : all) found.sd_us += (one.us - found.bias_us) * (one.us - found.bias_us) / n;
    found.sd_us = std::sqrt(found.sd_us);
    return found;
}

/// Two legs, each with its own board, crystal and line; the second behind the slow latency timer.
LegReport run_simulated(const Wanted& wanted) {
    Random random(wanted.seed, 1);
    std::vector<std::future<LegReport>> legs;
    for (int leg = 0; leg < 2; ++leg) {
        LockStepSettings settings;
        settings.seed = wanted.seed * 2 + static_cast<std::uint64_t>(leg);
        settings.slow_latency_timer = leg == 1;
        settings.drift = random.uniform(-wanted.drift_ppm, wanted.drift_ppm) * 1e-6;
        const int reps = leg == 0 ? wanted.reps - wanted.reps / 2 : wanted.reps / 2;
        const std::uint64_t edges = leg == 0 ? wanted.events - wanted.events / 4 : wanted.events / 4;
        legs.push_back(std::async(std::launch::async, run_in_lock_step, settings, reps - reps / 2, reps / 2, edges));
    }
    LegReport all;
    for (auto& leg : legs) all.add(leg.get());
    return all;
}

/// Rigs that go away and come back, by the quick line and behind the slow latency timer.
struct Returns {
    ReturnReport quick, slow;
};

Returns run_returns(const Wanted& wanted) {
    if (wanted.returns == 0) return {};
    Random random(wanted.seed, 3);
    std::vector<std::future<ReturnReport>> legs;
    for (const bool slow : {false, true}) {
        LockStepSettings settings;
        settings.seed = wanted.seed * 2 + (slow ? 1 : 0);
        settings.slow_latency_timer = slow;
        settings.drift = random.uniform(-wanted.drift_ppm, wanted.drift_ppm) * 1e-6;
        legs.push_back(std::async(std::launch::async, run_returning, settings, wanted.returns));
    }
    Returns both;
    both.quick = legs[0].get();
    both.slow = legs[1].get();
    return both;
}

std::uint64_t wrong(const Returns& returns) {
    std::uint64_t sum = 0;
    for (const StampErrors* one : {&returns.quick.stamps, &returns.slow.stamps})
        sum += one->lost + one->doubled + one->altered;
    return sum;
}

double most(const std::vector<double>& values) {
    return values.empty() ? std::nan("") : *std::max_element(values.begin(), values.end());
}

struct Row {
    const char* what;
    double value;
    double goal;  ///< at most; nan for none
};

bool print_table(const LegReport& simulated, const LegReport& paced, const LegReport& all, const Returns& returns) {
    const Summary total = summary(all);
    const double none = std::nan("");
    const double back_within = returns.quick.cue_ms.empty() ? none : 2000;
    const std::vector<Row> rows{
        {"gate on input capture, p99 us", p99(simulated.stamps.capture_us), 5},
        {"gate on INT0/INT1, p99 us", p99(simulated.stamps.interrupt_us), 20},
        {"gate on pin change, p99 us", p99(simulated.stamps.pin_change_us), none},
        {"pad from the first crossing, p99 us", p99(simulated.stamps.pads_us), 150},
        {"lamp's confirmed onset, p99 us", p99(simulated.lamps_us), none},
        {"latency, cued by lamps, p99 us", p99(us_of(simulated.lamp_cued)), none},
        {"latency, cued by sound, p99 us", p99(us_of(simulated.host_cued)), none},
        {"latency, paced, p99 us", p99([&] {
             auto both = us_of(paced.lamp_cued);
             const auto sound = us_of(paced.host_cued);
             both.insert(both.end(), sound.begin(), sound.end());
             return both;
         }()),
         none},
        {"bias us (published acceptance: 5000)", std::abs(total.bias_us), 5000},
        {"SD us (published acceptance: 10000)", total.sd_us, 10000},
        {"events lost", static_cast<double>(all.stamps.lost), 0},
        {"events doubled", static_cast<double>(all.stamps.doubled), 0},
        {"events altered", static_cast<double>(all.stamps.altered), 0},
        {"reps without a latency", static_cast<double>(all.unscored), 0},
        {"bound under 0.5 ms after a return, most ms", most(returns.quick.bound_ms), back_within},
        {"a lamp's cue after a return, most ms", most(returns.quick.cue_ms), none},
        {"the same behind 16 ms: bound, most ms", most(returns.slow.bound_ms), none},
        {"the same behind 16 ms: cue, most ms", most(returns.slow.cue_ms), none},
        {"returns without a cue", static_cast<double>(returns.quick.never + returns.slow.never), 0},
        {"pulled cable: lost, doubled, altered", static_cast<double>(wrong(returns)), 0},
        {"board resets", static_cast<double>(all.resets), 0}};
    bool good = total.covered >= 0.99;
    for (const Row& row : rows) {
        const bool met = std::isnan(row.goal) || row.value <= row.goal;
        good = good && met;
        fmt::print("{:<46} {:>12.3f} {}\n", row.what, row.value, std::isnan(row.goal) ? "" : met ? "good" : "MISSED");
    }
    fmt::print("{:<46} {:>12.4f} {}\n", "truths inside the stated uncertainty", total.covered,
               total.covered >= 0.99 ? "good" : "MISSED");
    fmt::print("{} reps voided by the host itself, simulated; {} paced (clock bound over 0.5 ms, link lost)\n",
               simulated.voided, paced.voided);
    for (const std::string& why : all.unscored_because) fmt::print("without a latency: {}\n", why);
    fmt::print("{} reps in which no strike could be planned, since the host was held up\n", all.unstruck);
    fmt::print("{} returns after a pulled cable, a reset or both\n",
               returns.quick.cue_ms.size() + returns.slow.cue_ms.size());
    fmt::print("{} reps, {} paced, {} events, {} bytes damaged on the way\n", simulated.reps, paced.reps,
               all.stamps.events, all.damaged);
    return good;
}

double rounded(double value) { return std::isnan(value) ? value : std::round(value * 1000) / 1000; }

void print_json(const LegReport& simulated, const LegReport& paced, const LegReport& all) {
    const Summary total = summary(all);
    const auto number = [](double value) {
        return std::isnan(value) ? nlohmann::ordered_json() : nlohmann::ordered_json(rounded(value));
    };
    nlohmann::ordered_json line;
    line["reps"] = simulated.reps;
    line["paced"] = paced.reps;
    line["gate_capture_p99_us"] = number(p99(simulated.stamps.capture_us));
    line["gate_int_p99_us"] = number(p99(simulated.stamps.interrupt_us));
    line["gate_pinchange_p99_us"] = number(p99(simulated.stamps.pin_change_us));
    line["pad_p99_us"] = number(p99(simulated.stamps.pads_us));
    line["lamp_cued_p99_us"] = number(p99(us_of(all.lamp_cued)));
    line["host_cued_p99_us"] = number(p99(us_of(all.host_cued)));
    line["bias_us"] = number(total.bias_us);
    line["sd_us"] = number(total.sd_us);
    line["covered"] = std::floor(total.covered * 1e6) / 1e6;
    line["lost"] = all.stamps.lost;
    line["doubled"] = all.stamps.doubled;
    line["altered"] = all.stamps.altered;
    fmt::print("{}\n", line.dump());
}

/// Two lines again, each with half of the contacts.
PartnerReport run_partners(const Wanted& wanted) {
    Random random(wanted.seed, 4);
    std::vector<std::future<PartnerReport>> legs;
    for (const bool slow : {false, true}) {
        LockStepSettings settings;
        settings.seed = wanted.seed * 2 + (slow ? 1 : 0);
        settings.slow_latency_timer = slow;
        settings.drift = random.uniform(-wanted.drift_ppm, wanted.drift_ppm) * 1e-6;
        legs.push_back(std::async(std::launch::async, run_partner, settings, (wanted.contacts + 1) / 2));
    }
    PartnerReport all;
    for (auto& leg : legs) all.add(leg.get());
    return all;
}

double share(std::uint64_t part, std::uint64_t whole) {
    return whole == 0 ? 0 : static_cast<double>(part) / static_cast<double>(whole);
}

int run_with_partner(const Wanted& wanted) {
    const PartnerReport report = run_partners(wanted);
    const PartnerFigures& figures = report.figures;
    const double right = share(figures.right_phase, figures.contacts),
                 inside = share(figures.borders_inside, figures.borders);
    const std::uint64_t wrong = report.stamps.lost + report.stamps.doubled + report.stamps.altered;
    const bool good = figures.contacts >= wanted.contacts && right >= 0.999 && inside >= 0.99 &&
                      figures.second_lifts_as_drop == 0 && figures.bounces_as_lift == 0 && wrong == 0 &&
                      report.resets == 0;
    fmt::print("{} sessions, {} reps, {} legs, {} of {} did what was asked, {} void, {:.0f} s of the board\n",
               report.sessions, figures.reps, figures.kicked, figures.obeyed, figures.asked, figures.voids,
               report.seconds);
    fmt::print(
        "{} contacts further from a border than its uncertainty ({} nearer), {:.3f} % in the phase they fell in\n",
        figures.contacts, figures.contacts_near, 100 * right);
    fmt::print(
        "{} borders, {:.3f} % within what is stated, the worst {:.0f} us off; {} by a tap, of which nothing is "
        "stated\n",
        figures.borders, 100 * inside, figures.worst_border_us, figures.borders_unstated);
    fmt::print("{} of {} kinds right; {} second lifts, {} told as a drop; {} bounces, {} told as a lift\n",
               figures.kinds_right, figures.kinds, figures.second_lifts, figures.second_lifts_as_drop, figures.bounces,
               figures.bounces_as_lift);
    fmt::print("{} events, {} lost, {} doubled, {} altered; {} bytes damaged on the way; {} resets\n",
               report.stamps.events, report.stamps.lost, report.stamps.doubled, report.stamps.altered, report.damaged,
               report.resets);
    if (wanted.json) {
        nlohmann::ordered_json line;
        line["contacts"] = figures.contacts;
        line["contacts_near_a_border"] = figures.contacts_near;
        line["right_phase"] = right;
        line["borders"] = figures.borders;
        line["borders_inside"] = inside;
        line["worst_border_us"] = rounded(figures.worst_border_us);
        line["kinds"] = figures.kinds;
        line["kinds_right"] = figures.kinds_right;
        line["second_lifts"] = figures.second_lifts;
        line["second_lifts_as_drop"] = figures.second_lifts_as_drop;
        line["bounces"] = figures.bounces;
        line["bounces_as_lift"] = figures.bounces_as_lift;
        line["lost"] = report.stamps.lost;
        line["doubled"] = report.stamps.doubled;
        line["altered"] = report.stamps.altered;
        fmt::print("{}\n", line.dump());
    }
    return good ? 0 : 1;
}

int run(const Wanted& wanted) {
    if (wanted.partner) return run_with_partner(wanted);
    // One after the other: what keeps the wall clock's time needs the processor to itself.
    LegReport paced;
    if (wanted.paced > 0) {
        Random random(wanted.seed, 2);
        const double drift = random.uniform(-wanted.drift_ppm, wanted.drift_ppm) * 1e-6;
        paced = run_paced(wanted.seed * 2 + 1'000'003, drift, wanted.paced - wanted.paced / 2, wanted.paced / 2);
    }
    const LegReport simulated = run_simulated(wanted);
    LegReport all = simulated;
    all.add(paced);
    const bool good = print_table(simulated, paced, all, run_returns(wanted));
    if (wanted.json) print_json(simulated, paced, all);
    return good ? 0 : 1;
}

}  // namespace

int main(int count, char** words) {
    Wanted wanted;
    CLI::App app{"The host's times against the truth, on the rig's real firmware"};
    app.add_option("--reps", wanted.reps, "reps in simulated time")->check(CLI::Range(4, 100'000));
    app.add_option("--paced", wanted.paced, "reps at the pace of the wall clock")->check(CLI::Range(0, 10'000));
    app.add_option("--returns", wanted.returns, "of each kind: cable, reset, both")->check(CLI::Range(0, 1'000));
    app.add_option("--drift-ppm", wanted.drift_ppm, "crystals are off by up to so much")
        ->check(CLI::Range(0.0, 10'000.0));
    app.add_option("--seed", wanted.seed, "of everything that is drawn");
    app.add_option("--events", wanted.events, "gate edges besides, under damage")->check(CLI::Range(0, 100'000'000));
    auto* partner =
        app.add_flag("--partner", wanted.partner, "a partner's known leg before the low and the hip gate instead");
    app.add_option("--contacts", wanted.contacts, "of a partner's drills: so many away from any border")
        ->check(CLI::Range(1, 1'000'000))
        ->needs(partner);
    app.add_flag("--json", wanted.json, "end with one line of JSON");
    CLI11_PARSE(app, count, words);
    try {
        return run(wanted);
    } catch (const std::exception& fault) {
        std::fprintf(stderr, "truth: %s\n", fault.what());
        return 2;
    }
}
