// Kept apart: the one file here that includes the JSON library.
#include <nlohmann/json.hpp>

#include <optional>

#include "club/lists/leads_list.hpp"
#include "club/lists/rung_list.hpp"

namespace breakstep {
namespace {

using Json = nlohmann::ordered_json;

template <class T>
Json or_null(const std::optional<T>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json direction(const leading::FollowTest& test) {
    Json json;
    json["tell"] = test.tell_at().has_value();
    json["hunch"] = test.hunch_at().has_value();
    json["tell_at"] = or_null(test.tell_at());
    json["e"] = leading::wealth_from(test.log_e());
    json["x"] = leading::wealth_from(test.log_x());
    json["ln_e"] = test.log_e();
    json["ln_x"] = test.log_x();
    json["lag_s"] = or_null(test.lag());
    json["hits"] = test.count().hits;
    json["of"] = test.count().of;
    json["chance"] = test.count().chance;
    return json;
}

}  // namespace

std::string rung_json(const RungResult& result) {
    Json json;
    json["wealth"] = result.rung.up().wealth();
    json["step_down_wealth"] = result.rung.down().wealth();
    json["passed_at"] = or_null(result.rung.passed_at());
    json["step_down_at"] = or_null(result.rung.step_down_at());
    json["mark"] = result.rung.up().mark();
    json["reps"] = result.rung.up().reps();
    json["on_time"] = result.rung.up().hits();
    json["evenings"] = result.rung.up().evenings();
    return json.dump() + "\n";
}

std::string leads_json(const LeadsResult& result) {
    Json json;
    json["a_follows_b"] = direction(result.bout.a_follows_b());
    json["b_follows_a"] = direction(result.bout.b_follows_a());
    return json.dump() + "\n";
}

}  // namespace breakstep
