#include "app/progress/sentences.hpp"

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <optional>

#include <fmt/format.h>

namespace breakstep {
namespace {

using progress::Better;
using progress::Claim;
using progress::Followed;

std::string_view deed(Moment moment) {
    switch (moment) {
        case Moment::lift:
            return "meets the lift";
        case Moment::gap:
            return "strikes in the gap";
        case Moment::drop:
            return "meets the drop";
    }
    return "";
}

int tenths(double rate) { return static_cast<int>(std::lround(10 * rate)); }
int hundredths(double rate) { return static_cast<int>(std::lround(100 * rate)); }

std::string in_ten(int count) {
    return count == 0 ? "hardly ever" : count == 1 ? "once in 10" : fmt::format("{} times in 10", count);
}

/// "7 times in 10" and "4", or in hundredths where tenths would hide the difference.
struct Times {
    std::string now, then;
};
Times times(double now, double then) {
    if (tenths(now) == tenths(then))
        return {fmt::format("{} times in 100", hundredths(now)), fmt::format("{}", hundredths(then))};
    const int before = tenths(then);
    return {in_ten(tenths(now)), before == 0 ? "hardly ever" : fmt::format("{}", before)};
}

/// A value with as many digits as its line can tell: a tenth of the scatter, at least three figures.
std::string figure(double value, double scatter) {
    int digits = 0;
    if (scatter > 0 && std::isfinite(scatter))
        digits = std::clamp(1 - static_cast<int>(std::floor(std::log10(scatter))), 0, 6);
    return fmt::format("{:.{}f}", value, digits);
}

std::string_view way(double change) { return change < 0 ? "down" : "up"; }

constexpr const char* beyond = "That is more than the ups and downs from one evening to the next.";
constexpr const char* within = "What changed lies within the ups and downs from one evening to the next.";
constexpr const char* wait = " This is a look during the term: the end of the term decides.";

Headline of_rate(const Followed& followed, const std::string& name) {
    const auto& both = *followed.baseline_and_now;
    const Times said = times(both.now, both.baseline);
    const std::string does = fmt::format("{}", deed(followed.cell->moment));
    switch (followed.claim.claim) {
        case Claim::improved:
            return {
                fmt::format("{} now {} on time {}, up from {} when the term began.", name, does, said.now, said.then),
                beyond};
        case Claim::worse:
            return {
                fmt::format("{} now {} on time {}; it was {} when the term began.", name, does, said.now, said.then),
                beyond};
        default:
            return {fmt::format("{} {} on time {}. No clear change this term.", name, does, in_ten(tenths(both.now))),
                    within};
    }
}

Headline of_measure(const Followed& followed, const std::string& name) {
    const auto& both = *followed.baseline_and_now;
    const double scatter = followed.claim.line->scatter;
    const std::string now = figure(both.now, scatter), then = figure(both.baseline, scatter);
    if (followed.claim.claim == Claim::no_clear_change)
        return {fmt::format("{}: {} is {}. No clear change this term.", name, followed.measure, now), within};
    return {
        fmt::format("{}: {} is {} now, {} from {} when the term began, and that is {}.", name, followed.measure, now,
                    way(both.now - both.baseline), then, followed.claim.claim == Claim::improved ? "better" : "worse"),
        beyond};
}

std::string counted(std::uint64_t count, std::string_view one) {
    return fmt::format("{} {}{}", count, one, count == 1 ? "" : "s");
}

/// A measure of which nobody said which way is better.
Headline unclaimed(const Followed& followed, const std::string& name) {
    const std::string to_do = fmt::format(
        "Nothing is claimed: the settings don't say which way of {} is better ([measures] in default.toml).",
        followed.measure);
    if (!followed.baseline_and_now || !followed.claim.line)
        return {fmt::format("{} has {} of {}.", name, counted(followed.values.size(), "result"), followed.measure),
                to_do};
    const double scatter = followed.claim.line->scatter;
    return {fmt::format("{}: {} is {} now, {} at first.", name, followed.measure,
                        figure(followed.baseline_and_now->now, scatter),
                        figure(followed.baseline_and_now->baseline, scatter)),
            to_do};
}

Headline too_few(const progress::AthleteTerm& term, const std::string& name) {
    const Followed& followed = term.claimed;
    const std::size_t evenings = followed.values.size();
    if (followed.measure.empty()) {
        if (!term.others.empty()) return unclaimed(term.others.front(), name);
        return {fmt::format("{} has not run a test drill yet.", name),
                "A test once a week shows after six weeks what has changed."};
    }
    if (evenings < progress::fewest_evenings)
        return {fmt::format("Too early to say how {} has changed.", name),
                fmt::format("{} of the {} evenings that are needed are there.", evenings, progress::fewest_evenings)};
    return {fmt::format("Too few reps to say how {} has changed.", name),
            fmt::format("{} scored reps in tests, and {} are needed.", followed.reps, progress::fewest_for_trend)};
}

}  // namespace

Headline headline(const progress::AthleteTerm& term, const std::string& name) {
    const Followed& followed = term.claimed;
    if (followed.claim.claim == Claim::too_few || !followed.baseline_and_now || !followed.claim.line)
        return too_few(term, name);
    Headline said = followed.cell ? of_rate(followed, name) : of_measure(followed, name);
    if (followed.claim.provisional) said.beside += wait;
    return said;
}

std::string evidence(const Followed& followed) {
    if (!followed.claim.line) return "";
    const progress::StraightLine& line = *followed.claim.line;
    const double days = line.last_day - line.first_day;
    const double rise = line.rise(), low = line.slope_interval.low * days, high = line.slope_interval.high * days;
    if (followed.cell)
        return fmt::format("{}, {}: {:+d} of 100 over the term (95 in 100: {:+d} to {:+d}), evenings scatter by {}",
                           counted(followed.values.size(), "evening"), counted(followed.reps, "rep"), hundredths(rise),
                           hundredths(low), hundredths(high), hundredths(line.scatter));
    return fmt::format("{}: {:+.4g} over the term (95 in 100: {:+.4g} to {:+.4g}), evenings scatter by {:.4g}",
                       counted(followed.values.size(), "evening"), rise, low, high, line.scatter);
}

std::string cell_words(const progress::Cell& cell) {
    return fmt::format("{}, {}, {}{}", word(cell.moment), word(cell.counter), word(cell.stance),
                       cell.test ? ", test" : "");
}

std::string answers_words(const progress::AthleteTerm& term) {
    // The four ways to answer; after giving ground, at once and leading cut the same reps another way.
    constexpr std::size_t ways = 4;
    constexpr std::uint64_t fewest = 10;
    std::optional<std::size_t> best, worst;
    bool any = false;
    for (std::size_t i = 0; i < ways; ++i) {
        const progress::Share& share = term.answers[i];
        any = any || share.of > 0;
        if (share.of < fewest) continue;
        if (!best || share.interval().low > term.answers[*best].interval().low) best = i;
        if (!worst || share.interval().high < term.answers[*worst].interval().high) worst = i;
    }
    if (!any) return "";
    if (!best || term.answers[*best].interval().low <= term.answers[*worst].interval().high)
        return "no answer stands out yet";
    const auto said = [&](std::size_t i) {
        return fmt::format("{} ({})", word(static_cast<progress::Answer>(i)), share_words(term.answers[i]));
    };
    return fmt::format("carried by {}; {} not yet", said(*best), said(*worst));
}

std::string share_words(const progress::Share& share) { return fmt::format("{} of {}", share.hits, share.of); }

}  // namespace breakstep
