#include "club/sharing/server_schema.hpp"

#include <set>

#include "club/sharing/values.hpp"

namespace breakstep::sharing {
namespace {

/// -1: nothing of ours is there.
Expected<std::int32_t> version_of(Connection& connection) {
    const auto known = connection.run("SELECT to_regclass('breakstep.server') IS NOT NULL");
    if (!known) return tl::make_unexpected(known.error());
    if (known->text(0, 0) != "t") return -1;
    const auto version = connection.run("SELECT version FROM breakstep.server");
    if (!version) return tl::make_unexpected(version.error());
    return version->size() == 1 ? static_cast<std::int32_t>(version->number(0, 0)) : 0;
}

Error newer(const Connection& connection, std::int32_t version) {
    return {ErrorKind::incompatible,
            "the server " + connection.shown() + " was prepared by a newer breakstep (its tables are version " +
                std::to_string(version) + ", this one knows " + std::to_string(newest_server_version()) + ")",
            "update breakstep on this computer; what is here stays here meanwhile"};
}

struct TableColumns {
    const char* table;
    ServerColumns columns;
};

std::vector<TableColumns> all_columns() {
    return {{"athletes", athlete_columns()},
            {"measures", measure_columns()},
            {"sessions", session_columns()},
            {"reps", rep_columns()},
            {"totals", totals_columns()}};
}

/// As "reps.retreated bigint".
Expected<std::vector<std::array<std::string, 3>>> missing_columns(Connection& connection) {
    const auto there = connection.run(
        "SELECT c.relname || '.' || a.attname FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid WHERE "
        "c.relnamespace = to_regnamespace('breakstep') AND NOT a.attisdropped AND a.attnum > 0 AND c.relname IN "
        "('athletes', 'measures', 'sessions', 'reps', 'totals')");
    if (!there) return tl::make_unexpected(there.error());
    std::set<std::string, std::less<>> known;
    for (int row = 0; row < there->size(); ++row) known.emplace(there->text(row, 0));
    std::vector<std::array<std::string, 3>> missing;
    for (const TableColumns& table : all_columns())
        for (const auto& [name, type] : table.columns.columns)
            if (!known.contains(std::string(table.table) + "." + name)) missing.push_back({table.table, name, type});
    return missing;
}

Expected<void> add_columns(Connection& connection, Prepared& prepared) {
    const auto missing = missing_columns(connection);
    if (!missing) return tl::make_unexpected(missing.error());
    for (const auto& [table, name, type] : *missing) {
        if (const auto added = connection.run("ALTER TABLE breakstep." + table + " ADD COLUMN " + name + " " + type);
            !added)
            return tl::make_unexpected(added.error());
        prepared.columns_added.push_back(table + "." + name);
    }
    return {};
}

std::string quoted(const std::string& name) {
    std::string text = "\"";
    for (const char c : name) text += c == '"' ? std::string("\"\"") : std::string(1, c);
    return text + '"';
}

}  // namespace

std::string_view word(May may) {
    switch (may) {
        case May::club:
            return "club";
        case May::coach:
            return "coach";
        case May::federation:
            break;
    }
    return "federation";
}

Expected<Prepared> prepare_server(Connection& connection) {
    Prepared prepared;
    const auto done = connection.in_transaction([&]() -> Expected<void> {
        // One at a time, and for the whole database.
        if (const auto locked = connection.run("SELECT pg_advisory_xact_lock(1651666803)"); !locked)
            return tl::make_unexpected(locked.error());
        const auto version = version_of(connection);
        if (!version) return tl::make_unexpected(version.error());
        if (*version > newest_server_version()) return tl::make_unexpected(newer(connection, *version));
        prepared.version_before = std::max(*version, 0);
        prepared.version = newest_server_version();
        for (std::int32_t next = prepared.version_before; next < newest_server_version(); ++next) {
            if (const auto step = connection.run_script(std::string(server_steps()[static_cast<std::size_t>(next)]));
                !step)
                return step;
            if (next == 0)
                if (const auto added = add_columns(connection, prepared); !added) return added;
        }
        if (const auto added = add_columns(connection, prepared); !added) return added;
        const auto noted = connection.run("UPDATE breakstep.server SET version = " + std::to_string(prepared.version));
        return noted ? Expected<void>{} : tl::make_unexpected(noted.error());
    });
    if (!done) return tl::make_unexpected(done.error());
    if (prepared.version_before == 0) prepared.columns_added.clear();
    return prepared;
}

Expected<void> check_server(Connection& connection) {
    const auto version = version_of(connection);
    if (!version) return tl::make_unexpected(version.error());
    const std::string to_do = "`breakstep club-server URL`, by whoever runs the server, prepares it";
    if (*version < 0)
        return failure(ErrorKind::not_found, "the server " + connection.shown() + " is not prepared for breakstep",
                       to_do);
    if (*version > newest_server_version()) return tl::make_unexpected(newer(connection, *version));
    const auto missing = missing_columns(connection);
    if (!missing) return tl::make_unexpected(missing.error());
    if (*version < newest_server_version() || !missing->empty())
        return failure(ErrorKind::incompatible,
                       "the server " + connection.shown() + " was prepared by an older breakstep", to_do);
    return {};
}

Expected<void> let_in(Connection& connection, const std::string& club, const std::string& login, May may) {
    return connection.in_transaction([&]() -> Expected<void> {
        const auto run = [&](const std::string& sql, std::initializer_list<Value> values) -> Expected<void> {
            const auto done = connection.run(sql, values);
            return done ? Expected<void>{} : tl::make_unexpected(done.error());
        };
        Expected<void> done;
        if (may != May::federation)
            done = run("INSERT INTO breakstep.clubs (name) VALUES ($1) ON CONFLICT DO NOTHING", {club});
        if (!done) return done;
        const auto known = connection.run("SELECT FROM pg_roles WHERE rolname = $1", {login});
        if (!known) return tl::make_unexpected(known.error());
        if (known->size() == 0) done = run("CREATE ROLE " + quoted(login) + " LOGIN", {});
        if (done) done = run("GRANT breakstep_" + std::string(word(may)) + " TO " + quoted(login), {});
        for (const May other : {May::club, May::coach, May::federation})
            if (done && other != may)
                done = run("REVOKE breakstep_" + std::string(word(other)) + " FROM " + quoted(login), {});
        if (done) done = run("DELETE FROM breakstep.members WHERE login = $1", {login});
        if (done)
            done =
                run("INSERT INTO breakstep.members (login, club, may) VALUES ($1, (SELECT id FROM breakstep.clubs "
                    "WHERE name = $2), $3)",
                    {login, may == May::federation ? Value{} : Value(club), std::string(word(may))});
        return done;
    });
}

}  // namespace breakstep::sharing
