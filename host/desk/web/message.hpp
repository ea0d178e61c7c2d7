// A request and its response as the desk sees them, free of sockets: what the server (server.hpp) reads and writes, and
// what tests and the fuzz target make by hand. Plain values; any thread.
#pragma once

#include <cstdint>
#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>

namespace breakstep::desk {

enum class Method : std::uint8_t { get, post, other };

/// Headers as they were sent, "" where they were not. All of it is anybody's.
struct WebRequest {
    Method method = Method::get;
    std::string target;  ///< "/rep?session=..."
    std::string host, origin, cookie, form_token, content_type, fetch_site;
    std::string body;
    bool from_here = false;  ///< by a connection over the loopback
    bool doubled = false;    ///< a header that decides something stood twice
};

struct WebResponse {
    int status = 200;
    std::string type = "text/html; charset=utf-8";
    std::string body;
    std::string location = {}, cookie = {};  ///< headers; "" for none
    bool may_be_kept = false;                ///< by the browser, for this version of the program
};

using Answered = std::function<void(WebResponse)>;

/// Path and query of a target. Nothing for one that is longer than 1,000 bytes, does not begin with '/', or holds
/// anything in its path but letters, digits, '-', '.', '_' and single '/': no path of the desk needs more.
struct Target {
    std::string path;
    std::map<std::string, std::string> query;
};
[[nodiscard]] std::optional<Target> target_in(std::string_view text);

/// name=value&name=value with %XX and '+', as forms send it. Nothing for a broken %, a name that comes twice, or more
/// than 50 of them.
[[nodiscard]] std::optional<std::map<std::string, std::string>> form_in(std::string_view text);

/// The value of a cookie in a Cookie header; "" if it is not there or stands there twice.
[[nodiscard]] std::string cookie_in(std::string_view header, std::string_view name);

/// Text as it stands in HTML, between tags and in quoted attributes.
[[nodiscard]] std::string html(std::string_view text);

}  // namespace breakstep::desk
