#include "club/sharing/server_url.hpp"

#include <libpq-fe.h>

#include <cstdlib>
#include <memory>
#include <optional>

namespace breakstep::sharing {
namespace {

struct FreeOptions {
    void operator()(PQconninfoOption* options) const { PQconninfoFree(options); }
};

/// The address without what stands between the login's name and the host, or may be a secret further on.
std::string without_secrets(const std::string& typed) {
    const auto begin = typed.find("://");
    const auto after = begin == std::string::npos ? 0 : begin + 3;
    std::string shown = typed.substr(0, typed.find('?'));
    const auto end = shown.find('/', after);
    const auto at = shown.rfind('@', end);
    if (at == std::string::npos || at < after) return shown;
    const auto colon = shown.find(':', after);
    if (colon != std::string::npos && colon < at) shown.erase(colon, at - colon);
    return shown;
}

bool is_loopback(const std::string& host) {
    return host.starts_with('/') || host.starts_with('@') || host == "localhost" || host == "::1" ||
           (host.starts_with("127.") && host.find_first_not_of("0123456789.") == std::string::npos);
}

/// Every one of "a,b"; an empty one is this computer's own socket.
bool are_loopback(const std::string& hosts) {
    std::size_t begin = 0;
    for (;;) {
        const auto comma = hosts.find(',', begin);
        const std::string host = hosts.substr(begin, comma - begin);
        if (!host.empty() && !is_loopback(host)) return false;
        if (comma == std::string::npos) return true;
        begin = comma + 1;
    }
}

std::string environment(const char* name) {
    const char* value = std::getenv(name);
    return value == nullptr ? "" : value;
}

Error bad(std::string what, std::string to_do) { return {ErrorKind::bad_input, std::move(what), std::move(to_do)}; }

}  // namespace

bool is_server_url(const std::string& typed) {
    return typed.starts_with("postgresql://") || typed.starts_with("postgres://");
}

Expected<ServerUrl> server_url(const std::string& typed) {
    ServerUrl url;
    url.shown = without_secrets(typed);
    if (!is_server_url(typed))
        return tl::make_unexpected(
            bad('"' + url.shown + "\" is not the address of a server", "write it as postgresql://LOGIN@HOST/DATABASE"));
    char* problem = nullptr;
    const std::unique_ptr<PQconninfoOption, FreeOptions> parsed(PQconninfoParse(typed.c_str(), &problem));
    // What libpq says of it may repeat what was typed.
    if (problem != nullptr) PQfreemem(problem);
    if (!parsed)
        return tl::make_unexpected(bad("the address " + url.shown + " can't be read",
                                       "write it as postgresql://LOGIN@HOST/DATABASE, odd characters as %20"));
    std::string hosts, sslmode;
    bool by_service = !environment("PGSERVICE").empty();
    for (const PQconninfoOption* option = parsed.get(); option->keyword != nullptr; ++option) {
        if (option->val == nullptr) continue;
        const std::string keyword = option->keyword, value = option->val;
        if (keyword == "password" || keyword == "sslpassword")
            return tl::make_unexpected(
                bad("a password stands in the address of the server " + url.shown +
                        ": other people of this computer could read it in the list of processes",
                    "leave it out, change it if others may have seen it, and write it into ~/.pgpass "
                    "(HOST:PORT:DATABASE:LOGIN:PASSWORD, chmod 600), or set PGPASSWORD"));
        if (keyword == "host" || keyword == "hostaddr") hosts += (hosts.empty() ? "" : ",") + value;
        if (keyword == "sslmode") sslmode = value;
        if (keyword == "service") by_service = true;
        url.parameters.emplace_back(keyword, value);
    }
    if (hosts.empty()) hosts = environment("PGHOST");
    const std::string address = environment("PGHOSTADDR");
    url.is_local = !by_service && are_loopback(hosts) && are_loopback(address);
    const auto set_if_missing = [&](const char* keyword, const char* value) {
        for (const auto& [known, ignored] : url.parameters)
            if (known == keyword) return;
        url.parameters.emplace_back(keyword, value);
    };
    if (!url.is_local) {
        if (!sslmode.empty() && sslmode != "verify-full")
            return tl::make_unexpected(
                bad("with sslmode=" + sslmode + " anyone on the way to " + url.shown + " could take its place",
                    "leave sslmode out: the server's certificate is checked against ~/.postgresql/root.crt"));
        set_if_missing("sslmode", "verify-full");
        set_if_missing("gssencmode", "disable");
    }
    set_if_missing("connect_timeout", "10");
    set_if_missing("tcp_user_timeout", "30000");
    set_if_missing("keepalives_idle", "20");
    set_if_missing("application_name", "breakstep");
    set_if_missing("client_encoding", "UTF8");
    return url;
}

}  // namespace breakstep::sharing
