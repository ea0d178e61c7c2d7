#include "club/results/results.hpp"

#include "club/results/beside.hpp"

#include <fmt/format.h>

#include <cmath>
#include <ostream>

#include "report/drawing/verdict_words.hpp"

namespace breakstep {
namespace {

double ms(Duration duration) { return static_cast<double>(duration.count()) / 1e6; }

std::string attack_words(const RepResult& rep) {
    if (rep.catch_trial) return "nothing";
    if (rep.came) return std::string(word(*rep.came));
    if (rep.asked.kind == AttackKind::rebound) return fmt::format("rebound {}", rep.asked.rebounds);
    return std::string(word(rep.asked.kind));
}

std::string percent(double share) { return fmt::format("{:.0f} %", 100 * share); }

void print_totals(std::ostream& out, const SessionTotals& totals) {
    if (totals.on_time_rate)
        out << fmt::format("  on time         {} of {} ({})\n", totals.on_time + totals.around, totals.scored,
                           percent(*totals.on_time_rate));
    if (totals.median_latency_ms) out << fmt::format("  median latency  {:.0f} ms\n", *totals.median_latency_ms);
    if (totals.variable_error_ms)
        out << fmt::format("  error           {:+.0f} ms from the middle of the window, steady to {:.0f} ms\n",
                           totals.constant_error_ms.value_or(0), *totals.variable_error_ms);
    if (totals.feints > 0) out << fmt::format("  feints          {} of {} taken\n", totals.feints_taken, totals.feints);
    out << fmt::format("  can be timed    {}", word(totals.sign));
    if (!totals.sign_reason.empty()) out << ": " << totals.sign_reason;
    out << '\n';
    if (totals.windows > 0)
        out << fmt::format("                  {} of {} caught, luck {:.0f}{}\n", totals.caught, totals.windows,
                           totals.caught_by_chance,
                           totals.timeable
                               ? fmt::format("; Timeable {:.0f} ({:.0f} to {:.0f})", *totals.timeable,
                                             totals.timeable_low.value_or(0), totals.timeable_high.value_or(0))
                               : "");
    if (totals.two_signs) {
        out << fmt::format("  can be read     {}", word(totals.read_sign));
        if (!totals.read_reason.empty()) out << ": " << totals.read_reason;
        out << '\n';
    }
    if (totals.voids > 0) out << fmt::format("  void            {} of {} reps\n", totals.voids, totals.reps);
    if (totals.impossible_events + totals.unknown_events > 0)
        out << fmt::format("  left out        {} events of the rig that are not known here, {} that can't be\n",
                           totals.unknown_events, totals.impossible_events);
    if (totals.events_lost > 0)
        out << fmt::format("  lost            {} events of the rig; the reps they may belong to are void\n",
                           totals.events_lost);
}

}  // namespace

std::string words_of_verdict(const RepResult& rep) {
    std::string words(word(rep.verdict));
    const bool in_open = rep.phase && is_open(*rep.phase);
    switch (rep.verdict) {
        case Verdict::on_time:
            // Where several moments are right, the one that was met.
            words += fmt::format(" in the {}",
                                 in_open && rep.asked.moments != 0 ? word(*rep.phase) : word(rep.asked.moment));
            break;
        case Verdict::late:
        case Verdict::early:
            words += fmt::format(" for {}", words_of(rep.asked.moment, rep.asked.moments));
            if (in_open) words += fmt::format(": that was the {}", word(*rep.phase));
            break;
        case Verdict::clash:
            // Two gates don't tell up from pull-back.
            if (rep.phase == Phase::up_or_pull_back)
                words += " while it was up";
            else if (rep.phase)
                words += fmt::format(" in the {}", word(*rep.phase));
            break;
        case Verdict::void_rep:
            words += fmt::format(
                " ({})", rep.impossible != Impossible::none ? reason(rep.impossible) : words_for(rep.void_reason));
            break;
        default:
            break;
    }
    return words;
}

LeanCounts lean_counts(const std::vector<RepResult>& reps) {
    LeanCounts counts;
    for (const RepResult& rep : reps) {
        if (!rep.telegraphed || rep.verdict == Verdict::void_rep) continue;
        const bool lie = rep.catch_trial || was_feint(rep);
        if (lie) {
            ++counts.lies;
            counts.lies_taken += rep.verdict == Verdict::took_the_feint ? 1 : 0;
        } else {
            ++counts.kicks;
            counts.kicks_on_time += rep.verdict == Verdict::on_time ? 1 : 0;
        }
    }
    return counts;
}

std::string id_text(SessionId id) { return fmt::format("{:016x}", static_cast<std::uint64_t>(id)); }

std::string rep_line(const RepResult& rep) {
    std::string line = fmt::format(
        "  {:>3}  {:<13}{:<6}{:<34}", rep.catch_trial ? "" : std::to_string(rep.number), attack_words(rep),
        rep.scored ? words_of(rep.asked.moment, rep.asked.moments) + " " : std::string(), words_of_verdict(rep));
    if (rep.latency) {
        line += fmt::format("{:>6.0f} ms", ms(*rep.latency));
        line += rep.uncertainty == unknown_uncertainty ? ", give or take: not measured"
                                                       : fmt::format(", give or take {:.1f}", ms(rep.uncertainty));
        if (rep.commit) line += fmt::format("  (went {})", std::lround(ms(*rep.commit)));
    }
    while (!line.empty() && line.back() == ' ') line.pop_back();
    line += beside_rep(rep);
    if (rep.came && obeyed(rep) == false) line += fmt::format("  (asked: {})", word(rep.asked.kind));
    return line;
}

void print_session(std::ostream& out, const SessionResults& session, bool reps) {
    out << fmt::format("{}: {}\n", session.athlete, session.title.empty() ? session.drill : session.title);
    std::int32_t set = -1;
    for (const RepResult& rep : session.reps) {
        if (!reps) break;
        if (rep.set != set) {
            set = rep.set;
            out << fmt::format("  set {}\n", set + 1);
        }
        out << rep_line(rep) << '\n';
    }
    print_totals(out, session.totals);
    if (const LeanCounts leans = lean_counts(session.reps); leans.kicks + leans.lies > 0)
        out << fmt::format("  leans           {} of {} kicks on time, {} of {} lies taken\n", leans.kicks_on_time,
                           leans.kicks, leans.lies_taken, leans.lies);
    for (const std::string& line : beside_lines(beside_counts(session.reps, session.first_or_after)))
        out << "  " << line << '\n';
    if (const auto edge = scoring::edge_counts(session.exchange ? &*session.exchange : nullptr, session.reps)) {
        const ExchangeSaid said = edge_words(*edge);
        out << "  " << said.claim << (said.evidence.empty() ? "" : " ") << said.evidence << '\n';
    }
    if (session.exchange)
        for (const std::string& line : exchange_words(*session.exchange, session.athlete, session.partner))
            out << "  " << line << '\n';
    if (!session.line.empty()) out << "  line            " << session.line << '\n';
    for (const std::string& notice : session.notices) out << "  the rig         " << notice << '\n';
    out << fmt::format("  session         {}{}\n\n", id_text(session.id),
                       session.how == SessionEnd::finished ? "" : " (not finished)");
}

}  // namespace breakstep
