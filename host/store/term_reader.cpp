#include <string_view>

#include "store/reader.hpp"
#include "store/rep_fact.hpp"
#include "store/values.hpp"

namespace breakstep {
namespace {

using columns::UnreadableValue;

/// A word's column without a copy; the text is SQLite's until the next step.
template <class Enum>
Enum word_at(const SQLite::Statement& query, int index) {
    const SQLite::Column column = query.getColumn(index);
    const char* text = column.getText();
    const std::optional<Enum> known = from_word<Enum>(std::string_view(text, static_cast<std::size_t>(column.size())));
    if (!known) throw UnreadableValue("the word \"" + std::string(text) + "\" is not one of breakstep's");
    return *known;
}

std::optional<double> milliseconds_at(const SQLite::Statement& query, int index) {
    const SQLite::Column column = query.getColumn(index);
    if (column.isNull()) return std::nullopt;
    return static_cast<double>(column.getInt64()) / 1e6;
}

}  // namespace

Expected<std::vector<TermSession>> Reader::term_sessions() {
    return with_connection([&] {
        SQLite::Statement query(*database_,
                                "SELECT number, athlete, began_unix_s, drill, sessions.start, stance, level, test, "
                                "windows, caught, caught_by_chance, wealth FROM sessions LEFT JOIN totals ON session = "
                                "number ORDER BY began_unix_s, id");
        std::vector<TermSession> sessions;
        while (query.executeStep()) {
            TermSession& session = sessions.emplace_back();
            columns::RowReader row(query);
            row.get(session.number);
            row.get(session.athlete);
            row.get(session.began_unix_seconds);
            row.get(session.drill);
            row.get(session.start);
            row.get(session.stance);
            row.get(session.level);
            row.get(session.test);
            if (row.is_null()) continue;
            reading::HitCount& hits = session.hits.emplace();
            row.get(hits.scored);
            row.get(hits.hits);
            row.get(hits.chance);
            row.get(session.wealth);
        }
        return sessions;
    });
}

Expected<std::int64_t> Reader::rep_facts(
    const std::function<void(std::int64_t number, const progress::RepFact&)>& each) {
    return with_connection([&] {
        // CROSS JOIN: sessions in their order outside, so that nothing has to be sorted.
        SQLite::Statement query(
            *database_,
            "SELECT session, set_index, reps.number, kind, moment, counter, reps.start, verdict, "
            "scored, catch_trial, contacted, retreated, latency_ns, error_ns, void_reason, moments, came, "
            "level_window, counts, rung_hit, contact_from_onset_ns FROM "
            "sessions CROSS JOIN reps ON session = sessions.number ORDER BY began_unix_s, sessions.id, rep");
        std::int64_t count = 0;
        progress::RepFact rep;
        while (query.executeStep()) {
            rep.set = query.getColumn(1).getInt();
            rep.number = query.getColumn(2).getInt();
            rep.kind = word_at<AttackKind>(query, 3);
            if (!query.isColumnNull(16)) take_what_came(rep, word_at<CameKind>(query, 16));
            rep.moment = word_at<Moment>(query, 4);
            rep.counter = word_at<Counter>(query, 5);
            rep.start = word_at<StartKind>(query, 6);
            rep.verdict = word_at<Verdict>(query, 7);
            rep.scored = query.getColumn(8).getInt() != 0;
            rep.catch_trial = query.getColumn(9).getInt() != 0;
            rep.contacted = query.getColumn(10).getInt() != 0;
            rep.retreated = query.getColumn(11).getInt() != 0;
            rep.latency_ms = milliseconds_at(query, 12);
            rep.error_ms = milliseconds_at(query, 13);
            // Few reps are void: only theirs is read as a word.
            rep.voided_by_coach =
                rep.verdict == Verdict::void_rep && word_at<VoidReason>(query, 14) == VoidReason::coach;
            rep.moments = static_cast<MomentSet>(query.getColumn(15).getInt());
            rep.window = query.getColumn(17).getDouble();
            rep.counts = query.getColumn(18).getInt() != 0;
            rep.rung_hit.reset();
            if (!query.isColumnNull(19)) rep.rung_hit = query.getColumn(19).getInt() != 0;
            rep.struck_in_wait = was_struck_in_wait(
                query.isColumnNull(20) ? std::nullopt : std::optional(Duration(query.getColumn(20).getInt64())));
            each(query.getColumn(0).getInt64(), rep);
            ++count;
        }
        return count;
    });
}

}  // namespace breakstep
