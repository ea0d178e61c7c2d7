#include "club/results/turn_line.hpp"

#include <fmt/format.h>

#include <map>
#include <vector>

namespace breakstep {
namespace {

/// The fault that came most often; nothing where none came twice.
std::string main_fault(const std::vector<RepResult>& reps) {
    std::map<Verdict, int> faults;
    for (const RepResult& rep : reps) {
        const bool good = rep.verdict == Verdict::on_time || rep.verdict == Verdict::around;
        if (rep.scored && !good) ++faults[rep.verdict];
    }
    const std::pair<const Verdict, int>* most = nullptr;
    for (const auto& each : faults)
        if (most == nullptr || each.second > most->second) most = &each;
    if (most == nullptr || most->second < 2) return "";
    return fmt::format("mostly {} ({})", word(most->first), most->second);
}

}  // namespace

std::string line_for_coach(const SessionResults& session) {
    const SessionTotals& totals = session.totals;
    std::vector<std::string> said;
    if (totals.scored > 0)
        said.push_back(fmt::format("{} of {} on time", totals.on_time + totals.around, totals.scored));
    else
        said.emplace_back("nothing scored");
    if (std::string fault = main_fault(session.reps); !fault.empty()) said.push_back(std::move(fault));
    if (totals.feints > 0) said.push_back(fmt::format("{} of {} feints taken", totals.feints_taken, totals.feints));
    if (const LeanCounts leans = lean_counts(session.reps); leans.lies > 0)
        said.push_back(fmt::format("{} of {} lies taken", leans.lies_taken, leans.lies));
    if (totals.sign != Sign::none)
        said.push_back(fmt::format("can be timed, {}: {}", word(totals.sign), totals.sign_reason));
    if (totals.read_sign != Sign::none)
        said.push_back(fmt::format("can be read, {}: {}", word(totals.read_sign), totals.read_reason));
    if (totals.voids > 0) said.push_back(fmt::format("{} void", totals.voids));
    return fmt::format("{}: {}", session.athlete, fmt::join(said, "; "));
}

}  // namespace breakstep
