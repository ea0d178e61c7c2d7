// What was typed after `timeable` and `tap`. Plain values; the one file that includes the command line library fills
// them.
#pragma once

#include <cstdint>
#include <iosfwd>
#include <optional>
#include <span>
#include <string>

#include "core/reading/accounts.hpp"
#include "core/time.hpp"

namespace breakstep::timeable {

enum class Rows : std::uint8_t { none, intervals, choices };

struct Options {
    std::string file;  ///< "-" for standard input
    Rows rows = Rows::none;
    bool json = false;
    bool details = false;  ///< the wealth behind the words
    Duration shortest{0};
    std::size_t symbols = 2;
    bool habit = false;
    reading::TempoMethod method = reading::TempoMethod::tight;
    bool table = false;
    bool whole = false, apart = false;
    bool known = false;  ///< of --whole: two signs alone, with a prior beside
    bool leans = false;
    std::uint64_t drills = 0;
    std::uint64_t seed = 0;
};

/// nullopt: the answer (help, or what is wrong) has been printed, and `exit_code` says which.
[[nodiscard]] std::optional<Options> parse_timeable(std::span<const std::string> arguments, std::ostream& out,
                                                    std::ostream& err, int& exit_code);

struct TapOptions {
    std::string file;  ///< "" for standard output
};
[[nodiscard]] std::optional<TapOptions> parse_tap(std::span<const std::string> arguments, std::ostream& out,
                                                  std::ostream& err, int& exit_code);

}  // namespace breakstep::timeable
