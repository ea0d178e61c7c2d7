// The shapes of the desk's answers. Internal to this folder's desk*.cpp; any thread.
#pragma once

#include <string>
#include <utility>

#include "core/error.hpp"
#include "desk/guard/phones.hpp"
#include "desk/house.hpp"
#include "desk/live/seen_json.hpp"
#include "desk/pages/pages.hpp"
#include "desk/web/message.hpp"

namespace breakstep::desk {

inline constexpr const char* plain = "text/plain; charset=utf-8";
inline constexpr const char* as_json = "application/json";

inline WebResponse told(int status, std::string words) { return {status, plain, std::move(words) + "\n"}; }
inline WebResponse page(std::string body) { return {200, "text/html; charset=utf-8", std::move(body)}; }
/// What stands round every page for this phone.
inline Frame frame_of(const DeskHouse& house, const Phone& phone, const std::string& form_token) {
    return {house.club, form_token, phone.number, phone.commands, house.view && house.view()};
}
inline WebResponse json(std::string body, int status = 200) { return {status, as_json, std::move(body)}; }

inline int status_of(const Error& error) {
    switch (error.kind) {
        case ErrorKind::bad_input:
            return 400;
        case ErrorKind::not_found:
            return 404;
        default:
            return 503;
    }
}

inline WebResponse wrong(const Error& error) { return json(said_json(error.text()), status_of(error)); }
inline WebResponse not_here() { return json(said_json("that is not to be had here"), 404); }

}  // namespace breakstep::desk
