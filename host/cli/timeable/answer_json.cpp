// Kept apart: the one file here that includes the JSON library.
#include <nlohmann/json.hpp>

#include <cmath>
#include <ostream>

#include "cli/timeable/answer.hpp"
#include "core/reading/descriptions.hpp"
#include "core/reading/seconds.hpp"

namespace breakstep::timeable {
namespace {

using Json = nlohmann::ordered_json;

template <class T>
Json or_null(const std::optional<T>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json described(const Description& description, std::uint64_t events) {
    const auto& intervals = description.intervals;
    const auto n = static_cast<double>(intervals.size());
    double mean = 0;
    for (const double interval : intervals) mean += interval / n;
    double squares = 0;
    for (const double interval : intervals) squares += (interval - mean) * (interval - mean);
    const auto split = reading::wing_kristofferson(intervals);
    Json json;
    json["note"] = "descriptions, not verdicts";
    json["described"] = intervals.size();
    json["of"] = events;
    json["mean_s"] = mean;
    json["variation"] = intervals.size() > 1 ? Json(std::sqrt(squares / (n - 1.0)) / mean) : Json(nullptr);
    json["local_variation"] = or_null(reading::local_variation(intervals));
    json["permutation_entropy_3"] = or_null(reading::permutation_entropy(intervals, 3));
    json["clock_deviation_s"] = split ? Json(split->clock_deviation) : Json(nullptr);
    json["motor_deviation_s"] = split ? Json(split->motor_deviation) : Json(nullptr);
    return json;
}

}  // namespace

void print_json(std::ostream& out, const Options& options, bool choices, const ListResult& result,
                const Description* description) {
    Json json;
    json["tell_at"] = or_null(result.tell_at);
    json["hunch_at"] = or_null(result.hunch_at);
    json["wealth"] = result.wealth;
    // Of a list that nobody can have made there is no index.
    const bool none_possible = !choices && result.events > 0 && result.too_short == result.events;
    const bool has_index = result.timeable && !none_possible;
    json["timeable"] = none_possible ? Json(nullptr) : or_null(result.timeable);
    json["hits"] = result.hits;
    json["chance"] = result.chance;
    json["scored"] = result.scored;
    json["cause"] = or_null(result.cause);
    if (options.rows == Rows::none) {
        json["events"] = result.events;
        json["reason"] = result.words.empty() ? Json(nullptr) : Json(result.words);
        if (!choices) {
            json["timeable_low"] = has_index ? Json(result.timeable_interval.low) : Json(nullptr);
            json["timeable_high"] = has_index ? Json(result.timeable_interval.high) : Json(nullptr);
            json["shortest_s"] = reading::seconds_from(options.shortest);
            json["shorter_than_r"] = result.too_short;
            json["method"] = word(options.method);
        } else {
            json["symbols"] = options.symbols;
            json["test"] = options.habit ? "habit" : "free";
        }
        if (description != nullptr && !description->intervals.empty())
            json["descriptions"] = described(*description, result.events);
    }
    out << json.dump() << '\n';
}

}  // namespace breakstep::timeable
