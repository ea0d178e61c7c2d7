// How athletes are found by what was typed and named in what is said, and today by this computer's clock.
//
// Main thread. Finding fails as the store does.
#pragma once

#include <cstdint>
#include <string>

#include "core/error.hpp"
#include "store/kept.hpp"

namespace breakstep {

/// By call-sign, else by id in 16 hexadecimal digits; fails (not_found) naming who is there.
[[nodiscard]] Expected<Athlete> athlete_typed(const Kept& store, const std::string& typed);
[[nodiscard]] std::string id_text(AthleteId id);
/// The call-sign, or the id of an athlete who has none.
[[nodiscard]] std::string shown(const Athlete& athlete);

/// "1 session", "2 sessions"
[[nodiscard]] std::string count_of(std::int64_t count, const char* what);

/// The local date of a moment, ISO.
[[nodiscard]] std::string local_date(std::int64_t unix_seconds);

/// Seconds of the wall clock, for people's dates only.
[[nodiscard]] std::int64_t unix_now();

/// By the end of this year; the birth year must be known.
[[nodiscard]] std::int32_t age_this_year(const Athlete& athlete);

/// At least so old, in years: whose birthday is still to come is a year younger than age_this_year. 0: not known.
[[nodiscard]] std::int32_t least_age(const Athlete& athlete);

/// Under 15, or perhaps so: only the year of birth is known. False where it isn't.
[[nodiscard]] bool is_child(const Athlete& athlete);
/// Whether a habit may be told while a drill runs: never to who is under 12, by the year of birth.
[[nodiscard]] bool is_nudged(const Athlete& athlete);

}  // namespace breakstep
