#include <algorithm>
#include <tuple>
#include <unordered_map>

#include "club/sharing/copying.hpp"
#include "club/sharing/server_schema.hpp"
#include "club/sharing/values.hpp"
#include "core/score/fold_version.hpp"

namespace breakstep::sharing {
namespace {

/// A session that the server has more of, or newer results.
struct Lacking {
    TakenSession taken;
    std::int64_t from = 0;
    std::int32_t term = 0;
};

class Fetching {
  public:
    Fetching(const Store& store, const Local& local, const CopyOptions& options, CopyReport& report)
        : store_(store), local_(local), options_(options), report_(report) {}
    Expected<void> run(Contact& contact, const std::function<void()>& progress);

  private:
    Expected<std::vector<Lacking>> lacking(Contact& contact);
    Expected<bool> has_other_results(const SessionState& here, const Rows& rows, int row);
    Expected<void> take(Contact& contact, std::span<Lacking> sessions);
    Expected<void> take_measures(Contact& contact);

    const Store& store_;
    const Local& local_;
    const CopyOptions& options_;
    CopyReport& report_;
};

Expected<bool> Fetching::has_other_results(const SessionState& here, const Rows& rows, int row) {
    if (rows.is_null(row, 5) || rows.number(row, 3) < fold_version || rows.number(row, 4) < here.events) return false;
    const auto reps = store_.reps(here.id);
    if (!reps) return tl::make_unexpected(reps.error());
    const auto totals = store_.totals(here.id);
    if (!totals) return tl::make_unexpected(totals.error());
    std::string rep_lines, totals_line;
    CopyLine rep_line(rep_lines), line(totals_line);
    for (const RepResult& rep : *reps) {
        columns::visit_rep(rep, rep_line);
        rep_line.end();
    }
    if (*totals) {
        columns::visit_totals(**totals, line);
        line.end();
    }
    return results_sum(rep_lines, totals_line) != rows.number(row, 5);
}

Expected<std::vector<Lacking>> Fetching::lacking(Contact& contact) {
    const auto states = store_.session_states();
    if (!states) return tl::make_unexpected(states.error());
    std::unordered_map<std::uint64_t, const SessionState*> here;
    for (const SessionState& state : *states) here.emplace(static_cast<std::uint64_t>(state.id), &state);
    const auto rows =
        contact.connection.run("SELECT id, term, events, results_fold, results_events, results_sum, " +
                               session_columns().list() + " FROM breakstep.sessions ORDER BY began_unix_s, id");
    if (!rows) return tl::make_unexpected(rows.error());
    std::vector<Lacking> found;
    std::optional<Error> first;
    const auto read = readable(contact.connection.shown(), [&] {
        for (int row = 0; row < rows->size() && !first; ++row) {
            const auto known = here.find(static_cast<std::uint64_t>(rows->number(row, 0)));
            Lacking one;
            one.term = static_cast<std::int32_t>(rows->number(row, 1));
            one.from = known == here.end() ? 0 : known->second->events;
            one.taken.with_results = known == here.end();
            if (known != here.end()) {
                const auto other = has_other_results(*known->second, *rows, row);
                if (!other) first = other.error();
                one.taken.with_results = other && *other;
            }
            if (known != here.end() && rows->number(row, 2) <= one.from && !one.taken.with_results) continue;
            RowFields fields(*rows, row, 6);
            columns::visit_session(one.taken.summary, fields);
            found.push_back(std::move(one));
        }
    });
    if (!read) return tl::make_unexpected(read.error());
    if (first) return tl::make_unexpected(*first);
    return found;
}

Expected<void> Fetching::take(Contact& contact, std::span<Lacking> sessions) {
    std::unordered_map<std::int64_t, Lacking*> by_id;
    for (Lacking& one : sessions) by_id.emplace(static_cast<std::int64_t>(one.taken.summary.id), &one);
    const Value ids = array_of(sessions, [](const Lacking& one) { return one.taken.summary.id; });
    const Value from = array_of(sessions, [](const Lacking& one) { return one.from; });
    std::vector<std::int32_t> terms;
    for (const Lacking& one : sessions) terms.push_back(one.term);
    std::sort(terms.begin(), terms.end());
    terms.erase(std::unique(terms.begin(), terms.end()), terms.end());
    const Value term_list = array_of(terms, [](std::int32_t term) { return term; });
    const Value club = std::to_string(contact.club);
    Connection& connection = contact.connection;
    const auto stream = [&](const std::string& sql, std::initializer_list<Value> values, auto&& each) {
        return connection.stream(sql, std::span(values.begin(), values.size()), [&](const Rows& rows) {
            return readable(connection.shown(), [&] { each(rows, *by_id.at(rows.number(0, 0))); });
        });
    };
    const auto events = stream(
        "SELECT e.session, e.position, e.kind, e.recorded_ns, e.bytes FROM unnest($1::bigint[], $2::bigint[]) wanted "
        "(id, after) JOIN breakstep.events e ON e.session = wanted.id AND e.position >= wanted.after WHERE e.club "
        "= $4::bigint AND e.term = ANY ($3::int[]) ORDER BY e.session, e.position",
        {ids, from, term_list, club}, [](const Rows& rows, Lacking& one) {
            one.taken.records.push_back({rows.number(0, 1), static_cast<std::uint16_t>(rows.number(0, 2)),
                                         rows.number(0, 3), bytes_from(rows.text(0, 4))});
        });
    if (!events) return tl::make_unexpected(events.error());
    const auto reps =
        stream("SELECT session, " + rep_columns().list() +
                   " FROM breakstep.reps WHERE club = $3::bigint AND term = ANY ($2::int[]) AND session = "
                   "ANY ($1::bigint[]) "
                   "ORDER BY session, rep",
               {ids, term_list, club}, [](const Rows& rows, Lacking& one) {
                   RowFields fields(rows, 0, 1);
                   columns::visit_rep(one.taken.reps.emplace_back(), fields);
               });
    if (!reps) return tl::make_unexpected(reps.error());
    const auto totals = stream(
        "SELECT session, " + totals_columns().list() + " FROM breakstep.totals WHERE session = ANY ($1::bigint[])",
        {ids}, [](const Rows& rows, Lacking& one) {
            RowFields fields(rows, 0, 1);
            columns::visit_totals(one.taken.totals.emplace(), fields);
        });
    if (!totals) return tl::make_unexpected(totals.error());
    const auto writing = local_.for_writing();
    if (!writing) return tl::make_unexpected(writing.error());
    std::vector<TakenSession> taken;
    for (Lacking& one : sessions) {
        report_.sessions += one.from == 0 ? 1 : 0;
        report_.events += static_cast<std::int64_t>(one.taken.records.size());
        report_.reps += one.taken.with_results ? static_cast<std::int64_t>(one.taken.reps.size()) : 0;
        taken.push_back(std::move(one.taken));
    }
    return (*writing)->take_sessions(taken);
}

Expected<void> Fetching::take_measures(Contact& contact) {
    const auto rows = contact.connection.run("SELECT " + measure_columns().list() + " FROM breakstep.measures");
    if (!rows) return tl::make_unexpected(rows.error());
    const auto known = store_.measures();
    if (!known) return tl::make_unexpected(known.error());
    std::vector<Measure> fresh;
    const auto read = readable(contact.connection.shown(), [&] {
        for (int row = 0; row < rows->size(); ++row) {
            Measure measure;
            RowFields fields(*rows, row);
            columns::visit_measure(measure, fields);
            fresh.push_back(std::move(measure));
        }
    });
    if (!read) return read;
    const auto order = [](const Measure& a, const Measure& b) {
        return std::tie(a.athlete, a.measure, a.date) < std::tie(b.athlete, b.measure, b.date);
    };
    std::vector<Measure> here = *known;
    std::sort(here.begin(), here.end(), order);
    std::erase_if(fresh, [&](const Measure& one) { return std::binary_search(here.begin(), here.end(), one, order); });
    if (fresh.empty()) return {};
    const auto writing = local_.for_writing();
    if (!writing) return tl::make_unexpected(writing.error());
    report_.measures += static_cast<std::int64_t>(fresh.size());
    return (*writing)->take_measures(fresh);
}

Expected<void> Fetching::run(Contact& contact, const std::function<void()>& progress) {
    if (const auto taken = take_measures(contact); !taken) return taken;
    auto all = lacking(contact);
    if (!all) return tl::make_unexpected(all.error());
    // A record is some 60 bytes here.
    constexpr std::int64_t record_bytes = 60;
    std::size_t begin = 0;
    while (begin < all->size()) {
        std::size_t end = begin;
        std::int64_t bytes = 0;
        while (end < all->size() && (end == begin || bytes < static_cast<std::int64_t>(options_.batch_bytes)))
            bytes += 2000 * record_bytes * ((*all)[end++].from == 0 ? 1 : 0) + record_bytes;
        if (const auto taken = take(contact, std::span(*all).subspan(begin, end - begin)); !taken) return taken;
        begin = end;
        progress();
    }
    return {};
}

}  // namespace

Expected<CopyReport> fetch(const Store& store, const Local& local, const CopyOptions& options) {
    CopyReport report;
    Fetching fetching(store, local, options, report);
    const auto done =
        with_patience(options.url, options.patience, [&](Contact& contact, const std::function<void()>& progress) {
            ++report.connections;
            return settle(contact, store, local, true, report.contact).and_then([&] {
                progress();
                return fetching.run(contact, progress);
            });
        });
    if (!done) return tl::make_unexpected(done.error());
    return report;
}

}  // namespace breakstep::sharing
