// Why an athlete can be timed, in a coach's words: "same beat: 0.82 s, give or take 5 %, six entries"; "after two
// retreats you go, 8 of 9"; "you alternate sides, 9 of 10"; "you favour the high pad, 8 of 10". A reason is a label for
// what the test has found; it lies outside the 5 % that the test promises.
//
// Pure functions; any thread; cannot fail.
#pragma once

#include <cstdint>
#include <span>
#include <string>
#include <string_view>

#include "core/reading/choice_test.hpp"
#include "core/reading/tempo_test.hpp"

namespace breakstep::reading {

/// What is read of a drill. The first three are clocks, the others choices.
enum class Stream : std::uint8_t { entry, out, in, retreat, depth, side, pad, moment };
inline constexpr std::size_t stream_count = 8;
inline constexpr std::size_t clock_count = 3;
[[nodiscard]] std::string_view word(Stream);
[[nodiscard]] constexpr bool is_clock(Stream stream) { return static_cast<std::size_t>(stream) < clock_count; }
/// By the plain method retreat count and depth are habits (wealth T), the others free choices among what was offered
/// (wealth U).
[[nodiscard]] constexpr bool is_habit(Stream stream) { return stream == Stream::retreat || stream == Stream::depth; }

struct Reason {
    Stream stream = Stream::entry;
    std::string cause;  ///< short and the same for each kind: "one beat", "after two retreats", "favourite pad"
    std::string words;  ///< one line for results
    std::string nudge;  ///< the same in fewer words, for the stage: "same beat: 0.8 s, six times"
};

/// When one beat is a favourite among others, and when it is the beat. `as_counted`: the beat, whichever bet leads,
/// where 80 % of the last intervals or more lie on it, else a favourite where the mode leads. `as_first_written`, kept
/// for old journals: a favourite where the mode leads, or the beat was not kept three times running; and step-ins are
/// entries.
enum class BeatWords : std::uint8_t { as_first_written, as_counted };

/// Of a clock; `test` has settled at least one interval.
[[nodiscard]] Reason tempo_reason(Stream clock, const TempoTest& test, BeatWords words = BeatWords::as_counted);

/// Of a choice. `labels`: what each symbol is called, in order ("high pad", "left side", "gap"); a missing one is
/// called by its number. Of retreats the last symbol is three or more, whatever the first is.
[[nodiscard]] Reason choice_reason(Stream choice, const ChoiceTest& test, std::span<const std::string> labels);

/// The same of a plain list, where nobody said what the choices are.
[[nodiscard]] Reason plain_choice_reason(const ChoiceTest& test);

}  // namespace breakstep::reading
