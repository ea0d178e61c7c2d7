// What waits to be written into the store, as values, and what each counts for. Internal to host/store.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "core/journal/events.hpp"
#include "core/score/score.hpp"

namespace breakstep {

/// Records of one append(), encoded. `ends[i]` is where record i's bytes end in `bytes`.
struct RecordBatch {
    SessionId session{};  ///< or the evening, which has a number of the same kind
    bool of_evening = false;
    std::int64_t first_position = 0;
    struct Entry {
        std::uint16_t kind = 0;
        HostTime recorded;
        std::size_t end = 0;
        AthleteId athlete{};  ///< of_evening: whom the event names
    };
    std::vector<Entry> entries;
    std::string bytes;
    /// The session's first and last event in full, if they are among these: the sessions table is made of them.
    std::unique_ptr<SessionBegan> began;
    std::optional<SessionEnd> ended;
    std::int64_t evening_began_unix_seconds = 0;  ///< of_evening: if it began among these
    bool evening_ended = false;
};
struct KeptRep {
    SessionId session{};
    RepResult result;
};
struct KeptTotals {
    SessionId session{};
    SessionTotals totals;
};
using Job = std::variant<RecordBatch, KeptRep, KeptTotals>;

/// What it counts for in the backlog, in bytes.
[[nodiscard]] std::size_t size_of(const RepResult& result);
[[nodiscard]] std::size_t size_of(const SessionTotals& totals);
[[nodiscard]] std::size_t size_of(const Job& job);
/// Records, or one for a result.
[[nodiscard]] std::int64_t items_in(const Job& job);
[[nodiscard]] SessionId session_of(const Job& job);

}  // namespace breakstep
