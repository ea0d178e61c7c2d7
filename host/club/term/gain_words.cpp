#include "club/term/gain_words.hpp"

#include <fmt/format.h>

#include <cmath>
#include <cstdlib>

namespace breakstep {
namespace {

using progress::Gain;
using progress::Gains;

long points(double share) { return std::lround(100 * share); }

std::string sentence(const Gain& gain, const char* act, bool child) {
    const Gains said = gain.said();
    if (said == Gains::too_few) return "";
    if (child) return said == Gains::more ? fmt::format("{} helps you.", act) : "";
    const std::string counts =
        fmt::format("{} of {} on time, {} of {} without", gain.on_time, gain.of, gain.on_time_random, gain.of);
    switch (said) {
        case Gains::more:
            return fmt::format("{} helps you: {}.", act, counts);
        case Gains::less:
            return fmt::format("{} does not help you yet: {}.", act, counts);
        default:
            return fmt::format("{}: no difference so far, {}.", act, counts);
    }
}

}  // namespace

std::string_view word(Gains gains) {
    switch (gains) {
        case Gains::more:
            return "more";
        case Gains::less:
            return "less";
        case Gains::no_difference:
            return "no difference";
        case Gains::too_few:
            return "too few";
    }
    return "unknown";
}

std::string gain_line(const Gain& gain, const char* way) {
    if (gain.of == 0) return "";
    const std::string counts = fmt::format("{}: on time {} of {}, the same at random moments {} of {}", way,
                                           gain.on_time, gain.of, gain.on_time_random, gain.of);
    if (gain.said() == Gains::too_few) return fmt::format("{}; {} of each are needed", counts, progress::fewest_for_gain);
    return fmt::format("{}: {} points {} ({} to {}), {}", counts, std::labs(points(gain.difference)),
                       gain.difference < 0 ? "less" : "more", points(gain.low), points(gain.high), word(gain.said()));
}

std::string gain_words(const progress::AthleteTerm& term, bool child) {
    std::string words = sentence(term.gain_of_drawn, "Drawing the attack", child);
    const std::string pattern = sentence(term.gain_of_pattern, "Knowing the pattern", child);
    if (!words.empty() && !pattern.empty()) words += " ";
    return words + pattern;
}

}  // namespace breakstep
