// One athlete as two places know it, made one: field by field the last change holds, whoever made it. Pure; any thread;
// cannot fail.
#pragma once

#include <compare>
#include <cstdint>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "store/club_rows.hpp"

namespace breakstep::sharing {

/// When a field was last changed, and on which computer: of two changes in the same millisecond the higher number's
/// holds, everywhere alike.
struct Stamp {
    std::int64_t unix_ms = 0;
    std::uint64_t author = 0;
    auto operator<=>(const Stamp&) const = default;
};

struct KnownAthlete {
    Athlete athlete;
    std::map<std::string, Stamp, std::less<>> changes;

    /// A field that was never changed is as old as the athlete.
    [[nodiscard]] Stamp stamp_of(std::string_view field) const;
    /// Of the fields that have a change.
    [[nodiscard]] std::vector<FieldChange> field_changes() const;
    bool operator==(const KnownAthlete&) const = default;
};

/// By athlete, in the order of the athletes.
[[nodiscard]] std::vector<KnownAthlete> known_athletes(std::span<const Athlete> athletes,
                                                       std::span<const FieldChange> changes);

/// Where both changed a field at the same time, it is `there`'s. No change lies after `now_unix_ms`: one that a wrong
/// clock dated later counts as made now, and can be followed by others.
[[nodiscard]] KnownAthlete merged(const KnownAthlete& here, const KnownAthlete& there, std::int64_t now_unix_ms);
[[nodiscard]] KnownAthlete not_later(KnownAthlete athlete, std::int64_t now_unix_ms);

/// The yes to share of `athlete` was taken back elsewhere: it holds here too, unless a later answer was given here.
[[nodiscard]] KnownAthlete without_share(KnownAthlete athlete, Stamp withdrawn);

}  // namespace breakstep::sharing
