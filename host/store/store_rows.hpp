// What the store holds beside the journal, as values: athletes, imported measures, sessions,
// calibrations. Any thread.
//
// The athlete table is the one place where names and call-signs stand; everything else knows an athlete by a random id.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "core/journal/events.hpp"
#include "core/reading/timeable_index.hpp"
#include "core/score/score.hpp"

namespace breakstep {

/// Consent to keep the athlete's data. Dates are ISO ("2024-09-30").
struct Consent {
    std::string on, by, until;  ///< `until` "" for no expiry
    bool operator==(const Consent&) const = default;
};

struct Athlete {
    AthleteId id{};         ///< random, never 0
    std::string call_sign;  ///< unique, letter case aside; "" for one known by its id alone
    std::string real_name;  ///< optional and never needed; so are all the following
    std::string grade, height_band, group, notes;
    Side lead = Side::right;
    std::optional<std::int32_t> birth_year;  ///< for norms and set lengths only
    std::optional<Consent> consent;          ///< null: not given; consent.hpp says what follows from that
    std::string consent_refused_on;          ///< ISO: a no, or a yes withdrawn; "" for neither. Never beside a consent
    std::string consent_share_on;            ///< ISO: a yes to sharing results with a server, of its own; "" for none
    std::int64_t added_unix_seconds = 0;
    std::optional<std::int32_t> placed_rung;  ///< of the ladder, where the coach put the athlete by hand
    std::string placed_on;                    ///< ISO: when; "" beside none
    bool operator==(const Athlete&) const = default;
};

/// A past result that was imported: one athlete, one date, one measure have one value.
struct Measure {
    AthleteId athlete{};
    std::string measure;  ///< its name, 1 to 200 characters, letter case counts: "reaction_ms"
    std::string date;     ///< ISO
    double value = 0;     ///< finite; the unit is the measure's own
    bool operator==(const Measure&) const = default;
};

/// Where and when a copy of the store was put, as far as the store knows.
struct BackupNote {
    std::string path;  ///< absolute
    std::int64_t made_unix_seconds = 0;
    bool operator==(const BackupNote&) const = default;
};

/// A session as the list shows it. Taken from its first and last event; `how` is null while it runs, and for one that
/// was cut off.
struct SessionSummary {
    std::int64_t number = 0;  ///< 1, 2, ... in this store: what a coach types
    SessionId id{};
    std::optional<AthleteId> athlete;
    std::int64_t began_unix_seconds = 0;
    std::string drill;
    StartKind start{};
    Stance stance{};
    Level level{};
    bool test = false;
    Side athlete_lead{};
    std::uint64_t seed = 0;
    std::optional<SessionEnd> how;
    std::int64_t events = 0;
    std::int64_t reps = 0;
    bool operator==(const SessionSummary&) const = default;
};

/// An evening as the list of evenings shows it.
struct EveningSummary {
    EveningId id{};
    std::int64_t began_unix_seconds = 0;
    bool ended = false;
    std::int64_t events = 0;
    bool operator==(const EveningSummary&) const = default;
};

/// A session as a term sees it. `hits` and `wealth` are null for one without totals: it was cut off.
struct TermSession {
    std::int64_t number = 0;
    std::optional<AthleteId> athlete;
    std::int64_t began_unix_seconds = 0;
    std::string drill;
    StartKind start{};
    Stance stance{};
    Level level{};
    bool test = false;
    std::optional<reading::HitCount> hits;
    std::optional<double> wealth;
};

/// A delay of the host's sound or screen as the sync input measured it.
struct Calibration {
    OnsetSource source{};  ///< sound or screen
    std::string device;    ///< its name, as the device tells it
    std::int64_t measured_unix_seconds = 0;
    Duration delay{};
    Uncertainty spread = unknown_uncertainty;
    std::int32_t samples = 0;
    bool operator==(const Calibration&) const = default;
};

}  // namespace breakstep
