#include "club/term/sentences.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdlib>
#include <iterator>
#include <optional>

#include <fmt/format.h>

#include "club/term/term.hpp"
#include "store/text_rules.hpp"

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

/// "3 times in 10"; near a quarter, which lies between two tenths, "about once in 4".
std::string about(double rate) {
    if (hundredths(rate) >= 23 && hundredths(rate) <= 27) return "about once in 4";
    if (hundredths(rate) >= 73 && hundredths(rate) <= 77) return "about 3 times in 4";
    return in_ten(tenths(rate));
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
constexpr const char* beyond_without_cause = "More than the usual ups and downs. The figures can\u2019t say why.";
/// What "now" and "at first" are the means of.
constexpr const char* ends_words = "By the last three evenings and the first three.";
constexpr const char* end_decides = "The end of the term decides.";

/// "nine evenings", "13 evenings".
std::string evenings_words(std::size_t count) {
    static constexpr const char* names[] = {"no",    "one",   "two",  "three", "four",   "five",  "six",
                                            "seven", "eight", "nine", "ten",   "eleven", "twelve"};
    const std::string number = count < std::size(names) ? names[count] : std::to_string(count);
    return number + (count == 1 ? " evening" : " evenings");
}

std::string capitalised(std::string text) {
    if (!text.empty()) text[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(text[0])));
    return text;
}

std::string no_clear_change(const Followed& followed) {
    return fmt::format("No clear change {}; a small one would not show in {}.",
                       followed.claim.provisional ? "so far" : "this term", evenings_words(followed.values.size()));
}

std::string joined(std::string first, const std::string& second) {
    if (!first.empty() && !second.empty()) first += " ";
    return first + second;
}

double mean_of(const Followed& followed) {
    double sum = 0;
    for (const progress::EveningValue& evening : followed.values) sum += evening.value;
    return followed.values.empty() ? 0 : sum / static_cast<double>(followed.values.size());
}

Headline of_rate(const Followed& followed, const std::string& name, Reader reader) {
    const auto& both = *followed.baseline_and_now;
    const Times said = times(both.now, both.baseline);
    const std::string does{deed(followed.cell->moment)};
    const std::string decides = followed.claim.provisional ? end_decides : "";
    switch (followed.claim.claim) {
        case Claim::improved:
            if (followed.claim.provisional)
                return {fmt::format("So far {} {} on time {}, {} at first.", name, does, said.now, said.then),
                        joined(ends_words, decides)};
            return {
                fmt::format("{} now {} on time {}, up from {} when the term began.", name, does, said.now, said.then),
                joined(ends_words, beyond)};
        case Claim::worse:
            // A child takes no falling number home; the coach says what it means.
            if (reader == Reader::child)
                return {fmt::format("We practise the {} again.", word(followed.cell->moment)), ""};
            return {fmt::format("The {} needs practice again: {} is on time {} now, {} when the term began.",
                                word(followed.cell->moment), name, said.now, said.then),
                    joined(joined(ends_words, beyond_without_cause), decides.empty() ? "We start there." : decides)};
        default:
            // Nothing changed: then all evenings tell more than the last three, and stand beneath as counts.
            return {fmt::format("In tests {} {} on time {}.", name, does, about(mean_of(followed))),
                    no_clear_change(followed)};
    }
}

Headline of_measure(const Followed& followed, const std::string& name, Reader reader) {
    const auto& both = *followed.baseline_and_now;
    const double scatter = followed.claim.line->scatter;
    const std::string now = figure(both.now, scatter), then = figure(both.baseline, scatter);
    const std::string decides = followed.claim.provisional ? end_decides : "";
    switch (followed.claim.claim) {
        case Claim::improved:
            return {fmt::format("{}: {} is {} now, {} from {} when the term began, and that is better.", name,
                                followed.measure, now, way(both.now - both.baseline), then),
                    joined(beyond, decides)};
        case Claim::worse:
            if (reader == Reader::child) return {fmt::format("We practise {} again.", followed.measure), ""};
            return {fmt::format("{} needs practice again: {} is at {} now, {} when the term began.", followed.measure,
                                name, now, then),
                    joined(beyond_without_cause, decides)};
        default:
            return {fmt::format("{}: {} is {}.", name, followed.measure, now), no_clear_change(followed)};
    }
}

