// What went wrong, told so that a coach can act on it.
//
// Every failure that can be expected (unplugged, bad frame, missing file, bad setting) comes back as
// Expected<T>; a broken invariant calls broken_invariant() and stops the program. Any thread; owns its strings.
#pragma once

#include <cstddef>
#include <string>
#include <string_view>
#include <utility>

#include <tl/expected.hpp>

namespace breakstep {

enum class ErrorKind {
    bad_input,     ///< what was typed, or stands in a file, can't be used
    not_found,     ///< no such file, port, drill, session, athlete
    in_use,        ///< somebody else holds it: a port, a store
    no_space,      ///< the disk is full
    device,        ///< a rig, sound device or display failed or does not answer
    incompatible,  ///< another version, of a rig or of a store
    damaged,       ///< a file or a store that is not whole
    system,        ///< the operating system said no
};

struct Error {
    ErrorKind kind;
    std::string what;   ///< what happened, to what: "the port /dev/ttyUSB0 can't be opened: permission denied"
    std::string to_do;  ///< what to do next: "add yourself to the group dialout, then log in again"

    /// One line for a person, fit to be printed: "WHAT; TO_DO." in shown_text() of both.
    [[nodiscard]] std::string text() const;
};

/// `text` as it may be printed: what was typed or stands in a file comes back in messages, and a terminal obeys control
/// bytes. They are shown (\x1b), and what is longer than `longest` bytes ends in "...", between two characters.
[[nodiscard]] std::string shown_text(std::string_view text, std::size_t longest = 1000);

template <class T>
using Expected = tl::expected<T, Error>;

[[nodiscard]] inline tl::unexpected<Error> failure(ErrorKind kind, std::string what, std::string to_do) {
    return tl::make_unexpected(Error{kind, std::move(what), std::move(to_do)});
}

/// Prints `what` to stderr and aborts: for states that no input can cause, never for bad input.
[[noreturn]] void broken_invariant(const char* what);

}  // namespace breakstep
