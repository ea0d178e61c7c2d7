#include <fmt/format.h>

#include <array>
#include <ostream>

#include "club/lists/rung_list.hpp"
#include "core/ladder/simulated_rungs.hpp"

namespace breakstep {
namespace {

using namespace ladder;

constexpr std::uint32_t reps_at_most = 1200;
// Nobody is on time always: an athlete of the mark + .4 at a mark of .6 is one of this rate.
constexpr double rate_at_most = 0.98;

std::string quantile_words(const std::vector<std::uint32_t>& reps, double q, std::uint64_t seed) {
    const Quantile quantile = quantile_of(reps, q, seed);
    if (quantile.value > reps_at_most) return fmt::format("> {}", reps_at_most);
    return fmt::format("{:.0f} ± {:.1f}", quantile.value, quantile.standard_error);
}

std::string speed(Spoken what, double mark, double rate, std::uint32_t an_evening, std::uint32_t athletes,
                  std::uint64_t seed) {
    const RungTrial trial{mark, std::min(rate, rate_at_most), .3, an_evening, reps_at_most};
    const auto reps = reps_until(what, trial, athletes, seed);
    return quantile_words(reps, .5, seed) + " / " + quantile_words(reps, .9, seed);
}

std::string luck(Spoken what, double mark, double rate, double scatter, std::uint32_t athletes, std::uint64_t seed) {
    const RungTrial trial{mark, rate, scatter, 30, reps_at_most};
    const Share share = share_of(reps_until(what, trial, athletes, seed), reps_at_most);
    return fmt::format("{:.4f} ± {:.4f}", share.value, share.standard_error);
}

constexpr std::array marks{.4, .5, .6};

}  // namespace

void print_rung_table(std::ostream& out, std::uint32_t athletes, std::uint64_t seed) {
    out << athletes << " athletes a cell, at most " << reps_at_most << " reps, seed " << seed
        << "; ± is one standard error (of quantiles by bootstrap). Evenings scatter by 0.3 on the logit scale.\n\n"
        << "Reps to pass, median / 90th percentile, where the true rate lies so far above the mark:\n\n"
        << "| mark | reps an evening | +.1 | +.2 | +.3 | +.4 |\n| --- | --- | --- | --- | --- | --- |\n";
    for (const double mark : marks)
        for (const std::uint32_t an_evening : {30U, 15U}) {
            out << fmt::format("| {} | {} |", mark, an_evening);
            for (const double above : {.1, .2, .3, .4})
                out << ' ' << speed(Spoken::passed, mark, mark + above, an_evening, athletes, seed) << " |";
            out << '\n' << std::flush;
        }
    out << "\nPassed by luck, at a true rate of exactly the mark, by how much evenings scatter:\n\n"
        << "| mark | 0 | 0.3 | 0.5 (more than promised for) |\n| --- | --- | --- | --- |\n";
    for (const double mark : marks) {
        out << fmt::format("| {} |", mark);
        for (const double scatter : {0.0, .3, .5})
            out << ' ' << luck(Spoken::passed, mark, mark, scatter, athletes, seed) << " |";
        out << '\n' << std::flush;
    }
    out << "\nReps until the step down is offered, 30 an evening, where the true rate lies so far below the mark; and "
           "offered falsely:\n\n"
        << "| mark | -.25 | -.30 | -.35 | falsely, at -.15 | falsely, at the mark |\n"
        << "| --- | --- | --- | --- | --- | --- |\n";
    for (const double mark : marks) {
        out << fmt::format("| {} |", mark);
        for (const double below : {.25, .30, .35})
            out << ' ' << speed(Spoken::step_down, mark, mark - below, 30, athletes, seed) << " |";
        for (const double rate : {mark - step_down_gap, mark})
            out << ' ' << luck(Spoken::step_down, mark, rate, .3, athletes, seed) << " |";
        out << '\n' << std::flush;
    }
}

}  // namespace breakstep
