#include "cli/timeable/answer.hpp"

#include <cmath>
#include <ostream>

#include "core/reading/seconds.hpp"
#include "core/reading/words.hpp"

namespace breakstep::timeable {
namespace {

std::string counted(std::uint64_t count, const char* noun) {
    return std::to_string(count) + " " + noun + (count == 1 ? "" : "s");
}

std::string wealth_words(double wealth) { return wealth < 1e6 ? reading::decimals(wealth, 2) : "more than a million"; }

// Nobody who takes r to step in again can have made such a list: neither a sign nor a count of it would mean anything.
void print_all_shorter(std::ostream& out, const Options& options, const ListResult& result) {
    const std::string shortest = reading::decimals(reading::seconds_from(options.shortest), 2);
    out << "Can be timed: all shorter than r\n  " << counted(result.events, "interval")
        << ", none longer than r = " << shortest
        << " s, the shortest from step-in to step-in: nothing can be won on those.\n"
        << "  If this athlete can be back sooner, say how soon with --r; if these are times, call the column time_s.\n";
}

}  // namespace

void print_text(std::ostream& out, const Options& options, bool choices, const ListResult& result) {
    const char* event = choices ? "choice" : "interval";
    const char* question = choices ? "Can be read" : "Can be timed";
    if (!choices && result.too_short == result.events) {
        print_all_shorter(out, options, result);
        return;
    }
    const char* sign = result.tell_at ? "yes" : result.hunch_at ? "maybe" : "no sign";
    out << question << ": " << sign;
    if (!result.words.empty()) out << " - " << result.words;
    out << '\n';
    if (choices) {
        out << "  " << result.count_words << '\n';
    } else if (result.timeable) {
        out << "  Timeable between " << std::lround(result.timeable_interval.low) << " and "
            << std::lround(result.timeable_interval.high) << " (" << std::lround(*result.timeable)
            << "): " << result.count_words << '\n';
    } else {
        out << "  Timeable can't be said yet: " << result.count_words << '\n';
    }
    out << "  " << counted(result.events, event);
    if (!choices)
        out << ", at least " << reading::decimals(reading::seconds_from(options.shortest), 2)
            << " s from step-in to step-in";
    if (result.too_short > 0) out << " (" << result.too_short << " shorter: nothing is won on those)";
    if (result.hunch_at) out << "; maybe from " << event << " " << *result.hunch_at << " on";
    if (result.tell_at) out << ", yes from " << event << " " << *result.tell_at << " on";
    out << '\n';
    if (options.details)
        out << "  wealth " << wealth_words(result.wealth)
            << ": maybe (a hunch) once it has been at 8, which luck alone does in at most 1 of 8 lists; yes (a tell) "
               "at 20, "
               "in at most 1 of 20\n";

    constexpr std::uint64_t few_choices = 30;
    constexpr std::uint64_t few_intervals = 8;
    if (!result.tell_at && choices && result.events < few_choices)
        out << "  Under 30 choices a weak habit is not yet measurable.\n";
    if (2 * result.over_a_minute > result.events)
        out << "  Most intervals are over a minute: times are read in seconds. Is the list in milliseconds?\n";
    if (!result.tell_at && !choices && result.events < few_intervals)
        out << "  Under 8 intervals even a clear beat may not show yet.\n";
}

}  // namespace breakstep::timeable