std::string counted(std::uint64_t count, std::string_view one) {
    return fmt::format("{} {}{}", count, one, count == 1 ? "" : "s");
}

/// A measure of which nobody said which way is better: the coach can mend that, a reader at home can't.
Headline unclaimed(const Followed& followed, const std::string& name, Reader reader) {
    const std::string to_do =
        reader == Reader::coach
            ? fmt::format(
                  "Nothing is claimed: the settings don't say which way of {} is better ([measures] in "
                  "default.toml).",
                  followed.measure)
            : "";
    // Which way is better is not known, so that nobody knows whether it fell: the coach's to tell a child.
    if (!followed.baseline_and_now || !followed.claim.line || reader == Reader::child)
        return {fmt::format("{} has {} of {}.", name, counted(followed.values.size(), "result"), followed.measure),
                to_do};
    const double scatter = followed.claim.line->scatter;
    return {fmt::format("{}: {} is {} now, {} at first.", name, followed.measure,
                        figure(followed.baseline_and_now->now, scatter),
                        figure(followed.baseline_and_now->baseline, scatter)),
            to_do};
}

/// " Last time 9 of 20 on time."
std::string last_time(const progress::AthleteTerm& term) {
    if (!term.claimed.cell) return "";
    for (const progress::CellTerm& one : term.cells)
        if (one.cell == *term.claimed.cell && !one.evenings.empty())
            return fmt::format(" Last time {} on time.", share_words(one.evenings.back().on_time));
    return "";
}

Headline too_few(const progress::AthleteTerm& term, const std::string& name, Reader reader) {
    const Followed& followed = term.claimed;
    const std::size_t evenings = followed.values.size();
    if (followed.measure.empty()) {
        if (!term.others.empty()) return unclaimed(term.others.front(), name, reader);
        return {fmt::format("{} has not run a test drill yet.", name),
                "A test once a week shows after six weeks what has changed."};
    }
    // On an athlete's own page the name stands above.
    const std::string who = reader == Reader::coach ? name + ": " : "";
    const auto begun = [&](std::string words) { return who.empty() ? capitalised(std::move(words)) : who + words; };
    const std::string from_on = reader == Reader::coach ? "there is more to say" : "this page can say more";
    if (evenings < progress::fewest_evenings)
        return {fmt::format("{} so far: too early to tell.{}", begun(evenings_words(evenings)), last_time(term)),
                fmt::format("From {} on {}.", evenings_words(progress::fewest_evenings), from_on)};
    return {fmt::format("{} so far to tell.{}", begun("too few reps"), last_time(term)),
            fmt::format("{} in tests so far; from {} on {}.", counted(followed.reps, "scored rep"),
                        progress::fewest_for_trend, from_on)};
}

}  // namespace

Headline headline(const progress::AthleteTerm& term, const std::string& name, Reader reader) {
    const Followed& followed = term.claimed;
    if (followed.claim.claim == Claim::too_few || !followed.baseline_and_now || !followed.claim.line)
        return too_few(term, name, reader);
    return followed.cell ? of_rate(followed, name, reader) : of_measure(followed, name, reader);
}

bool has_fallen(const progress::AthleteTerm& term) {
    const Followed& followed = term.claimed;
    if (!followed.baseline_and_now) {
        // Before there are enough evenings for both ends: the first against the last.
        return followed.cell && followed.values.size() > 1 &&
               followed.values.back().value < followed.values.front().value;
    }
    const double change = followed.baseline_and_now->now - followed.baseline_and_now->baseline;
    return followed.better == progress::Better::lower ? change > 0 : change < 0;
}

GroupChanges group_changes(std::span<const progress::AthleteTerm> terms) {
    GroupChanges changes;
    double greatest = 0;
    for (const progress::AthleteTerm& term : terms) {
        const Claim claim = term.claimed.claim.claim;
        if (claim != Claim::too_few) ++changes.told;
        if (claim != Claim::improved && claim != Claim::worse) continue;
        (claim == Claim::improved ? changes.improved : changes.worse).push_back(term.athlete);
        // Of claims with these q values (Benjamini and Hochberg) the greatest holds for the whole list.
        greatest = std::max(greatest, term.claimed.q.value_or(1));
    }
    changes.expected_wrong = greatest * static_cast<double>(changes.improved.size() + changes.worse.size());
    return changes;
}

