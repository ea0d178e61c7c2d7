// What a command prints at its end: a page of results for people, and the same as JSON. Pure; any thread.
#pragma once

#include <iosfwd>
#include <string>
#include <vector>

#include "core/journal/events.hpp"
#include "core/score/borders.hpp"
#include "core/score/exchange.hpp"
#include "core/score/score.hpp"
#include "report/drawing/exchange_words.hpp"

namespace breakstep {

/// One session as it is to be told. `how` is null for one that was cut off.
struct SessionResults {
    SessionId id{};
    std::string athlete;  ///< call-sign
    std::string drill, title;
    std::uint64_t seed = 0;
    std::optional<SessionEnd> how;
    std::vector<RepResult> reps;
    SessionTotals totals;
    std::vector<std::string> notices;  ///< of the rig's health, while it ran; a rescored session has none
    std::string line;                  ///< what the line was like; "" of a rescored session
    std::string partner;               ///< call-sign; "" without one
    bool first_or_after = false;  ///< a drill that asks for the first attack in one set, for the second in the next
    std::optional<scoring::Exchange> exchange;  ///< of a free exchange, or the coin drill
};

/// "16 hexadecimal digits", as the store and `rescore` know a session.
[[nodiscard]] std::string id_text(SessionId id);

/// `reps` false leaves the lines of the reps out: who watched has read them one by one.
void print_session(std::ostream& out, const SessionResults& session, bool reps);
/// The verdict with what it hit, as it is said to an athlete: "late for lift: that was the drop".
[[nodiscard]] std::string words_of_verdict(const RepResult& rep);

/// What an opponent that gives itself away brought.
struct LeanCounts {
    int kicks = 0, kicks_on_time = 0;  ///< attacks that it leaned before
    int lies = 0, lies_taken = 0;      ///< leans that no kick followed
};
[[nodiscard]] LeanCounts lean_counts(const std::vector<RepResult>& reps);

/// One line for a rep: "  3  drop   on time in the drop        312 ms, give or take 0.4".
[[nodiscard]] std::string rep_line(const RepResult& rep);

/// {"sessions": [...]} with a line end; one object, keys in the order documented in README.
[[nodiscard]] std::string sessions_json(const std::vector<SessionResults>& sessions);

}  // namespace breakstep
