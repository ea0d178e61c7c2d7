#include "core/reading/known_athlete.hpp"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "core/reading/law.hpp"

namespace breakstep::reading {

KnownLaw::KnownLaw(const KnownAthlete& known) : known_(known) {
    for (std::size_t start = 0; start < known_.period; ++start)
        hypotheses_[start] = {1.0 / static_cast<double>(known_.period), 0.0, known_.day_spread * known_.day_spread};
}

double KnownLaw::centre(std::size_t start) const {
    return known_.centres[(start + phase_) % known_.period] + hypotheses_[start].shift;
}

double KnownLaw::spread(const Hypothesis& hypothesis) const {
    return std::sqrt(known_.spread * known_.spread + hypothesis.shift_variance);
}

Bet KnownLaw::bet() const {
    if (known_.period == 0) return {};
    std::size_t likeliest = 0;
    for (std::size_t start = 1; start < known_.period; ++start)
        if (hypotheses_[start].weight > hypotheses_[likeliest].weight) likeliest = start;
    return {true, centre(likeliest), spread(hypotheses_[likeliest]), 0.97 * known_.on_beat};
}

double KnownLaw::density(double logarithm) const {
    double sum = 0;
    for (std::size_t start = 0; start < known_.period; ++start) {
        const double s = spread(hypotheses_[start]);
        sum += hypotheses_[start].weight * t9_density((logarithm - centre(start)) / s) / s;
    }
    return sum;
}

double KnownLaw::above(double logarithm) const {
    double sum = 0;
    for (std::size_t start = 0; start < known_.period; ++start)
        sum += hypotheses_[start].weight * t9_above((logarithm - centre(start)) / spread(hypotheses_[start]));
    return sum;
}

void KnownLaw::learn(double logarithm, bool observed) {
    if (known_.period == 0) return;
    constexpr double off_beat_density = 0.5;  // of intervals that follow no law: flat over about two units of ln D
    constexpr double slip = 0.02;             // how often a phase is lost between two intervals
    const double variance = known_.spread * known_.spread;
    double total = 0;
    for (std::size_t start = 0; observed && start < known_.period; ++start) {
        Hypothesis& hypothesis = hypotheses_[start];
        const double s = spread(hypothesis);
        const double error = logarithm - centre(start);
        const double on = known_.on_beat * t9_density(error / s) / s;
        const double off = (1.0 - known_.on_beat + 0.02) * off_beat_density;
        const double gain = on / (on + off) * hypothesis.shift_variance / (hypothesis.shift_variance + variance);
        hypothesis.shift += gain * error;
        hypothesis.shift_variance *= 1.0 - gain;
        hypothesis.weight *= on + off;
        total += hypothesis.weight;
    }
    for (std::size_t start = 0; observed && start < known_.period; ++start) {
        Hypothesis& hypothesis = hypotheses_[start];
        hypothesis.weight = (1.0 - slip) * hypothesis.weight / total + slip / static_cast<double>(known_.period);
    }
    phase_ = (phase_ + 1) % known_.period;
}

std::string to_text(const KnownAthlete& known) {
    if (known.sessions == 0) return "";
    std::string text = "rhythm 1 " + std::to_string(known.sessions) + " " + std::to_string(known.period);
    const auto add = [&text](double value) {
        std::array<char, 32> digits;
        const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), value);
        text.append(" ").append(digits.data(), end.ptr);
    };
    add(known.trust);
    for (const double centre : known.centres) add(centre);
    add(known.day_spread);
    add(known.spread);
    add(known.on_beat);
    for (const double share : known.shares) add(share);
    return text;
}

Expected<KnownAthlete> known_athlete_from(std::string_view text) {
    if (text.empty()) return KnownAthlete{};
    const auto damaged = [] {
        return failure(ErrorKind::damaged, "what earlier sessions taught about the athlete's rhythm can't be read",
                       "read it again from the earlier sessions, or start without it");
    };
    constexpr std::string_view head = "rhythm 1 ";
    if (!text.starts_with(head)) return damaged();
    const char* at = text.data() + head.size();
    const char* const end = text.data() + text.size();
    bool good = true;
    const auto read = [&](auto& value) {
        while (at != end && *at == ' ') ++at;
        const auto result = std::from_chars(at, end, value);
        good = good && result.ec == std::errc{};
        at = result.ptr;
    };
    const auto within = [&](double value, double low, double high) { good = good && value >= low && value <= high; };

    KnownAthlete known;
    read(known.sessions);
    read(known.period);
    read(known.trust);
    for (double& centre : known.centres) read(centre);
    read(known.day_spread);
    read(known.spread);
    read(known.on_beat);
    for (double& share : known.shares) read(share);
    within(known.trust, 0, 0.5);
    within(known.period, 0, KnownAthlete::period_max);
    for (const double centre : known.centres) within(centre, -20, 20);
    within(known.day_spread, 0, 2);
    within(known.spread, 0.005, 2);
    within(known.on_beat, 0, 1);
    for (const double share : known.shares) within(share, 0, 1);
    if (!good || at != end || known.sessions == 0) return damaged();
    return known;
}

}  // namespace breakstep::reading
