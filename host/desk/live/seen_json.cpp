// Reps, answers, and what the pages' scripts send.
#include "desk/live/seen_json.hpp"

#include <fmt/format.h>

#include <nlohmann/json.hpp>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "club/results/results.hpp"
#include "report/drawing/limb.hpp"
#include "report/drawing/strips_of_score.hpp"

namespace breakstep::desk {
namespace {

using Json = nlohmann::ordered_json;

constexpr std::size_t longest_text = 200, longest_drill = 64 * 1024, most_taps = 2000;
constexpr const char* reload = "load the page again";

// What is not UTF-8 comes from no page; in names of before it is shown, not refused.
std::string dumped(const Json& json) { return json.dump(-1, ' ', false, Json::error_handler_t::replace); }

double milliseconds(Duration length) { return std::round(static_cast<double>(length.count()) / 1e4) / 100; }

Json or_null(const std::optional<Duration>& length) { return length ? Json(milliseconds(*length)) : Json(nullptr); }

struct Named {
    const char* name;
    evening::Ask ask;
};
using evening::Ask;
constexpr Named asks[] = {{"next", Ask::next},
                          {"skip", Ask::skip},
                          {"comes_back", Ask::comes_back},
                          {"someone_else", Ask::someone_else},
                          {"pause", Ask::pause},
                          {"go_on", Ask::go_on},
                          {"void_last", Ask::void_last},
                          {"take_back", Ask::take_back},
                          {"repeat", Ask::repeat},
                          {"note", Ask::note},
                          {"sore", Ask::sore},
                          {"end", Ask::end},
                          {"tap", Ask::tap},
                          {"drill", Ask::drill},
                          {"partner_next", Ask::partner_next},
                          {"minutes", Ask::minutes}};

tl::unexpected<Error> no_request(const char* what) {
    return failure(ErrorKind::bad_input, std::string("the desk got what none of its pages sends: ") + what, reload);
}

/// An object with members of these names and no others.
Expected<Json> object_in(std::string_view text, std::initializer_list<const char*> names) {
    Json json = Json::parse(text, nullptr, false);
    if (json.is_discarded() || !json.is_object()) return no_request("no JSON object");
    for (const auto& each : json.items())
        if (std::find(names.begin(), names.end(), each.key()) == names.end()) return no_request("an unknown member");
    return json;
}

Expected<std::string> text_of(const Json& json, const char* name, std::size_t longest, bool lines = false) {
    const auto found = json.find(name);
    if (found == json.end()) return std::string();
    if (!found->is_string()) return no_request("a text that is none");
    std::string text = found->get<std::string>();
    if (text.size() > longest)
        return failure(ErrorKind::bad_input, fmt::format("that is longer than {} bytes", longest), "say it shorter");
    for (const char each : text)
        if (static_cast<unsigned char>(each) < ' ' && !(lines && (each == '\n' || each == '\t' || each == '\r')))
            return no_request("a control byte in a text");
    return text;
}

Expected<AthleteId> athlete_of(const Json& json) {
    const auto text = text_of(json, "athlete", 16);
    if (!text) return tl::make_unexpected(text.error());
    if (text->empty()) return AthleteId{};
    const auto id = id_in(*text);
    if (!id) return no_request("an athlete's id that is none");
    return AthleteId{*id};
}

Expected<std::vector<double>> times_of(const Json& json, const char* name) {
    std::vector<double> times;
    const auto found = json.find(name);
    if (found == json.end()) return times;
    if (!found->is_array() || found->size() > most_taps) return no_request("no list of taps, or too long a one");
    for (const Json& each : *found) {
        constexpr double a_week = 604'800;
        if (!each.is_number()) return no_request("a tap that is no time");
        const double at = each.get<double>();
        if (!(at >= 0 && at <= a_week)) return no_request("a tap outside any video");
        if (!times.empty() && at <= times.back()) return no_request("taps out of order");
        times.push_back(at);
    }
    return times;
}

}  // namespace

std::string id_text(std::uint64_t id) { return fmt::format("{:016x}", id); }

std::optional<std::uint64_t> id_in(std::string_view text) {
    std::uint64_t id = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), id, 16);
    if (text.size() != 16 || error != std::errc{} || end != text.data() + text.size()) return std::nullopt;
    return id;
}

