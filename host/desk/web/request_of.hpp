// A request as Beast read it, as the desk sees it; and how much of one is read at all. Only what reads requests from
// bytes includes it: the server, and the fuzz target. Pure; any thread.
#pragma once

#include <boost/beast/http.hpp>

#include <string>

#include "desk/web/message.hpp"

namespace breakstep::desk {

inline constexpr std::uint32_t header_bytes_max = 8 * 1024;
inline constexpr std::uint64_t body_bytes_max = 96 * 1024;

template <class Message>
[[nodiscard]] WebRequest request_of(const Message& message, bool from_here) {
    namespace http = boost::beast::http;
    const auto text = [&](auto name) {
        const auto view = message[name];
        return std::string(view.data(), view.size());
    };
    WebRequest request;
    request.method = message.method() == http::verb::get    ? Method::get
                     : message.method() == http::verb::post ? Method::post
                                                            : Method::other;
    request.target = std::string(message.target().data(), message.target().size());
    request.host = text(http::field::host);
    request.origin = text(http::field::origin);
    request.cookie = text(http::field::cookie);
    request.form_token = text("X-Desk-Token");
    request.content_type = text(http::field::content_type);
    request.fetch_site = text("Sec-Fetch-Site");
    request.body = message.body();
    request.from_here = from_here;
    for (const auto name : {http::field::host, http::field::origin, http::field::cookie, http::field::content_length})
        request.doubled = request.doubled || message.count(name) > 1;
    return request;
}

}  // namespace breakstep::desk
