#include "core/reading/lure.hpp"

#include <cmath>

#include "core/reading/seconds.hpp"
#include "core/reading/words.hpp"
#include "core/trade/rules.hpp"

namespace breakstep::reading {

LureScore score_lure(std::span<const Duration> set, Duration last, Duration shortest, bool contact_in_lift) {
    LureScore score;
    score.contact_in_lift = contact_in_lift;
    TempoTest test;
    HitTally tally;
    for (const Duration interval : set) {
        test.predict(shortest);
        if (const auto outcome = test.entered(interval)) tally.add(outcome->hit, outcome->chance);
    }
    score.set = tally.count();
    score.set_wealth = test.wealth();
    score.readable = score.set_wealth >= hunch_wealth;
    const Forecast& forecast = test.predict(shortest);
    if (forecast.window) {
        score.expected = forecast.window->centre();
        score.ahead = *score.expected - last;
        score.broken = last < forecast.window->from;
    }
    return score;
}

std::string LureScore::words() const {
    if (!ahead) return "the set was too short to tell a beat";
    std::string text = readable ? "the beat was set: " : "no clear beat was set: ";
    text += set.words() + "; ";
    const double seconds = seconds_from(*ahead);
    if (broken)
        text += "broken " + decimals(seconds, 2) + " s ahead";
    else if (seconds >= 0)
        text += "not broken: only " + decimals(seconds, 2) + " s ahead";
    else
        text += "not broken: " + decimals(-seconds, 2) + " s behind the beat";
    return text + (contact_in_lift ? ", struck in the lift" : ", no strike in the lift");
}

}  // namespace breakstep::reading
