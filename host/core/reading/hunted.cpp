#include "core/reading/hunted.hpp"

#include <algorithm>

#include "core/reading/law.hpp"
#include "core/reading/seconds.hpp"

namespace breakstep::reading {

SecretMove secret_move(const Forecast& forecast, double pace_seconds, Duration shortest, Random& random) {
    constexpr double longest_wait = 4.0;
    // All draws are made whatever the coin says, so that a replay with another forecast stays in step.
    const bool heads = random.chance(0.5);
    const double r = seconds_from(shortest);
    const double wait = std::min(r + random.exponential(std::max(pace_seconds - r, 0.05)), longest_wait);
    if (heads && forecast.window) return {true, *forecast.window};
    return {false, {duration_from(wait - window_half_seconds), duration_from(wait + window_half_seconds)}};
}

std::optional<AttackingMove> attacking_move(const Forecast& forecast) {
    if (!forecast.window) return std::nullopt;
    return AttackingMove{forecast.window->centre(), forecast.window->to};
}

void HuntCount::add(const SecretMove& move, Duration entered) {
    const bool caught = move.window.holds(entered);
    ++(move.hunted ? hunted : controls);
    if (caught) ++(move.hunted ? hunted_caught : controls_caught);
}

std::string HuntCount::words() const {
    return "hunted: caught " + std::to_string(hunted_caught) + " of " + std::to_string(hunted) + "; by chance " +
           std::to_string(controls_caught) + " of " + std::to_string(controls);
}

}  // namespace breakstep::reading
