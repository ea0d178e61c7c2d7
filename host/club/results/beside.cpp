#include "club/results/beside.hpp"

#include <fmt/format.h>
#include <cmath>

#include <algorithm>

#include "core/reading/timeable_index.hpp"

namespace breakstep {
namespace {

/// Seconds to two places, and no "-0.00".
double hundredths(Duration time) { return std::round(static_cast<double>(time.count()) * 1e-7) / 100 + 0.0; }

bool is_good(const RepResult& rep) { return rep.verdict == Verdict::on_time || rep.verdict == Verdict::around; }

double seconds(Duration duration) { return static_cast<double>(duration.count()) / 1e9; }

void count(progress::Share& share, bool hit) {
    ++share.of;
    share.hits += hit ? 1 : 0;
}

// A call and what was seen: early, late and on time are called; a clash came too early, by whatever name.
Verdict callable(Verdict verdict) {
    switch (verdict) {
        case Verdict::on_time:
        case Verdict::around:
        case Verdict::wrong_pad:
            return Verdict::on_time;
        case Verdict::late:
            return Verdict::late;
        default:
            return Verdict::early;
    }
}

std::size_t place_of(Verdict called) { return called == Verdict::early ? 0 : called == Verdict::late ? 2 : 1; }

struct Mean {
    Duration sum{};
    std::int64_t of = 0;
    void add(Duration value) {
        sum += value;
        ++of;
    }
    [[nodiscard]] std::optional<Duration> value() const { return of == 0 ? std::nullopt : std::optional(sum / of); }
};

std::string of(const progress::Share& share) { return fmt::format("{} of {}", share.hits, share.of); }

std::string line(const char* head, const std::string& words) { return fmt::format("{:<16}{}", head, words); }

// Beyond luck, once there are calls enough.
std::string call_words(const BesideCounts& counts) {
    std::string said = of(counts.called_right) + " as it was seen";
    if (const auto beyond = progress::kappa(counts.calls))
        said += fmt::format("; luck alone {:.0f}; agreement beyond luck {:.2f} ({:.2f} to {:.2f})", beyond->by_chance,
                            beyond->kappa, beyond->low, beyond->high);
    else
        said += fmt::format("; {} calls say how much of that is luck", progress::fewest_for_kappa);
    return said;
}

}  // namespace

BesideCounts beside_counts(std::span<const RepResult> reps, bool first_or_after) {
    BesideCounts counts;
    Mean ahead, answer;
    for (const RepResult& rep : reps) {
        if (rep.verdict == Verdict::void_rep || rep.catch_trial) continue;
        if (rep.lure.played) {
            count(counts.followed, rep.lure.readable);
            count(counts.broken, rep.lure.readable && rep.lure.broken);
            if (rep.lure.readable && rep.lure.broken && rep.lure.ahead) ahead.add(*rep.lure.ahead);
        }
        if (rep.out_in_time) count(counts.out_in_time, *rep.out_in_time);
        if (rep.off_line) count(counts.off_line, *rep.off_line);
        if (rep.followed_up) count(counts.followed_up, *rep.followed_up);
        if (rep.at_edge == AtEdge::led && !was_feint(rep)) count(counts.edge, rep.rung_hit.value_or(false));
        if (rep.called) {
            const Verdict seen = callable(rep.verdict);
            count(counts.called_right, *rep.called == seen);
            ++counts.calls[place_of(*rep.called)][place_of(seen)];
        }
        if (!rep.scored) {
            // Room was asked for, and no strike.
            if (rep.rung_hit) count(counts.room, *rep.rung_hit);
            if (rep.rung_hit && rep.counts) count(counts.standard, *rep.rung_hit);
            continue;
        }
        // Who hunts waits for a step in that is expected: nothing drew it.
        const bool drawn = rep.drew_by != DrewBy::nothing && !rep.lure.played && rep.start != StartKind::hunted;
        if (drawn) {
            count(counts.drawn[rep.drew_by], is_good(rep));
            if (is_good(rep) && rep.draw_to_toe_off && rep.contact_from_onset)
                answer.add(*rep.draw_to_toe_off + *rep.contact_from_onset);
        }
        if (first_or_after) count(rep.asked.moment == Moment::lift ? counts.first : counts.after, is_good(rep));
        if (rep.window < 1) {
            counts.narrowest = std::min(counts.narrowest.value_or(1), rep.window);
            counts.last_window = rep.window;
        }
        if (rep.counts) count(counts.standard, rep.rung_hit.value_or(is_good(rep)));
    }
    counts.ahead = ahead.value();
    counts.draw_to_answer = answer.value();
    return counts;
}

std::vector<std::string> beside_lines(const BesideCounts& counts) {
    std::vector<std::string> lines;
    if (counts.followed.of > 0)
        lines.push_back(line(
            "beats",
            fmt::format("{} followed, {} broken{}", of(counts.followed), counts.broken.hits,
                        counts.ahead ? fmt::format(", {:.2f} s ahead", hundredths(*counts.ahead)) : std::string())));
    if (counts.room.of > 0) lines.push_back(line("in and out", of(counts.room)));
    if (counts.out_in_time.of > 0) lines.push_back(line("way out", of(counts.out_in_time) + " out in time"));
    if (counts.off_line.of > 0) lines.push_back(line("attack line", of(counts.off_line) + " off it at contact"));
    if (counts.followed_up.of > 0) lines.push_back(line("second strike", of(counts.followed_up)));
    if (counts.called_right.of > 0) lines.push_back(line("your call", call_words(counts)));
    for (const auto& [by, share] : counts.drawn)
        lines.push_back(line("drawn by", fmt::format("{}: on time {}", word(by), of(share))));
    if (counts.draw_to_answer)
        lines.push_back(
            line("answered", fmt::format("{:.2f} s after the act that drew it", seconds(*counts.draw_to_answer))));
    if (counts.first.of > 0 && counts.after.of > 0)
        lines.push_back(line("first or after", fmt::format("first {}, after {}", of(counts.first), of(counts.after))));
    if (counts.last_window)
        lines.push_back(line("level", fmt::format("{:.0f} % of the moment at the end, {:.0f} at the narrowest",
                                                  100 * *counts.last_window, 100 * *counts.narrowest)));
    return lines;
}

std::string beside_rep(const RepResult& rep) {
    std::string said;
    if (rep.lure.played) {
        said += rep.lure.readable ? ", beat followed" : ", no clear beat";
        if (rep.lure.ahead) said += fmt::format(", {:.2f} s ahead", hundredths(*rep.lure.ahead));
    }
    if (rep.out_in_time) said += *rep.out_in_time ? ", out in time" : ", stayed in reach";
    if (rep.off_line) said += *rep.off_line ? ", off the line" : ", on the line";
    if (rep.followed_up) said += *rep.followed_up ? ", second strike" : ", no second strike";
    if (rep.at_edge == AtEdge::elsewhere) said += ", not at the edge";
    if (rep.at_edge == AtEdge::crowded) said += ", at the edge, too close";
    if (rep.at_edge == AtEdge::unknown) said += ", at the edge, nobody knows from where";
    if (rep.at_edge == AtEdge::led)
        said += rep.edge_to_contact ? fmt::format(", {:.2f} s after the edge", seconds(*rep.edge_to_contact))
                                    : ", led to the edge";
    if (rep.called) said += fmt::format(", called {}", word(*rep.called));
    if (rep.window < 1) said += fmt::format(", level {:.0f} %", 100 * rep.window);
    return said;
}

}  // namespace breakstep
