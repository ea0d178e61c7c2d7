#include "club/term/last_level.hpp"

#include <algorithm>
#include <optional>
#include <tuple>

#include "core/score/score.hpp"
#include "core/trade/staircase.hpp"

namespace breakstep {
namespace {

// As conduct follows it: the reps of the sets after the first that don't count for a rung, step by step, and the pace
// once more after the last set.
std::optional<LastLevel> level_at_end(const SessionBegan& began, const std::vector<RepResult>& reps,
                                      const SetPlanned& last) {
    const Following& following = began.drill.following;
    if (!following.follows || began.drill.test || last.set == 0) return std::nullopt;
    Staircase level(following.share, began.first_window);
    std::int32_t hits = 0, of = 0;
    for (const RepResult& rep : reps) {
        if (!rep.scored || rep.counts || rep.set == 0) continue;
        const bool hit = rep.verdict == Verdict::on_time || rep.verdict == Verdict::around;
        level.add(hit);
        if (rep.set != last.set) continue;
        ++of;
        hits += hit ? 1 : 0;
    }
    return LastLevel{level.window(), pace_after(last.pace, level.window(), following.share, hits, of)};
}

}  // namespace

Expected<std::map<std::string, LastLevel>> last_levels(const Store& store, AthleteId athlete) {
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    // The newest by when they began: numbers don't survive copying.
    std::map<std::string, const SessionSummary*> newest;
    for (const SessionSummary& session : *sessions) {
        if (session.athlete != athlete || session.test || session.reps == 0) continue;
        const SessionSummary*& known = newest[session.drill];
        const auto order = [](const SessionSummary& one) { return std::tuple(one.began_unix_seconds, one.id); };
        if (known == nullptr || order(*known) < order(session)) known = &session;
    }
    std::map<std::string, LastLevel> levels;
    for (const auto& [drill, session] : newest) {
        const auto kept = store.reps(session->id);
        if (!kept) return tl::make_unexpected(kept.error());
        // A level that followed has left its mark on a rep; nothing else of the session is read otherwise.
        if (std::none_of(kept->begin(), kept->end(), [](const RepResult& rep) { return rep.set > 0 && !rep.counts; }))
            continue;
        std::optional<SessionBegan> began;
        std::optional<SetPlanned> last;
        const auto read = store.read_records(session->id, [&](const JournalRecord& record) {
            if (const auto* first = std::get_if<SessionBegan>(&record.event)) began = *first;
            if (const auto* planned = std::get_if<SetPlanned>(&record.event)) last = *planned;
        });
        if (!read) return tl::make_unexpected(read.error());
        if (!began || !last) continue;
        if (const auto level = level_at_end(*began, *kept, *last)) levels[drill] = *level;
    }
    return levels;
}

void begin_at(const std::map<std::string, LastLevel>& levels, SessionBegan& began) {
    const auto known = levels.find(began.drill.name);
    if (known == levels.end() || !began.drill.following.follows || began.drill.test) return;
    began.first_window = known->second.window;
    began.first_pace = known->second.pace;
}

}  // namespace breakstep
