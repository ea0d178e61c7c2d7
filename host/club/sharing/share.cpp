#include <algorithm>
#include <boost/crc.hpp>
#include <unordered_map>
#include <utility>

#include "club/sharing/copying.hpp"
#include "club/sharing/server_schema.hpp"
#include "club/sharing/values.hpp"
#include "core/score/fold_version.hpp"

namespace breakstep::sharing {
namespace {

struct There {
    std::int64_t events = 0, results_events = 0;
    std::int32_t results_fold = 0;
    std::optional<std::int64_t> results_sum;
    bool operator==(const There&) const = default;
};

/// Sessions in a batch: each is a lock of the server's.
constexpr std::size_t parts_max = 200;
constexpr std::size_t bytes_min = std::size_t{16} << 10U;

constexpr const char* there_columns = "id, events, results_fold, results_events, results_sum";

There there_at(const Rows& rows, int row) {
    There there{rows.number(row, 1), rows.number(row, 3), static_cast<std::int32_t>(rows.number(row, 2)), {}};
    if (!rows.is_null(row, 4)) there.results_sum = rows.number(row, 4);
    return there;
}

/// One session's part of a batch, as lines for COPY.
struct Part {
    SessionId id{};
    std::int64_t from = 0, to = 0;  ///< its records
    std::int64_t reps = 0;
    bool with_results = false;
};

struct Batch {
    std::vector<Part> parts;
    std::vector<AthleteId> athletes;
    std::vector<std::int32_t> terms;
    std::string sessions, events, reps, totals;
    [[nodiscard]] std::size_t bytes() const { return sessions.size() + events.size() + reps.size() + totals.size(); }
};

constexpr const char* make_passing_tables = R"sql(
CREATE TEMPORARY TABLE IF NOT EXISTS new_sessions ON COMMIT DELETE ROWS AS SELECT {sessions} FROM breakstep.sessions WHERE false;
CREATE TEMPORARY TABLE IF NOT EXISTS new_events ON COMMIT DELETE ROWS AS SELECT term, session, position, kind, recorded_ns, bytes FROM breakstep.events WHERE false;
CREATE TEMPORARY TABLE IF NOT EXISTS new_reps ON COMMIT DELETE ROWS AS SELECT term, session, {reps} FROM breakstep.reps WHERE false;
CREATE TEMPORARY TABLE IF NOT EXISTS new_totals ON COMMIT DELETE ROWS AS SELECT session, {totals} FROM breakstep.totals WHERE false;
)sql";

std::string with(std::string text, const std::string& mark, const std::string& by) {
    const auto at = text.find(mark);
    return at == std::string::npos ? text : text.replace(at, mark.size(), by);
}

std::string session_list() {
    return session_columns().list() + ", term, events, results_fold, results_events, results_sum";
}

class Sharing {
  public:
    Sharing(const Store& store, const CopyOptions& options, ShareMemory& memory, CopyReport& report)
        : store_(store),
          memory_(memory),
          report_(report),
          bytes_max_(options.batch_bytes),
          bytes_(options.batch_bytes) {}

    Expected<void> run(Contact& contact, const std::function<void()>& progress);

  private:
    /// Only after this store's own sessions: a club's server holds those of years and of other laptops too.
    Expected<void> look(Contact& contact, const std::vector<SessionSummary>& sessions);
    Expected<void> send_measures(Contact& contact);
    Expected<void> make_terms(Contact& contact, const std::vector<SessionSummary>& sessions);
    /// Adds what the server lacks of the session, at most a batch of its records; false: nothing was lacking.
    Expected<bool> add(const Contact& contact, const SessionSummary& session, const SessionState& state, Batch& batch);
    Expected<void> add_records(const SessionSummary& session, Part& part, Batch& batch);
    Expected<std::int64_t> result_lines(const SessionSummary& session, std::string& reps, std::string& totals,
                                        std::int64_t& count);
    Expected<void> send(Contact& contact, const Batch& batch);
    Expected<void> put(Contact& contact, const Batch& batch);
    Expected<bool> still_goes_on(Contact& contact, const Batch& batch);
    Expected<void> put_events(Contact& contact, const Batch& batch);

