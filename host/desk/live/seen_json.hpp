// Views, reps and answers as the pages' script reads them, and what it sends back. seen_json.cpp and view_json.cpp are
// the files of the desk that include the JSON library. Pure; any thread; reading fails (bad_input) for what no page of
// ours sends.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "core/error.hpp"
#include "desk/house.hpp"
#include "desk/questions.hpp"
#include "hall/evening/evening_view.hpp"

namespace breakstep::desk {

/// {"number", "block", "kind", "block_left_s", ..., "people": [{"athlete", "name", "drill", ...}]}
[[nodiscard]] std::string json_of(const EveningView& view);
/// {"evening" (it has begun), "number", "open", "title", "lines", "choices", "picks", "typed", "go"}
[[nodiscard]] std::string questions_json(const Questions::Seen& seen, bool evening_runs);
/// {"day", "a", "b"}
[[nodiscard]] std::string taps_json(const TapsKept& kept);
/// {"n", "session", "rep", "athlete", "set", "number", "verdict", "word", "asked", "latency_ms", "give_or_take_ms",
/// "first" (the rep is not closed yet), "by_coach", "line"}; names stand in the view.
[[nodiscard]] std::string json_of(const RepSeen& rep, std::uint64_t number);
/// How a rep went, to be drawn: phases, the limb every 20 ms, commit and contacts from toe-off.
[[nodiscard]] std::string replay_json(const RepSeen& rep);
/// {"answer", "words"}
[[nodiscard]] std::string json_of(const evening::Answer& answer);
/// {"words": ...} or {"words": ..., "json": {...}}: `json` is JSON already, or "".
[[nodiscard]] std::string said_json(std::string_view words, std::string_view json = {});

[[nodiscard]] Expected<evening::Request> request_in(std::string_view json);

struct ComesIn {
    std::string call_sign;
    bool sure = false;
};
[[nodiscard]] Expected<ComesIn> comes_in(std::string_view json);
[[nodiscard]] Expected<AthleteId> athlete_in(std::string_view json);
/// {"session", "set", "felt": "yes", "a little" or "no"}
[[nodiscard]] Expected<FeltInSet> felt_in(std::string_view json);
/// {"text": ...}
[[nodiscard]] Expected<std::string> text_in(std::string_view json);

/// Times of taps in seconds, of one person or two: {"a": [...], "b": [...]}; each at most 2,000, finite, in order.
struct Taps {
    std::vector<double> a, b;
};
[[nodiscard]] Expected<Taps> taps_in(std::string_view json);
/// As `timeable` reads them.
[[nodiscard]] std::string time_list(const std::vector<double>& times);
/// As `leads` reads them.
[[nodiscard]] std::string leads_list(const Taps& taps);

/// {"number", "line"}: an answer to the question of that number.
struct LineIn {
    std::uint64_t number = 0;
    std::string line;
};
[[nodiscard]] Expected<LineIn> line_in(std::string_view json);
/// {"athlete", "a", "b"}
struct TapsFor {
    AthleteId athlete{};
    Taps taps;
};
[[nodiscard]] Expected<TapsFor> taps_for_in(std::string_view json);

/// A frame of the WebSocket: {"ping": number}. Nothing for anything else.
[[nodiscard]] std::optional<double> ping_in(std::string_view json);
[[nodiscard]] std::string pong_json(double ping);

/// 16 hexadecimal digits, and back.
[[nodiscard]] std::string id_text(std::uint64_t id);
[[nodiscard]] std::optional<std::uint64_t> id_in(std::string_view text);

}  // namespace breakstep::desk
