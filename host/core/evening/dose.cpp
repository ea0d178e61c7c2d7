#include "core/evening/dose.hpp"

#include <algorithm>
#include <utility>

#include "core/trade/junior.hpp"

namespace breakstep::evening {

bool is_child(std::int32_t age) { return age > 0 && age < junior_under_years; }

Dose dose_for(std::int32_t age, const Dose& asked) {
    if (!is_child(age)) return asked;
    constexpr std::int32_t youngest_until = 10, middle_until = 13;
    const Dose most = age <= youngest_until ? Dose{6, 3} : age <= middle_until ? Dose{8, 3} : Dose{10, 4};
    return {std::min(asked.reps, most.reps), std::min(asked.sets, most.sets)};
}

Drill in_sets_of(Drill drill, std::int32_t reps) {
    if (drill.reps > 0) drill.partner.round = drill.partner.round * reps / drill.reps;
    drill.reps = reps;
    return drill;
}

Drill dosed(Drill drill, std::int32_t age) {
    if (!is_child(age) || drill.test) return drill;
    const Dose dose = dose_for(age, {drill.reps, drill.sets});
    drill = in_sets_of(std::move(drill), dose.reps);
    drill.sets = dose.sets;
    drill.rest = std::max(drill.rest, rest_after(set_length(drill), age));
    return drill;
}

Duration rest_after(Duration work, std::int32_t age) {
    return work * (is_child(age) ? child_rest_tenths : adult_rest_tenths) / 10;
}

}  // namespace breakstep::evening
