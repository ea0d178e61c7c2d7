#include "store/store.hpp"

#include <algorithm>
#include <charconv>
#include <string>
#include <system_error>
#include <utility>

#include "files/new_file.hpp"
#include "store/damaged/found_whole.hpp"
#include "store/database.hpp"
#include "store/identity.hpp"
#include "store/store_state.hpp"
#include "store/sums.hpp"

namespace breakstep {

namespace {

// The same file under one name, so that two ways to write it meet at one lock.
Expected<std::filesystem::path> place_of(const std::filesystem::path& path, const StoreOptions& options) {
    if (path.empty() || !path.has_filename())
        return failure(ErrorKind::bad_input, '"' + path.string() + "\" is not the name of a store",
                       "name a file with --store FILE");
    std::error_code problem;
    const std::filesystem::path absolute = std::filesystem::absolute(path, problem);
    const std::filesystem::path folder = absolute.parent_path();
    if (options.create_folders && options.mode != StoreMode::read_only) {
        if (const Expected<void> made = files::make_folder(folder); !made) {
            Error error = made.error();
            error.to_do = "choose another place for the store with --store FILE";
            return tl::make_unexpected(std::move(error));
        }
    }
    if (!std::filesystem::is_directory(folder, problem))
        return failure(ErrorKind::not_found,
                       "there is no folder " + folder.string() + " for the store " + path.string(),
                       "make the folder first, or choose another place with --store FILE");
    std::filesystem::path place = std::filesystem::weakly_canonical(absolute, problem);
    return problem ? absolute : place;
}

Error read_only_error(const std::filesystem::path& path) {
    return {ErrorKind::system, "the store " + path.string() + " was opened for reading only", "open it for writing"};
}

}  // namespace

Expected<std::unique_ptr<Store>> Store::open(const std::filesystem::path& path, StoreOptions options) {
    const Expected<std::filesystem::path> place = place_of(path, options);
    if (!place) return tl::make_unexpected(place.error());
    auto state = std::make_unique<State>(*place);
    if (options.mode != StoreMode::read_only) {
        if (const Expected<void> may = may_be_store(*place); !may) return tl::make_unexpected(may.error());
        Expected<StoreLock> lock = StoreLock::take(*place);
        if (!lock) return tl::make_unexpected(lock.error());
        state->lock = std::move(*lock);
        // Of a restore or a first start that was cut off: the lock says that nobody is at it.
        if (files::remove_left_over(*place)) remove_side_files(files::passing_name(*place));
        Expected<SQLite::Database> database = open_for_writing(*place, options.mode);
        if (!database) return tl::make_unexpected(database.error());
        Expected<std::unique_ptr<Writer>> writer = guarded(*place, "opened", [&] {
            return std::make_unique<Writer>(
                *place, std::move(options), std::make_unique<Ledger>(std::move(*database)),
                [&reader = state->reader](SessionId session) { return reader.last_position(session); });
        });
        if (!writer) return tl::make_unexpected(writer.error());
        state->writer = std::move(*writer);
    }
    if (const Expected<void> readable = state->reader.open(); !readable) return tl::make_unexpected(readable.error());
    return std::unique_ptr<Store>(new Store(std::move(state)));
}

Store::Store(std::unique_ptr<State> state) : state_(std::move(state)) {}
Store::~Store() = default;

// ---- the journal ----------------------------------------------------------------------------------------------------

void Store::append(SessionId session, std::span<const JournalRecord> records) {
    if (state_->writer)
        state_->writer->append(session, records);
    else
        state_->counters_of_reader.records_refused += static_cast<std::int64_t>(records.size());
}

void Store::append_evening(EveningId evening, std::span<const evening::EveningRecord> records) {
    if (state_->writer)
        state_->writer->append_evening(evening, records);
    else
        state_->counters_of_reader.records_refused += static_cast<std::int64_t>(records.size());
}

void Store::keep(SessionId session, const RepResult& result) {
    if (state_->writer)
        state_->writer->keep(session, result);
    else
        ++state_->counters_of_reader.reps_refused;
}

void Store::keep_totals(SessionId session, const SessionTotals& totals) {
    if (state_->writer)
        state_->writer->keep_totals(session, totals);
    else
        ++state_->counters_of_reader.reps_refused;
}

std::int64_t Store::committed(SessionId session) const {
    if (state_->writer)
        if (const auto known = state_->writer->committed(session)) return *known;
    return state_->reader.last_position(session).value_or(-1);
}

std::optional<Error> Store::failure() const {
    if (state_->writer) return state_->writer->failure();
    const StoreCounters& counted = state_->counters_of_reader;
    if (counted.records_refused == 0 && counted.reps_refused == 0) return std::nullopt;
    return read_only_error(state_->path);
}

Expected<void> Store::flush() { return state_->writer ? state_->writer->flush() : Expected<void>{}; }
Expected<void> Store::close() {
    state_->reader.close();
    return state_->writer ? state_->writer->close() : Expected<void>{};
}
Backlog Store::backlog() const { return state_->writer ? state_->writer->backlog() : Backlog{}; }
StoreCounters Store::counters() const {
    return state_->writer ? state_->writer->counters() : state_->counters_of_reader;
}
const std::filesystem::path& Store::path() const { return state_->path; }
std::string Store::place() const { return state_->path.string(); }

// ---- reading --------------------------------------------------------------------------------------------------------

Expected<std::vector<SessionSummary>> Store::sessions() const { return state_->reader.sessions(); }

Expected<SessionSummary> Store::find_session(std::string_view typed) const {
    const Expected<std::vector<SessionSummary>> all = sessions();
    if (!all) return tl::make_unexpected(all.error());
    if (typed == "last" && !all->empty()) return all->back();
    const auto parsed = [typed](int base) -> std::optional<std::uint64_t> {
        std::uint64_t value = 0;
        const auto [end, error] = std::from_chars(typed.data(), typed.data() + typed.size(), value, base);
        if (error != std::errc() || end != typed.data() + typed.size()) return std::nullopt;
        return value;
    };
    const auto number = parsed(10), id = typed.size() == 16 ? parsed(16) : std::nullopt;
    for (const SessionSummary& summary : *all) {
        if (number && summary.number == static_cast<std::int64_t>(*number)) return summary;
        if (id && summary.id == static_cast<SessionId>(*id)) return summary;
    }
    const std::string range = all->empty() ? "it holds none yet"
                                           : "it holds " + std::to_string(all->front().number) + " to " +
                                                 std::to_string(all->back().number) + "; \"last\" is the newest";
    return breakstep::failure(ErrorKind::not_found,
                              "there is no session \"" + std::string(typed) + "\" in " + state_->path.string(), range);
}

Expected<std::int64_t> Store::read_records(SessionId session,
                                           const std::function<void(const JournalRecord&)>& each) const {
    return state_->reader.records(session, each);
}
Expected<std::int64_t> Store::read_raw_records(SessionId session, const std::function<void(const RawRecord&)>& each,
                                               std::int64_t from) const {
    return state_->reader.raw_records(session, each, from);
}
Expected<std::vector<RepResult>> Store::reps(SessionId session) const { return state_->reader.reps(session); }
Expected<std::int64_t> Store::read_reps(const std::function<void(SessionId, const RepResult&)>& each) const {
    return state_->reader.all_reps(each);
}
Expected<std::optional<SessionTotals>> Store::totals(SessionId session) const { return state_->reader.totals(session); }
Expected<std::vector<TermSession>> Store::term_sessions() const { return state_->reader.term_sessions(); }
Expected<std::int64_t> Store::read_rep_facts(
    const std::function<void(std::int64_t number, const progress::RepFact&)>& each) const {
    return state_->reader.rep_facts(each);
}
Expected<std::vector<Athlete>> Store::athletes() const { return state_->reader.athletes(); }
Expected<std::optional<EveningSummary>> Store::last_evening() const { return state_->reader.last_evening(); }
Expected<std::int64_t> Store::read_evening(EveningId evening,
                                           const std::function<void(const evening::EveningRecord&)>& each) const {
    return state_->reader.evening_records(evening, each);
}
Expected<std::vector<Measure>> Store::measures() const { return state_->reader.measures(); }
Expected<std::vector<BackupNote>> Store::backups() const { return state_->reader.backups(); }
Expected<std::vector<Calibration>> Store::calibrations() const { return state_->reader.calibrations(); }

Expected<std::optional<Athlete>> Store::find_athlete(std::string_view call_sign) const {
    return state_->reader.find_athlete(call_sign);
}

Expected<std::vector<SessionSummary>> Store::take_cut_off() {
    const Expected<std::vector<std::int64_t>> numbers = state_->reader.cut_off();
    if (!numbers) return tl::make_unexpected(numbers.error());
    std::vector<SessionSummary> cut;
    if (numbers->empty()) return cut;
    const Expected<std::vector<SessionSummary>> all = sessions();
    if (!all) return tl::make_unexpected(all.error());
    for (const SessionSummary& summary : *all)
        if (std::find(numbers->begin(), numbers->end(), summary.number) != numbers->end()) cut.push_back(summary);
    // From now on they have sums: what is kept of them does not change any more.
    const Expected<void> summed = in_transaction(*state_, [&](SQLite::Database& database) -> Expected<void> {
        for (const std::int64_t number : *numbers) sums::renew_session(database, number);
        return {};
    });
    if (!summed) return tl::make_unexpected(summed.error());
    return cut;
}

Expected<Verified> Store::verify(const std::filesystem::path& memory) const {
    const std::string now = fingerprint_of(state_->path);
    if (!memory.empty() && was_whole(memory, now)) return Verified{true, 0, 0};
    if (const Expected<void> whole = state_->reader.integrity(); !whole) return tl::make_unexpected(whole.error());
    const Expected<sums::Changed> changed = state_->reader.changed();
    if (!changed) return tl::make_unexpected(changed.error());
    if (changed->any())
        return tl::make_unexpected(
            damaged_error(state_->path, "read", changed->first() + " changed since they were written"));
    if (!memory.empty() && fingerprint_of(state_->path) == now) remember_whole(memory, now);
    return Verified{false, changed->sessions, changed->sessions_without};
}

Expected<void> Store::check() const {
    if (Expected<void> whole = state_->reader.integrity(); !whole) return whole;
    const Expected<std::vector<SessionSummary>> all = sessions();
    if (!all) return tl::make_unexpected(all.error());
    for (const SessionSummary& summary : *all) {
        const Expected<std::int64_t> read = read_records(summary.id, [](const JournalRecord&) {});
        if (!read) return tl::make_unexpected(read.error());
        const Expected<std::vector<RepResult>> kept = reps(summary.id);
        if (!kept) return tl::make_unexpected(kept.error());
    }
    return {};
}

}  // namespace breakstep