    const Store& store_;
    ShareMemory& memory_;
    CopyReport& report_;
    /// A line that is cut again and again gets through in smaller batches.
    const std::size_t bytes_max_;
    std::size_t bytes_;
    bool began_ = false;
    std::unordered_map<std::uint64_t, There> there_;
    bool went_ = false;  ///< the last batch did; else somebody else sent the same meanwhile
};

Expected<void> Sharing::look(Contact& contact, const std::vector<SessionSummary>& sessions) {
    there_.clear();
    const auto rows = contact.connection.run(
        std::string("SELECT ") + there_columns + " FROM breakstep.sessions WHERE id = ANY ($1::bigint[])",
        {array_of(sessions, [](const SessionSummary& session) { return session.id; })});
    if (!rows) return tl::make_unexpected(rows.error());
    for (int row = 0; row < rows->size(); ++row)
        there_.emplace(static_cast<std::uint64_t>(rows->number(row, 0)), there_at(*rows, row));
    return {};
}

Expected<void> Sharing::make_terms(Contact& contact, const std::vector<SessionSummary>& sessions) {
    std::vector<std::int32_t> terms;
    for (const SessionSummary& session : sessions) terms.push_back(term_of(session.began_unix_seconds));
    std::sort(terms.begin(), terms.end());
    terms.erase(std::unique(terms.begin(), terms.end()), terms.end());
    const auto missing =
        contact.connection.run("SELECT t FROM unnest($1::int[]) t WHERE to_regclass('breakstep.events_' || t) IS NULL",
                               {array_of(terms, [](std::int32_t term) { return term; })});
    if (!missing) return tl::make_unexpected(missing.error());
    for (int row = 0; row < missing->size(); ++row)
        if (const auto made =
                contact.connection.run("SELECT breakstep.make_term($1)", {std::string(missing->text(row, 0))});
            !made)
            return tl::make_unexpected(made.error());
    return {};
}

Expected<std::int64_t> Sharing::result_lines(const SessionSummary& session, std::string& reps, std::string& totals,
                                             std::int64_t& count) {
    const auto kept = store_.reps(session.id);
    if (!kept) return tl::make_unexpected(kept.error());
    const auto sums = store_.totals(session.id);
    if (!sums) return tl::make_unexpected(sums.error());
    count = static_cast<std::int64_t>(kept->size());
    // The sum is over the results alone; the term and the session stand before them in each line.
    std::string bare_reps, bare_totals;
    const std::int32_t term = term_of(session.began_unix_seconds);
    for (const RepResult& rep : *kept) {
        CopyLine bare(bare_reps), line(reps);
        columns::visit_rep(rep, bare);
        bare.end();
        line.add(term).add(session.id);
        columns::visit_rep(rep, line);
        line.end();
    }
    if (*sums) {
        CopyLine bare(bare_totals), line(totals);
        columns::visit_totals(**sums, bare);
        bare.end();
        line.add(session.id);
        columns::visit_totals(**sums, line);
        line.end();
    }
    return results_sum(bare_reps, bare_totals);
}

Expected<void> Sharing::add_records(const SessionSummary& session, Part& part, Batch& batch) {
    const std::int32_t term = term_of(session.began_unix_seconds);
    const std::size_t begin = batch.events.size();
    CopyLine line(batch.events);
    const auto read = store_.read_raw_records(
        session.id,
        [&](const Store::RawRecord& record) {
            if (record.position >= part.to || batch.events.size() - begin > bytes_) {
                part.to = std::min(part.to, record.position);
                return;
            }
            line.add(term).add(session.id).add(record.position).add(record.kind);
            line.add(record.recorded.time_since_epoch()).add_bytes(record.bytes);
            line.end();
        },
        part.from);
    return read ? Expected<void>{} : tl::make_unexpected(read.error());
}

Expected<bool> Sharing::add(const Contact& contact, const SessionSummary& session, const SessionState& state,
                            Batch& batch) {
    const auto found = there_.find(static_cast<std::uint64_t>(session.id));
    const There there = found == there_.end() ? There{} : found->second;
    Part part{session.id, std::min(there.events, state.events), state.events, 0, false};
    if (part.from < part.to)
        if (const auto added = add_records(session, part, batch); !added) return tl::make_unexpected(added.error());
    std::int64_t sum = 0;
    // Results when all records are there, of a store that has as many as those were made from.
    const bool may_send_results = part.to == state.events && state.events >= there.results_events &&
                                  fold_version >= there.results_fold && (state.reps > 0 || state.has_totals);
    if (may_send_results) {
        const auto seen = memory_.sessions.find(session.id);
        const bool unchanged = seen != memory_.sessions.end() && seen->second.state == state && state.reps_sum;
        if (unchanged && there.results_sum == seen->second.results_sum) {
            sum = seen->second.results_sum;
        } else {
            std::string reps, totals;
            const auto made = result_lines(session, reps, totals, part.reps);
            if (!made) return tl::make_unexpected(made.error());
            sum = *made;
            memory_.sessions[session.id] = {state, sum};
            if (there.results_sum != sum) {
                part.with_results = true;
                batch.reps += reps;
                batch.totals += totals;
            }
        }
    }
    const bool lacks = found == there_.end() || part.from < part.to || part.with_results;
    if (!lacks) return false;
    SessionSummary shown = session;
    if (shown.athlete) shown.athlete = contact.now_called(*shown.athlete);
    CopyLine line(batch.sessions);
    columns::visit_session(shown, line);
    line.add(term_of(session.began_unix_seconds)).add(std::max(part.to, there.events));
    if (part.with_results)
        line.add(fold_version).add(state.events).add(sum);
    else
        line.add(there.results_fold).add(there.results_events).add(there.results_sum);
    line.end();
    batch.parts.push_back(part);
    batch.athletes.push_back(*shown.athlete);
    batch.terms.push_back(term_of(session.began_unix_seconds));
    return true;
}

/// Waits for whoever erases or sends the same, then looks whether the batch still goes on from what is there.
Expected<bool> Sharing::still_goes_on(Contact& contact, const Batch& batch) {
    std::vector<AthleteId> athletes = batch.athletes;
    std::sort(athletes.begin(), athletes.end());
    athletes.erase(std::unique(athletes.begin(), athletes.end()), athletes.end());
    const Value ids = array_of(athletes, [](AthleteId id) { return id; });
    const Value sessions = array_of(batch.parts, [](const Part& part) { return part.id; });
    Connection& connection = contact.connection;
    if (const auto locked = connection.run(
            "SELECT pg_advisory_xact_lock_shared(a) FROM (SELECT unnest($1::bigint[]) a ORDER BY 1) s", {ids});
        !locked)
        return tl::make_unexpected(locked.error());
    if (const auto locked = connection.run(
            "SELECT pg_advisory_xact_lock(a) FROM (SELECT unnest($1::bigint[]) a ORDER BY 1) s", {sessions});
        !locked)
        return tl::make_unexpected(locked.error());
    const auto there = connection.run("SELECT count(*) FROM breakstep.athletes WHERE id = ANY ($1::bigint[])", {ids});
    if (!there) return tl::make_unexpected(there.error());
    if (there->number(0, 0) != static_cast<std::int64_t>(athletes.size())) {
        connection.mark_conflict();
        return failure(ErrorKind::in_use, "an athlete was erased or taken off the server at this moment",
                       "share again");
    }
    const auto rows = connection.run(
        std::string("SELECT ") + there_columns + " FROM breakstep.sessions WHERE id = ANY ($1::bigint[])", {sessions});
    if (!rows) return tl::make_unexpected(rows.error());
    std::unordered_map<std::uint64_t, There> now;
    for (int row = 0; row < rows->size(); ++row)
        now.emplace(static_cast<std::uint64_t>(rows->number(row, 0)), there_at(*rows, row));
    const auto in = [](const auto& all, SessionId id) {
        const auto found = all.find(static_cast<std::uint64_t>(id));
        return found == all.end() ? There{} : found->second;
    };
    return std::all_of(batch.parts.begin(), batch.parts.end(),
                       [&](const Part& part) { return in(now, part.id) == in(there_, part.id); });
}

Expected<void> Sharing::put_events(Contact& contact, const Batch& batch) {
    std::int64_t sent = 0;
    for (const Part& part : batch.parts) sent += part.to - part.from;
    const auto put = contact.connection.run(
        "INSERT INTO breakstep.events (club, term, session, position, kind, recorded_ns, bytes) SELECT $1::bigint, "
        "term, "
        "session, position, kind, recorded_ns, bytes FROM new_events ON CONFLICT DO NOTHING",
        {std::to_string(contact.club)});
    if (!put) return tl::make_unexpected(put.error());
    if (put->affected() == sent) return {};
    return failure(
        ErrorKind::damaged,
        "records of a session stand on the server " + contact.connection.shown() + " beyond where it is said to end",
        "nothing was sent of it; keep the store, and report this");
}

Expected<void> Sharing::put(Contact& contact, const Batch& batch) {
    Connection& connection = contact.connection;
    const auto run = [&](const std::string& sql, std::initializer_list<Value> values) -> Expected<void> {
        const auto done = connection.run(sql, values);
        return done ? Expected<void>{} : tl::make_unexpected(done.error());
    };
    const auto goes_on = still_goes_on(contact, batch);
    if (!goes_on) return tl::make_unexpected(goes_on.error());
    went_ = *goes_on;
    if (!went_) return {};
    const std::string rep_list = rep_columns().list(), totals_list = totals_columns().list();
    for (const auto& [to, lines] : {std::pair<std::string, const std::string*>{"new_sessions", &batch.sessions},
                                    {"new_events", &batch.events},
                                    {"new_reps", &batch.reps},
                                    {"new_totals", &batch.totals}})
        if (!lines->empty())
            if (auto copied = connection.copy_in("COPY pg_temp." + to + " FROM STDIN", *lines); !copied) return copied;
    std::string sets;
    for (const auto& [name, type] : session_columns().columns)
        if (name != "id") sets += name + " = excluded." + name + ", ";
    if (auto done =
            run("INSERT INTO breakstep.sessions (club, " + session_list() + ") SELECT $1::bigint, " + session_list() +
                    " FROM new_sessions ORDER BY id ON CONFLICT (club, id) DO UPDATE SET " + sets +
                    "events = excluded.events, results_fold = excluded.results_fold, results_events = "
                    "excluded.results_events, results_sum = excluded.results_sum",
                {std::to_string(contact.club)});
        !done)
        return done;
    if (auto done = put_events(contact, batch); !done) return done;
    std::vector<SessionId> with_results;
    for (const Part& part : batch.parts)
        if (part.with_results) with_results.push_back(part.id);
    if (with_results.empty()) return {};
    const Value club = std::to_string(contact.club);
    const Value ids = array_of(with_results, [](SessionId id) { return id; });
    const Value terms = array_of(batch.terms, [](std::int32_t term) { return term; });
    if (auto done = run("DELETE FROM breakstep.reps WHERE club = $1::bigint AND term = ANY ($2::int[]) AND session = "
                        "ANY ($3::bigint[])",
                        {club, terms, ids});
        !done)
        return done;
    if (auto done = run("DELETE FROM breakstep.totals WHERE session = ANY ($1::bigint[])", {ids}); !done) return done;
    if (auto done = run("INSERT INTO breakstep.reps (club, term, session, " + rep_list +
                            ") SELECT $1::bigint, term, session, " + rep_list + " FROM new_reps",
                        {std::to_string(contact.club)});
        !done)
        return done;
    return run("INSERT INTO breakstep.totals (club, session, " + totals_list + ") SELECT $1::bigint, session, " +
                   totals_list + " FROM new_totals",
               {std::to_string(contact.club)});
}

Expected<void> Sharing::send(Contact& contact, const Batch& batch) {
    const auto sent = contact.connection.in_transaction([&] { return put(contact, batch); });
    if (!sent || !went_) return sent;
    for (const Part& part : batch.parts) {
        report_.sessions += part.from == 0 ? 1 : 0;
        report_.events += part.to - part.from;
        report_.reps += part.with_results ? part.reps : 0;
    }
    return {};
}

Expected<void> Sharing::send_measures(Contact& contact) {
    const auto measures = store_.measures();
    if (!measures) return tl::make_unexpected(measures.error());
    std::unordered_map<std::uint64_t, std::int64_t> here, there;
    for (const Measure& measure : *measures) ++here[static_cast<std::uint64_t>(measure.athlete)];
    const auto counts = contact.connection.run("SELECT athlete, count(*) FROM breakstep.measures GROUP BY athlete");
    if (!counts) return tl::make_unexpected(counts.error());
    for (int row = 0; row < counts->size(); ++row)
        there[static_cast<std::uint64_t>(counts->number(row, 0))] = counts->number(row, 1);
    const std::string list = measure_columns().list();
    std::string lines;
    CopyLine line(lines);
    for (const Measure& measure : *measures) {
        const auto id = static_cast<std::uint64_t>(measure.athlete);
        if (!contact.shared.contains(id) || here[id] == there[id]) continue;
        columns::visit_measure(measure, line);
        line.end();
    }
    if (lines.empty()) return {};
    return contact.connection.in_transaction([&]() -> Expected<void> {
        if (auto made = contact.connection.run_script("CREATE TEMPORARY TABLE IF NOT EXISTS new_measures ON COMMIT "
                                                      "DELETE ROWS AS SELECT " +
                                                      list + " FROM breakstep.measures WHERE false");
            !made)
            return made;
        if (auto copied = contact.connection.copy_in("COPY pg_temp.new_measures FROM STDIN", lines); !copied)
            return copied;
        const auto put =
            contact.connection.run("INSERT INTO breakstep.measures (club, " + list + ") SELECT $1::bigint, " + list +
                                       " FROM new_measures ON CONFLICT DO NOTHING",
                                   {std::to_string(contact.club)});
        if (!put) return tl::make_unexpected(put.error());
        report_.measures += put->affected();
        return {};
    });
}

Expected<void> Sharing::run(Contact& contact, const std::function<void()>& progress) {
    if (std::exchange(began_, true)) bytes_ = std::max(bytes_ / 4, std::min(bytes_min, bytes_max_));
    if (const auto sent = send_measures(contact); !sent) return sent;
    const auto states = store_.session_states();
    if (!states) return tl::make_unexpected(states.error());
    const auto summaries = store_.sessions();
    if (!summaries) return tl::make_unexpected(summaries.error());
    std::unordered_map<std::int64_t, const SessionSummary*> by_number;
    for (const SessionSummary& summary : *summaries) by_number.emplace(summary.number, &summary);
    std::vector<SessionSummary> shared;
    std::vector<SessionState> shared_states;
    report_.sessions_at_home = 0;
    for (const SessionState& state : *states) {
        const auto summary = by_number.find(state.number);
        if (summary == by_number.end()) continue;
        if (!state.athlete ||
            !contact.shared.contains(static_cast<std::uint64_t>(contact.now_called(*state.athlete)))) {
            ++report_.sessions_at_home;
            continue;
        }
        shared.push_back(*summary->second);
        shared_states.push_back(state);
    }
    if (const auto looked = look(contact, shared); !looked) return looked;
    if (const auto made = make_terms(contact, shared); !made) return made;
    const std::string tables =
        with(with(with(make_passing_tables, "{sessions}", session_list()), "{reps}", rep_columns().list()), "{totals}",
             totals_columns().list());
    if (const auto made = contact.connection.run_script(tables); !made) return made;
    // In rounds: a long session goes in several batches, one that somebody else sent meanwhile is looked at again.
    for (bool sent_something = true; sent_something;) {
        sent_something = false;
        Batch batch;
        const auto send_batch = [&]() -> Expected<void> {
            if (batch.parts.empty()) return {};
            if (const auto sent = send(contact, batch); !sent) return sent;
            sent_something = true;
            bytes_ = std::min(bytes_ * 2, bytes_max_);
            batch = {};
            progress();
            return {};
        };
        for (std::size_t i = 0; i < shared.size(); ++i) {
            const auto added = add(contact, shared[i], shared_states[i], batch);
            if (!added) return tl::make_unexpected(added.error());
            if (batch.bytes() >= bytes_ || batch.parts.size() >= parts_max)
                if (const auto sent = send_batch(); !sent) return sent;
        }
        if (const auto sent = send_batch(); !sent) return sent;
        if (sent_something)
            if (const auto looked = look(contact, shared); !looked) return looked;
    }
    return {};
}

}  // namespace

std::int64_t results_sum(const std::string& rep_lines, const std::string& totals_line) {
    boost::crc_optimal<64, 0x42F0E1EBA9EA3693ULL, ~0ULL, ~0ULL, true, true> crc;
    crc.process_bytes(rep_lines.data(), rep_lines.size());
    crc.process_byte(0);
    crc.process_bytes(totals_line.data(), totals_line.size());
    return static_cast<std::int64_t>(crc.checksum());
}

Expected<CopyReport> share(const Store& store, const Local& local, const CopyOptions& options, ShareMemory& memory) {
    CopyReport report;
    Sharing sharing(store, options, memory, report);
    const auto done =
        with_patience(options.url, options.patience, [&](Contact& contact, const std::function<void()>& progress) {
            ++report.connections;
            return settle(contact, store, local, false, report.contact).and_then([&] {
                progress();
                return sharing.run(contact, progress);
            });
        });
    if (!done) return tl::make_unexpected(done.error());
    return report;
}

}  // namespace breakstep::sharing
