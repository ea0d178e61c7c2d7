#include "tools/invented_term.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <span>
#include <string_view>

namespace breakstep {
namespace {

constexpr Habit no_beat{HabitKind::memoryless, 1200ms, 0, 680ms, 0.08};
constexpr Habit beat(Duration length, double spread) { return {HabitKind::metronome, length, spread, 680ms, 0.02}; }
constexpr Habit long_short{HabitKind::long_short, 1000ms, 0.06, 680ms, 0.02};

// Faults and strengths of their own, beside what practice moves.
void none(AthleteProfile&) {}
void bites(AthleteProfile& athlete) {
    athlete.impulsive = 0.38;
    athlete.picks = 0.3;
    athlete.stops = 0.1;
}
void goes_too_soon(AthleteProfile& athlete) { athlete.aim = 0.15; }
void gives_ground_twice(AthleteProfile& athlete) { athlete.ground = {0.5, 0.1, 0.4, 0}; }
void favours_the_right(AthleteProfile& athlete) { athlete.pads = {1, 4, 1, 2}; }
void is_quick(AthleteProfile& athlete) { athlete.reaction = {165, 17, 33}; }

/// What is trained, week by week.
using Path = std::array<const char*, term_weeks>;
constexpr Path juniors{
    "taking-turns", "drop-of-a-single-kick",  "drop-of-a-single-kick",  "feints", "untidy-beginner",
    "feints",       "gap-between-techniques", "gap-between-techniques", "feints", "drop-of-a-single-kick"};
constexpr Path colours{"drop-of-a-single-kick",
                       "feints",
                       "rebounds",
                       "gap-between-techniques",
                       "legs-into-hands",
                       "gap-between-techniques",
                       "meeting-the-lift",
                       "around-the-held-leg",
                       "around-the-held-leg",
                       "feints"};
constexpr Path competition{"drawing-the-attack", "rebounds",          "around-the-held-leg", "around-the-held-leg",
                           "legs-into-hands",    "meeting-the-lift",  "meeting-the-lift",    "linked-techniques",
                           "drawing-the-attack", "drawing-the-attack"};

struct Member {
    const char* call_sign;
    Level level;
    Side lead;
    std::int32_t birth_year;
    const char* grade;
    const char* height_band;
    const char* group;
    const Path* path;
    std::string_view tests;   ///< d: drop, g: gap; the first is run first
    std::string_view there;   ///< a sign for each week, . for a missed one
    double first, last;       ///< share of the way from a beginner to an advanced athlete in what practice moves
    Habit habit, habit_then;  ///< up to habit_until; from then on
    int habit_until;          ///< weeks
    void (*fault)(AthleteProfile&);
    const char* rhythm;
};

constexpr Level easy = Level::beginner, middle = Level::intermediate, best = Level::advanced;
constexpr Habit fixed = beat(880ms, 0.06), slow = beat(1500ms, 0.12), swift = beat(1000ms, 0.08);
constexpr Side left = Side::left, right = Side::right;

const Member members[] = {
    {"Heron", best, right, 2002, "2nd dan", "180-190 cm", "competition", &competition, "dg", "++++++++++", 1, 1, fixed,
     fixed, 10, none, "one beat, all term"},
    {"Curlew", best, left, 1999, "3rd dan", "170-180 cm", "competition", &competition, "gd", "+++.++++++", 1, 1,
     no_beat, no_beat, 10, none, "no beat"},
    {"Egret", middle, right, 1997, "1st dan", "170-180 cm", "competition", &competition, "gd", "+++...++++", 0.7, 0.7,
     no_beat, no_beat, 10, is_quick, "no beat"},
    {"Whimbrel", middle, right, 2004, "1st dan", "180-190 cm", "competition", &competition, "dg", "+++++++.++", 0.1, 1,
     swift, no_beat, 4, none, "one beat until week 4, then none"},
    {"Lapwing", middle, right, 2006, "red belt", "160-170 cm", "competition", &competition, "gd", "++++.+++++", 0, 1,
     long_short, long_short, 10, favours_the_right, "long-short, all term"},
    {"Avocet", middle, left, 1995, "blue belt", "170-180 cm", "colours", &colours, "d", "++++++++.+", 0, 1, no_beat,
     no_beat, 10, bites, "no beat"},
    {"Redshank", middle, right, 2004, "blue belt", "160-170 cm", "colours", &colours, "d", "++.+++++++", 0.5, 0.5, slow,
     slow, 10, gives_ground_twice, "one slow beat, all term"},
    {"Sanderling", middle, right, 2010, "green belt", "150-160 cm", "colours", &colours, "d", "+++++++++.", 1, 0,
     no_beat, no_beat, 10, is_quick, "no beat"},
    {"Turnstone", middle, left, 1991, "green belt", "170-180 cm", "colours", &colours, "d", ".....+++++", 0.1, 0.3,
     no_beat, no_beat, 10, bites, "no beat"},
    {"Wigeon", easy, right, 1991, "yellow belt", "180-190 cm", "colours", &colours, "g", "++++++.+++", 0, 0.35, no_beat,
     no_beat, 10, goes_too_soon, "no beat"},
    {"Dunlin", easy, right, 2015, "yellow belt", "140-150 cm", "juniors", &juniors, "g", "+++++.++++", 0, 1, no_beat,
     no_beat, 10, none, "no beat"},
    {"Plover", easy, left, 2012, "green belt", "150-160 cm", "juniors", &juniors, "g", "+.++++++++", 0.4, 0.4,
     beat(1200ms, 0.08), no_beat, 5, none, "one beat until week 5, then none"},
};

// Nobody is the same on two evenings: so much of the way, up or down (our own guess).
constexpr double day_scatter = 0.08;

bool is_junior(const Member& member) { return member.path == &juniors; }

AthleteProfile profile_on(const Member& member, int week, double day) {
    AthleteProfile plain = practised(typical_athlete(member.level), typical_athlete(Level::beginner), 1);
    member.fault(plain);
    const double gone = static_cast<double>(week) / (term_weeks - 1);
    const double share = member.first + gone * (member.last - member.first) + day_scatter * day;
    AthleteProfile profile = practised(plain, typical_athlete(Level::advanced), share);
    profile.call_sign = member.call_sign;
    profile.lead = member.lead;
    profile.age = static_cast<double>(2026 - member.birth_year);
    profile.habit = week < member.habit_until ? member.habit : member.habit_then;
    return profile;
}

std::string test_named(char letter, bool junior) {
    return std::string(letter == 'd' ? "test-drop" : "test-gap") + (junior ? "-juniors" : "");
}

}  // namespace

std::string_view word(TrueChange change) {
    if (change == TrueChange::none) return "as before";
    return change == TrueChange::improves ? "improves" : "gets worse";
}

std::vector<InventedAthlete> invented_athletes() {
    std::vector<InventedAthlete> athletes;
    for (const Member& member : members) {
        InventedAthlete& athlete = athletes.emplace_back();
        athlete.entry.call_sign = member.call_sign;
        athlete.entry.grade = member.grade;
        athlete.entry.height_band = member.height_band;
        athlete.entry.group = member.group;
        athlete.entry.lead = member.lead;
        athlete.entry.birth_year = member.birth_year;
        const bool minor = 2026 - member.birth_year < 18;
        athlete.entry.consent = Consent{"2026-08-25", minor ? "a parent" : "the athlete", ""};
        if (member.last != member.first)
            athlete.change = member.last > member.first ? TrueChange::improves : TrueChange::gets_worse;
        athlete.rhythm = member.rhythm;
    }
    return athletes;
}

std::vector<InventedTurn> turns_of_week(int week, Random& random) {
    std::vector<InventedTurn> rounds[3];
    for (std::size_t i = 0; i < std::size(members); ++i) {
        const Member& member = members[i];
        const double day = random.normal();
        if (member.there[static_cast<std::size_t>(week)] == '.') continue;
        InventedTurn turn{i, "", is_junior(member), profile_on(member, week, day)};
        for (std::size_t test = 0; test < member.tests.size(); ++test) {
            turn.drill = test_named(member.tests[test], turn.junior);
            rounds[test].push_back(turn);
        }
        turn.drill = (*member.path)[static_cast<std::size_t>(week)];
        rounds[2].push_back(turn);
    }
    std::vector<InventedTurn> turns;
    for (const auto& round : rounds) turns.insert(turns.end(), round.begin(), round.end());
    return turns;
}

}  // namespace breakstep
