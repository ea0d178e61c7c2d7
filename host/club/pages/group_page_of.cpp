#include <algorithm>

#include <fmt/format.h>

#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"
#include "club/pages/page_of.hpp"
#include "club/term/sentences.hpp"

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

void add_plan(pages::GroupPage& page, const NextRules& rules, const Term& term) {
    const auto blocks = progress::group_plan(term.terms, rules.plan);
    if (blocks.empty()) return;
    page.plan_words = blocks.front().by_coach ? "In the coach\u2019s order."
                                              : plan_order_words() + " The coach\u2019s word counts more.";
    for (const progress::PlanBlock& block : blocks)
        page.plan.push_back({block.first_week == block.last_week
                                 ? fmt::format("week {}", block.first_week)
                                 : fmt::format("weeks {} to {}", block.first_week, block.last_week),
                             fmt::format("the {}", word(block.moment)), plan_reason(block)});
}

}  // namespace

pages::GroupPage group_page_of(const Shelf& shelf, const Settings& settings, const NextRules& rules, const Term& term) {
    pages::GroupPage page;
    page.club = settings.club;
    page.term = term.terms.empty() ? "" : span_of_days(term.first_day, term.last_day);
    for (const AthleteTerm& one : term.terms) {
        GroupRow row = row_of(term.athlete(one), one);
        if (const auto next = progress::next_drill(one, rules.rules)) row.next = "next: " + shelf.title_of(next->drill);
        page.rows.push_back(std::move(row));
    }
    page.expected_wrong = group_words(group_changes(term.terms));
    add_plan(page, rules, term);
    std::vector<Athlete> there;
    for (const AthleteTerm& one : term.terms) there.push_back(term.athlete(one));
    const bool of_one = !there.empty() && std::all_of(there.begin(), there.end(), [&](const Athlete& each) {
        return each.group == there.front().group;
    });
    if (of_one) page.group = there.front().group;
    // First, so that it is not what a narrow sheet cuts.
    page.footer = whose_consent_ends(there, today_here());
    page.footer += page.footer.empty() ? "" : " ";
    page.footer += "Everyone is compared with themselves only.";
    const bool bars =
        std::any_of(page.rows.begin(), page.rows.end(), [](const GroupRow& row) { return row.baseline || row.now; });
    if (bars) page.footer += " Bars hold the true value 95 times in 100.";
    return page;
}

}  // namespace breakstep
