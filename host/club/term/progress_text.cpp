#include <algorithm>
#include <ostream>

#include <fmt/format.h>

#include "club/term/gain_words.hpp"
#include "club/term/progress_report.hpp"
#include "club/term/sentences.hpp"

namespace breakstep {
namespace {

using progress::AthleteTerm;
using progress::Share;

std::string percent(double rate) { return fmt::format("{:.0f}", 100 * rate); }

/// "31 of 40, 78 % (62 to 88)"
std::string share_line(const Share& share) {
    if (share.of == 0) return "none yet";
    const auto interval = share.interval();
    return fmt::format("{}, {} % ({} to {})", share_words(share), percent(share.rate()), percent(interval.low),
                       percent(interval.high));
}

std::string timeable_words(const reading::HitCount& hits) {
    if (!hits.shown()) return hits.scored == 0 ? "no step-in read yet" : hits.words();
    const auto interval = hits.timeable_interval();
    return fmt::format("Timeable {:.0f} to {:.0f} of 100 ({})", interval.low, interval.high, hits.words());
}

/// A comparison of two shares that are there to be seen, not claimed.
std::string two_shares(const Share& first, const char* first_name, const Share& second, const char* second_name) {
    if (first.of == 0 || second.of == 0) return "";
    return fmt::format("{} {}, {} {}", first_name, share_line(first), second_name, share_line(second));
}

void print_cells(std::ostream& out, const AthleteTerm& term) {
    for (const progress::CellTerm& cell : term.cells) {
        const auto& all = cell.all;
        out << fmt::format("    {}: on time {}", cell_words(cell.cell), share_line(all.on_time));
        if (cell.baseline && cell.now)
            out << fmt::format("; first evenings {}, last {}", share_words(cell.baseline->on_time),
                               share_words(cell.now->on_time));
        if (all.latency_ms && all.latency_ms->interval)
            out << fmt::format("; half of the contacts within {:.0f} ms ({:.0f} to {:.0f}), steadiness {:.0f} ms",
                               all.latency_ms->value, all.latency_ms->interval->low, all.latency_ms->interval->high,
                               all.steadiness_ms.value_or(0));
        else
            out << fmt::format("; {} contacts, {} are needed for a median", all.contacts, progress::fewest_for_median);
        if (all.clashes > 0) out << fmt::format("; clashes {}", all.clashes);
        out << "\n";
    }
}

void print_rungs(std::ostream& out, const AthleteTerm& term) {
    if (term.placed)
        out << fmt::format("    put on rung {} by the coach on {} {}\n", term.placed->rung, day_words(term.placed->day),
                           day_text(term.placed->day).substr(0, 4));
    for (const progress::RungStanding& rung : term.rungs) {
        if (rung.reps + rung.feints == 0) continue;
        out << fmt::format("    rung {}, {}: {}\n", rung.number, rung.name, rung_words(rung));
    }
}

void print_patterns(std::ostream& out, const AthleteTerm& term) {
    if (term.level) out << "    level in training: " << word(*term.level) << "\n";
    for (std::size_t i = 0; i < term.answers.size(); ++i)
        if (term.answers[i].of > 0)
            out << fmt::format("    {}: {}\n", word(static_cast<progress::Answer>(i)), share_line(term.answers[i]));
    for (const std::string& gain :
         {gain_line(term.gain_of_drawn, "drawn"), gain_line(term.gain_of_pattern, "in a pattern")})
        if (!gain.empty()) out << "    " << gain << "\n";
    if (term.picked) out << "    " << term.picked->words(term.answer_count_total) << "\n";
    out << "    rhythm: " << timeable_words(term.hits) << (term.rhythm_told ? "; can be timed" : "") << "\n";
    if (const auto line = two_shares(term.first_reps, "first five of an evening", term.later_reps, "later");
        !line.empty())
        out << "    warm-up: " << line << "\n";
    if (const auto line = two_shares(term.first_halves, "first halves", term.second_halves, "second halves");
        !line.empty())
        out << "    within sets: " << line << "\n";
    for (const progress::DaysOff& off : term.days_off)
        out << fmt::format("    {} days off after {}: on time {} before, {} after\n", off.next_day - off.last_day,
                           day_words(off.last_day), share_words(off.before), share_words(off.after));
}

void print_statistics(std::ostream& out, const progress::Followed& followed, const std::string& indent) {
    const auto& claim = followed.claim;
    if (!claim.line) return;
    out << fmt::format("{}slope {:.4g} a day ({:.4g} to {:.4g})", indent, claim.line->slope,
                       claim.line->slope_interval.low, claim.line->slope_interval.high);
    out << fmt::format(", two-sided p {:.4f}", claim.p_two_sided());
    if (followed.q) out << fmt::format(", q in the group {:.3f}", *followed.q);
    if (followed.theil_sen)
        out << fmt::format("; Theil-Sen {:.4g} ({:.4g} to {:.4g})", followed.theil_sen->slope,
                           followed.theil_sen->interval.low, followed.theil_sen->interval.high);
    if (followed.mann_kendall) out << fmt::format(", Mann-Kendall p {:.4f}", followed.mann_kendall->p);
    out << "\n";
}

void print_next(std::ostream& out, const std::optional<progress::NextDrill>& next, const std::string& name) {
    if (!next) return;
    out << "    next: drill " << next->drill << ", because: " << next->because << "\n";
    if (const std::string offer = offer_words(*next, name); !offer.empty())
        out << (next->undecided ? "    to decide: " : "    to offer, in your own words: ") << offer << "\n";
}

void print_plan(std::ostream& out, const std::vector<progress::PlanBlock>& plan) {
    out << "\nThe plan" << (plan.front().by_coach ? ", as the coach has it" : "") << ":\n";
    if (!plan.front().by_coach) out << "  " << plan_order_words() << "\n";
    for (const progress::PlanBlock& block : plan)
        out << fmt::format("  weeks {} to {}: the {} ({})\n", block.first_week, block.last_week, word(block.moment),
                           plan_reason(block));
}

void print_athlete(std::ostream& out, const AthleteTerm& term, const std::string& name,
                   const std::optional<progress::NextDrill>& next, bool details) {
    const Headline said = headline(term, name, Reader::coach);
    out << said.claim << "\n    " << said.beside << "\n";
    if (const std::string by = evidence(term.claimed); !by.empty()) {
        out << "    ";
        if (term.claimed.cell) out << cell_words(*term.claimed.cell) << ": ";
        out << by << "\n";
    }
    if (const std::string style = answers_words(term); !style.empty()) out << "    style: " << style << "\n";
    print_next(out, next, name);
    if (!details) return;
    print_statistics(out, term.claimed, "    ");
    for (const progress::Followed& other : term.others) {
        const std::string by = evidence(other);
        out << "    " << other.measure << ": " << (by.empty() ? "too few evenings" : by) << " (not claimed)\n";
        print_statistics(out, other, "      ");
    }
    print_cells(out, term);
    print_rungs(out, term);
    if (term.sessions > 0) print_patterns(out, term);
    if (term.picked && !term.picked->at_least_only)
        out << fmt::format("    d' {:.2f} ({:.2f} to {:.2f})\n", term.picked->d_prime, term.picked->low,
                           term.picked->high);
}

void print_names(std::ostream& out, const Term& term, const char* what, const std::vector<std::size_t>& athletes) {
    if (athletes.empty()) return;
    out << "  " << what << ":";
    for (std::size_t i = 0; i < athletes.size(); ++i)
        out << (i == 0 ? " " : ", ") << term.athletes.at(athletes[i]).call_sign;
    out << ".\n";
}

void print_group(std::ostream& out, const Term& term) {
    const GroupChanges changes = group_changes(term.terms);
    out << "\nThe group: " << group_words(changes) << "\n";
    print_names(out, term, "improved", changes.improved);
    print_names(out, term, "needs practice again", changes.worse);
}

void print_squads(std::ostream& out, const Term& term) {
    for (const SquadOfMeasure& squad : term.squads) {
        out << "\nThe squad, " << squad.measure << ", from " << day_words(squad.first_day) << ": ";
        if (!squad.fit) {
            out << "too few athletes or evenings to tell a common line.\n";
            continue;
        }
        const progress::SquadFit& fit = *squad.fit;
        out << fmt::format(
            "{} athletes, {} values\n  level {:.4g} (SE {:.3g}), {:+.4g} a day (SE {:.3g}); athletes differ by {:.4g} "
            "in "
            "level, {:.4g} a day in slope{}; evenings scatter by {:.4g}{}\n",
            fit.athletes, fit.points, fit.intercept, fit.intercept_error, fit.slope, fit.slope_error, fit.sd_intercept,
            fit.sd_slope, fit.correlation ? fmt::format(" (correlation {:.3f})", *fit.correlation) : "",
            fit.sd_residual, fit.singular ? "; singular: one of these is at its border" : "");
    }
}

}  // namespace

void print_progress(std::ostream& out, const Term& term, const Coming& coming, const std::string& club, bool details) {
    if (term.terms.empty()) {
        out << "No sessions and no imported results of any athlete in these days.\n";
        return;
    }
    const std::string first = term.first_day == term.last_day ? "" : day_words(term.first_day) + " to ";
    out << fmt::format("{}, {}{} {}\n\n", club, first, day_words(term.last_day), day_text(term.last_day).substr(0, 4));
    for (std::size_t i = 0; i < term.terms.size(); ++i)
        print_athlete(out, term.terms[i], term.athlete(term.terms[i]).call_sign, coming.next.at(i), details);
    if (term.terms.size() > 1) {
        print_group(out, term);
        const bool trained =
            std::any_of(term.terms.begin(), term.terms.end(), [](const AthleteTerm& one) { return one.sessions > 0; });
        if (trained && !coming.plan.empty()) print_plan(out, coming.plan);
    }
    if (details) print_squads(out, term);
}

}  // namespace breakstep
