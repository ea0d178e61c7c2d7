// What several stores of a club tell each other, as values: how far a session has come, which field of an athlete was
// changed when, who was erased, who is one with whom. Any thread.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "store/store_rows.hpp"

namespace breakstep {

/// How far a session has come here.
struct SessionState {
    std::int64_t number = 0;
    SessionId id{};
    std::optional<AthleteId> athlete;
    std::int64_t events = 0, reps = 0;
    bool has_totals = false;
    /// Of its results, null where there is none: equal as long as nothing of them changed in this store.
    std::optional<std::int64_t> reps_sum, totals_sum;
    bool operator==(const SessionState&) const = default;
};

/// The last change of one of an athlete's fields (athlete_fields.hpp). A field of which none is known was said when the
/// athlete was added.
struct FieldChange {
    AthleteId athlete{};
    std::string field;
    std::int64_t changed_unix_ms = 0;
    std::uint64_t author = 0;  ///< which computer: a random number of its own, 0 for nobody knows
    bool operator==(const FieldChange&) const = default;
};

struct ErasedAthlete {
    AthleteId athlete{};
    std::int64_t erased_unix_ms = 0;
    bool operator==(const ErasedAthlete&) const = default;
};

struct JoinedAthletes {
    AthleteId gone{}, kept{};
    std::int64_t joined_unix_ms = 0;
    bool operator==(const JoinedAthletes&) const = default;
};

struct ClubNotes {
    std::vector<FieldChange> changes;  ///< by athlete and field
    std::vector<ErasedAthlete> erased;
    std::vector<JoinedAthletes> joined;
};

struct TakenRecord {
    std::int64_t position = 0;
    std::uint16_t kind = 0;
    std::int64_t recorded_ns = 0;
    std::string bytes;
};

struct TakenSession {
    SessionSummary summary;            ///< its number, events and reps are not looked at
    std::vector<TakenRecord> records;  ///< from where this store ends
    bool with_results = false;         ///< the following take the place of those that are here
    std::vector<RepResult> reps;
    std::optional<SessionTotals> totals;
};

}  // namespace breakstep
