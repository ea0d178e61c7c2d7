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

constexpr std::array starts{StartKind::random, StartKind::pattern, StartKind::drawn, StartKind::hunted,
                            StartKind::tapped, StartKind::lure,   StartKind::countered};

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
    bool apart = false;
};

void print_rows(std::ostream& out, std::ostream& err, std::span<const FloorHabits> athletes, Shown shown,
                std::uint64_t drills, std::uint64_t seed) {
    std::string columns = "plain";
    if (shown.timed) columns += " / timed";
    if (shown.read) columns += " / read";
    out << "| athlete |";
    for (const StartKind start : starts) out << ' ' << word(start) << ": " << columns << " |";
    out << "\n| --- |";
    for (std::size_t i = 0; i < starts.size(); ++i) out << " --- |";
    out << '\n';
    for (const FloorHabits& habits : athletes) {
        err << "  " << habits.words << '\n';
        out << "| " << habits.words << " |";
        for (const StartKind start : starts) {
            const ToldInDrills told =
                tell_on_the_floor(floor_drill(start, shown.reps), habits, drills, seed, true, shown.apart);
            out << ' ' << share(told.share(told.plain));
            // A tapped attack comes when the coach sees the athlete move, a countered one after the athlete's strike: the
            // intervals are void. A beat that is set to be broken is no fault.
            const bool no_bet =
                start == StartKind::tapped || start == StartKind::lure || start == StartKind::countered;
            if (shown.timed) out << " / " << (no_bet ? "no bet" : share(told.share(told.timed)));
            if (shown.read) out << " / " << share(told.share(told.read));
            out << " |";
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
        const ToldInDrills told = tell_on_the_floor(drill, habits, drills, seed, false);
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
                               bool plain_too, bool apart) {
    ToldInDrills told;
    told.drills = drills;
    for (std::uint64_t number = 0; number < drills; ++number) {
        if (plain_too) {
            const SessionTotals plain = play_on_the_floor(drill, habits, ReadingMethod::plain, seed, number, apart);
            told.plain += plain.sign == Sign::tell ? 1 : 0;
        }
        const SessionTotals two = play_on_the_floor(drill, habits, ReadingMethod::two_signs, seed, number, apart);
        told.timed += two.sign == Sign::tell ? 1 : 0;
        told.read += two.read_sign == Sign::tell ? 1 : 0;
        told.guesses += static_cast<double>(two.windows) / static_cast<double>(drills);
    }
    return told;
}

void print_whole_table(std::ostream& out, std::ostream& err, std::uint64_t drills, std::uint64_t seed, bool apart) {
    const double worst = std::sqrt(0.25 / static_cast<double>(drills));
    out << drills << " whole drills of each athlete and start, seed " << seed << "; standard error at most "
        << reading::decimals(worst, 4) << ", at 0.05 "
        << reading::decimals(std::sqrt(0.05 * 0.95 / static_cast<double>(drills)), 4)
        << ".\nEach: two sets of 20 attacks, any pad right; the athlete answers every attack, by a strike or by giving "
           "ground"
        << (apart ? ", and others take their turns between the sets" : "")
        << ".\nShare of drills that ended in \"yes\": by the plain method's one sign, and by each of the "
           "two.\n\n";
    err << "honest athletes\n";
    out << "#### Honest athletes: tempo free, choices at the limit of what is no fault\n\n";
    print_rows(out, err, honest_athletes(), {true, true, 20, apart}, drills, seed);
    err << "beat keepers\n";
    out << "#### Beat keepers: choices as above\n\n";
    print_rows(out, err, beat_keepers(), {true, false, 20, apart}, drills, seed);
    err << "habits of choosing\n";
    out << "#### Habits of choosing, in two sets of 60: tempo free (retreats are read in drawn and hunted drills)\n\n";
    print_rows(out, err, creatures_of_habit(), {false, true, long_set, apart}, std::max<std::uint64_t>(drills / 4, 10),
               seed);
}

}  // namespace breakstep::timeable
