#include "hall/evening/evening_view.hpp"

#include <algorithm>
#include <tuple>

#include "hall/evening/evening_owner.hpp"

namespace breakstep {

using namespace evening;

namespace {

// Whole seconds: a view that says nothing new is not published.
Duration whole(Duration left) { return std::chrono::ceil<std::chrono::seconds>(std::max(left, Duration{})); }

// To the percent.
double done_of(Duration part, Duration whole_length) {
    if (whole_length <= Duration{}) return 1;
    const auto percent = std::clamp<std::int64_t>(100 * part / whole_length, 0, 100);
    return static_cast<double>(percent) / 100;
}

std::int32_t minutes_up(Duration wait) {
    return static_cast<std::int32_t>(std::chrono::ceil<std::chrono::minutes>(wait).count());
}

}  // namespace

bool EveningView::same(const EveningView& other) const {
    const auto all = [](const EveningView& view) {
        return std::tie(view.block, view.kind, view.block_left, view.evening_left, view.blocks, view.rig, view.at_rig,
                        view.next, view.task, view.follows, view.gates_to_move, view.summary, view.people, view.turns,
                        view.sets, view.reps, view.paused, view.rig_here, view.over, view.by_coach, view.said,
                        view.partner_cue, view.partner_next, view.signs, view.rig_now);
    };
    return all(*this) == all(other);
}

std::string EveningOwner::shown(AthleteId athlete) const {
    return athlete == AthleteId{} || !club_.call_sign ? std::string() : club_.call_sign(athlete);
}

void EveningOwner::add_task(EveningView& view) const {
    const Person* one = state_.find(state_.made_by.value_or(state_.at_rig));
    const auto session = sessions_.find(state_.session);
    if (one == nullptr || session == sessions_.end()) return;
    const SessionBegan& began = session->second;
    TaskSeen task;
    task.athlete = shown(one->athlete);
    task.drill = began.drill.title;
    task.sets = one->dose.sets;
    task.set = std::min(one->sets_done + 1, std::max(task.sets, 1));
    task.reps = began.drill.reps;
    const Conduct* conduct = core_.engine().conduct();
    const bool first = conduct == nullptr || conduct->scene().set == 0;
    task.silent = began.feedback == Feedback::silent_first && first;
    task.child = is_child(one->age);
    // Said to be the partner's set: then the one who was called is in the box.
    for (const Participant& each : began.participants)
        if (each.role == ParticipantRole::partner)
            task.partner = shown(each.athlete == one->athlete ? began.athlete : each.athlete);
    view.task = std::move(task);
}

// Who waits for whom: about a set and a change each, or longer where a rest is longer.
void EveningOwner::add_following(EveningView& view, HostTime now) const {
    constexpr std::size_t most = 8;
    Duration before = state_.rig == AtRig::nobody ? Duration{} : change_time;
    if (const Person* at = state_.find(state_.at_rig); at != nullptr && state_.rig != AtRig::nobody)
        before += at->dose.work;
    std::int32_t gates = state_.gates_for;
    if (const Person* at = state_.find(state_.at_rig)) gates = at->height_order;
    for (const evening::Following& each : following(state_, time(now))) {
        if (view.follows.size() == most) break;
        const Person* one = state_.find(each.athlete);
        FollowSeen follow{shown(each.athlete), minutes_up(std::max(before, each.rests)), ""};
        follow.gates = gates_for(*one, gates != 0 && one->height_order != gates);
        if (one->height_order != 0) gates = one->height_order;
        before = std::max(before, each.rests) + one->dose.work + change_time;
        view.follows.push_back(std::move(follow));
    }
    view.next = view.follows.empty() ? "" : view.follows.front().athlete;
    const Person* coming = state_.find(state_.at_rig);
    if (state_.rig == AtRig::called && coming != nullptr) {
        const std::int32_t order = coming->height_order;
        view.gates_to_move = gates_for(*coming, order != state_.gates_for);
    } else if (!view.follows.empty()) {
        view.gates_to_move = view.follows.front().gates;
    }
}

// What stands on top of every list: of the session at the rig alone it could be a rep of a set before.
EveningOwner::Newest EveningOwner::newest_rep() const {
    const std::lock_guard lock(reps_lock_);
    const auto told = std::find_if(reps_.rbegin(), reps_.rend(),
                                   [](const RepSeen& seen) { return !seen.first && !seen.result.catch_trial; });
    if (told == reps_.rend()) return {};
    const Score* score = core_.engine().score_of(told->session);
    if (score == nullptr) return {};
    const auto& reps = score->reps();
    const auto rep =
        std::find_if(reps.rbegin(), reps.rend(), [&](const RepResult& each) { return each.rep == told->result.rep; });
    return rep == reps.rend() ? Newest{} : Newest{told->session, &*rep};
}

void EveningOwner::add_summary(EveningView& view) const {
    if (!state_.last_set) return;
    const LastSet& last = *state_.last_set;
    SummarySeen summary;
    summary.athlete = shown(last.by);
    summary.session = last.session;
    if (const auto session = sessions_.find(last.session); session != sessions_.end())
        for (const Participant& each : session->second.participants)
            if (each.role == ParticipantRole::partner) summary.partner = shown(each.athlete);
    summary.set = last.set + 1;
    const Person* by = state_.find(last.by);
    summary.child = by != nullptr && is_child(by->age);
    const std::lock_guard lock(reps_lock_);
    std::map<RepId, const RepResult*> newest;
    for (const RepSeen& rep : reps_)
        if (rep.session == last.session && rep.result.set == last.set) newest[rep.result.rep] = &rep.result;
    for (const auto& [id, rep] : newest) {
        if (!rep->scored) continue;
        ++summary.scored;
        if (rep->verdict == Verdict::on_time || rep->verdict == Verdict::around) ++summary.on_time;
    }
    view.summary = std::move(summary);
}

EveningView EveningOwner::seen(HostTime now) const {
    EveningView view;
    const Block* block = state_.over ? nullptr : state_.current();
    Duration later{};
    for (std::size_t i = 0; i < state_.began.blocks.size(); ++i) {
        const Block& each = state_.began.blocks[i];
        const auto number = static_cast<std::int32_t>(i);
        const Duration gone = time(now) - state_.block_began;
        if (number > state_.block) later += each.length;
        const double done = number < state_.block || state_.over ? 1
                            : number > state_.block              ? 0
                                                                 : done_of(gone, each.length);
        view.blocks.push_back({each.title, each.kind, each.length, done});
    }
    if (block != nullptr) {
        view.block = block->title;
        view.kind = block->kind;
        view.block_left = whole(state_.block_began + block->length - time(now));
    }
    view.evening_left = state_.over ? Duration{} : view.block_left + whole(later);
    view.rig = state_.rig;
    view.at_rig = shown(state_.made_by.value_or(state_.at_rig));
    if (state_.rig == AtRig::called || state_.rig == AtRig::running) add_task(view);
    add_following(view, now);
    add_summary(view);
    add_partner_cue(view, now);
    add_partner_next(view);
    add_signs(view);
    view.rig_now = rig_now_.seen(core_.engine().link(), now);
    for (const Person& each : state_.people)
        view.people.push_back({each.athlete, shown(each.athlete),
                               club_.title ? club_.title(each.dose.drill) : each.dose.drill, each.sets_done,
                               each.dose.sets, each.here, each.sore, each.passed_over});
    view.turns = state_.turns;
    view.sets = state_.sets;
    {
        const std::lock_guard lock(reps_lock_);
        view.reps = static_cast<std::int32_t>(reps_.size());
    }
    view.paused = state_.paused;
    view.rig_here = state_.rig_here;
    view.over = state_.over;
    view.by_coach = state_.by_coach;
    view.said = said_;
    return view;
}

AthleteId EveningOwner::athlete_of(SessionId session) const {
    const auto known = sessions_.find(session);
    return known == sessions_.end() ? AthleteId{} : known->second.athlete;
}

void EveningOwner::keep_rep(SessionId session, const RepResult& rep, bool first) {
    asked_ = true;
    const std::lock_guard lock(reps_lock_);
    reps_.push_back({reps_.size() + 1, session, athlete_of(session), rep, first});
}

std::vector<RepSeen> EveningOwner::reps_since(std::uint64_t number) const {
    const std::lock_guard lock(reps_lock_);
    const auto from = std::min<std::size_t>(number, reps_.size());
    return {reps_.begin() + static_cast<std::ptrdiff_t>(from), reps_.end()};
}

std::shared_ptr<const EveningView> EveningOwner::view() const { return view_.load(); }

void EveningOwner::publish(HostTime now) {
    const std::shared_ptr<const EveningView> before = view_.load();
    EveningView view = seen(now);
    if (before->same(view)) return;
    view.number = before->number + 1;
    view_.store(std::make_shared<const EveningView>(std::move(view)));
    if (on_published) on_published(*view_.load());
}

}  // namespace breakstep
