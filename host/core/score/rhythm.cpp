#include "core/score/rhythm.hpp"

#include <algorithm>
#include <string>

#include "core/score/zone_tracker.hpp"

namespace breakstep::scoring {
namespace {

using reading::Stream;

std::vector<std::string>& labels_of(reading::DrillReadingSettings& settings, Stream stream) {
    return settings.labels[static_cast<std::size_t>(stream) - reading::clock_count];
}

bool is_left(PadRole pad) { return pad == PadRole::high_left || pad == PadRole::low_left; }

// The pads that every attack of the drill allows alike, of those the rig has; none where the attacks differ, since then
// the drill chooses and not the athlete.
std::vector<PadRole> pads_offered(const Drill& drill, PadSet fitted) {
    std::vector<PadRole> offered;
    const auto same = [&](const AttackChoice& attack) { return attack.pads == drill.attacks.front().pads; };
    if (drill.attacks.empty() || !std::all_of(drill.attacks.begin(), drill.attacks.end(), same)) return offered;
    const PadSet asked = drill.attacks.front().pads;
    for (const PadRole pad : {PadRole::high_left, PadRole::high_right, PadRole::low_left, PadRole::low_right})
        if ((fitted & pad_bit(pad)) != 0 && (asked == 0 || (asked & pad_bit(pad)) != 0)) offered.push_back(pad);
    return offered;
}

reading::PlannedCue moment(TargetTime at) { return {at, at}; }

}  // namespace

// A name that this version does not know: the session is not read.
std::optional<reading::ReadingMethod> reading_method_of(const SessionBegan& session) {
    return reading::reading_method_from(session.reading_method);
}

bool Rhythm::scheduled() const { return !partner_ && (start_ == StartKind::random || start_ == StartKind::pattern); }

bool Rhythm::in_set(TargetTime at) const {
    return reading_ && set_begin_ && set_begin_->same_boot(at) && at >= *set_begin_;
}

void Rhythm::begin(const SessionBegan& session, GateSet gates, PadSet pads,
                   std::optional<reading::ReadingMethod> instead) {
    if (reading_) return;
    const auto method = instead ? instead : reading_method_of(session);
    if (!method) return;
    method_ = *method;
    const Drill& drill = session.drill;
    start_ = drill.start;
    partner_ = drill.partner.source == AttackSource::partner;
    wait_cap_ = drill.wait_cap;
    rules_ = session.rules;
    test_ = drill.test;

    reading::DrillReadingSettings settings;
    settings.method = method_;
    // Breaks of a mark under 250 ms apart are one pass: nobody is seen out and in again sooner. With 150 ms honest
    // athletes of a quick pace were told in .06 of hunted drills, instead of .005.
    if (method_ == reading::ReadingMethod::two_signs) settings.shortest_out = pass_window;
    const bool near = (gates & gate_bit(GateRole::near_mark)) != 0;
    // A beat that is set on purpose is no fault, and betrays nothing; nor is a pace that the drill asks to be kept
    // twice and then changed.
    const bool read_tempo = near && start_ != StartKind::lure && !drill.manners.names(DrewBy::change_of_pace);
    settings.clocks = {read_tempo, read_tempo, false};
    settings.coin = !scheduled();
    if (const auto known = reading::known_rhythms_from(session.prior)) settings.known = *known;
    offer_pads(drill, pads, settings);
    const bool leads = start_ == StartKind::drawn || start_ == StartKind::hunted;
    if (leads && (gates & gate_bit(GateRole::far_mark)) != 0) {
        labels_of(settings, Stream::retreat) = {"one retreat", "two retreats", "three or more"};
        if (method_ == reading::ReadingMethod::plain)
            labels_of(settings, Stream::retreat).insert(labels_of(settings, Stream::retreat).begin(), "no retreat");
        labels_of(settings, Stream::depth) = {"far mark unbroken", "over the far mark"};
        if ((gates & gate_bit(GateRole::back_mark)) != 0)
            labels_of(settings, Stream::depth).emplace_back("over the back mark");
    }
    reading_ = std::make_unique<reading::DrillReading>(std::move(settings));
}

void Rhythm::offer_pads(const Drill& drill, PadSet pads, reading::DrillReadingSettings& settings) {
    offered_ = pads_offered(drill, pads);
    const auto left = static_cast<std::size_t>(std::count_if(offered_.begin(), offered_.end(), is_left));
    const bool both_sides = left > 0 && 2 * left == offered_.size();
    if (both_sides) labels_of(settings, Stream::side) = {"left side", "right side"};
    const bool says_more = !both_sides || offered_.size() > 2;
    if (offered_.size() < 2 || !says_more) return;
    for (const PadRole pad : offered_) labels_of(settings, Stream::pad).push_back(std::string(word(pad)) + " pad");
}

void Rhythm::interrupted() {
    if (reading_) reading_->interrupted();
}

void Rhythm::plan(const SetPlanned& planned) {
    if (!reading_) return;
    set_ = planned.set;
    // Drawn again in the midst of a set: the set goes on, and so does what the athlete does in it.
    const bool goes_on = planned.redrawn && set_begin_ && set_begin_->same_boot(planned.begin);
    if (!goes_on) {
        set_begin_ = planned.begin;
        before_.emplace(Before{planned.set, *reading_, intervals_.size()});
    }
    if (!scheduled()) {
        plan_silence(planned.begin, planned.begin);
        return;
    }
    cues_.clear();
    TargetTime free_from = planned.begin;
    for (const PlannedRep& rep : planned.reps) {
        const bool catch_trial =
            rules_ >= 1 ? rep.catch_trial : rep.onset == free_from && rep.end - rep.onset == wait_cap_;
        free_from = rep.end;
        // A lean is the cue that the athlete sees; where it lies as well.
        if (rep.telegraphed)
            cues_.push_back({rep.lean, rep.end});
        else if (!catch_trial)
            cues_.push_back({rep.onset, rep.end});
    }
    reading_->plan(cues_, planned.begin);
}

void Rhythm::take_back(std::int32_t set) {
    if (!reading_ || !before_ || before_->set != set) return;
    *reading_ = std::move(before_->reading);
    intervals_.resize(std::min(intervals_.size(), before_->intervals));
    before_.reset();
    entry_sequence_.reset();
    retreats_in_a_row_ = 0;
    cues_.clear();
    reading_->interrupted();
}

// The moment from which the opponent may attack by itself, if nothing calls it before.
void Rhythm::plan_silence(TargetTime from, TargetTime now) {
    const bool silent = start_ == StartKind::tapped || start_ == StartKind::lure || start_ == StartKind::countered;
    if (partner_ || silent) return;
    cues_.assign(1, moment(from + longest_silence));
    reading_->plan(cues_, now);
}

void Rhythm::opened(const RepOpened& opened) {
    if (!reading_ || partner_ || scheduled() || opened.catch_trial) return;
    TargetTime end = opened.onset;
    for (const AttackPhase& phase : opened.phases) end = end + phase.length;
    if (opened.start == StartKind::random && start_ != StartKind::countered) {
        // By itself, after the silence that cuts: what is open is cut there already, and nothing begins in the attack.
        cues_.assign(1, {opened.onset, end});
        cues_.push_back(moment(opened.close + longest_silence));
        reading_->plan(cues_, opened.onset);
        return;
    }
    reading_->unplanned(opened.onset, end);
    // The next silence runs from this rep's close, known from now on.
    plan_silence(opened.close, opened.onset);
}

void Rhythm::closed(TargetTime end) { last_close_ = end; }

void Rhythm::set_ended(bool cancelled) {
    if (!reading_ || !set_begin_) return;
    const bool known = last_close_ && last_close_->same_boot(*set_begin_);
    // A set that ended as planned ended at its last close, fixed beforehand; a cancelled one whenever someone liked.
    if (cancelled || !known)
        reading_->interrupted();
    else
        reading_->set_ended(*last_close_);
    set_begin_.reset();
    entry_sequence_.reset();
}

void Rhythm::coin(const IntervalCoin& coin) {
    if (reading_ && entry_sequence_ == coin.entry) reading_->coin(coin.may_be_cued);
}

std::optional<reading::Window> Rhythm::entry(TargetTime at, std::uint16_t sequence, Results& out) {
    if (!in_set(at)) return std::nullopt;
    entry_sequence_ = sequence;
    const reading::EntryRead read = reading_->entry(at);
    if (read.interval) {
        const reading::IntervalOutcome& interval = *read.interval;
        IntervalRead ended;
        ended.set = set_;
        ended.began = interval.began;
        ended.length = interval.length;
        ended.cut = interval.cut;
        ended.voided = interval.voided;
        ended.caught = interval.caught;
        ended.counted = interval.counted;
        if (interval.window) {
            ended.window_begin = interval.window->from;
            ended.window_end = interval.window->to;
        }
        intervals_.push_back(ended);
        out.emplace_back(ended);
    }
    raise(read.raised, at, out);
    return read.next;
}

void Rhythm::raise(const std::optional<reading::RaisedSign>& raised, TargetTime at, Results& out) const {
    // A test shows nothing that could change what it measures; its totals say what was read.
    if (!raised || test_) return;
    SignRaised sign{raised->sign, at, raised->reason.cause, raised->reason.nudge, raised->wealth, {}, raised->kind};
    if (sign.kind == SignKind::timed) sign.last_intervals = reading_->last_intervals(6);
    out.emplace_back(std::move(sign));
}

void Rhythm::left(TargetTime at) {
    if (in_set(at)) reading_->left(at);
}

void Rhythm::answered(const RepResult& result, std::uint8_t depth, TargetTime at, Results& out) {
    if (!reading_) return;
    if (!result.contacted) {
        if (result.retreated && retreats_in_a_row_ < 3) ++retreats_in_a_row_;
        reading_->chose(Stream::depth, depth);
        return;
    }
    // The first symbol is none by the plain method and one by two signs.
    const std::uint8_t first = method_ == reading::ReadingMethod::plain ? 0 : 1;
    if (retreats_in_a_row_ >= first)
        reading_->chose(Stream::retreat, static_cast<std::uint8_t>(retreats_in_a_row_ - first));
    retreats_in_a_row_ = 0;
    const auto symbol = std::find(offered_.begin(), offered_.end(), result.pad.value_or(PadRole::high_left));
    if (result.pad && symbol != offered_.end()) {
        reading_->chose(Stream::side, is_left(*result.pad) ? 0 : 1);
        reading_->chose(Stream::pad, static_cast<std::uint8_t>(symbol - offered_.begin()));
    }
    raise(reading_->went(), at, out);
}

void Rhythm::add_to(SessionTotals& totals) const {
    if (!reading_) return;
    const reading::HitCount count = reading_->count();
    totals.windows = static_cast<std::int32_t>(count.scored);
    totals.caught = static_cast<std::int32_t>(count.hits);
    totals.caught_by_chance = count.chance;
    if (count.shown()) {
        const reading::Interval95 interval = count.timeable_interval();
        totals.timeable = count.timeable();
        totals.timeable_low = interval.low;
        totals.timeable_high = interval.high;
    }
    totals.wealth = reading_->wealth(SignKind::timed);
    totals.sign = reading_->sign(SignKind::timed);
    if (const auto& reason = reading_->reason(SignKind::timed)) totals.sign_reason = reason->words;
    totals.two_signs = method_ == reading::ReadingMethod::two_signs;
    totals.read_wealth = reading_->wealth(SignKind::read);
    totals.read_sign = reading_->sign(SignKind::read);
    if (const auto& reason = reading_->reason(SignKind::read)) totals.read_reason = reason->words;
}

}  // namespace breakstep::scoring
