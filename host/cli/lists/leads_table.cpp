#include <fmt/format.h>

#include <ostream>
#include <string>

#include "club/lists/leads_list.hpp"
#include "core/leading/simulated_bouts.hpp"

namespace breakstep {
namespace {

using namespace leading;

std::string triple(const std::array<double, act_looks.size()>& shares, int places) {
    return fmt::format("{:.{}f} / {:.{}f} / {:.{}f}", shares[0], places, shares[1], places, shares[2], places);
}

}  // namespace

void print_leads_table(std::ostream& out, std::uint32_t bouts, std::uint64_t seed) {
    out << bouts << " bouts a row, seed " << seed << ", by 20 / 40 / 80 acts of B.\n\n"
        << "Nobody leads, yet it is said that A follows B (promised: told in at most 0.025, hunch 0.0625):\n\n"
        << "| bout | E >= 40 | X >= 20 | told | hunch, by 80 | \"B follows A\" told |\n| --- | --- | --- | --- | --- | "
           "--- |\n";
    for (const BoutKind& kind : leaderless()) {
        const BoutFigures figures = figures_of(kind, bouts, seed);
        out << fmt::format("| {} | {:.3f} | {:.3f} | {} | {:.3f} | {:.3f} |\n", kind.words, figures.own_rhythm,
                           figures.luck, triple(figures.tell, 4), figures.hunch.back(), figures.wrong_way)
            << std::flush;
    }
    out << "\nA follows so many of B's acts, 0.45 s later; both memoryless otherwise. Told (hunch):\n\n"
        << "| follows | CV 15 % | CV 20 % | CV 25 % |\n| --- | --- | --- | --- |\n";
    for (const double follows : {.5, .6, .7, .8, .9, 1.0}) {
        out << fmt::format("| {:.1f} |", follows);
        for (const double variation : {.15, .20, .25}) {
            BoutKind kind = leaderless().front();
            kind.follows = follows;
            kind.lag_variation = variation;
            const BoutFigures figures = figures_of(kind, bouts, seed);
            out << ' ' << triple(figures.tell, 2) << " (" << triple(figures.hunch, 2) << ") |" << std::flush;
        }
        out << '\n';
    }
}

}  // namespace breakstep
