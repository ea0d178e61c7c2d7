// Text from files and from what was typed, as a terminal may be given it. Pure; any thread.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>

#include "core/error.hpp"

namespace breakstep {

/// Control bytes, bytes that are no UTF-8 and marks that turn the direction of writing are written as \xNN, and of a
/// text longer than `bytes_max` only both ends stand, with how much was left out.
[[nodiscard]] std::string printable(std::string_view text, std::size_t bytes_max = 1000);

/// Error::text() so: one line for a person.
[[nodiscard]] std::string printable_text(const Error& error);

}  // namespace breakstep
