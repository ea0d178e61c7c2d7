#include "club/term/known_prior.hpp"

#include <algorithm>
#include <cstdint>
#include <utility>

#include "core/reading/drill_reading.hpp"
#include "core/reading/known_athlete.hpp"
#include "core/trade/rules.hpp"

namespace breakstep {
namespace {

// Older habits say little of today's.
constexpr std::size_t sessions_read = 5;

}  // namespace

Expected<std::string> known_prior(const Store& store, AthleteId athlete) {
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    // The newest by when they began: a session that came from another laptop has the number of the day it came.
    std::vector<std::pair<std::int64_t, std::int64_t>> own;
    for (const SessionSummary& session : *sessions)
        if (session.athlete == athlete && session.how)
            own.emplace_back(session.began_unix_seconds, static_cast<std::int64_t>(session.id));
    std::sort(own.begin(), own.end());
    if (own.size() > sessions_read) own.erase(own.begin(), own.end() - sessions_read);
    std::vector<std::vector<Duration>> intervals;
    for (const auto& [began, signed_id] : own) {
        const SessionId id{static_cast<std::uint64_t>(signed_id)};
        Score score;
        std::vector<ScoreResult> results;
        const auto read = store.read_records(id, [&](const JournalRecord& record) {
            results.clear();
            score.fold(record, results);
        });
        if (!read) return tl::make_unexpected(read.error());
        std::vector<Duration>& undisturbed = intervals.emplace_back();
        for (const IntervalRead& interval : score.intervals())
            if (!interval.cut && !interval.voided) undisturbed.push_back(interval.length);
    }
    reading::KnownRhythms known;
    known.clocks.front() = reading::learn_athlete(intervals, usual_shortest);
    return reading::to_text(known);
}

}  // namespace breakstep
