#include "core/reading/drill_reading.hpp"

#include <algorithm>
#include <cmath>

#include "core/reading/law.hpp"
#include "core/reading/seconds.hpp"
#include "core/trade/rules.hpp"

namespace breakstep::reading {
namespace {

using Weights = std::array<double, stream_count>;
constexpr Weights plain_weights{0.30, 0.20, 0.10, 0.16, 0.06, 0.06, 0.06, 0.06};
constexpr Weights timed_weights{0.50, 0.33, 0.17, 0, 0, 0, 0, 0};
constexpr Weights read_weights{0, 0, 0, 0.30, 0.10, 0.20, 0.20, 0.20};
// Going after one retreat six times in ten is no fault; two signs only.
constexpr double retreat_bound = 0.60;

constexpr std::size_t index_of(Stream stream) { return static_cast<std::size_t>(stream); }

Duration median_of(std::array<Duration, 8> values, std::size_t count) {
    std::sort(values.begin(), values.begin() + static_cast<std::ptrdiff_t>(count));
    return count % 2 == 1 ? values[count / 2] : (values[count / 2 - 1] + values[count / 2]) / 2;
}

}  // namespace

DrillReading::DrillReading(DrillReadingSettings settings) : settings_(std::move(settings)) {
    const bool two_signs = settings_.method == ReadingMethod::two_signs;
    for (std::size_t c = 0; c < clock_count; ++c)
        if (settings_.clocks[c])
            clocks_[c].emplace(
                Clock{TempoTest(bet_of(settings_.method), settings_.known.clocks[c]), false, false, {}, {}});
    for (std::size_t c = 0; c < choices_.size(); ++c) {
        const auto stream = static_cast<Stream>(c + clock_count);
        const std::size_t symbols = settings_.labels[c].size();
        // T takes four symbols at most; depth by two signs is read by I, and free choices by the plain method by U.
        const bool by_habit = two_signs ? stream != Stream::depth : is_habit(stream);
        if (symbols < 2 || symbols > (by_habit ? 4 : symbols_max)) continue;
        choices_[c].emplace(symbols,
                            two_signs && stream == Stream::retreat ? std::optional(retreat_bound) : std::nullopt);
    }
    weigh(promises_[0], two_signs ? timed_weights : plain_weights);
    if (two_signs) weigh(promises_[1], read_weights);
}

bool DrillReading::has(std::size_t stream) const {
    return stream < clock_count ? clocks_[stream].has_value() : choices_[stream - clock_count].has_value();
}

void DrillReading::weigh(Promise& promise, const Weights& weights) const {
    double total = 0;
    for (std::size_t s = 0; s < stream_count; ++s) total += promise.weights[s] = has(s) ? weights[s] : 0.0;
    for (double& weight : promise.weights) weight = total > 0 ? weight / total : 0.0;
}

double DrillReading::weight(Stream stream) const {
    return std::max(promises_[0].weights[index_of(stream)], promises_[1].weights[index_of(stream)]);
}

const TempoTest* DrillReading::clock(Stream stream) const {
    return is_clock(stream) && clocks_[index_of(stream)] ? &clocks_[index_of(stream)]->test : nullptr;
}

const ChoiceTest* DrillReading::choice(Stream stream) const {
    return !is_clock(stream) && choices_[index_of(stream) - clock_count] ? &*choices_[index_of(stream) - clock_count]
                                                                         : nullptr;
}

double DrillReading::stream_wealth(std::size_t stream) const {
    if (!has(stream)) return 0.0;
    const auto kind = static_cast<Stream>(stream);
    if (is_clock(kind)) return clocks_[stream]->test.wealth();
    const ChoiceTest& test = *choices_[stream - clock_count];
    double logarithm = test.log_wealth_habit();
    if (settings_.method == ReadingMethod::plain && !is_habit(kind)) logarithm = test.log_wealth_free();
    if (settings_.method == ReadingMethod::two_signs && kind == Stream::depth) logarithm = test.log_pattern();
    return std::exp(std::min(logarithm, 690.0));
}

double DrillReading::wealth(SignKind kind) const {
    const Promise& promise = of(kind);
    double sum = 0;
    double weight = 0;
    for (std::size_t s = 0; s < stream_count; ++s) {
        sum += promise.weights[s] * stream_wealth(s);
        weight += promise.weights[s];
    }
    return weight > 0 ? sum : 1.0;
}

double DrillReading::needed(Stream stream) const {
    const double weight = promises_[0].weights[index_of(stream)];
    return (tell_wealth - (wealth() - weight * stream_wealth(index_of(stream)))) / weight;
}

Duration DrillReading::shortest_entry() const {
    const Duration least = duration_from(shortest_entry_seconds);
    if (in_count_ == 0) return least;
    const auto count = static_cast<std::size_t>(std::min<std::uint64_t>(in_count_, in_times_.size()));
    return std::max(least, settings_.shortest_out + median_of(in_times_, count));
}

const PlannedCue* DrillReading::next_cue(TargetTime after) const {
    const auto cue = std::find_if(planned_.begin(), planned_.end(), [&](const auto& c) { return c.onset > after; });
    return cue == planned_.end() ? nullptr : &*cue;
}

bool DrillReading::during_attack(TargetTime at) const {
    const auto holds = [&](const PlannedCue& cue) { return cue.onset <= at && at <= cue.end; };
    return std::any_of(planned_.begin(), planned_.end(), holds) ||
           std::any_of(unplanned_.begin(), unplanned_.end(), holds);
}

void DrillReading::forget_cues(TargetTime before) {
    std::erase_if(planned_, [&](const auto& cue) { return cue.end < before; });
    std::erase_if(unplanned_, [&](const auto& cue) { return cue.end < before; });
}

void DrillReading::leave_other_boot(TargetTime at) {
    bool other = entered_at_ && !entered_at_->same_boot(at);
    for (const auto& clock : clocks_) other = other || (clock && clock->open && !clock->began.same_boot(at));
    if (other) interrupted();
    std::erase_if(planned_, [&](const auto& cue) { return !cue.onset.same_boot(at); });
    std::erase_if(unplanned_, [&](const auto& cue) { return !cue.onset.same_boot(at); });
}

void DrillReading::plan(std::span<const PlannedCue> cues, TargetTime now) {
    leave_other_boot(now);
    std::array<std::optional<TargetTime>, clock_count> stood;
    for (std::size_t c = 0; c < clock_count; ++c)
        if (clocks_[c] && clocks_[c]->open)
            if (const PlannedCue* cue = next_cue(clocks_[c]->began)) stood[c] = cue->onset;

    std::erase_if(planned_, [&](const auto& cue) { return cue.onset >= now; });
    for (const PlannedCue& cue : cues)
        if (cue.onset.same_boot(now) && cue.end.same_boot(now)) planned_.push_back(cue);
    std::stable_sort(planned_.begin(), planned_.end(), [](const auto& a, const auto& b) { return a.onset < b.onset; });

    for (std::size_t c = 0; c < clock_count; ++c) {
        if (!clocks_[c] || !clocks_[c]->open) continue;
        const PlannedCue* cue = next_cue(clocks_[c]->began);
        const bool same = cue == nullptr ? !stood[c] : stood[c] && *stood[c] == cue->onset;
        if (!same) clocks_[c]->voided = true;
    }
}

void DrillReading::unplanned(TargetTime onset, TargetTime end) {
    leave_other_boot(onset);
    unplanned_.push_back({onset, end});
    for (auto& clock : clocks_)
        if (clock && clock->open && onset >= clock->began) clock->voided = true;
}

void DrillReading::coin(bool may_be_cued) { may_be_cued_ = may_be_cued; }

void DrillReading::begin(Stream stream, TargetTime at, Duration shortest) {
    auto& clock = clocks_[index_of(stream)];
    if (!clock) return;
    clock->open = true;
    clock->began = at;
    clock->voided = during_attack(at);
    clock->window = clock->test.predict(shortest, needed(stream)).window;
}

std::optional<IntervalOutcome> DrillReading::finish(Stream stream, TargetTime at, bool entered) {
    auto& clock = clocks_[index_of(stream)];
    if (!clock || !clock->open) return std::nullopt;
    clock->open = false;
    IntervalOutcome outcome;
    outcome.began = clock->began;
    outcome.length = at - clock->began;
    outcome.window = clock->window;
    const PlannedCue* cue = next_cue(clock->began);
    const bool attacked = cue != nullptr && cue->onset < at;
    const bool by_coin = settings_.coin && may_be_cued_;
    outcome.cut = attacked || !entered;
    if (attacked) outcome.length = cue->onset - clock->began;
    outcome.caught = !outcome.cut && outcome.window && outcome.window->holds(outcome.length);

    if (clock->voided || by_coin || outcome.length <= Duration{0}) {
        outcome.voided = true;
        // What a coin made void was still the athlete's own rhythm: centres may learn from it.
        const bool undisturbed = by_coin && !clock->voided && !outcome.cut && outcome.length > Duration{0};
        clock->test.nothing(undisturbed ? std::optional(outcome.length) : std::nullopt);
        return outcome;
    }
    const auto settled = outcome.cut ? clock->test.cut(outcome.length) : clock->test.entered(outcome.length);
    // A window counts only if the attack, fixed beforehand, leaves it whole.
    outcome.counted = settled && (cue == nullptr || settled->window.to < cue->onset - clock->began);
    if (outcome.counted && stream == Stream::entry) tally_.add(settled->hit, settled->chance);
    return outcome;
}

EntryRead DrillReading::entry(TargetTime at) {
    leave_other_boot(at);
    EntryRead read;
    read.interval = finish(Stream::entry, at, true);
    finish(Stream::out, at, true);
    // Leaving was not seen: nothing is known of the time inside.
    if (auto& in = clocks_[index_of(Stream::in)]; in && in->open) {
        in->open = false;
        in->test.nothing();
    }
    read.raised = judge(SignKind::timed);
    read.wealth = wealth();
    forget_cues(at);
    may_be_cued_ = true;
    entered_at_ = at;
    inside_ = true;
    begin(Stream::entry, at, shortest_entry());
    begin(Stream::in, at, duration_from(shortest_in_seconds));
    if (const auto& clock = clocks_[index_of(Stream::entry)]) read.next = clock->window;
    return read;
}

void DrillReading::left(TargetTime at) {
    leave_other_boot(at);
    if (!inside_ || !entered_at_ || at < *entered_at_) return;
    inside_ = false;
    in_times_[static_cast<std::size_t>(in_count_++ % in_times_.size())] = at - *entered_at_;
    finish(Stream::in, at, true);
    begin(Stream::out, at, settings_.shortest_out);
}

void DrillReading::chose(Stream stream, std::uint8_t symbol) {
    if (is_clock(stream)) return;
    auto& test = choices_[index_of(stream) - clock_count];
    if (test && symbol < test->symbols()) test->look(symbol);
}

std::optional<RaisedSign> DrillReading::went() {
    return settings_.method == ReadingMethod::two_signs ? judge(SignKind::read) : std::nullopt;
}

void DrillReading::set_ended(TargetTime at) {
    leave_other_boot(at);
    for (const Stream stream : {Stream::entry, Stream::out, Stream::in}) finish(stream, at, false);
    inside_ = false;
    entered_at_.reset();
}

void DrillReading::interrupted() {
    for (auto& clock : clocks_) {
        if (!clock || !clock->open) continue;
        clock->open = false;
        clock->test.nothing();
    }
    inside_ = false;
    entered_at_.reset();
}

std::optional<RaisedSign> DrillReading::judge(SignKind kind) {
    Promise& promise = promises_[static_cast<std::size_t>(kind)];
    const double reached = wealth(kind);
    const Sign now = reached >= tell_wealth ? Sign::tell : reached >= hunch_wealth ? Sign::hunch : Sign::none;
    if (now <= promise.sign) return std::nullopt;
    promise.sign = now;
    std::size_t largest = 0;
    for (std::size_t s = 1; s < stream_count; ++s)
        if (promise.weights[s] * stream_wealth(s) > promise.weights[largest] * stream_wealth(largest)) largest = s;
    promise.reason = reason_of(static_cast<Stream>(largest));
    return RaisedSign{kind, now, *promise.reason, reached};
}

Reason DrillReading::reason_of(Stream stream) const {
    const std::size_t index = index_of(stream);
    // What an old journal's sign was called stays.
    const BeatWords words =
        settings_.method == ReadingMethod::plain ? BeatWords::as_first_written : BeatWords::as_counted;
    if (is_clock(stream)) return tempo_reason(stream, clocks_[index]->test, words);
    return choice_reason(stream, *choices_[index - clock_count], settings_.labels[index - clock_count]);
}

std::vector<Duration> DrillReading::last_intervals(std::size_t count) const {
    std::vector<Duration> intervals;
    const auto& clock = clocks_[index_of(Stream::entry)];
    if (!clock) return intervals;
    const IntervalHistory& past = clock->test.history();
    for (std::size_t back = 1; back <= past.kept() && intervals.size() < count; ++back)
        if (past.observed(back)) intervals.push_back(duration_from(past.interval(back)));
    std::reverse(intervals.begin(), intervals.end());
    return intervals;
}

std::string to_text(const KnownRhythms& known) {
    if (known == KnownRhythms{}) return "";
    std::string text;
    for (std::size_t c = 0; c < clock_count; ++c) {
        if (c > 0) text += '|';
        text += to_text(known.clocks[c]);
    }
    return text;
}

Expected<KnownRhythms> known_rhythms_from(std::string_view text) {
    KnownRhythms known;
    if (text.empty()) return known;
    for (std::size_t c = 0; c < clock_count; ++c) {
        const std::size_t bar = c + 1 < clock_count ? text.find('|') : text.size();
        const auto clock = known_athlete_from(text.substr(0, bar));
        if (!clock) return tl::make_unexpected(clock.error());
        known.clocks[c] = *clock;
        text.remove_prefix(bar == std::string_view::npos || bar == text.size() ? text.size() : bar + 1);
    }
    return known;
}

}  // namespace breakstep::reading
