#include "club/sharing/server_kept.hpp"

#include <algorithm>
#include <tuple>

#include "club/sharing/server_schema.hpp"
#include "club/sharing/values.hpp"
#include "store/call_sign.hpp"
#include "store/rep_fact.hpp"

namespace breakstep::sharing {
namespace {

/// Sessions with their numbers and terms.
constexpr const char* numbered =
    "(SELECT row_number() OVER (ORDER BY began_unix_s, id) AS here, * FROM breakstep.sessions) s";

Value id_of(SessionId session) { return std::to_string(static_cast<std::int64_t>(session)); }

/// As the store orders athletes: without a call-sign first, ASCII letters without case.
std::string call_sign_order(const std::string& call_sign) {
    std::string order = call_sign;
    for (char& c : order)
        if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    return order;
}

}  // namespace

Expected<std::unique_ptr<ServerKept>> ServerKept::open(const ServerUrl& url) {
    auto connection = Connection::open(url);
    if (!connection) return tl::make_unexpected(connection.error());
    if (const auto checked = check_server(*connection); !checked) return tl::make_unexpected(checked.error());
    if (const auto begun = connection->run("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY"); !begun)
        return tl::make_unexpected(begun.error());
    const auto club = connection->run("SELECT breakstep.my_club()");
    if (!club) return tl::make_unexpected(club.error());
    if (club->is_null(0, 0))
        return failure(ErrorKind::system, "the login that was used on the server " + url.shown + " belongs to no club",
                       "`breakstep club-server URL --club NAME --login LOGIN --may coach`, by whoever runs the server, "
                       "lets it read");
    std::string own(club->text(0, 0));
    return std::unique_ptr<ServerKept>(new ServerKept(std::move(*connection), std::move(own)));
}

template <class Read>
Expected<void> ServerKept::rows_of(const std::string& sql, std::initializer_list<Value> values, Read&& read) const {
    const auto rows = connection_.run(sql, values);
    if (!rows) return tl::make_unexpected(rows.error());
    return readable(connection_.shown(), [&] {
        for (int row = 0; row < rows->size(); ++row) read(*rows, row);
    });
}

std::string ServerKept::place() const { return "the server " + connection_.shown(); }

Expected<std::vector<SessionSummary>> ServerKept::sessions() const {
    std::vector<SessionSummary> sessions;
    const auto read =
        rows_of("SELECT s.here, s.events, coalesce(r.count, 0), " + session_columns().list("s.") + " FROM " + numbered +
                    " LEFT JOIN (SELECT session, count(*) FROM breakstep.reps WHERE club = $1::bigint "
                    "GROUP BY session) r ON r.session = s.id ORDER BY s.here",
                {club_}, [&](const Rows& rows, int row) {
                    SessionSummary& summary = sessions.emplace_back();
                    RowFields fields(rows, row);
                    fields.get(summary.number);
                    fields.get(summary.events);
                    fields.get(summary.reps);
                    columns::visit_session(summary, fields);
                });
    if (!read) return tl::make_unexpected(read.error());
    return sessions;
}

Expected<std::int64_t> ServerKept::read_records(SessionId session,
                                                const std::function<void(const JournalRecord&)>& each) const {
    std::vector<JournalRecord> records;
    std::optional<Error> undecodable;
    const auto read = rows_of(
        "SELECT position, kind, recorded_ns, bytes FROM breakstep.events WHERE club = $1::bigint AND session = "
        "$2::bigint AND term = (SELECT term FROM breakstep.sessions WHERE id = $2::bigint) ORDER BY position",
        {club_, id_of(session)}, [&](const Rows& rows, int row) {
            if (rows.number(row, 0) != row)
                throw columns::UnreadableValue("record " + std::to_string(row) + " of a session is missing");
            auto event = decode(static_cast<std::uint16_t>(rows.number(row, 1)), bytes_from(rows.text(row, 3)));
            if (!event) {
                if (!undecodable) undecodable = event.error();
                return;
            }
            records.push_back({row, HostTime(Duration(rows.number(row, 2))), std::move(*event)});
        });
    if (!read) return tl::make_unexpected(read.error());
    if (undecodable) return tl::make_unexpected(*undecodable);
    for (const JournalRecord& record : records) each(record);
    return static_cast<std::int64_t>(records.size());
}

Expected<std::vector<RepResult>> ServerKept::reps(SessionId session) const {
    std::vector<RepResult> reps;
    const auto read = rows_of("SELECT " + rep_columns().list() +
                                  " FROM breakstep.reps WHERE club = $1::bigint AND session = $2::bigint AND term = "
                                  "(SELECT term FROM breakstep.sessions WHERE id = $2::bigint) ORDER BY rep",
                              {club_, id_of(session)}, [&](const Rows& rows, int row) {
                                  RowFields fields(rows, row);
                                  columns::visit_rep(reps.emplace_back(), fields);
                              });
    if (!read) return tl::make_unexpected(read.error());
    return reps;
}

Expected<std::optional<SessionTotals>> ServerKept::totals(SessionId session) const {
    std::optional<SessionTotals> totals;
    const auto read = rows_of(
        "SELECT " + totals_columns().list() + " FROM breakstep.totals WHERE club = $1::bigint AND session = $2::bigint",
        {club_, id_of(session)}, [&](const Rows& rows, int row) {
            RowFields fields(rows, row);
            columns::visit_totals(totals.emplace(), fields);
        });
    if (!read) return tl::make_unexpected(read.error());
    return totals;
}

Expected<std::vector<TermSession>> ServerKept::term_sessions() const {
    std::vector<TermSession> sessions;
    const auto read = rows_of(
        std::string("SELECT s.here, s.athlete, s.began_unix_s, s.drill, s.start, s.stance, s.level, s.test, t.windows, "
                    "t.caught, t.caught_by_chance, t.wealth FROM ") +
            numbered + " LEFT JOIN breakstep.totals t ON t.club = s.club AND t.session = s.id ORDER BY s.here",
        {}, [&](const Rows& rows, int row) {
            TermSession& session = sessions.emplace_back();
            RowFields fields(rows, row);
            fields.get(session.number);
            fields.get(session.athlete);
            fields.get(session.began_unix_seconds);
            fields.get(session.drill);
            fields.get(session.start);
            fields.get(session.stance);
            fields.get(session.level);
            fields.get(session.test);
            if (fields.is_null()) return;
            reading::HitCount& hits = session.hits.emplace();
            fields.get(hits.scored);
            fields.get(hits.hits);
            fields.get(hits.chance);
            fields.get(session.wealth);
        });
    if (!read) return tl::make_unexpected(read.error());
    return sessions;
}

Expected<std::int64_t> ServerKept::read_rep_facts(
    const std::function<void(std::int64_t number, const progress::RepFact&)>& each) const {
    const Value values[] = {club_};
    return connection_.stream(
        std::string(
            "SELECT s.here, r.set_index, r.number, r.kind, r.moment, r.counter, r.start, r.verdict, r.scored, "
            "r.catch_trial, r.contacted, r.retreated, r.latency_ns, r.error_ns, r.void_reason, "
            "coalesce(r.moments, 0), r.came, r.level_window, r.counts, r.rung_hit, r.contact_from_onset_ns FROM ") +
            numbered +
            " JOIN breakstep.reps r ON r.session = s.id AND r.term = s.term WHERE r.club = $1::bigint ORDER BY s.here, "
            "r.rep",
        values, [&](const Rows& rows) {
            return readable(connection_.shown(), [&] {
                progress::RepFact rep;
                std::int64_t number = 0;
                std::optional<Duration> latency, error;
                std::optional<VoidReason> void_reason;
                RowFields fields(rows);
                fields.get(number);
                fields.get(rep.set);
                fields.get(rep.number);
                fields.get(rep.kind);
                fields.get(rep.moment);
                fields.get(rep.counter);
                fields.get(rep.start);
                fields.get(rep.verdict);
                fields.get(rep.scored);
                fields.get(rep.catch_trial);
                fields.get(rep.contacted);
                fields.get(rep.retreated);
                fields.get(latency);
                fields.get(error);
                fields.get(void_reason);
                fields.get(rep.moments);
                std::optional<CameKind> came;
                std::optional<Duration> from_onset;
                fields.get(came);
                fields.get(rep.window);
                fields.get(rep.counts);
                fields.get(rep.rung_hit);
                fields.get(from_onset);
                take_what_came(rep, came);
                rep.struck_in_wait = was_struck_in_wait(from_onset);
                rep.voided_by_coach = rep.verdict == Verdict::void_rep && void_reason == VoidReason::coach;
                if (latency) rep.latency_ms = static_cast<double>(latency->count()) / 1e6;
                if (error) rep.error_ms = static_cast<double>(error->count()) / 1e6;
                each(number, rep);
            });
        });
}

Expected<std::vector<Athlete>> ServerKept::athletes() const {
    std::vector<Athlete> athletes;
    const auto read = rows_of("SELECT " + athlete_columns().list() + " FROM breakstep.athletes ORDER BY id", {},
                              [&](const Rows& rows, int row) { athletes.push_back(athlete_from(rows, row)); });
    if (!read) return tl::make_unexpected(read.error());
    std::stable_sort(athletes.begin(), athletes.end(), [](const Athlete& a, const Athlete& b) {
        return call_sign_order(a.call_sign) < call_sign_order(b.call_sign);
    });
    return athletes;
}

Expected<std::optional<Athlete>> ServerKept::find_athlete(std::string_view call_sign) const {
    const auto all = athletes();
    if (!all) return tl::make_unexpected(all.error());
    for (const Athlete& athlete : *all)
        if (!call_sign.empty() && athlete.call_sign == call_sign) return athlete;
    const std::string key = call_sign_key(call_sign);
    for (const Athlete& athlete : *all)
        if (!key.empty() && !athlete.call_sign.empty() && call_sign_key(athlete.call_sign) == key) return athlete;
    return std::nullopt;
}

Expected<std::vector<Measure>> ServerKept::measures() const {
    std::vector<Measure> measures;
    const auto read =
        rows_of("SELECT " + measure_columns().list() +
                    " FROM breakstep.measures ORDER BY athlete, measure COLLATE \"C\", date COLLATE \"C\"",
                {}, [&](const Rows& rows, int row) {
                    RowFields fields(rows, row);
                    columns::visit_measure(measures.emplace_back(), fields);
                });
    if (!read) return tl::make_unexpected(read.error());
    return measures;
}

}  // namespace breakstep::sharing
