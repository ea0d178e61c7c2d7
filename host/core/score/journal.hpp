// Where journal records go. Two implementations: the store (host/store), and one in memory beside it, for captures and
// tests.
#pragma once

#include <optional>
#include <span>

#include "core/error.hpp"
#include "core/journal/events.hpp"
#include "core/score/score.hpp"

namespace breakstep {

namespace evening {
struct EveningRecord;
}

class Journal {
  public:
    virtual ~Journal() = default;

    /// Takes records of the session, in order of position. Called by the engine's thread; may only queue. Records are
    /// copied. What is taken and then can't be written is said by failure(), and the caller keeps running.
    virtual void append(SessionId session, std::span<const JournalRecord> records) = 0;
    /// The same for the journal of an evening. committed() tells of it under the same number as of a session.
    virtual void append_evening(EveningId evening, std::span<const evening::EveningRecord> records) = 0;
    /// A rep's result as it is now; a later one of the same rep replaces it.
    virtual void keep(SessionId session, const RepResult& result) = 0;
    virtual void keep_totals(SessionId session, const SessionTotals& totals) = 0;

    /// The last position of `session` that is safely on disk, -1 before the first. Never goes back.
    [[nodiscard]] virtual std::int64_t committed(SessionId session) const = 0;
    /// Why nothing is being committed any more (a full disk), if so.
    [[nodiscard]] virtual std::optional<Error> failure() const = 0;
};

}  // namespace breakstep
