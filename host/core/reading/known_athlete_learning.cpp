// How earlier sessions become a KnownAthlete: the tempo test reads each of them as it was, the leading group gives the
// period, and the centres and spreads follow from the intervals.
#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/reading/known_athlete.hpp"
#include "core/reading/seconds.hpp"
#include "core/reading/tempo_test.hpp"
#include "core/trade/rules.hpp"

namespace breakstep::reading {
namespace {

using Logarithms = std::vector<double>;

constexpr std::size_t session_min = 8;

struct SessionRead {
    Logarithms logarithms;
    std::array<double, account_count> shares{};
    bool hinted = false;  // at least a hunch
};

SessionRead read_session(const std::vector<Duration>& intervals, Duration shortest) {
    SessionRead read;
    TempoTest test;
    double best = 0;
    for (const Duration interval : intervals) {
        test.predict(shortest);
        test.entered(interval);
        read.logarithms.push_back(std::log(seconds_from(interval)));
        best = std::max(best, test.wealth());
    }
    read.hinted = best >= hunch_wealth;
    double total = 0;
    for (std::size_t a = 0; a < account_count; ++a) total += test.shares()[a];
    for (std::size_t a = 0; a < account_count; ++a) read.shares[a] = total > 0 ? test.shares()[a] / total : 0.0;
    return read;
}

std::uint32_t period_of(const std::array<double, account_count>& shares) {
    const auto share = [&](Account account) { return shares[static_cast<std::size_t>(account)]; };
    const double one = share(Account::median) + share(Account::pace) + share(Account::mode);
    const std::array<double, 3> groups{one, share(Account::every_second), share(Account::every_third)};
    const auto most = std::max_element(groups.begin(), groups.end());
    return *most > share(Account::neighbours) ? static_cast<std::uint32_t>(most - groups.begin()) + 1 : 0;
}

double median_of(Logarithms values) {
    std::sort(values.begin(), values.end());
    const std::size_t middle = values.size() / 2;
    return values.size() % 2 == 1 ? values[middle] : 0.5 * (values[middle - 1] + values[middle]);
}

/// Mean of the fullest window of 30 %: where a favourite beat lies.
double densest(Logarithms values) {
    constexpr double width = 0.3;
    std::sort(values.begin(), values.end());
    std::size_t first = 0;
    std::size_t most = 0;
    for (std::size_t low = 0, high = 0; low < values.size(); ++low) {
        while (high < values.size() && values[high] <= values[low] + width) ++high;
        if (high - low > most) {
            most = high - low;
            first = low;
        }
    }
    double sum = 0;
    for (std::size_t i = first; i < first + most; ++i) sum += values[i];
    return sum / static_cast<double>(most);
}

std::array<double, KnownAthlete::period_max> centres_of(const Logarithms& session, std::size_t period) {
    std::array<double, KnownAthlete::period_max> centres{};
    if (period == 1) {
        centres[0] = densest(session);
        return centres;
    }
    for (std::size_t phase = 0; phase < period; ++phase) {
        Logarithms same;
        for (std::size_t i = phase; i < session.size(); i += period) same.push_back(session[i]);
        centres[phase] = median_of(same);
    }
    return centres;
}

/// Turns `centres` so that they lie nearest to `reference`: no session says in which phase it began.
std::size_t best_turn(const std::array<double, KnownAthlete::period_max>& centres,
                      const std::array<double, KnownAthlete::period_max>& reference, std::size_t period) {
    std::size_t best = 0;
    double least = 0;
    for (std::size_t turn = 0; turn < period; ++turn) {
        double distance = 0;
        for (std::size_t phase = 0; phase < period; ++phase)
            distance += std::abs(centres[(phase + turn) % period] - reference[phase]);
        if (turn == 0 || distance < least) {
            least = distance;
            best = turn;
        }
    }
    return best;
}

/// Splits the errors into those of a bell around the beat and those that lie anywhere (expectation and maximisation,
/// Dempster, Laird & Rubin 1977), starting as if a spread of 8 % had been seen four times, on the beat each time.
void fit_spread(KnownAthlete& known, const Logarithms& errors) {
    constexpr int rounds = 30;
    constexpr double off_beat_density = 0.5;
    known.spread = 0.15;
    known.on_beat = 0.8;
    for (int round = 0; round < rounds; ++round) {
        double squares = 4.0 * 0.08 * 0.08;
        double followed = 4.0;
        for (const double error : errors) {
            const double z = error / known.spread;
            const double on =
                known.on_beat * std::exp(-0.5 * z * z) / (known.spread * std::sqrt(2.0 * std::numbers::pi));
            const double belongs = on / (on + (1.0 - known.on_beat) * off_beat_density);
            squares += belongs * error * error;
            followed += belongs;
        }
        known.spread = std::sqrt(squares / followed);
        known.on_beat = followed / (static_cast<double>(errors.size()) + 4.0);
    }
}

void fit_law(KnownAthlete& known, const std::vector<SessionRead>& reads) {
    const std::size_t period = known.period;
    const auto sessions = static_cast<double>(reads.size());
    const auto reference = centres_of(reads.front().logarithms, period);
    std::vector<std::array<double, KnownAthlete::period_max>> turned;
    std::vector<std::size_t> turns;
    known.centres = {};
    for (const SessionRead& read : reads) {
        const auto centres = centres_of(read.logarithms, period);
        turns.push_back(best_turn(centres, reference, period));
        turned.emplace_back();
        for (std::size_t phase = 0; phase < period; ++phase) {
            turned.back()[phase] = centres[(phase + turns.back()) % period];
            known.centres[phase] += turned.back()[phase] / sessions;
        }
    }
    // The day's spread starts as if 6 % had been seen twice.
    double day_squares = 2.0 * 0.06 * 0.06;
    Logarithms errors;
    for (std::size_t s = 0; s < reads.size(); ++s) {
        double shift = 0;
        for (std::size_t phase = 0; phase < period; ++phase)
            shift += (turned[s][phase] - known.centres[phase]) / static_cast<double>(period);
        day_squares += shift * shift;
        for (std::size_t i = 0; i < reads[s].logarithms.size(); ++i) {
            // Phase j of the reference stands at j + turn here.
            const std::size_t phase = (i + period - turns[s] % period) % period;
            errors.push_back(reads[s].logarithms[i] - turned[s][phase]);
        }
    }
    known.day_spread = std::sqrt(day_squares / (2.0 + std::max(sessions - 1.0, 0.0)));
    fit_spread(known, errors);
}

}  // namespace

KnownAthlete learn_athlete(std::span<const std::vector<Duration>> sessions, Duration shortest) {
    KnownAthlete known;
    std::vector<SessionRead> reads;
    double hinted = 0;
    for (const auto& session : sessions) {
        if (session.size() < session_min) continue;
        reads.push_back(read_session(session, shortest));
        hinted += reads.back().hinted ? 1.0 : 0.0;
    }
    if (reads.empty()) return known;
    known.sessions = static_cast<std::uint32_t>(reads.size());
    for (const SessionRead& read : reads)
        for (std::size_t a = 0; a < account_count; ++a)
            known.shares[a] += read.shares[a] / static_cast<double>(reads.size());
    // A rhythm that was never told is not worth half of the wealth.
    known.trust = 0.5 * hinted / static_cast<double>(reads.size());
    known.period = known.trust > 0 ? period_of(known.shares) : 0;
    if (known.period == 0)
        known.trust = 0;
    else
        fit_law(known, reads);
    return known;
}

}  // namespace breakstep::reading
