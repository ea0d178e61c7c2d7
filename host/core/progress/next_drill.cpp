#include "core/progress/next_drill.hpp"
#include "core/trade/rules.hpp"

#include <algorithm>
#include <cmath>

namespace breakstep::progress {
namespace {

/// Two-sided 60 %: the normal law's quantile of .8 (R 4.2: qnorm(.8)).
constexpr double z_of_60 = 0.8416212335729143;

template <class Value>
bool fits(const std::optional<Value>& wanted, const Value& is) {
    return !wanted || *wanted == is;
}

bool counts(const NextRule& rule, Verdict verdict) {
    if (rule.verdicts.empty()) return verdict == Verdict::on_time || verdict == Verdict::around;
    return std::find(rule.verdicts.begin(), rule.verdicts.end(), verdict) != rule.verdicts.end();
}

/// Feints are asked for by kind alone: they have no moment and no counter of their own.
bool fits(const NextRule& rule, const Situation& situation) {
    const bool feint = situation.kind == AttackKind::feint;
    if (feint != (rule.kind == AttackKind::feint)) return false;
    if (rule.moment && situation.asks_several()) return false;
    return fits(rule.kind, situation.kind) && fits(rule.stance, situation.stance) &&
           fits(rule.start, situation.start) &&
           (feint || (fits(rule.moment, situation.moment) && fits(rule.counter, situation.counter)));
}

Share share_of(const AthleteTerm& term, const NextRule& rule, bool recent) {
    if (rule.answer) return term.answers[static_cast<std::size_t>(*rule.answer)];
    Share share;
    for (const auto& [situation, verdicts] : recent ? term.recent_situations : term.situations) {
        if (!fits(rule, situation)) continue;
        for (std::size_t i = 0; i < verdicts.size(); ++i) {
            share.of += verdicts[i];
            if (counts(rule, static_cast<Verdict>(i))) share.hits += verdicts[i];
        }
    }
    return share;
}

bool lies_beyond(const Share& share, const NextRule& rule) {
    if (share.of < rule.reps_min) return false;
    const auto interval = reading::wilson(share.hits, share.of, z_of_60);
    return (!rule.above || interval.low > *rule.above) && (!rule.below || interval.high < *rule.below);
}

std::string filled(std::string text, const Share& share) {
    const auto put = [&text](const std::string& name, const std::string& value) {
        for (auto at = text.find(name); at != std::string::npos; at = text.find(name, at + value.size()))
            text.replace(at, name.size(), value);
    };
    put("{share}", std::to_string(std::lround(100 * share.rate())) + " %");
    put("{count}", std::to_string(share.hits));
    put("{of}", std::to_string(share.of));
    return text;
}

std::string with(std::string text, const std::string& place, const std::string& value) {
    if (const auto at = text.find(place); at != std::string::npos) text.replace(at, place.size(), value);
    return text;
}

/// "half", "6 in 10", "45 in 100".
std::string mark_words(double mark) {
    const auto hundredths = std::lround(100 * mark);
    if (hundredths == 50) return "half";
    return hundredths % 10 == 0 ? std::to_string(hundredths / 10) + " in 10" : std::to_string(hundredths) + " in 100";
}

std::string count_of(std::uint64_t hits, std::uint64_t of) {
    return std::to_string(hits) + " of " + std::to_string(of);
}

constexpr const char* unsure = "; not sure yet: luck could look the same";

/// " (on time 17 of 28; the mark is half)"; nothing before the first counted rep. Who stands above the mark as printed
/// and has not passed is told why.
std::string so_far(const RungStanding& rung) {
    std::string said;
    if (rung.reps > 0) {
        said += word(rung.done);
        said += " " + count_of(rung.on_time, rung.reps);
        if (rung.meets_lately && rung.lately_reps < rung.reps)
            said += ", lately " + count_of(rung.lately_on_time, rung.lately_reps);
        said += "; the mark is " + mark_words(rung.mark);
        if (rung.attacks_unsure()) said += unsure;
    }
    if (rung.has_feints && rung.feints > 0) {
        said += said.empty() ? "held " : "; held ";
        said += count_of(rung.held, rung.feints) + " feints; the mark is " + mark_words(ladder::held_mark);
        if (rung.held_unsure()) said += unsure;
    }
    return said.empty() ? "" : " (" + said + ")";
}

std::string offer_of(const RungStanding& rung) {
    if (!rung.step_down) return "";
    std::string said = "rung " + std::to_string(rung.number);
    said += " is hard just now (";
    said += word(rung.done);
    said += " " + count_of(rung.on_time, rung.reps);
    return said + "): a few evenings on the rung below? What was passed stays passed";
}

/// Many evenings, neither passed nor hard: whether to go on is the coach's to say. Not of the highest rung.
std::optional<NextDrill::Undecided> undecided_on(const AthleteTerm& term, const RungStanding& rung) {
    if (rung.passed || rung.step_down || rung.evenings < evenings_undecided) return std::nullopt;
    const auto next = std::find_if(term.rungs.begin(), term.rungs.end(),
                                   [&](const RungStanding& other) { return other.number > rung.number; });
    if (next == term.rungs.end()) return std::nullopt;
    return NextDrill::Undecided{rung.number, next->number, rung.evenings};
}

const RungStanding* standing_on(const AthleteTerm& term, std::int32_t rung) {
    for (const RungStanding& one : term.rungs)
        if (one.number == rung) return &one;
    return nullptr;
}

/// Whoever has passed a higher rung, lately does what one asks, or was put on one by the coach, needs no lower one.
bool is_behind(const AthleteTerm& term, std::int32_t rung) {
    if (term.placed && term.placed->rung > rung) return true;
    return std::any_of(term.rungs.begin(), term.rungs.end(), [&](const RungStanding& one) {
        return (one.number >= rung && one.passed) || (one.number > rung && one.meets_lately);
    });
}

/// Told over all drills of the term, and not unlearned since: the last evenings still give them away.
bool can_be_timed(const AthleteTerm& term) {
    if (term.rhythm_wealth < tell_wealth) return false;
    return !term.hits_now.shown() || term.hits_now.timeable_interval().low > 0;
}

/// Null where the rule has nothing for an athlete of this age.
const std::string* drill_for(const NextRule& rule, std::int32_t age) {
    const auto suits = [age](std::int32_t from) { return age == 0 || age >= from; };
    if (suits(rule.from_age)) return &rule.drill;
    for (const NextRule::Instead& other : rule.instead)
        if (suits(other.from_age)) return &other.drill;
    return nullptr;
}

std::optional<NextDrill> chosen_by(const NextRule& rule, const AthleteTerm& term) {
    const std::string* drill = drill_for(rule, term.age);
    if (drill == nullptr) return std::nullopt;
    NextDrill next{*drill, "", rule.name, std::nullopt, "", "", std::nullopt};
    std::string counted;
    if (rule.juniors && !term.junior) return std::nullopt;
    if (rule.evenings_most) {
        const auto done = term.recent_drills.find(*drill);
        if (done != term.recent_drills.end() && done->second >= *rule.evenings_most) return std::nullopt;
    }
    if (rule.rung) {
        if (is_behind(term, *rule.rung)) return std::nullopt;
        if (const RungStanding* rung = standing_on(term, *rule.rung)) {
            if (rung->reps > 0) next.evidence = Share{rung->on_time, rung->reps};
            counted = so_far(*rung);
            next.offer = offer_of(*rung);
            next.undecided = undecided_on(term, *rung);
        }
    } else if (rule.needs_practice) {
        const Followed& claimed = term.claimed;
        const bool of_it = claimed.cell && fits(rule.moment, claimed.cell->moment);
        if (!of_it || claimed.claim.claim != Claim::worse) return std::nullopt;
    } else if (rule.can_be_timed) {
        if (!can_be_timed(term)) return std::nullopt;
    } else if (rule.fewer_than) {
        next.evidence = share_of(term, rule, false);
        if (next.evidence->of >= *rule.fewer_than) return std::nullopt;
    } else if (rule.above || rule.below) {
        next.evidence = share_of(term, rule, rule.recent);
        if (!lies_beyond(*next.evidence, rule)) return std::nullopt;
    }
    const std::string because = filled(rule.say, next.evidence.value_or(Share{}));
    next.because = with(because, "{so far}", counted);
    next.without_counts = with(because, "{so far}", "");
    return next;
}

}  // namespace

std::optional<NextDrill> next_drill(const AthleteTerm& term, std::span<const NextRule> rules) {
    for (const NextRule& rule : rules)
        if (auto next = chosen_by(rule, term)) return next;
    return std::nullopt;
}

}  // namespace breakstep::progress
