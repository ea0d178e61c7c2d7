#include "core/reading/words.hpp"

#include <array>
#include <charconv>
#include <cmath>
#include <system_error>

namespace breakstep::reading {

std::string count_word(std::uint64_t count) {
    constexpr std::array<const char*, 13> small{"no",    "one",   "two",  "three", "four",   "five",  "six",
                                                "seven", "eight", "nine", "ten",   "eleven", "twelve"};
    return count < small.size() ? small[count] : std::to_string(count);
}

std::string decimals(double value, int places) {
    std::array<char, 64> text;
    // Not printf: its decimal sign follows the locale.
    const auto end = std::to_chars(text.data(), text.data() + text.size(), value, std::chars_format::fixed, places);
    return end.ec == std::errc{} ? std::string(text.data(), end.ptr) : "very large";
}

std::string times_word(std::uint64_t count) {
    return count == 1 ? "once" : count == 2 ? "twice" : count_word(count) + " times";
}

std::string percent(double share) { return std::to_string(std::lround(share * 100.0)) + " %"; }

}  // namespace breakstep::reading
