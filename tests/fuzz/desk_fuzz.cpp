// The desk's door, from any bytes: the first says what they are. A whole request as it stands on the wire, read by the
// server's own parser and answered by the desk, by nobody or by a paired phone; the body of one of our pages' requests;
// a frame of a phone's line; a list of paired phones. Nothing crashes; who is not paired sees nobody's name and asks
// nothing; what is asked is what a page of ours can send.
#include <utility>

#include <boost/beast/core.hpp>
#include <boost/beast/http.hpp>

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <memory>
#include <string>

#include "core/trade/partner_list.hpp"
#include "desk/desk.hpp"
#include "desk/guard/secrets.hpp"
#include "desk/live/seen_json.hpp"
#include "desk/web/request_of.hpp"

namespace {

using namespace breakstep;
using namespace breakstep::desk;

constexpr const char* name_of_somebody = "Heronissomebody";
constexpr const char* here = "127.0.0.1:8080";

void require(bool holds) {
    if (!holds) std::abort();
}

struct Bench {
    DeskHouse house;
    Questions questions;
    std::unique_ptr<Desk> desk;
    std::string cookie, token;
    std::size_t asked = 0;

    Bench() {
        require(secrets_are_ready());
        house.club = "Saltmarsh Hall";
        house.drills = {{"drop", "The drop"}};
        house.view = [view = std::make_shared<EveningView>()]() -> std::shared_ptr<const EveningView> {
            view->number = 1;
            view->people = {{AthleteId{7}, name_of_somebody, "drop", 0, 2}};
            return view;
        };
        house.reps_since = [](std::uint64_t) { return std::vector<RepSeen>{}; };
        house.ask = [this](const evening::Request& request, const std::function<void(const evening::Answer&)>& told) {
            ++asked;
            require(request.text.size() <= 200);
            for (const char each : request.text) require(static_cast<unsigned char>(each) >= ' ');
            told({evening::AnswerKind::taken, evening::Why::none});
        };
        house.questions = &questions;
        questions.ask({});
        house.athletes = []() -> Expected<std::vector<AthleteSeen>> {
            return std::vector<AthleteSeen>{{AthleteId{7}, name_of_somebody, "", "kept", true}};
        };
        house.taps_of = [](AthleteId) -> Expected<std::vector<TapsKept>> {
            return std::vector<TapsKept>{{"2026-11-27", {1, 2}, {}}};
        };
        house.keep_taps = [](AthleteId, const TapsKept& taps) -> Expected<void> {
            require(!taps.a.empty());
            return {};
        };
        house.check_drill = [](const std::string& text) -> Expected<std::string> { return text; };
        begin();
    }
    void begin() {
        desk = std::make_unique<Desk>(house, DeskClocks{[] { return DeskTime{}; }, [] { return 1'800'000'000; }});
        desk->stand_at({false, {here}, "http://127.0.0.1:8080/", ""});
        desk->feed().refresh();
        const auto paired = desk->phones().pair(true, 1'800'000'000);
        cookie = "desk=" + paired->token;
        token = form_token(paired->token);
    }
};

void answer(Bench& bench, WebRequest request, bool paired) {
    if (paired) {
        request.cookie = bench.cookie;
        request.form_token = bench.token;
    }
    const std::size_t asked_before = bench.asked;
    bool answered = false;
    const std::string host = request.host;
    bench.desk->answer(request, [&](const WebResponse& response) {
        answered = true;
        require(response.status >= 200 && response.status < 600);
        if (!paired) require(response.body.find(name_of_somebody) == std::string::npos);
        for (const std::string* header : {&response.type, &response.location, &response.cookie})
            require(header->find_first_of("\r\n") == std::string::npos);
        if (host != here) require(response.status == 421);
    });
    require(answered);
    if (!paired || host != here) require(bench.asked == asked_before);
    if (!paired) require(!bench.desk->watch(request));
    // Forgotten by its own request, or by somebody's digits.
    if (bench.desk->phones().all().size() != 1) bench.begin();
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    static Bench bench;
    if (size == 0) return 0;
    const std::string text(reinterpret_cast<const char*>(data) + 1, size - 1);
    switch (data[0] % 8) {
        case 0:
        case 1: {
            namespace http = boost::beast::http;
            http::request_parser<http::string_body> parser;
            parser.header_limit(header_bytes_max);
            parser.body_limit(body_bytes_max);
            parser.eager(true);
            boost::beast::error_code problem;
            parser.put(boost::asio::buffer(text), problem);
            if (problem || !parser.is_done()) return 0;
            answer(bench, request_of(parser.get(), false), data[0] % 8 == 1);
            return 0;
        }
        case 2:
        case 3: {
            WebRequest request;
            request.method = data[0] % 8 == 2 ? Method::get : Method::post;
            request.host = here;
            request.origin = "http://127.0.0.1:8080";
            request.content_type = "application/json";
            const std::size_t line = std::min(text.find('\n'), text.size());
            request.target = text.substr(0, line);
            request.body = text.substr(std::min(text.size(), line + 1));
            answer(bench, request, true);
            return 0;
        }
        case 4: {
            static_cast<void>(request_in(text));
            static_cast<void>(comes_in(text));
            static_cast<void>(text_in(text));
            if (const auto kept = taps_for_in(text)) require(kept->athlete != AthleteId{});
            if (const auto line = line_in(text))
                for (const char each : line->line) require(static_cast<unsigned char>(each) >= ' ');
            if (const auto list = partner_list_in(text))
                for (const std::int32_t choice : list->choices) require(!partner_word(choice).empty());
            if (const auto taps = taps_in(text)) {
                require(!time_list(taps->a).empty());
                require(leads_list(*taps).size() >= taps->a.size() + taps->b.size());
            }
            return 0;
        }
        case 5:
            if (const auto ping = ping_in(text)) require(ping_in(pong_json(*ping).replace(2, 4, "ping")).has_value());
            return 0;
        case 6: {
            Phones phones;
            if (phones.read(text, 1'800'000'000)) {
                Phones again;
                require(again.read(phones.written(), 1'800'000'000).has_value());
                require(again.all().size() == phones.all().size());
                require(phones.all().size() <= Phones::most);
            }
            return 0;
        }
        default:
            static_cast<void>(cookie_in(text, "desk"));
            static_cast<void>(form_in(text));
            require(html(text).find('<') == std::string::npos);
            return 0;
    }
}
