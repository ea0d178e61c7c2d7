// The reader's part for evenings.
#include "core/evening/evening_events.hpp"
#include "store/database.hpp"
#include "store/reader.hpp"
#include "store/values.hpp"

namespace breakstep {

using columns::Binder;
using columns::RowReader;

Expected<std::optional<EveningSummary>> Reader::last_evening() {
    return with_connection([&]() -> std::optional<EveningSummary> {
        SQLite::Statement query(*database_,
                                "SELECT id, began_unix_s, ended, (SELECT count(*) FROM evening_events WHERE evening = "
                                "number) FROM evenings ORDER BY number DESC LIMIT 1");
        if (!query.executeStep()) return std::nullopt;
        EveningSummary summary;
        RowReader row(query);
        row.get(summary.id);
        row.get(summary.began_unix_seconds);
        row.get(summary.ended);
        row.get(summary.events);
        return summary;
    });
}

Expected<std::int64_t> Reader::evening_records(EveningId night,
                                               const std::function<void(const evening::EveningRecord&)>& each) {
    std::optional<Error> undecodable;
    Expected<std::int64_t> count = with_connection([&] {
        SQLite::Statement query(
            *database_,
            "SELECT position, kind, at_ns, bytes FROM evening_events WHERE evening = (SELECT number "
            "FROM evenings WHERE id = ?) ORDER BY position");
        Binder(query).put(night);
        std::int64_t read = 0;
        while (!undecodable && query.executeStep()) {
            evening::EveningRecord record;
            record.position = query.getColumn(0).getInt64();
            record.at = Duration(query.getColumn(2).getInt64());
            if (record.position != read)
                throw columns::UnreadableValue("record " + std::to_string(read) + " of an evening is missing");
            const SQLite::Column bytes = query.getColumn(3);
            Expected<evening::EveningEvent> event =
                evening::decode(static_cast<std::uint16_t>(query.getColumn(1).getInt()),
                                std::string_view(static_cast<const char*>(bytes.getBlob()),
                                                 static_cast<std::size_t>(bytes.getBytes())));
            if (!event) {
                undecodable = event.error();
                break;
            }
            record.event = std::move(*event);
            each(record);
            ++read;
        }
        return read;
    });
    if (undecodable) return tl::make_unexpected(*undecodable);
    return count;
}

}  // namespace breakstep
