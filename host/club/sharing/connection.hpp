// A connection to a club's PostgreSQL server: statements with values apart from their text, COPY both ways, and what
// the server's errors mean to a coach.
//
// Owned by whoever talks to the server; one thread at a time. A connection that was lost stays lost: is_lost() says so,
// and a new one is opened. Failures: system (no connection, no permission, an error of the server's), no_space (the
// server's disk), incompatible, in_use (a conflict with somebody else's work: try again). Nothing here prints, and no
// message holds a secret: the server's own texts are shown, never what was sent.
#pragma once

#include <cstdint>
#include <functional>
#include <initializer_list>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <libpq-fe.h>

#include "club/sharing/server_url.hpp"
#include "core/error.hpp"

namespace breakstep::sharing {

/// A value of a statement, as text; null for NULL.
using Value = std::optional<std::string>;

/// The rows that a statement gave, as text.
class Rows {
  public:
    explicit Rows(PGresult* result) : result_(result, PQclear) {}
    [[nodiscard]] int size() const { return PQntuples(result_.get()); }
    [[nodiscard]] int columns() const { return PQnfields(result_.get()); }
    [[nodiscard]] bool is_null(int row, int column) const { return PQgetisnull(result_.get(), row, column) != 0; }
    [[nodiscard]] std::string_view text(int row, int column) const {
        return {PQgetvalue(result_.get(), row, column),
                static_cast<std::size_t>(PQgetlength(result_.get(), row, column))};
    }
    [[nodiscard]] std::int64_t number(int row, int column) const;
    /// Of an INSERT, UPDATE or DELETE.
    [[nodiscard]] std::int64_t affected() const;

  private:
    std::unique_ptr<PGresult, void (*)(PGresult*)> result_;
};

class Connection {
  public:
    [[nodiscard]] static Expected<Connection> open(const ServerUrl& url);

    /// One statement; values stand in it as $1, $2.
    [[nodiscard]] Expected<Rows> run(const std::string& sql, std::span<const Value> values = {});
    [[nodiscard]] Expected<Rows> run(const std::string& sql, std::initializer_list<Value> values) {
        return run(sql, std::span(values.begin(), values.size()));
    }
    /// Several statements without values.
    [[nodiscard]] Expected<void> run_script(const std::string& sql);
    /// Rows one at a time, so that any number of them fits; `each` gets them singly, in row 0.
    [[nodiscard]] Expected<std::int64_t> stream(const std::string& sql, std::span<const Value> values,
                                                const std::function<Expected<void>(const Rows&)>& each);
    /// "COPY table (columns) FROM STDIN" with lines in COPY's text format.
    [[nodiscard]] Expected<void> copy_in(const std::string& sql, std::string_view lines);
    /// BEGIN, `work`, COMMIT; ROLLBACK where it failed.
    [[nodiscard]] Expected<void> in_transaction(const std::function<Expected<void>()>& work);

    [[nodiscard]] bool is_lost() const { return PQstatus(connection_.get()) != CONNECTION_OK; }
    /// The last failure was a conflict with somebody else's work: the same again will do.
    [[nodiscard]] bool may_try_again() const { return may_try_again_; }
    /// A failure that the caller found is such a conflict.
    void mark_conflict() { may_try_again_ = true; }
    [[nodiscard]] const std::string& shown() const { return shown_; }

  private:
    Connection(PGconn* connection, std::string shown) : connection_(connection, PQfinish), shown_(std::move(shown)) {}
    [[nodiscard]] Expected<Rows> checked(PGresult* result);
    [[nodiscard]] Error error_of(const PGresult* result);

    std::unique_ptr<PGconn, void (*)(PGconn*)> connection_;
    std::string shown_;
    bool may_try_again_ = false;
};

/// '{1,2,3}' for a parameter of type bigint[].
template <class Numbers, class Id>
[[nodiscard]] std::string array_of(const Numbers& numbers, Id&& id) {
    std::string text = "{";
    for (const auto& number : numbers) {
        if (text.size() > 1) text += ',';
        text += std::to_string(static_cast<std::int64_t>(id(number)));
    }
    return text + "}";
}

}  // namespace breakstep::sharing
