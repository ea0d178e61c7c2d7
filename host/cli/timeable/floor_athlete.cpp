#include "cli/timeable/floor_athlete.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "core/reading/drill_reading.hpp"
#include "core/reading/known_athlete.hpp"
#include "core/reading/law.hpp"
#include "core/reading/seconds.hpp"

namespace breakstep::timeable {
namespace {

constexpr double slower = 1.3;
constexpr double shortest = 0.52;
constexpr Duration inside = 260ms;
constexpr Duration pass_apart = 260ms;
// Streams of choices lie beyond those of the families' intervals, apart for each drill and family.
std::uint64_t choice_stream(reading::Family family, std::uint64_t drill) {
    return (std::uint64_t{1} << 40U) + drill * 64 + static_cast<std::uint64_t>(family);
}

constexpr std::uint64_t earlier_seed = 1'000'003;
constexpr std::uint64_t earlier_days = 3, earlier_intervals = 23;
constexpr double day_spread = 0.06;

double interval_s(reading::InventedAthlete& tempo) {
    for (;;) {
        const double drawn_interval = slower * tempo.next();
        if (drawn_interval >= shortest) return drawn_interval;
    }
}

}  // namespace

FloorAthlete::FloorAthlete(const FloorHabits& habits, std::uint64_t seed, std::uint64_t drill)
    : habits_(habits), tempo_(habits.family, seed, drill), random_(seed, choice_stream(habits.family, drill)) {
    retreats_left_ = drawn(habits_.choices.retreats);
}

std::size_t FloorAthlete::drawn(const std::array<double, 4>& chances) {
    double left = random_.unit();
    std::size_t which = 0;
    while (which + 1 < chances.size() && left >= chances[which]) left -= chances[which++];
    return which;
}

Duration FloorAthlete::interval() { return reading::duration_from(interval_s(tempo_)); }

void FloorAthlete::strike_to_start(Duration at) {
    const Duration in = std::max(at, outside_from_ + pass_apart);
    moves_.push_back({in, std::nullopt, PadRole::high_left});
    pass(GateRole::near_mark, in + 300ms);
    outside_from_ = in + 300ms;
}

void FloorAthlete::set_began(Duration at) {
    next_entry_ = std::max(at + reading::duration_from(random_.uniform(0.2, 1.2)), outside_from_ + pass_apart);
}

void FloorAthlete::set_ended() { next_entry_.reset(); }

std::optional<Duration> FloorAthlete::next() const {
    if (moves_.empty()) return next_entry_;
    return next_entry_ ? std::min(*next_entry_, moves_.front().at) : moves_.front().at;
}

FloorMove FloorAthlete::take() {
    if (!moves_.empty() && (!next_entry_ || moves_.front().at <= *next_entry_)) {
        const FloorMove move = moves_.front();
        moves_.pop_front();
        return move;
    }
    const Duration at = *next_entry_;
    outside_from_ = at + inside;
    pass(GateRole::near_mark, outside_from_);
    next_entry_ = at + interval();
    return {at, GateRole::near_mark, {}};
}

void FloorAthlete::attacked(Duration toe_off, Duration drop) {
    next_entry_.reset();
    if (retreats_left_ > 0) {
        --retreats_left_;
        retreat(std::max(toe_off, outside_from_) + reading::duration_from(random_.uniform(0.15, 0.30)));
        return;
    }
    retreats_left_ = drawn(habits_.choices.retreats);
    answer(std::max(drop, outside_from_ + pass_apart) + reading::duration_from(random_.uniform(0.0, 0.10)));
}

void FloorAthlete::answer(Duration at) {
    pass(GateRole::near_mark, at);
    const auto pad = static_cast<PadRole>(drawn(habits_.choices.pads));
    moves_.push_back({at + 60ms, std::nullopt, pad});
    outside_from_ = at + 320ms;
    pass(GateRole::near_mark, outside_from_);
    next_entry_ = at + std::max(interval(), 320ms + pass_apart);
}

void FloorAthlete::retreat(Duration at) {
    pass(GateRole::far_mark, at);
    Duration back = at;
    if (random_.chance(habits_.choices.over_the_back)) {
        pass(GateRole::back_mark, back += 200ms);
        pass(GateRole::back_mark, back += 300ms);
    }
    pass(GateRole::far_mark, back + 350ms);
    // It comes back to where it stood, and takes its time from there.
    outside_from_ = back + 350ms;
    next_entry_ = outside_from_ + interval();
}

std::string prior_of_earlier_days(const FloorHabits& habits, std::uint64_t seed, std::uint64_t drill) {
    std::vector<std::vector<Duration>> days(earlier_days);
    for (std::uint64_t d = 0; d < earlier_days; ++d) {
        const std::uint64_t number = drill * earlier_days + d;
        reading::InventedAthlete tempo(habits.family, seed + earlier_seed, number);
        const double pace =
            std::exp(day_spread * Random(seed + earlier_seed, choice_stream(habits.family, number)).normal());
        for (std::uint64_t i = 0; i < earlier_intervals; ++i)
            days[d].push_back(reading::duration_from(std::max(pace * interval_s(tempo), shortest)));
    }
    reading::KnownRhythms known;
    known.clocks.front() = reading::learn_athlete(days, reading::duration_from(reading::shortest_entry_seconds));
    return reading::to_text(known);
}

}  // namespace breakstep::timeable
