// The evening's view, and what the main thread asks, as the pages' scripts read them.
#include <cmath>
#include <nlohmann/json.hpp>

#include "core/trade/vocabulary.hpp"
#include "desk/live/seen_json.hpp"

namespace breakstep::desk {
namespace {

using Json = nlohmann::ordered_json;

std::string dumped(const Json& json) { return json.dump(-1, ' ', false, Json::error_handler_t::replace); }
std::int64_t seconds(Duration length) { return std::chrono::duration_cast<std::chrono::seconds>(length).count(); }

template <class Number>
Json or_null(const std::optional<Number>& number) {
    return number ? Json(*number) : Json(nullptr);
}

const char* word_of(evening::AtRig rig) {
    switch (rig) {
        case evening::AtRig::nobody:
            return "nobody";
        case evening::AtRig::called:
            return "called";
        case evening::AtRig::running:
            return "running";
        case evening::AtRig::leaving:
            return "leaving";
    }
    return "";
}

Json people_of(const EveningView& view) {
    Json people = Json::array();
    for (const PersonSeen& each : view.people)
        people.push_back({{"athlete", id_text(static_cast<std::uint64_t>(each.athlete))},
                          {"name", each.call_sign},
                          {"drill", each.drill},
                          {"sets_done", each.sets_done},
                          {"sets", each.sets},
                          {"here", each.here},
                          {"sore", each.sore},
                          {"passed_over", each.passed_over}});
    return people;
}

Json signs_of(const SignsSeen& signs) {
    Json json{{"name", signs.athlete},
              {"timed", word(signs.timed)},
              {"timed_reason", signs.timed_reason},
              {"windows", signs.windows},
              {"caught", signs.caught},
              {"luck", std::round(signs.luck)},
              {"read", nullptr},
              {"read_reason", signs.read_reason},
              {"leads", signs.leads},
              {"leads_reason", signs.reason}};
    if (signs.two_signs) json["read"] = word(signs.read);
    return json;
}

Json rig_of(const RigNowSeen& rig) {
    Json json{{"board", rig.board},
              {"answers", rig.answers},
              {"heard_s", or_null(rig.heard_s)},
              {"bound_us", or_null(rig.bound_us)},
              {"frames", rig.frames},
              {"damaged", rig.damaged},
              {"lost", rig.lost},
              {"parts", Json::array()},
              {"notices", Json::array()}};
    for (const RigPartSeen& each : rig.parts)
        json["parts"].push_back({{"kind", each.kind},
                                 {"role", each.role},
                                 {"strikes", each.strikes},
                                 {"last_s", or_null(each.last_s)},
                                 {"blocked_s", or_null(each.blocked_for)}});
    for (const RigNoticeSeen& each : rig.notices)
        json["notices"].push_back({{"ago_s", each.ago_s}, {"words", each.words}});
    return json;
}

}  // namespace

std::string json_of(const EveningView& view) {
    Json json;
    json["number"] = view.number;
    json["block"] = view.block;
    json["rounds"] = view.kind == evening::BlockKind::rounds;
    json["block_left_s"] = seconds(view.block_left);
    json["evening_left_s"] = seconds(view.evening_left);
    json["blocks"] = Json::array();
    for (const BlockSeen& each : view.blocks)
        json["blocks"].push_back({{"title", each.title},
                                  {"rounds", each.kind == evening::BlockKind::rounds},
                                  {"length_s", seconds(each.length)},
                                  {"done", each.done}});
    json["rig"] = word_of(view.rig);
    json["at_rig"] = view.at_rig;
    json["next"] = view.next;
    json["task"] = nullptr;
    if (view.task)
        json["task"] = {{"name", view.task->athlete}, {"drill", view.task->drill}, {"set", view.task->set},
                        {"sets", view.task->sets},    {"reps", view.task->reps},   {"silent", view.task->silent},
                        {"child", view.task->child}};
    json["follows"] = Json::array();
    for (const FollowSeen& each : view.follows)
        json["follows"].push_back({{"name", each.athlete}, {"wait_minutes", each.wait_minutes}, {"gates", each.gates}});
    json["gates"] = view.gates_to_move;
    json["summary"] = nullptr;
    if (view.summary)
        json["summary"] = {{"name", view.summary->athlete},
                           {"partner", view.summary->partner},
                           {"session", id_text(static_cast<std::uint64_t>(view.summary->session))},
                           {"set", view.summary->set},
                           {"on_time", view.summary->on_time},
                           {"scored", view.summary->scored}};
    json["cue"] = nullptr;
    if (view.partner_cue)
        json["cue"] = {{"partner", view.partner_cue->partner},
                       {"what", view.partner_cue->what},
                       {"lead", word(view.partner_cue->lead)},
                       {"feint", view.partner_cue->feint}};
    json["partner_next"] = nullptr;
    if (view.partner_next)
        json["partner_next"] = {{"partner", view.partner_next->partner},
                                {"kinds", view.partner_next->kinds},
                                {"listed", view.partner_next->listed},
                                {"planned", view.partner_next->planned}};
    json["signs"] = nullptr;
    if (view.signs) json["signs"] = signs_of(*view.signs);
    json["rig_now"] = rig_of(view.rig_now);
    json["people"] = people_of(view);
    json["turns"] = view.turns;
    json["sets"] = view.sets;
    json["paused"] = view.paused;
    json["rig_here"] = view.rig_here;
    json["over"] = view.over;
    json["said"] = view.said;
    return dumped(json);
}

std::string taps_json(const TapsKept& kept) { return dumped(Json{{"day", kept.day}, {"a", kept.a}, {"b", kept.b}}); }

std::string questions_json(const Questions::Seen& seen, bool evening_runs) {
    Json json{{"number", seen.number}, {"open", seen.open}, {"title", seen.title},      {"lines", seen.lines},
              {"typed", seen.typed},   {"go", seen.go},     {"choices", Json::array()}, {"picks", Json::object()}};
    json["evening"] = evening_runs;
    for (const Questions::Choice& each : seen.choices)
        json["choices"].push_back({{"line", each.line},
                                   {"words", each.words},
                                   {"under", each.under},
                                   {"on", each.on},
                                   {"ticks", each.ticks},
                                   {"picks", each.picks}});
    for (const auto& [name, picks] : seen.picks) {
        json["picks"][name] = Json::array();
        for (const Questions::Pick& each : picks)
            json["picks"][name].push_back({{"line", each.line}, {"words", each.words}});
    }
    return dumped(json);
}

}  // namespace breakstep::desk
