#include "cli/timeable/table.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <ostream>
#include <string>
#include <vector>

#include "core/reading/adversary.hpp"
#include "core/reading/families.hpp"
#include "core/reading/law.hpp"
#include "core/reading/seconds.hpp"
#include "core/reading/tempo_test.hpp"
#include "core/reading/words.hpp"

namespace breakstep::timeable {
namespace {

using namespace reading;

constexpr std::size_t drill_length = 39;                    // intervals of 40 entries
constexpr std::array<std::size_t, 4> looks{7, 11, 15, 23};  // intervals of 8, 12, 16, 24 entries
constexpr std::size_t known_sessions = 3;
constexpr std::size_t known_length = 23;

struct Run {
    TempoMethod method = TempoMethod::plain;
    bool cut = false;    // by random waits of 1 s + Exp(mean 1.5 s)
    bool known = false;  // three earlier sessions of 24 entries, each day's pace 6 % off
};

struct Outcome {
    std::array<std::uint64_t, drill_length + 1> told{};  // at interval i, from 1
    std::array<std::uint64_t, tempo_cause_count> causes{};
    std::uint64_t hunches = 0;
    std::uint64_t drills = 0;

    [[nodiscard]] double told_by(std::size_t intervals) const {
        std::uint64_t sum = 0;
        for (std::size_t i = 1; i <= intervals; ++i) sum += told[i];
        return static_cast<double>(sum) / static_cast<double>(drills);
    }
};

Duration shortest_of(Family family) {
    return duration_from(family == Family::fixed_in_time ? shortest_in_seconds : shortest_entry_seconds);
}

/// Each day the athlete's pace is a little different.
double day_pace(std::uint64_t seed, std::uint64_t day) {
    Random random(seed, (day << 8U) + 200);
    return std::exp(0.06 * random.normal());
}

KnownAthlete earlier_sessions(Family family, std::uint64_t seed, std::uint64_t drill) {
    std::vector<std::vector<Duration>> sessions(known_sessions);
    for (std::size_t s = 0; s < known_sessions; ++s) {
        const std::uint64_t day = drill * (known_sessions + 1) + s + 1;
        InventedAthlete athlete(family, seed + 1'000'003, day);
        const double pace = day_pace(seed, day);
        for (std::size_t i = 0; i < known_length; ++i) sessions[s].push_back(duration_from(athlete.next() * pace));
    }
    return learn_athlete(sessions, shortest_of(family));
}

/// Runs one drill; `next(test)` gives the interval after the forecast, `cue()` when a cue would cut it.
template <class Next, class Cue>
void run_drill(Outcome& outcome, TempoTest& test, Duration shortest, bool to_the_end, const Next& next,
               const Cue& cue) {
    bool hunch = false;
    for (std::size_t i = 1; i <= drill_length; ++i) {
        test.predict(shortest);
        const Duration interval = duration_from(next(test));
        const std::optional<Duration> cut = cue();
        if (cut && interval > *cut)
            test.cut(*cut);
        else
            test.entered(interval);
        if (!hunch && test.wealth() >= 8.0) {
            hunch = true;
            ++outcome.hunches;
        }
        if (test.wealth() >= 20.0) {
            ++outcome.told[i];
            ++outcome.causes[static_cast<std::size_t>(test.cause())];
            break;
        }
        if (!to_the_end && i == looks.back()) break;
    }
    ++outcome.drills;
}

Outcome run_family(const FamilyDescription& description, const Run& run, std::uint64_t drills, std::uint64_t seed) {
    Outcome outcome;
    const Duration shortest = shortest_of(description.family);
    for (std::uint64_t drill = 0; drill < drills; ++drill) {
        InventedAthlete athlete(description.family, seed, drill);
        const KnownAthlete known = run.known ? earlier_sessions(description.family, seed, drill) : KnownAthlete{};
        const double pace = run.known ? day_pace(seed, drill * (known_sessions + 1)) : 1.0;
        TempoTest test(run.method, known);
        run_drill(
            outcome, test, shortest, description.truth != Truth::timeable,
            [&](const TempoTest&) { return athlete.next() * pace; },
            [&] {
                return run.cut ? std::optional(duration_from(1.0 + athlete.random().exponential(1.5))) : std::nullopt;
            });
    }
    return outcome;
}

Outcome run_adversary(TempoMethod method, std::uint64_t drills, std::uint64_t seed) {
    Outcome outcome;
    for (std::uint64_t drill = 0; drill < drills; ++drill) {
        Adversary adversary(seed, drill);
        TempoTest test(method);
        run_drill(
            outcome, test, duration_from(shortest_entry_seconds), true,
            [&](const TempoTest& open) { return adversary.next(open); }, [] { return std::optional<Duration>{}; });
    }
    return outcome;
}

std::string share(double value) { return decimals(value, value > 0 && value < 0.01 ? 4 : 3); }

std::string power(const Outcome& outcome) {
    std::string text;
    for (const std::size_t look : looks) {
        if (!text.empty()) text += " / ";
        text += decimals(outcome.told_by(look), 3);
    }
    return text;
}

std::string causes(const Outcome& outcome) {
    std::uint64_t told = 0;
    for (const std::uint64_t n : outcome.causes) told += n;
    std::string text;
    for (std::size_t c = 0; c < tempo_cause_count; ++c) {
        const double part = told == 0 ? 0.0 : static_cast<double>(outcome.causes[c]) / static_cast<double>(told);
        if (part < 0.005) continue;
        if (!text.empty()) text += ", ";
        text.append(word(static_cast<TempoCause>(c))).append(" ").append(decimals(part, 2));
    }
    return text;
}

constexpr std::array<TempoMethod, 2> methods{TempoMethod::plain, TempoMethod::tight};

void print_false_tells(std::ostream& out, std::ostream& err, std::uint64_t drills, std::uint64_t seed) {
    out << "### False tells: share of drills of 39 intervals that were told\n\n"
        << "| athlete | plain | tight | plain, cut by attacks | tight, cut by attacks |\n"
        << "| --- | --- | --- | --- | --- |\n";
    for (const FamilyDescription& description : families()) {
        if (description.truth == Truth::timeable) continue;
        err << "  " << description.words << '\n';
        out << "| " << description.words << (description.truth == Truth::outside ? " (outside the null)" : "") << " |";
        for (const bool cut : {false, true})
            for (const TempoMethod method : methods)
                out << ' ' << share(run_family(description, {method, cut, false}, drills, seed).told_by(drill_length))
                    << " |";
        out << '\n';
    }
    err << "  adversary\n";
    out << "| adversary: the best-paid law of the null each time |";
    for (const TempoMethod method : methods)
        out << ' ' << share(run_adversary(method, drills, seed).told_by(drill_length)) << " |";
    out << " | |\n\n";
}

void print_power(std::ostream& out, std::ostream& err, std::uint64_t drills, std::uint64_t seed) {
    out << "### Power: share told by 8 / 12 / 16 / 24 entries\n\n"
        << "| athlete | plain | tight | plain, cut by attacks | tight, cut by attacks |\n"
        << "| --- | --- | --- | --- | --- |\n";
    std::string named =
        "### Named cause, share of tells by 24 entries\n\n| athlete | plain | tight |\n| --- | --- | --- |\n";
    for (const FamilyDescription& description : families()) {
        if (description.truth != Truth::timeable) continue;
        err << "  " << description.words << '\n';
        out << "| " << description.words << " |";
        named += "| " + std::string(description.words) + " |";
        for (const bool cut : {false, true})
            for (const TempoMethod method : methods) {
                const Outcome outcome = run_family(description, {method, cut, false}, drills, seed);
                out << ' ' << power(outcome) << " |";
                if (!cut) named.append(" ").append(causes(outcome)).append(" |");
            }
        out << '\n';
        named += '\n';
    }
    out << '\n' << named << '\n';
}

void print_known(std::ostream& out, std::ostream& err, std::uint64_t drills, std::uint64_t seed) {
    out << "### Known athletes: share told by 8 / 12 / 16 / 24 entries after three earlier sessions of 24 entries\n\n"
        << "Each day's pace differs by 6 % (one standard deviation of its logarithm).\n\n"
        << "| athlete | plain, known | tight, known |\n| --- | --- | --- |\n";
    for (const FamilyDescription& description : families()) {
        err << "  known: " << description.words << '\n';
        out << "| " << description.words << " |";
        for (const TempoMethod method : methods) {
            const Outcome outcome = run_family(description, {method, false, true}, drills, seed);
            if (description.truth == Truth::timeable)
                out << ' ' << power(outcome) << " |";
            else
                out << " told in 39: " << share(outcome.told_by(drill_length)) << " |";
        }
        out << '\n';
    }
    out << '\n';
}

}  // namespace

void print_table(std::ostream& out, std::ostream& err, std::uint64_t drills, std::uint64_t seed) {
    const std::uint64_t known_drills = std::max<std::uint64_t>(drills / 4, 10);
    const double worst = std::sqrt(0.25 / static_cast<double>(drills));
    out << drills << " drills of each family, seed " << seed << "; standard error at most " << decimals(worst, 4)
        << " (known athletes: " << known_drills
        << " drills).\nCut by attacks: at random waits of 1 s + Exp(mean 1.5 s) "
        << "from each entry, fixed beforehand.\n\n";
    err << "false tells\n";
    print_false_tells(out, err, drills, seed);
    out.flush();
    err << "power\n";
    print_power(out, err, drills, seed);
    out.flush();
    err << "known athletes\n";
    print_known(out, err, known_drills, seed);
}

}  // namespace breakstep::timeable
