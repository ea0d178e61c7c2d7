#include "devices/simulated/athlete_profile.hpp"

#include <algorithm>
#include <cctype>
#include <cmath>

namespace breakstep {
namespace {

AthleteProfile novice() {
    AthleteProfile athlete;
    athlete.grade = Level::beginner;
    athlete.reaction = {195, 28, 60};
    athlete.choice_cost_ms = 60;
    athlete.speed = 1.15;
    athlete.timing_ms = 36;
    athlete.timing_share = 0.08;
    athlete.aim = 0.42;
    athlete.impulsive = 0.22;
    athlete.picks = 0.45;
    athlete.stops = 0.10;
    athlete.chases = 0.55;
    athlete.lapses = 0.06;
    athlete.misses = 0.05;
    athlete.wrong_pad = 0.12;
    athlete.ground = {0.76, 0.17, 0.05, 0.02};
    athlete.guesses = 0.05;
    athlete.times_lifts = 0.3;
    athlete.reads_leans = 0.3;
    athlete.stays_in = 0.45;
    athlete.overruns = 0.4;
    athlete.fatigue = 0.02;
    return athlete;
}

AthleteProfile advanced() {
    AthleteProfile athlete;
    athlete.grade = Level::advanced;
    athlete.reaction = {160, 17, 32};
    athlete.choice_cost_ms = 20;
    athlete.speed = 0.92;
    athlete.timing_ms = 12;
    athlete.timing_share = 0.035;
    athlete.impulsive = 0.05;
    athlete.picks = 0.88;
    athlete.stops = 0.45;
    athlete.chases = 0.25;
    athlete.lapses = 0.012;
    athlete.misses = 0.01;
    athlete.wrong_pad = 0.03;
    athlete.ground = {0.93, 0.06, 0.01, 0};
    athlete.guesses = 0.01;
    athlete.times_lifts = 0.8;
    athlete.reads_leans = 0.9;
    athlete.stays_in = 0.85;
    athlete.overruns = 0.1;
    athlete.fatigue = 0.005;
    return athlete;
}

AthleteProfile named(std::string_view call_sign, Level grade, Side lead, double age, const Habit& habit) {
    AthleteProfile athlete = typical_athlete(grade);
    athlete.call_sign = call_sign;
    athlete.lead = lead;
    athlete.age = age;
    athlete.habit = habit;
    return athlete;
}

std::vector<AthleteProfile> make_club() {
    const auto metronome = [](Duration beat, double spread) {
        return Habit{HabitKind::metronome, beat, spread, 680ms, 0.02};
    };
    const auto long_short = [](Duration beat) { return Habit{HabitKind::long_short, beat, 0.06, 680ms, 0.02}; };
    const auto memoryless = [](Duration mean) { return Habit{HabitKind::memoryless, mean, 0, 680ms, 0.08}; };
    const Level easy = Level::beginner, middle = Level::intermediate, best = Level::advanced;

    std::vector<AthleteProfile> club{
        named("Heron", best, Side::right, 24, metronome(880ms, 0.06)),
        named("Curlew", best, Side::left, 27, memoryless(1100ms)),
        named("Lapwing", middle, Side::right, 17, long_short(1000ms)),
        named("Avocet", middle, Side::left, 31, memoryless(1400ms)),
        named("Dunlin", easy, Side::right, 11, memoryless(1500ms)),
        named("Redshank", middle, Side::right, 22, metronome(1600ms, 0.12)),
        named("Plover", easy, Side::left, 14, metronome(1200ms, 0.18)),
        named("Wigeon", easy, Side::right, 35, memoryless(1700ms)),
        named("Sanderling", middle, Side::right, 16, memoryless(1000ms)),
        named("Egret", best, Side::right, 29, memoryless(1300ms)),
    };
    // Each has a fault or a strength of its own beside the habit.
    club[2].pads = {1, 4, 1, 2};  // Lapwing favours the right
    club[3].impulsive = 0.30;     // Avocet bites
    club[3].picks = 0.4;
    club[4].chases = 0.7;                 // Dunlin is late and goes all the same
    club[5].ground = {0.1, 0.1, 0.8, 0};  // Redshank gives ground twice, then goes
    club[6].wrong_pad = 0.2;              // Plover strikes where the hand is
    club[7].aim = 0.1;                    // Wigeon goes too soon
    club[8].reaction = {170, 18, 34};     // Sanderling is quick for the grade
    return club;
}

}  // namespace

AthleteProfile typical_athlete(Level grade) {
    if (grade == Level::beginner) return novice();
    return grade == Level::advanced ? advanced() : AthleteProfile{};
}

AthleteProfile practised(const AthleteProfile& athlete, const AthleteProfile& towards, double share) {
    constexpr double AthleteProfile::*moved[] = {&AthleteProfile::choice_cost_ms, &AthleteProfile::timing_ms,
                                                 &AthleteProfile::timing_share,   &AthleteProfile::aim,
                                                 &AthleteProfile::impulsive,      &AthleteProfile::picks,
                                                 &AthleteProfile::stops,          &AthleteProfile::chases,
                                                 &AthleteProfile::lapses,         &AthleteProfile::misses,
                                                 &AthleteProfile::wrong_pad,      &AthleteProfile::guesses,
                                                 &AthleteProfile::times_lifts,    &AthleteProfile::reads_leans,
                                                 &AthleteProfile::stays_in,       &AthleteProfile::overruns,
                                                 &AthleteProfile::fatigue};
    AthleteProfile result = athlete;
    const double moves = std::clamp(share, 0.0, 1.0);
    for (const auto figure : moved) result.*figure = athlete.*figure + moves * (towards.*figure - athlete.*figure);
    return result;
}

const std::vector<AthleteProfile>& demo_club() {
    static const std::vector<AthleteProfile> club = make_club();
    return club;
}

std::optional<AthleteProfile> find_athlete(std::string_view call_sign) {
    const auto same_letter = [](char a, char b) {
        return std::tolower(static_cast<unsigned char>(a)) == std::tolower(static_cast<unsigned char>(b));
    };
    for (const AthleteProfile& athlete : demo_club())
        if (std::equal(athlete.call_sign.begin(), athlete.call_sign.end(), call_sign.begin(), call_sign.end(),
                       same_letter))
            return athlete;
    return std::nullopt;
}

double age_factor(double age) { return age >= 15 ? 1.0 : std::pow(15 / age, 0.8147); }

}  // namespace breakstep
