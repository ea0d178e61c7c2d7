// How `timeable` prints a result: lines for a person, or one line of JSON. answer_json.cpp is the one file here that
// includes the JSON library. Main thread.
#pragma once

#include <cstdint>
#include <iosfwd>
#include <optional>
#include <string>
#include <vector>

#include "cli/timeable/list_reading.hpp"
#include "cli/timeable/options.hpp"

namespace breakstep::timeable {

/// What describes a list of intervals beside the test; never a verdict.
struct Description {
    std::vector<double> intervals;  ///< in seconds; the first `most` of the list
    static constexpr std::size_t most = 1'000'000;
};

void print_text(std::ostream& out, const Options& options, bool choices, const ListResult& result);
/// `description` may be null.
void print_json(std::ostream& out, const Options& options, bool choices, const ListResult& result,
                const Description* description);

}  // namespace breakstep::timeable
