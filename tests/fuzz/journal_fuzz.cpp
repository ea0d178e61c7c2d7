// The journal's codec and the folds over it, from any bytes: records as the store hands them over, each a kind, a
// length and its bytes. Nothing crashes; what can be decoded is written and read again the same; scoring twice gives
// the same.
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>
#include <string_view>
#include <vector>

#include "core/journal/codec.hpp"
#include "core/score/score.hpp"

namespace {

using namespace breakstep;

void require(bool holds) {
    if (!holds) std::abort();
}

std::string encoded(const JournalEvent& event) {
    std::string bytes;
    encode(event, bytes);
    return bytes;
}

std::vector<JournalRecord> records_of(std::string_view bytes) {
    std::vector<JournalRecord> records;
    while (bytes.size() >= 4) {
        const auto at = [&bytes](std::size_t i) {
            return static_cast<std::uint16_t>(static_cast<std::uint8_t>(bytes[i]));
        };
        const auto kind = static_cast<std::uint16_t>(at(0) | at(1) << 8U);
        const auto length = std::min<std::size_t>(at(2) | at(3) << 8U, bytes.size() - 4);
        const auto event = decode(kind, bytes.substr(4, length));
        bytes.remove_prefix(4 + length);
        if (!event) continue;
        records.push_back({static_cast<std::int64_t>(records.size()), HostTime{}, *event});
    }
    return records;
}

void fold(const std::vector<JournalRecord>& records, Score& score) {
    std::vector<ScoreResult> results;
    for (const JournalRecord& record : records) score.fold(record, results);
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const auto records = records_of({reinterpret_cast<const char*>(data), size});
    for (const JournalRecord& record : records) {
        const std::string bytes = encoded(record.event);
        const auto again = decode(kind_of(record.event), bytes);
        require(again.has_value() && encoded(*again) == bytes && !name_of(*again).empty());
    }
    Score one, other;
    fold(records, one);
    fold(records, other);
    require(one.reps().size() == other.reps().size() &&
            one.totals().misplaced_events == other.totals().misplaced_events);
    return 0;
}
