// A desk without sockets, with clocks that the test turns, and requests as a browser of ours makes them.
#pragma once

#include <string>
#include <vector>

#include "desk/desk.hpp"
#include "desk/guard/secrets.hpp"

namespace breakstep::tests {

struct DeskBench {
    desk::DeskHouse house;
    desk::DeskTime now{};
    std::int64_t today = 1'800'000'000;
    std::vector<evening::Request> asked;
    std::shared_ptr<EveningView> view = std::make_shared<EveningView>();
    std::vector<RepSeen> reps;
    std::unique_ptr<desk::Desk> desk;

    DeskBench() {
        static const bool ready = desk::secrets_are_ready();
        static_cast<void>(ready);
        house.club = "Saltmarsh Hall";
        house.view = [this] { return view; };
        house.reps_since = [this](std::uint64_t number) {
            return std::vector<RepSeen>(
                reps.begin() + static_cast<std::ptrdiff_t>(std::min<std::size_t>(number, reps.size())), reps.end());
        };
        house.ask = [this](evening::Request request, const std::function<void(const evening::Answer&)>& told) {
            asked.push_back(std::move(request));
            told({evening::AnswerKind::taken, evening::Why::none});
        };
        begin();
    }
    void begin() {
        desk = std::make_unique<desk::Desk>(house, desk::DeskClocks{[this] { return now; }, [this] { return today; }});
        desk->stand_at({false, {"127.0.0.1:8080"}, "http://127.0.0.1:8080/", ""});
    }
    [[nodiscard]] static desk::WebRequest get(const std::string& target, const std::string& cookie = {}) {
        desk::WebRequest request;
        request.target = target;
        request.host = "127.0.0.1:8080";
        request.cookie = cookie;
        return request;
    }
    [[nodiscard]] static desk::WebRequest post(const std::string& target, const std::string& body,
                                               const std::string& cookie = {}) {
        desk::WebRequest request = get(target, cookie);
        request.method = desk::Method::post;
        request.origin = "http://127.0.0.1:8080";
        request.body = body;
        request.content_type = "application/json";
        if (!cookie.empty()) request.form_token = desk::form_token(cookie.substr(cookie.find('=') + 1));
        return request;
    }
    [[nodiscard]] desk::WebResponse answer(const desk::WebRequest& request) const {
        desk::WebResponse got{0, "", ""};
        desk->answer(request, [&](desk::WebResponse response) { got = std::move(response); });
        return got;
    }
    [[nodiscard]] desk::WebResponse type(const std::string& digits, const std::string& role = "command") const {
        desk::WebRequest request = post("/pair", "code=" + digits + "&role=" + role);
        request.content_type = "application/x-www-form-urlencoded";
        return answer(request);
    }
    /// The cookie of a new phone.
    [[nodiscard]] std::string paired(const std::string& role = "command") const {
        const auto digits = desk->new_digits();
        const std::string cookie = type(digits.value_or(""), role).cookie;
        return cookie.substr(0, cookie.find(';'));
    }
};

}  // namespace breakstep::tests
