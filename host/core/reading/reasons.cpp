#include "core/reading/reasons.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "core/reading/words.hpp"

namespace breakstep::reading {

std::string_view word(Stream stream) {
    switch (stream) {
        case Stream::entry:
            return "entry";
        case Stream::out:
            return "out";
        case Stream::in:
            return "in";
        case Stream::retreat:
            return "retreat";
        case Stream::depth:
            return "depth";
        case Stream::side:
            return "side";
        case Stream::pad:
            return "pad";
        case Stream::moment:
            return "moment";
    }
    return "unknown";
}

namespace {

// ---- clocks
// -----------------------------------------------------------------------------------------------------------

constexpr double alike = 0.25;  // on the logarithm: intervals that a coach would call the same

std::string_view opening(Stream clock) {
    switch (clock) {
        case Stream::out:
            return "out of reach: ";
        case Stream::in:
            return "inside: ";
        default:
            return "";
    }
}

struct Beat {
    double seconds = 0;
    double variation = 0;        // coefficient of variation of those on the beat
    std::uint64_t in_a_row = 0;  // the last intervals, without a break
    std::uint64_t on_beat = 0;   // of `looked_at`
    std::uint64_t looked_at = 0;
};

/// Around the bet that leads the one-beat group.
Beat beat_of(const TempoTest& test) {
    constexpr std::size_t span = 12;
    const IntervalHistory& past = test.history();
    Beat beat;
    beat.looked_at = std::min<std::uint64_t>(past.size(), span);
    // The fullest window, as the mode account looks for it, then the mean of what lies around it.
    std::size_t fullest = 1;
    std::uint64_t most = 0;
    for (std::size_t low = 1; low <= beat.looked_at; ++low) {
        std::uint64_t inside = 0;
        for (std::size_t back = 1; back <= beat.looked_at; ++back)
            inside += std::abs(past.logarithm(back) - past.logarithm(low)) <= alike / 2 ? 1 : 0;
        if (inside > most) {
            most = inside;
            fullest = low;
        }
    }
    double sum = 0;
    double squares = 0;
    for (std::size_t back = 1; back <= beat.looked_at; ++back) {
        const double offset = past.logarithm(back) - past.logarithm(fullest);
        if (std::abs(offset) > alike) continue;
        sum += offset;
        squares += offset * offset;
        ++beat.on_beat;
    }
    const auto n = static_cast<double>(beat.on_beat);
    beat.seconds = std::exp(past.logarithm(fullest) + sum / n);
    beat.variation = n > 1 ? std::sqrt(std::max(squares - sum * sum / n, 0.0) / (n - 1.0)) : 0.0;
    const auto kept = past.kept();
    while (beat.in_a_row < kept &&
           std::abs(past.logarithm(static_cast<std::size_t>(beat.in_a_row) + 1) - std::log(beat.seconds)) <= alike)
        ++beat.in_a_row;
    return beat;
}

/// Centres of the last `period` phases, in the order in which they will come again.
std::vector<double> phase_centres(const IntervalHistory& past, std::size_t period) {
    std::vector<double> centres;
    for (std::size_t ahead = period; ahead >= 1; --ahead) {
        double sum = 0;
        double count = 0;
        for (std::size_t back = ahead; back <= std::min(past.kept(), 3 * period); back += period) {
            sum += past.logarithm(back);
            count += 1.0;
        }
        centres.push_back(count > 0 ? std::exp(sum / count) : 0.0);
    }
    return centres;
}

std::string of(std::uint64_t part, std::uint64_t whole) {
    return std::to_string(part) + " of " + std::to_string(whole);
}

constexpr double only_a_favourite = 0.80;  // of the last entries; from there on it is the beat

/// A coach sees three in a row; fewer are counted among the last.
constexpr std::uint64_t seen_in_a_row = 3;

/// So many of the last entries lie on it that it is the beat.
bool is_plain(const Beat& beat) {
    return static_cast<double>(beat.on_beat) >= only_a_favourite * static_cast<double>(beat.looked_at);
}

bool is_favourite(const Beat& beat, TempoCause cause, BeatWords words) {
    const bool mode_leads = cause == TempoCause::favourite_beat;
    if (words == BeatWords::as_first_written) return mode_leads || beat.in_a_row < seen_in_a_row;
    return mode_leads && !is_plain(beat);
}

Reason beat_reason(Stream clock, const TempoTest& test, TempoCause cause, BeatWords words) {
    const Beat beat = beat_of(test);
    Reason reason;
    reason.stream = clock;
    const std::string entries = words == BeatWords::as_first_written ? "entries" : "step-ins";
    const std::string noun = clock == Stream::in ? "stays" : clock == Stream::out ? "waits" : entries;
    if (is_favourite(beat, cause, words)) {
        reason.cause = word(TempoCause::favourite_beat);
        const double share = static_cast<double>(beat.on_beat) / static_cast<double>(beat.looked_at);
        reason.words = std::string(opening(clock)) + "one favourite beat: " + percent(share) + " of " + noun + " at " +
                       decimals(beat.seconds, 2) + " s";
        reason.nudge = "favourite beat: " + decimals(beat.seconds, 1) + " s";
        return reason;
    }
    reason.cause = word(TempoCause::one_beat);
    // k like intervals in a row have k + 1 entries, but a coach counts how often the beat came.
    const bool in_a_row = beat.in_a_row >= seen_in_a_row;
    const std::string counted = of(beat.on_beat, beat.looked_at);
    reason.words = std::string(opening(clock)) + "same beat: " + decimals(beat.seconds, 2) + " s, give or take " +
                   percent(beat.variation) + ", " + (in_a_row ? count_word(beat.in_a_row) : counted) + " " + noun;
    reason.nudge = "same beat: " + decimals(beat.seconds, 1) + " s, " +
                   (in_a_row ? times_word(beat.in_a_row) : counted + " times");
    return reason;
}

// ---- choices
// ----------------------------------------------------------------------------------------------------------

std::string_view plural(Stream choice) {
    switch (choice) {
        case Stream::retreat:
            return "retreats";
        case Stream::depth:
            return "depths";
        case Stream::side:
            return "sides";
        case Stream::pad:
            return "pads";
        default:
            return "moments";
    }
}

std::string retreats_before(std::size_t retreats) {
    switch (retreats) {
        case 0:
            return "without a retreat";
        case 1:
            return "after one retreat";
        case 2:
            return "after two retreats";
        default:
            return "after three or more retreats";
    }
}

struct Favourite {
    std::uint8_t symbol = 0;
    std::uint64_t count = 0;
};

Favourite favourite_of(const ChoiceTest& test) {
    Favourite favourite;
    for (std::size_t s = 0; s < test.symbols(); ++s) {
        const auto symbol = static_cast<std::uint8_t>(s);
        if (test.count(symbol) > favourite.count) favourite = {symbol, test.count(symbol)};
    }
    return favourite;
}

Reason favourite_reason(Stream choice, const ChoiceTest& test, std::span<const std::string> labels,
                        const Favourite& favourite) {
    Reason reason;
    reason.stream = choice;
    const std::string counts = ", " + of(favourite.count, test.seen());
    if (choice == Stream::retreat) {
        constexpr std::size_t or_more = 3;
        reason.cause = retreats_before(favourite.symbol + or_more + 1 - test.symbols());
        reason.words = reason.cause + " you go" + counts;
        reason.nudge = reason.cause + " you go";
        return reason;
    }
    const std::string label =
        favourite.symbol < labels.size() ? labels[favourite.symbol] : "number " + std::to_string(favourite.symbol);
    reason.cause = "favourite " + std::string(word(choice));
    if (choice == Stream::depth)
        reason.nudge = "you give the same ground: " + label;
    else
        reason.nudge = "you favour the " + label;
    reason.words = reason.nudge + counts;
    return reason;
}

enum class ChoiceKind : std::uint8_t { favourite, alternating, again, pattern };

ChoiceKind kind_of(const ChoiceTest& test) {
    // A favourite unless the order of the choices tells clearly more than their shares do (I of choice_test.hpp).
    const bool in_order = test.log_pattern() > 1.0;
    if (!in_order && favourite_of(test).count * test.symbols() > test.seen()) return ChoiceKind::favourite;
    const std::uint64_t steps = test.seen() > 0 ? test.seen() - 1 : 0;
    if (test.symbols() == 2 && (steps - test.repeats()) * 4 >= steps * 3) return ChoiceKind::alternating;
    return test.repeats() * 4 >= steps * 3 ? ChoiceKind::again : ChoiceKind::pattern;
}

Reason order_reason(Stream choice, const ChoiceTest& test, std::string_view one, std::string_view many) {
    Reason reason;
    reason.stream = choice;
    const std::string thing(one);
    const std::string things(many);
    const std::uint64_t steps = test.seen() > 0 ? test.seen() - 1 : 0;
    switch (kind_of(test)) {
        case ChoiceKind::alternating:
            reason.cause = "alternating " + things;
            reason.nudge = "you alternate " + things;
            reason.words = reason.nudge + ", " + of(steps - test.repeats(), steps);
            break;
        case ChoiceKind::again:
            reason.cause = "same " + thing + " again";
            reason.nudge = "you stay with the same " + thing;
            reason.words = reason.nudge + ", " + of(test.repeats(), steps);
            break;
        default:
            reason.cause = "pattern of " + things;
            reason.nudge = "your " + things + " follow a pattern";
            reason.words = reason.nudge + ", guessed " + of(test.hits(), test.seen());
    }
    return reason;
}

}  // namespace

Reason tempo_reason(Stream clock, const TempoTest& test, BeatWords words) {
    const TempoCause cause = test.cause();
    if (cause == TempoCause::one_beat || cause == TempoCause::favourite_beat)
        return beat_reason(clock, test, cause, words);
    // Any bet may lead on a plain beat, where the phases of a pattern differ by nothing that anyone would hear.
    if (words == BeatWords::as_counted && is_plain(beat_of(test)))
        return beat_reason(clock, test, TempoCause::one_beat, words);
    Reason reason;
    reason.stream = clock;
    reason.cause = word(cause);
    const std::string start(opening(clock));
    if (cause == TempoCause::pattern) {
        reason.nudge = "your pauses repeat a pattern";
        reason.words = start + "a pattern: what came after the same two pauses comes again";
        return reason;
    }
    const std::size_t period = cause == TempoCause::long_short ? 2 : 3;
    const std::vector<double> centres = phase_centres(test.history(), period);
    std::string long_form;
    std::string short_form;
    for (const double centre : centres) {
        const std::string_view between = long_form.empty() ? "" : ", ";
        long_form += std::string(between) + decimals(centre, 2);
        short_form += std::string(between) + decimals(centre, 1);
    }
    reason.words = start + reason.cause + ": " + long_form + " s, over and over";
    reason.nudge = reason.cause + ": " + short_form + " s";
    return reason;
}

Reason choice_reason(Stream choice, const ChoiceTest& test, std::span<const std::string> labels) {
    if (kind_of(test) == ChoiceKind::favourite) return favourite_reason(choice, test, labels, favourite_of(test));
    return order_reason(choice, test, word(choice), plural(choice));
}

Reason plain_choice_reason(const ChoiceTest& test) {
    if (kind_of(test) != ChoiceKind::favourite) return order_reason(Stream::side, test, "choice", "choices");
    const Favourite favourite = favourite_of(test);
    Reason reason;
    reason.cause = "favourite choice";
    reason.nudge = "one favourite: " + std::to_string(favourite.symbol);
    reason.words = reason.nudge + ", " + of(favourite.count, test.seen());
    return reason;
}

}  // namespace breakstep::reading
