#include "store/participants.hpp"

#include <algorithm>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "core/journal/codec.hpp"
#include "core/journal/events.hpp"
#include "store/columns.hpp"
#include "store/database.hpp"
#include "store/sums.hpp"
#include "store/values.hpp"

namespace breakstep {
namespace {

using columns::Binder;

/// The first record of a session, as it is kept.
struct First {
    std::int64_t session = 0;
    std::uint16_t kind = 0;
    std::string bytes;
};

First first_at(SQLite::Statement& row) {
    const SQLite::Column bytes = row.getColumn(2);
    return {row.getColumn(0).getInt64(), static_cast<std::uint16_t>(row.getColumn(1).getInt()),
            std::string(static_cast<const char*>(bytes.getBlob()), static_cast<std::size_t>(bytes.getBytes()))};
}

std::vector<Participant> participants_in(const First& first) {
    const auto event = decode(first.kind, first.bytes);
    const auto* began = event ? std::get_if<SessionBegan>(&*event) : nullptr;
    return began == nullptr ? std::vector<Participant>{} : began->participants;
}

bool takes_part(const First& first, AthleteId athlete) {
    const auto all = participants_in(first);
    return std::any_of(all.begin(), all.end(), [athlete](const Participant& each) { return each.athlete == athlete; });
}

/// As codec.hpp writes it, so that it is found among the other bytes.
std::string bytes_of(const Participant& one) {
    std::string bytes;
    ByteWriter{bytes}(one);
    return bytes;
}

Expected<void> forget(SQLite::Database& database, First first, AthleteId athlete) {
    for (const Participant& each : participants_in(first)) {
        if (each.athlete != athlete) continue;
        Participant nobody = each;
        nobody.athlete = AthleteId{};
        const std::string before = bytes_of(each);
        const std::size_t at = first.bytes.find(before);
        if (at != std::string::npos) first.bytes.replace(at, before.size(), bytes_of(nobody));
    }
    if (takes_part(first, athlete))
        return failure(ErrorKind::incompatible, "a newer version wrote down who took part in a session",
                       "erase with that version; nothing was erased");
    SQLite::Statement update(database, "UPDATE events SET bytes = ? WHERE session = ? AND position = 0");
    update.bind(1, first.bytes.data(), static_cast<int>(first.bytes.size()));
    update.bind(2, first.session);
    update.exec();
    return {};
}

}  // namespace

Expected<void> forget_participant(SQLite::Database& database, AthleteId athlete) {
    std::vector<First> found;
    {
        SQLite::Statement query(database, "SELECT session, kind, bytes FROM events WHERE position = 0");
        while (query.executeStep())
            if (First first = first_at(query); takes_part(first, athlete)) found.push_back(std::move(first));
    }
    for (First& first : found) {
        const std::int64_t session = first.session;
        if (Expected<void> done = forget(database, std::move(first), athlete); !done) return done;
        if (sums::is_to_have_one(database, session)) sums::renew_session(database, session);
    }
    return {};
}

Expected<void> forget_erased_participants(SQLite::Database& database, std::int64_t session) {
    std::optional<First> first;
    {
        SQLite::Statement query(database, "SELECT session, kind, bytes FROM events WHERE position = 0 AND session = ?");
        query.bind(1, session);
        if (query.executeStep()) first = first_at(query);
    }
    if (!first) return {};
    for (const Participant& each : participants_in(*first)) {
        SQLite::Statement query(database, "SELECT 1 FROM erased WHERE athlete = ?");
        Binder(query).put(each.athlete);
        if (each.athlete == AthleteId{} || !query.executeStep()) continue;
        if (Expected<void> done = forget(database, *first, each.athlete); !done) return done;
        return forget_erased_participants(database, session);
    }
    return {};
}

}  // namespace breakstep
