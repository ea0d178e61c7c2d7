#include "club/pages/countering_words.hpp"

#include <fmt/format.h>

#include <cmath>
#include <set>

#include "club/results/beside.hpp"
#include "core/reading/timeable_index.hpp"

namespace breakstep {
namespace {

void add(progress::Share& to, const progress::Share& more) {
    to.hits += more.hits;
    to.of += more.of;
}

}  // namespace

std::string first_or_after_words(const progress::Share& first, const progress::Share& after) {
    if (first.of < fewest_first_or_after || after.of < fewest_first_or_after) return "";
    const auto one = reading::wilson(first.hits, first.of), other = reading::wilson(after.hits, after.of);
    const double by = after.rate() - first.rate();
    const double low = by - std::hypot(after.rate() - other.low, one.high - first.rate());
    const double high = by + std::hypot(other.high - after.rate(), first.rate() - one.low);
    const std::string counts =
        fmt::format("first {} of {}, second {} of {}", first.hits, first.of, after.hits, after.of);
    if (low > 0) return fmt::format("To be second suits you: {} on time.", counts);
    if (high < 0) return fmt::format("To be first suits you: {} on time.", counts);
    return fmt::format("First or second: no difference so far, {} on time.", counts);
}

Expected<std::string> countering_words(const Shelf& shelf, const std::vector<const ShelvedSession*>& sessions,
                                       bool child) {
    progress::Share followed, broken, first, after, edge;
    std::set<std::int32_t> evenings;
    for (const ShelvedSession* session : sessions) {
        const bool lure = session->summary.start == StartKind::lure;
        const auto& drill = shelf.drill(session->summary.drill);
        const bool coin = drill && drill->asks.first_or_after;
        const bool leads = drill && drill->asks.rung == RungAim::edge;
        if (!lure && !coin && !leads) continue;
        const auto reps = shelf.reps(*session);
        if (!reps) return tl::make_unexpected(reps.error());
        const BesideCounts counts = beside_counts(*reps, coin);
        add(followed, counts.followed);
        add(broken, counts.broken);
        add(first, counts.first);
        add(after, counts.after);
        add(edge, counts.edge);
        if (coin) evenings.insert(session->day);
    }
    std::string words;
    if (followed.of > 0 && (!child || broken.hits > 0))
        words = child ? "You set beats for others to follow, and break them."
                      : fmt::format("Of {} beats you set {} were followed, {} of them broken.", followed.of,
                                    followed.hits, broken.hits);
    if (edge.of > 0 && (!child || edge.hits > 0)) {
        if (!words.empty()) words += ' ';
        words +=
            child ? "You lead others to the edge, and meet them there."
                  : fmt::format("Led to the edge, others attacked {} times; you met {} in time.", edge.of, edge.hits);
    }
    if (child || evenings.size() < evenings_first_or_after) return words;
    const std::string suits = first_or_after_words(first, after);
    if (!suits.empty()) words += (words.empty() ? "" : " ") + suits;
    return words;
}

}  // namespace breakstep