std::string group_words(const GroupChanges& changes) {
    const std::size_t named = changes.improved.size() + changes.worse.size();
    if (changes.told == 0)
        return "Too little yet to name anybody: an athlete\u2019s change can be told from six evenings on.";
    if (named == 0) return "Nobody is named as changed: what there is lies within everyone\u2019s own ups and downs.";
    return fmt::format(
        "{} improved, {} {} practice again, the others not clearly changed. Of {} about {:.1f} {} expected "
        "to be wrong by chance.",
        changes.improved.size(), changes.worse.size(), changes.worse.size() == 1 ? "needs" : "need",
        named == 1 ? "this one name" : fmt::format("these {} names", named), changes.expected_wrong,
        named == 1 ? "is" : "are");
}

std::string evidence(const Followed& followed) {
    if (!followed.claim.line || followed.claim.claim == progress::Claim::too_few) return "";
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
    return fmt::format("{}, {}, {}{}", words_of(cell.moment, cell.moments), word(cell.counter), word(cell.stance),
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
        // The lift is learned late, and without a warning nobody meets it.
        if (i == static_cast<std::size_t>(progress::Answer::meeting_the_lift)) continue;
        if (!worst || share.interval().high < term.answers[*worst].interval().high) worst = i;
    }
    if (!any) return "";
    if (!best || !worst || best == worst || term.answers[*best].interval().low <= term.answers[*worst].interval().high)
        return "no answer stands out yet";
    const auto said = [&](std::size_t i) {
        return fmt::format("{} ({})", word(static_cast<progress::Answer>(i)), share_words(term.answers[i]));
    };
    return fmt::format("of lift, gap, drop and around most often on time: {}; next to learn: {}", said(*best),
                       said(*worst));
}

std::string plan_order_words() {
    return fmt::format(
        "Of gap and drop the one in which the group is on time least comes first, each athlete counted alike; one with "
        "under {} reps, or of fewer than {} athletes, in the last four weeks waits: too few to tell. Drills in a known "
        "pattern don\u2019t count. The lift comes last: it is met only by who knows or sees that it comes.",
        progress::fewest_for_plan, progress::fewest_athletes_for_plan);
}

std::string plan_reason(const progress::PlanBlock& block) {
    if (block.athletes == 0) return "hardly practised";
    const std::string whose = counted(block.athletes, "athlete");
    if (!block.told && !block.by_coach)
        return fmt::format("too few to tell: {} of {}", counted(block.on_time.of, "rep"), whose);
    return fmt::format("{} on time {} in 100{}, {}", whose, hundredths(block.rate),
                       block.athletes == 1 ? "" : " on average", share_words(block.on_time));
}

std::string rung_words(const progress::RungStanding& rung) {
    constexpr const char* unsure = " (not sure yet: luck could look the same)";
    std::string said =
        fmt::format("{} {} of {} over {}; the mark is {} of 100{}", word(rung.done), rung.on_time, rung.reps,
                    evenings_words(rung.evenings), hundredths(rung.mark), rung.attacks_unsure() ? unsure : "");
    if (rung.has_feints)
        said += fmt::format(", held {} of {} feints, mark {} of 100{}", rung.held, rung.feints,
                            hundredths(ladder::held_mark), rung.held_unsure() ? unsure : "");
    if (rung.passed_day) said = fmt::format("passed on {}: {}", day_words(*rung.passed_day), said);
    if (rung.step_down) said += "; hard just now";
    if (rung.voided_by_coach > 0) said += fmt::format("; {} taken out by the coach", rung.voided_by_coach);
    if (!rung.promise_holds()) said += ", more than one in ten, so a pass promises nothing";
    return said;
}

std::string offer_words(const progress::NextDrill& next, const std::string& call_sign) {
    if (!next.undecided) return next.offer;
    return fmt::format(
        "{} on rung {}, neither passed nor too hard: going on is yours to decide. `breakstep athletes change {} --rung "
        "{}` puts {} on rung {}; \"\" in its place takes it back",
        evenings_words(next.undecided->evenings), next.undecided->rung, shell_word(call_sign),
        next.undecided->next_rung, call_sign, next.undecided->next_rung);
}

std::string share_words(const progress::Share& share) { return fmt::format("{} of {}", share.hits, share.of); }

}  // namespace breakstep
