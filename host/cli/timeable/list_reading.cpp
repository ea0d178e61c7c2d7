#include "cli/timeable/list_reading.hpp"

#include <algorithm>
#include <cmath>

#include "core/trade/rules.hpp"

namespace breakstep::timeable {
namespace {

/// True if this event raised a sign.
bool judge(ListResult& result, double wealth) {
    ++result.events;
    result.wealth = wealth;
    const bool hunch = !result.hunch_at && wealth >= hunch_wealth;
    const bool tell = !result.tell_at && wealth >= tell_wealth;
    if (hunch) result.hunch_at = result.events;
    if (tell) result.tell_at = result.events;
    return hunch || tell;
}

}  // namespace

void IntervalList::add(Duration interval) {
    so_far_.too_short += interval <= shortest_ ? 1 : 0;
    so_far_.over_a_minute += interval > 60s ? 1 : 0;
    test_.predict(shortest_);
    if (const auto outcome = test_.entered(interval)) tally_.add(outcome->hit, outcome->chance);
    if (!judge(so_far_, test_.wealth())) return;
    const reading::Reason reason = reading::tempo_reason(reading::Stream::entry, test_);
    so_far_.cause = reason.cause;
    so_far_.words = reason.words;
}

ListResult IntervalList::result() const {
    ListResult result = so_far_;
    const reading::HitCount count = tally_.count();
    result.hits = count.hits;
    result.scored = count.scored;
    result.chance = count.chance;
    if (count.shown()) result.timeable = count.timeable();
    result.timeable_interval = count.timeable_interval();
    result.count_words = count.words();
    return result;
}

void ChoiceList::add(std::uint8_t symbol) {
    test_.look(symbol);
    const double logarithm = habit_ ? test_.log_wealth_habit() : test_.log_wealth_free();
    if (!judge(so_far_, std::exp(std::min(logarithm, 690.0)))) return;
    const reading::Reason reason = reading::plain_choice_reason(test_);
    so_far_.cause = reason.cause;
    so_far_.words = reason.words;
}

ListResult ChoiceList::result() const {
    ListResult result = so_far_;
    const double fair = habit_ ? reading::habit_bound(test_.symbols()) : 1.0 / static_cast<double>(test_.symbols());
    result.hits = test_.hits();
    result.scored = test_.seen();
    result.chance = fair * static_cast<double>(test_.seen());
    result.count_words = std::to_string(result.hits) + " of " + std::to_string(result.scored) + " guessed, luck " +
                         std::to_string(std::llround(result.chance));
    return result;
}

}  // namespace breakstep::timeable
