#include "cli/timeable/whole_table.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <ostream>
#include <string>

#include "cli/timeable/practice_floor.hpp"
#include "core/reading/words.hpp"

namespace breakstep::timeable {
namespace {

using reading::Family;
using reading::ReadingMethod;

constexpr std::array starts{StartKind::random, StartKind::pattern, StartKind::drawn,    StartKind::hunted,
                            StartKind::tapped, StartKind::lure,    StartKind::countered};

// Of goings with a retreat before them six in ten have one; the left side six in ten, one pad four in ten.
constexpr ChoiceHabit at_the_limit{{.50, .30, .12, .08}, {.40, .20, .20, .20}};
constexpr ChoiceHabit never_retreats{{1, 0, 0, 0}, {.40, .20, .20, .20}};
constexpr ChoiceHabit one_side{{.50, .30, .12, .08}, {.45, .05, .45, .05}};
constexpr ChoiceHabit one_pad{{.50, .30, .12, .08}, {.80, .08, .06, .06}};
constexpr ChoiceHabit after_two{{.05, .03, .90, .02}, {.40, .20, .20, .20}};
// A block of attacks that is long enough for a habit of choosing to show.
constexpr std::int32_t long_set = 60;

constexpr std::array honest{
    FloorHabits{"memoryless, 0.52 s + mean 0.39 s", Family::exponential_short, at_the_limit},
    FloorHabits{"memoryless, 0.52 s + mean 1.04 s", Family::exponential_middle, at_the_limit},
    FloorHabits{"the same, never gives ground", Family::exponential_middle, never_retreats},
    FloorHabits{"memoryless, 0.52 s + mean 2.6 s", Family::exponential_long, at_the_limit},
    FloorHabits{"lognormal, CV 50 %", Family::lognormal_50, at_the_limit},
    FloorHabits{"gamma k = 4", Family::gamma_4, at_the_limit},
    FloorHabits{"lognormal, CV 50 %, mean wanders", Family::wandering, at_the_limit},
    FloorHabits{"uniform 0.52 to 2.6 s (outside the null)", Family::uniform, at_the_limit},
};
constexpr std::array keepers{
    FloorHabits{"metronome 1.17 s, CV 10 %", Family::metronome_10, at_the_limit},
    FloorHabits{"human-like 1.17 s, CV 15 %", Family::human_15, at_the_limit},
    FloorHabits{"long-short 0.91 / 1.69 s", Family::long_short, at_the_limit},
    FloorHabits{"three-beat 0.78 / 0.78 / 1.82 s", Family::three_beat, at_the_limit},
    FloorHabits{"60 % at one beat", Family::one_beat_60, at_the_limit},
};
constexpr std::array creatures{
    FloorHabits{"honest: choices at the limit", Family::exponential_middle, at_the_limit},
    FloorHabits{"the left side nine times in ten", Family::exponential_middle, one_side},
    FloorHabits{"one pad eight times in ten", Family::exponential_middle, one_pad},
    FloorHabits{"after two retreats, 95 % of goings with any", Family::exponential_middle, after_two},
};

std::string share(double value) { return reading::decimals(value, value > 0 && value < 0.01 ? 4 : 3); }

struct Shown {
    bool timed, read;
    std::int32_t reps = 20;  // a set
};

// A tapped attack comes when the coach sees the athlete move, a countered one after the athlete's strike: the intervals
// are void. A beat that is set to be broken is no fault.
bool bets_on_tempo(StartKind start) {
    return start != StartKind::tapped && start != StartKind::lure && start != StartKind::countered;
}

std::string with_slash(const std::string& before, const std::string& next) {
    return before.empty() ? next : before + " / " + next;
}

std::string columns_of(const Shown& shown, const BesideTwoSigns& beside) {
    std::string columns;
    if (beside.plain) columns = "plain";
    if (shown.timed) columns = with_slash(columns, "timed");
    if (shown.timed && beside.known) columns = with_slash(columns, "timed, known");
    if (shown.read) columns = with_slash(columns, "read");
    return columns;
}

std::string cell_of(const ToldInDrills& told, bool no_bet, const Shown& shown, const BesideTwoSigns& beside) {
    std::string cell;
    if (beside.plain) cell = share(told.share(told.plain));
    if (shown.timed) cell = with_slash(cell, no_bet ? "no bet" : share(told.share(told.timed)));
    if (shown.timed && beside.known && !no_bet) cell = with_slash(cell, share(told.share(told.timed_known)));
    if (shown.read) cell = with_slash(cell, share(told.share(told.read)));
    return cell;
}

void print_rows(std::ostream& out, std::ostream& err, std::span<const FloorHabits> athletes, Shown shown,
                BesideTwoSigns beside, std::uint64_t drills, std::uint64_t seed) {
    out << "| athlete |";
    for (const StartKind start : starts) out << ' ' << word(start) << ": " << columns_of(shown, beside) << " |";
    out << "\n| --- |";
    for (std::size_t i = 0; i < starts.size(); ++i) out << " --- |";
    out << '\n';
    for (const FloorHabits& habits : athletes) {
        err << "  " << habits.words << '\n';
        out << "| " << habits.words << " |";
        for (const StartKind start : starts) {
            const bool no_bet = !bets_on_tempo(start);
            BesideTwoSigns run = beside;
            run.known = beside.known && shown.timed && !no_bet;
            const ToldInDrills told = tell_on_the_floor(floor_drill(start, shown.reps), habits, drills, seed, run);
            out << ' ' << cell_of(told, no_bet, shown, beside) << " |";
            out.flush();
        }
        out << '\n';
        out.flush();
    }
    out << '\n';
}

void print_lean_rows(std::ostream& out, std::ostream& err, std::span<const FloorHabits> athletes, std::uint64_t drills,
                     std::uint64_t seed) {
    const Drill drill = leaning_floor_drill();
    for (const FloorHabits& habits : athletes) {
        err << "  " << habits.words << '\n';
        const ToldInDrills told = tell_on_the_floor(drill, habits, drills, seed);
        out << "| " << habits.words << " | " << share(told.share(told.timed)) << " | " << share(told.share(told.read))
            << " | " << reading::decimals(told.guesses, 1) << " |\n";
        out.flush();
    }
}

}  // namespace

void print_lean_table(std::ostream& out, std::ostream& err, std::uint64_t drills, std::uint64_t seed) {
    out << drills << " whole drills of each athlete against an opponent that leans, seed " << seed
        << ": two sets of 20, every lean answered, lies too.\n\n| athlete | timed | read | guesses a drill |\n"
           "| --- | --- | --- | --- |\n";
    err << "an opponent that leans: honest athletes\n";
    print_lean_rows(out, err, honest_athletes(), drills, seed);
    err << "an opponent that leans: beat keepers\n";
    print_lean_rows(out, err, beat_keepers(), drills, seed);
    out << '\n';
}

std::span<const FloorHabits> honest_athletes() { return honest; }
std::span<const FloorHabits> beat_keepers() { return keepers; }
std::span<const FloorHabits> creatures_of_habit() { return creatures; }

ToldInDrills tell_on_the_floor(const Drill& drill, const FloorHabits& habits, std::uint64_t drills, std::uint64_t seed,
                               BesideTwoSigns beside) {
    ToldInDrills told;
    told.drills = drills;
    for (std::uint64_t number = 0; number < drills; ++number) {
        FloorRun run{ReadingMethod::two_signs, seed, number, beside.apart, false};
        const SessionTotals two = play_on_the_floor(drill, habits, run);
        told.timed += two.sign == Sign::tell ? 1 : 0;
        told.read += two.read_sign == Sign::tell ? 1 : 0;
        told.guesses += static_cast<double>(two.windows) / static_cast<double>(drills);
        if (beside.known) {
            run.known = true;
            told.timed_known += play_on_the_floor(drill, habits, run).sign == Sign::tell ? 1 : 0;
            run.known = false;
        }
        if (beside.plain) {
            run.method = ReadingMethod::plain;
            told.plain += play_on_the_floor(drill, habits, run).sign == Sign::tell ? 1 : 0;
        }
    }
    return told;
}

void print_whole_table(std::ostream& out, std::ostream& err, std::uint64_t drills, std::uint64_t seed,
                       BesideTwoSigns beside) {
    const std::uint64_t of_power = beside.plain ? drills : std::max<std::uint64_t>(drills / 10, 10);
    const double worst = std::sqrt(0.25 / static_cast<double>(of_power));
    out << drills << " whole drills of each honest athlete and start, " << of_power << " of each other one, seed "
        << seed << "; standard error at most " << reading::decimals(worst, 4) << ", of honest ones at 0.05 "
        << reading::decimals(std::sqrt(0.05 * 0.95 / static_cast<double>(drills)), 4)
        << ".\nEach: two sets of 20 attacks, any pad right; the athlete answers every attack, by a strike or by giving "
           "ground"
        << (beside.apart ? ", and others take their turns between the sets" : "")
        << ".\nShare of drills that ended in \"yes\": "
        << (beside.plain ? "by the plain method's one sign, and by each of the two" : "by each of the two signs")
        << (beside.known ? "; known: with a prior of three earlier days of 24 steps in" : "") << ".\n\n";
    err << "honest athletes\n";
    out << "#### Honest athletes: tempo free, choices at the limit of what is no fault\n\n";
    print_rows(out, err, honest_athletes(), {true, true}, beside, drills, seed);
    err << "beat keepers\n";
    out << "#### Beat keepers: choices as above\n\n";
    print_rows(out, err, beat_keepers(), {true, false}, beside, of_power, seed);
    err << "habits of choosing\n";
    out << "#### Habits of choosing, in two sets of 60: tempo free (retreats are read in drawn and hunted drills)\n\n";
    print_rows(out, err, creatures_of_habit(), {false, true, long_set}, beside,
               std::max<std::uint64_t>(of_power / 4, 10), seed);
}

}  // namespace breakstep::timeable
