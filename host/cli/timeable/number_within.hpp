// A check for number options of the command line. The library's own ranges let "nan" pass, since it is neither below
// nor above anything. Only for the files that include the command line library.
#pragma once

#include <CLI/CLI.hpp>

#include <charconv>
#include <cstdint>
#include <string>
#include <system_error>

namespace breakstep {

/// Fails unless what was typed is a number from `low` to `high`.
[[nodiscard]] inline CLI::Validator number_within(double low, double high) {
    const auto check = [low, high](std::string& typed) {
        double value = 0;
        if (CLI::detail::lexical_cast(typed, value) && value >= low && value <= high) return std::string();
        return "allowed is a number from " + CLI::detail::to_string(low) + " to " + CLI::detail::to_string(high) +
               ", not " + typed;
    };
    return {check, "NUMBER"};
}

/// Fails unless what was typed is a whole number that 64 bits hold: the library takes -1 and 10^23 for the greatest.
[[nodiscard]] inline CLI::Validator whole_number() {
    const auto check = [](std::string& typed) {
        std::uint64_t value = 0;
        const auto read = std::from_chars(typed.data(), typed.data() + typed.size(), value);
        if (read.ec == std::errc() && read.ptr == typed.data() + typed.size()) return std::string();
        return "allowed is a whole number from 0 to 18446744073709551615, not " + typed;
    };
    return {check, "NUMBER"};
}

}  // namespace breakstep
