#include "club/pages/shelf.hpp"

#include <algorithm>
#include <chrono>
#include <ctime>

#include <fmt/format.h>

#include "club/term/term.hpp"
#include "report/drawing/strips_of_score.hpp"
#include "settings/drill_file.hpp"

namespace breakstep {
namespace {

int year_of(std::int32_t day) {
    return static_cast<int>(std::chrono::year_month_day(std::chrono::sys_days(std::chrono::days(day))).year());
}

/// The set with most guesses.
std::int32_t fullest_set(const Score& score) {
    std::map<std::int32_t, int> windows;
    for (const IntervalRead& read : score.intervals()) windows[read.set] += read.window_begin && !read.cut ? 1 : 0;
    std::int32_t fullest = 0;
    int most = -1;
    for (const auto& [set, count] : windows)
        if (count > most) {
            fullest = set;
            most = count;
        }
    return fullest;
}

}  // namespace

Expected<Shelf> Shelf::open(const Kept& store, const Settings& settings) {
    Shelf shelf(store, settings);
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    const auto facts = store.term_sessions();
    if (!facts) return tl::make_unexpected(facts.error());
    std::map<std::int64_t, const TermSession*> by_number;
    for (const TermSession& fact : *facts) by_number.emplace(fact.number, &fact);
    for (const SessionSummary& summary : *sessions) {
        ShelvedSession session{summary, evening_of(summary.began_unix_seconds), std::nullopt};
        if (const auto fact = by_number.find(summary.number); fact != by_number.end())
            session.hits = fact->second->hits;
        shelf.sessions_.push_back(std::move(session));
    }
    // The same in every store that the sessions were copied to.
    const auto order = [](const ShelvedSession& one) {
        return std::pair(one.summary.began_unix_seconds, static_cast<std::int64_t>(one.summary.id));
    };
    std::sort(shelf.sessions_.begin(), shelf.sessions_.end(),
              [&](const ShelvedSession& a, const ShelvedSession& b) { return order(a) < order(b); });
    return shelf;
}

std::vector<const ShelvedSession*> Shelf::sessions_of(AthleteId athlete, std::int32_t first_day,
                                                      std::int32_t last_day) const {
    std::vector<const ShelvedSession*> found;
    for (const ShelvedSession& session : sessions_)
        if (session.summary.athlete == athlete && session.day >= first_day && session.day <= last_day)
            found.push_back(&session);
    return found;
}

Expected<SessionTotals> Shelf::totals(const ShelvedSession& session) const {
    auto kept = store_->totals(session.summary.id);
    if (!kept) return tl::make_unexpected(kept.error());
    return kept->value_or(SessionTotals{});
}

Expected<std::optional<RhythmLane>> Shelf::rhythm(const ShelvedSession& session) const {
    Score score;
    std::vector<ScoreResult> results;
    const auto read = store_->read_records(session.summary.id, [&](const JournalRecord& record) {
        results.clear();
        score.fold(record, results);
    });
    if (!read) return tl::make_unexpected(read.error());
    return rhythm_lane(score, fullest_set(score));
}

Expected<ShelvedBout> Shelf::with_partner(const ShelvedSession& session) const {
    ShelvedBout bout;
    Score score;
    std::vector<ScoreResult> results;
    const auto read = store_->read_records(session.summary.id, [&](const JournalRecord& record) {
        results.clear();
        score.fold(record, results);
        if (const auto* began = std::get_if<SessionBegan>(&record.event))
            for (const Participant& each : began->participants)
                if (each.role == ParticipantRole::partner) bout.partner = each.athlete;
    });
    if (!read) return tl::make_unexpected(read.error());
    if (score.exchange() != nullptr) bout.exchange = *score.exchange();
    return bout;
}

const std::optional<Drill>& Shelf::drill(const std::string& name) const {
    const auto known = drills_.find(name);
    if (known != drills_.end()) return known->second;
    auto loaded = load_drill(name, *settings_);
    return drills_.emplace(name, loaded ? std::optional(std::move(*loaded)) : std::nullopt).first->second;
}

std::string Shelf::title_of(const std::string& name) const {
    const auto& found = drill(name);
    return found && !found->title.empty() ? found->title : name;
}

std::string full_date(std::int32_t day) {
    static constexpr const char* week[] = {"Sunday",   "Monday", "Tuesday", "Wednesday",
                                           "Thursday", "Friday", "Saturday"};
    const std::chrono::weekday weekday{std::chrono::sys_days(std::chrono::days(day))};
    return fmt::format("{} {} {}", week[weekday.c_encoding()], day_words(day), year_of(day));
}

std::string span_of_days(std::int32_t first, std::int32_t last) {
    if (first == last) return fmt::format("{} {}", day_words(last), year_of(last));
    if (year_of(first) != year_of(last))
        return fmt::format("{} {} to {} {}", day_words(first), year_of(first), day_words(last), year_of(last));
    return fmt::format("{} to {} {}", day_words(first), day_words(last), year_of(last));
}

std::string clock_time(std::int64_t unix_seconds) {
    const auto moment = static_cast<std::time_t>(unix_seconds);
    std::tm parts{};
    if (localtime_r(&moment, &parts) == nullptr) return "";
    return fmt::format("{:02}:{:02}", parts.tm_hour, parts.tm_min);
}

}  // namespace breakstep
