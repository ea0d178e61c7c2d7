#include <algorithm>

#include <fmt/format.h>

#include "app/commands/athletes/shared.hpp"
#include "app/commands/consent/consent_words.hpp"
#include "app/commands/report/page_of.hpp"

namespace breakstep {
namespace {

using pages::GroupRow;
using progress::AthleteTerm;
using progress::Claim;

GroupRow row_of(const Athlete& athlete, const AthleteTerm& term) {
    const progress::Followed& claimed = term.claimed;
    GroupRow row;
    row.call_sign = shown(athlete);
    row.claim = claimed.claim.claim;
    row.provisional = claimed.claim.provisional;
    row.measure = measure_words(claimed);
    if (claimed.measure.empty())
        row.unclaimed = term.others.empty() ? "no test yet" : "nothing claimed";
    else if (row.claim == Claim::too_few && claimed.values.size() >= progress::fewest_evenings)
        row.unclaimed = "too few reps";
    row.evenings = std::max<std::uint64_t>(term.evenings, claimed.values.size());
    for (const progress::Followed& other : term.others)
        row.evenings = std::max<std::uint64_t>(row.evenings, other.values.size());
    row.reps = term.reps;
    for (const progress::CellTerm& cell : term.cells) {
        if (!claimed.cell || cell.cell != *claimed.cell || !cell.baseline || !cell.now) continue;
        row.baseline = cell.baseline->on_time;
        row.now = cell.now->on_time;
        row.values = fmt::format("{:.0f} to {:.0f} %", 100 * row.baseline->rate(), 100 * row.now->rate());
    }
    if (!claimed.cell && claimed.baseline_and_now)
        row.values = fmt::format("{:.4g} to {:.4g}", claimed.baseline_and_now->baseline, claimed.baseline_and_now->now);
    return row;
}

/// Of claims with these q values (Benjamini and Hochberg), the greatest holds for the whole list.
std::string expected_wrong(const std::vector<AthleteTerm>& terms) {
    int improved = 0, worse = 0;
    double greatest = 0;
    for (const AthleteTerm& term : terms) {
        const Claim claim = term.claimed.claim.claim;
        if (claim != Claim::improved && claim != Claim::worse) continue;
        (claim == Claim::improved ? improved : worse) += 1;
        greatest = std::max(greatest, term.claimed.q.value_or(1));
    }
    const int named = improved + worse;
    const bool any_told = std::any_of(
        terms.begin(), terms.end(), [](const AthleteTerm& term) { return term.claimed.claim.claim != Claim::too_few; });
    if (!any_told) return "Too little yet to name anybody: an athlete\u2019s change can be told from six evenings on.";
    if (named == 0) return "Nobody is named as changed: what there is lies within everyone\u2019s own ups and downs.";
    return fmt::format(
        "{} improved, {} worse, the others not clearly changed. Of {} about {:.1f} {} expected to be "
        "wrong by chance: a false discovery rate of {:.0f} %.",
        improved, worse, named == 1 ? "this one name" : fmt::format("these {} names", named), greatest * named,
        named == 1 ? "is" : "are", 100 * greatest);
}

void add_plan(pages::GroupPage& page, const NextRules& rules, const Term& term) {
    const auto blocks = progress::group_plan(term.terms, rules.plan);
    if (blocks.empty()) return;
    page.plan_words =
        blocks.front().by_coach
            ? "In the coach\u2019s order."
            : "The moment in which the group is on time least comes first; the coach\u2019s word counts more.";
    for (const progress::PlanBlock& block : blocks)
        page.plan.push_back(
            {block.first_week == block.last_week ? fmt::format("week {}", block.first_week)
                                                 : fmt::format("weeks {} to {}", block.first_week, block.last_week),
             fmt::format("the {}", word(block.moment)),
             block.on_time.of == 0 ? "not practised in the last four weeks"
                                   : fmt::format("on time {} in the last four weeks", pages::counts(block.on_time))});
}

}  // namespace

pages::GroupPage group_page_of(const Shelf& shelf, const Settings& settings, const NextRules& rules, const Term& term) {
    pages::GroupPage page;
    page.club = settings.club;
    page.term = term.terms.empty() ? "" : span_of_days(term.first_day, term.last_day);
    for (const AthleteTerm& one : term.terms) {
        GroupRow row = row_of(term.athlete(one), one);
        const auto next = one.reps == 0 ? std::nullopt : progress::next_drill(one, rules.rules);
        if (next) row.next = "next: " + shelf.title_of(next->drill);
        page.rows.push_back(std::move(row));
    }
    page.expected_wrong = expected_wrong(term.terms);
    add_plan(page, rules, term);
    std::vector<Athlete> there;
    for (const AthleteTerm& one : term.terms) there.push_back(term.athlete(one));
    // First, so that it is not what a narrow sheet cuts.
    page.footer = whose_consent_ends(there, today_here());
    page.footer += page.footer.empty() ? "" : " ";
    page.footer += "Everyone is compared with themselves only. Bars hold the true value 95 times in 100.";
    return page;
}

}  // namespace breakstep