std::string json_of(const RepSeen& seen, std::uint64_t number) {
    const RepResult& rep = seen.result;
    Json json;
    json["n"] = number;
    json["session"] = id_text(static_cast<std::uint64_t>(seen.session));
    json["rep"] = static_cast<std::int32_t>(rep.rep);
    json["athlete"] = id_text(static_cast<std::uint64_t>(seen.athlete));
    json["set"] = rep.set + 1;
    json["number"] = rep.catch_trial ? Json(nullptr) : Json(rep.number);
    json["verdict"] = word(rep.verdict);
    json["word"] = words_of_verdict(rep);
    // Of a partner's rep what came, whatever was asked of them.
    const bool feint = rep.came ? *rep.came == CameKind::feint : rep.asked.kind == AttackKind::feint;
    json["asked"] = rep.catch_trial ? std::string("nothing")
                    : feint         ? std::string("feint")
                                    : std::string(word(rep.asked.moment));
    json["latency_ms"] = or_null(rep.latency);
    json["give_or_take_ms"] =
        rep.latency && rep.uncertainty != unknown_uncertainty ? Json(milliseconds(rep.uncertainty)) : Json(nullptr);
    json["first"] = seen.first;
    json["by_coach"] = rep.void_reason == VoidReason::coach;
    json["line"] = rep_line(rep);
    return dumped(json);
}

std::string replay_json(const RepSeen& seen) {
    constexpr Duration step = 20ms;
    const RepResult& rep = seen.result;
    const AttackTimeline timeline = timeline_of(rep.asked.kind, rep.phases);
    Json json;
    json["verdict"] = word(rep.verdict);
    json["word"] = words_of_verdict(rep);
    json["line"] = rep_line(rep);
    json["phases"] = Json::array();
    for (std::size_t i = 0; i < timeline.phases.size(); ++i)
        json["phases"].push_back({{"phase", word(timeline.phases[i].phase)},
                                  {"from_ms", milliseconds(timeline.begin_of(i))},
                                  {"to_ms", milliseconds(timeline.begin_of(i + 1))}});
    json["end_ms"] = milliseconds(timeline.end());
    json["step_ms"] = milliseconds(step);
    json["poses"] = Json::array();
    for (Duration at = -200ms; at <= timeline.end() + back_to_guard; at += step) {
        const LimbPose pose = limb_at(timeline, at);
        json["poses"].push_back(
            {milliseconds(at), std::round(pose.angle * 10) / 10, std::round(pose.reach * 1000) / 1000});
    }
    json["commit_ms"] = or_null(rep.commit_from_onset);
    json["contact_ms"] = or_null(rep.contact_from_onset);
    json["later_ms"] = Json::array();
    for (const Duration each : rep.later_contacts) json["later_ms"].push_back(milliseconds(each));
    return dumped(json);
}

std::string json_of(const evening::Answer& answer) {
    constexpr const char* words[] = {"taken", "refused", "too late"};
    return dumped({{"answer", words[static_cast<std::size_t>(answer.kind)]}, {"words", words_of(answer)}});
}

std::string said_json(std::string_view words, std::string_view json) {
    Json said{{"words", words}};
    if (!json.empty()) said["json"] = Json::parse(json, nullptr, false);
    return dumped(said);
}

Expected<evening::Request> request_in(std::string_view text) {
    const auto json = object_in(text, {"what", "athlete", "text"});
    if (!json) return tl::make_unexpected(json.error());
    const auto what = text_of(*json, "what", 20);
    if (!what) return tl::make_unexpected(what.error());
    const auto* named =
        std::find_if(std::begin(asks), std::end(asks), [&](const Named& each) { return each.name == *what; });
    if (named == std::end(asks)) return no_request("an unknown request");
    const auto athlete = athlete_of(*json);
    if (!athlete) return tl::make_unexpected(athlete.error());
    auto words = text_of(*json, "text", longest_text);
    if (!words) return tl::make_unexpected(words.error());
    return evening::Request{named->ask, *athlete, std::move(*words)};
}

Expected<ComesIn> comes_in(std::string_view text) {
    const auto json = object_in(text, {"name", "sure"});
    if (!json) return tl::make_unexpected(json.error());
    auto name = text_of(*json, "name", longest_text);
    if (!name) return tl::make_unexpected(name.error());
    if (name->empty()) return failure(ErrorKind::bad_input, "nobody was named", "type a call-sign");
    const auto sure = json->find("sure");
    if (sure != json->end() && !sure->is_boolean()) return no_request("a yes or no that is neither");
    return ComesIn{std::move(*name), sure != json->end() && sure->get<bool>()};
}

