// What a club keeps, as a term, a page or an export reads it: a store on this computer, or a server that several share.
//
// One thread at a time. Each function sees what was there when it began, and fails as its place does: a store's file
// (store.hpp), a server's connection (club/sharing/server_kept.hpp).
#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"
#include "core/journal/events.hpp"
#include "core/progress/facts.hpp"
#include "core/score/score.hpp"
#include "store/store_rows.hpp"

namespace breakstep {

class Kept {
  public:
    virtual ~Kept() = default;

    /// What a person calls it: a path, an address without secrets.
    [[nodiscard]] virtual std::string place() const = 0;

    /// In the order of their numbers.
    [[nodiscard]] virtual Expected<std::vector<SessionSummary>> sessions() const = 0;
    /// Streams the session's records in order, one at a time (the reference is good during the call). Returns how many.
    /// The callback may read from the same place. Fails (damaged) at the first record that can't be read or is missing.
    [[nodiscard]] virtual Expected<std::int64_t> read_records(
        SessionId session, const std::function<void(const JournalRecord&)>& each) const = 0;
    [[nodiscard]] virtual Expected<std::vector<RepResult>> reps(SessionId session) const = 0;
    [[nodiscard]] virtual Expected<std::optional<SessionTotals>> totals(SessionId session) const = 0;
    /// Every session, by when it began and its id, without counting its events.
    [[nodiscard]] virtual Expected<std::vector<TermSession>> term_sessions() const = 0;
    /// What a term needs of every rep, in that same order of sessions, then of reps; `number` is the session's.
    /// The callback must not read.
    [[nodiscard]] virtual Expected<std::int64_t> read_rep_facts(
        const std::function<void(std::int64_t number, const progress::RepFact&)>& each) const = 0;
    /// By call-sign.
    [[nodiscard]] virtual Expected<std::vector<Athlete>> athletes() const = 0;
    /// Null if there is none of that call-sign (call_sign.hpp says when two are one).
    [[nodiscard]] virtual Expected<std::optional<Athlete>> find_athlete(std::string_view call_sign) const = 0;
    /// Imported past results, by athlete, measure and date.
    [[nodiscard]] virtual Expected<std::vector<Measure>> measures() const = 0;
};

}  // namespace breakstep
