#include "core/trade/junior.hpp"

#include <chrono>

namespace breakstep {
namespace {

Duration single_length(const OpponentSettings& opponent) {
    return opponent.lift.mean + opponent.up.mean + opponent.pull_back.mean + opponent.drop.mean + opponent.gap.mean;
}

std::string seconds(Duration length) {
    return std::to_string(std::chrono::round<std::chrono::seconds>(length).count()) + " s";
}

}  // namespace

Duration set_length(const Drill& drill) {
    return drill.reps * (drill.wait_minimum + drill.wait_extra + single_length(drill.opponent));
}

std::string too_much_for_a_junior(const Drill& drill, std::int32_t age_years) {
    if (age_years >= junior_under_years) return "";
    std::string said;
    const auto add = [&said](const std::string& part) { said += (said.empty() ? "" : ", ") + part; };
    if (drill.reps > junior_reps_max)
        add(std::to_string(drill.reps) + " reps a set where " + std::to_string(junior_reps_max) + " are enough");
    if (drill.sets > junior_sets_max)
        add(std::to_string(drill.sets) + " sets where " + std::to_string(junior_sets_max) + " are enough");
    const Duration work = set_length(drill), due = junior_rest_to_work * work;
    if (drill.sets > 1 && drill.rest < due)
        add(seconds(drill.rest) + " of rest after about " + seconds(work) + " of work where " + seconds(due) +
            " are due");
    return said;
}

}  // namespace breakstep