Expected<AthleteId> athlete_in(std::string_view text) {
    const auto json = object_in(text, {"athlete"});
    if (!json) return tl::make_unexpected(json.error());
    return athlete_of(*json);
}

Expected<FeltInSet> felt_in(std::string_view text) {
    const auto json = object_in(text, {"session", "set", "felt"});
    if (!json) return tl::make_unexpected(json.error());
    const auto session = text_of(*json, "session", 16), felt = text_of(*json, "felt", 20);
    if (!session) return tl::make_unexpected(session.error());
    if (!felt) return tl::make_unexpected(felt.error());
    const auto id = id_in(*session);
    const auto set = json->find("set");
    constexpr std::int64_t most_sets = 1000;
    if (!id || set == json->end() || !set->is_number_integer() || set->get<std::int64_t>() < 1 ||
        set->get<std::int64_t>() > most_sets)
        return no_request("a set that is none");
    FeltInSet kept{SessionId{*id}, set->get<std::int32_t>(), Felt::yes};
    if (*felt == "a little")
        kept.felt = Felt::a_little;
    else if (*felt == "no")
        kept.felt = Felt::no;
    else if (*felt != "yes")
        return no_request("an answer that is none");
    return kept;
}

Expected<std::string> text_in(std::string_view text) {
    const auto json = object_in(text, {"text"});
    if (!json) return tl::make_unexpected(json.error());
    return text_of(*json, "text", longest_drill, true);
}

Expected<Taps> taps_in(std::string_view text) {
    const auto json = object_in(text, {"a", "b"});
    if (!json) return tl::make_unexpected(json.error());
    auto a = times_of(*json, "a"), b = times_of(*json, "b");
    if (!a) return tl::make_unexpected(a.error());
    if (!b) return tl::make_unexpected(b.error());
    return Taps{std::move(*a), std::move(*b)};
}

Expected<TapsFor> taps_for_in(std::string_view text) {
    const auto json = object_in(text, {"athlete", "a", "b"});
    if (!json) return tl::make_unexpected(json.error());
    const auto athlete = athlete_of(*json);
    if (!athlete) return tl::make_unexpected(athlete.error());
    if (*athlete == AthleteId{}) return no_request("taps of nobody");
    auto a = times_of(*json, "a"), b = times_of(*json, "b");
    if (!a) return tl::make_unexpected(a.error());
    if (!b) return tl::make_unexpected(b.error());
    return TapsFor{*athlete, {std::move(*a), std::move(*b)}};
}

Expected<LineIn> line_in(std::string_view text) {
    const auto json = object_in(text, {"number", "line"});
    if (!json) return tl::make_unexpected(json.error());
    const auto number = json->find("number");
    if (number == json->end() || !number->is_number_unsigned()) return no_request("a question's number that is none");
    auto line = text_of(*json, "line", longest_text);
    if (!line) return tl::make_unexpected(line.error());
    return LineIn{number->get<std::uint64_t>(), std::move(*line)};
}

std::string time_list(const std::vector<double>& times) {
    std::string list = "time_s\n";
    for (const double at : times) list += fmt::format("{:.4f}\n", at);
    return list;
}

std::string leads_list(const Taps& taps) {
    std::string list = "time_s,who\n";
    std::size_t a = 0, b = 0;
    while (a < taps.a.size() || b < taps.b.size()) {
        const bool first = b == taps.b.size() || (a < taps.a.size() && taps.a[a] <= taps.b[b]);
        list += fmt::format("{:.4f},{}\n", first ? taps.a[a] : taps.b[b], first ? 'a' : 'b');
        ++(first ? a : b);
    }
    return list;
}

std::optional<double> ping_in(std::string_view text) {
    const auto json = object_in(text, {"ping"});
    if (!json) return std::nullopt;
    const auto found = json->find("ping");
    if (found == json->end() || !found->is_number()) return std::nullopt;
    return found->get<double>();
}

std::string pong_json(double ping) { return dumped({{"pong", ping}}); }

}  // namespace breakstep::desk
