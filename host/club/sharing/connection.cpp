#include "club/sharing/connection.hpp"

#include <charconv>

namespace breakstep::sharing {
namespace {

std::int64_t number_in(std::string_view text) {
    std::int64_t number = 0;
    (void)std::from_chars(text.data(), text.data() + text.size(), number);
    return number;
}

std::string in_one_line(const char* said) {
    std::string text = said == nullptr ? "" : said;
    while (!text.empty() && (text.back() == '\n' || text.back() == ' ')) text.pop_back();
    for (char& c : text)
        if (c == '\n' || c == '\t') c = ' ';
    return text;
}

/// What libpq itself says of a line that was cut, whatever the server's language.
bool is_cut(const std::string& said) {
    for (const char* part : {"server closed the connection", "could not receive data", "could not send data",
                             "timeout expired", "Connection re", "SSL SYSCALL", "SSL connection has been closed"})
        if (said.find(part) != std::string::npos) return true;
    return false;
}

Error not_opened(const PGconn* connection, const std::string& shown) {
    const std::string beginning = "the server " + shown + " can't be reached";
    if (connection == nullptr) return {ErrorKind::system, beginning + ": no memory is left", "close other programs"};
    if (PQconnectionNeedsPassword(connection) != 0)
        return {ErrorKind::system, beginning + ": it asks for a password, and none was found",
                "write it into ~/.pgpass (HOST:PORT:DATABASE:LOGIN:PASSWORD, chmod 600), or set PGPASSWORD"};
    if (PQconnectionUsedPassword(connection) != 0 && !is_cut(in_one_line(PQerrorMessage(connection))))
        return {ErrorKind::system,
                beginning + ": it did not take the login with its password (" +
                    in_one_line(PQerrorMessage(connection)) + ')',
                "look at the login's name in the address, and at the password in ~/.pgpass or PGPASSWORD; nothing was "
                "sent"};
    return {ErrorKind::system, beginning + " (" + in_one_line(PQerrorMessage(connection)) + ')',
            "what is here stays here: try again once the server and the network are there"};
}

}  // namespace

std::int64_t Rows::number(int row, int column) const { return number_in(text(row, column)); }
std::int64_t Rows::affected() const { return number_in(PQcmdTuples(result_.get())); }

Expected<Connection> Connection::open(const ServerUrl& url) {
    std::vector<const char*> keywords, values;
    for (const auto& [keyword, value] : url.parameters) {
        keywords.push_back(keyword.c_str());
        values.push_back(value.c_str());
    }
    keywords.push_back(nullptr);
    values.push_back(nullptr);
    Connection connection(PQconnectdbParams(keywords.data(), values.data(), 0), url.shown);
    if (connection.connection_ == nullptr || connection.is_lost())
        return tl::make_unexpected(not_opened(connection.connection_.get(), url.shown));
    // Notices ("there already") are for somebody who looks into the server.
    PQsetNoticeProcessor(
        connection.connection_.get(), [](void*, const char*) {}, nullptr);
    return connection;
}

Error Connection::error_of(const PGresult* result) {
    const char* field = result == nullptr ? nullptr : PQresultErrorField(result, PG_DIAG_SQLSTATE);
    const std::string state = field == nullptr ? "" : field;
    const std::string of = "the server " + shown_;
    may_try_again_ = state == "40P01" || state == "40001" || state == "55P03";
    if (is_lost() || state.starts_with("57P"))
        return {ErrorKind::system, "the connection to " + of + " was cut",
                "what arrived is kept there, the rest is here: try again"};
    if (state == "53100")
        return {ErrorKind::no_space, "the disk of " + of + " is full",
                "ask whoever runs it for room; nothing is lost, and what is missing there is sent next time"};
    if (state == "25006")
        return {ErrorKind::system, of + " takes nothing at the moment: it is for reading only",
                "ask whoever runs it (a standby, or a server being moved); what is missing there is sent next time"};
    if (state == "42501")
        return {ErrorKind::system, of + " does not allow this to the login that was used",
                "a laptop needs a login that belongs to its club: `breakstep club-server URL --club NAME --login "
                "LOGIN` makes one"};
    if (may_try_again_)
        return {ErrorKind::in_use, "somebody else changed the same on " + of + " at the same moment", "try again"};
    const char* said =
        result == nullptr ? PQerrorMessage(connection_.get()) : PQresultErrorField(result, PG_DIAG_MESSAGE_PRIMARY);
    return {ErrorKind::system, of + " says: " + in_one_line(said) + (state.empty() ? "" : " (" + state + ")"),
            "nothing was changed there by this step; `breakstep club-server URL` checks the server"};
}

Expected<Rows> Connection::checked(PGresult* result) {
    Rows rows(result);
    const ExecStatusType status = PQresultStatus(result);
    may_try_again_ = false;
    if (status == PGRES_TUPLES_OK || status == PGRES_COMMAND_OK || status == PGRES_SINGLE_TUPLE) return rows;
    return tl::make_unexpected(error_of(result));
}

Expected<Rows> Connection::run(const std::string& sql, std::span<const Value> values) {
    std::vector<const char*> texts;
    for (const Value& value : values) texts.push_back(value ? value->c_str() : nullptr);
    return checked(PQexecParams(connection_.get(), sql.c_str(), static_cast<int>(texts.size()), nullptr, texts.data(),
                                nullptr, nullptr, 0));
}

Expected<void> Connection::run_script(const std::string& sql) {
    const Expected<Rows> done = checked(PQexec(connection_.get(), sql.c_str()));
    return done ? Expected<void>{} : tl::make_unexpected(done.error());
}

Expected<std::int64_t> Connection::stream(const std::string& sql, std::span<const Value> values,
                                          const std::function<Expected<void>(const Rows&)>& each) {
    std::vector<const char*> texts;
    for (const Value& value : values) texts.push_back(value ? value->c_str() : nullptr);
    if (PQsendQueryParams(connection_.get(), sql.c_str(), static_cast<int>(texts.size()), nullptr, texts.data(),
                          nullptr, nullptr, 0) == 0)
        return tl::make_unexpected(error_of(nullptr));
    PQsetSingleRowMode(connection_.get());
    std::int64_t count = 0;
    std::optional<Error> first;
    while (PGresult* result = PQgetResult(connection_.get())) {
        Expected<Rows> rows = checked(result);
        if (first) continue;
        if (!rows) {
            first = rows.error();
        } else if (rows->size() > 0) {
            ++count;
            if (const auto done = each(*rows); !done) first = done.error();
        }
    }
    if (!first && is_lost()) first = error_of(nullptr);
    if (first) return tl::make_unexpected(*first);
    return count;
}

Expected<void> Connection::copy_in(const std::string& sql, std::string_view lines) {
    {
        PGresult* result = PQexec(connection_.get(), sql.c_str());
        const bool ready = PQresultStatus(result) == PGRES_COPY_IN;
        if (!ready) {
            const Error error = error_of(result);
            PQclear(result);
            return tl::make_unexpected(error);
        }
        PQclear(result);
    }
    constexpr std::size_t piece = std::size_t{1} << 16U;
    bool sent = true;
    for (std::size_t at = 0; at < lines.size() && sent; at += piece) {
        const std::string_view part = lines.substr(at, piece);
        sent = PQputCopyData(connection_.get(), part.data(), static_cast<int>(part.size())) == 1;
    }
    sent = sent && PQputCopyEnd(connection_.get(), nullptr) == 1;
    std::optional<Error> first;
    if (!sent) first = error_of(nullptr);
    while (PGresult* result = PQgetResult(connection_.get())) {
        const bool copying = PQresultStatus(result) == PGRES_COPY_IN;
        Expected<Rows> done = checked(result);
        if (!done && !first) first = done.error();
        if (copying) break;  // it could not even be ended
    }
    if (first) return tl::make_unexpected(*first);
    return {};
}

Expected<void> Connection::in_transaction(const std::function<Expected<void>()>& work) {
    if (const auto begun = run("BEGIN"); !begun) return tl::make_unexpected(begun.error());
    Expected<void> done = work();
    if (done) {
        const auto committed = run("COMMIT");
        return committed ? Expected<void>{} : tl::make_unexpected(committed.error());
    }
    const bool again = may_try_again_;
    if (!is_lost()) (void)run("ROLLBACK");  // one that fails has lost the connection, which rolls back too
    may_try_again_ = again;
    return done;
}

}  // namespace breakstep::sharing
