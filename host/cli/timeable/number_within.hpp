// A check for number options of the command line. The library's own ranges let "nan" pass, since it is neither below
// nor above anything. Only for the files that include the command line library.
#pragma once

#include <CLI/CLI.hpp>

#include <string>

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

}  // namespace breakstep
