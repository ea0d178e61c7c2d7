#include "cli/evening/evening_said.hpp"

#include <fmt/format.h>

#include <iostream>

#include "club/results/results.hpp"
#include "core/error.hpp"

namespace breakstep {

using namespace evening;

namespace {

std::string minutes_left(const EveningView& view) {
    const auto seconds = std::chrono::duration_cast<std::chrono::seconds>(view.block_left).count();
    return fmt::format("{}:{:02} left", seconds / 60, seconds % 60);
}

bool same_task(const std::optional<TaskSeen>& a, const std::optional<TaskSeen>& b) { return a == b; }

}  // namespace

void EveningSaid::say(const std::string& line) {
    if (terminal_ && !question_.empty()) std::cout << "\r\x1b[K";
    std::cout << line << '\n';
    if (terminal_ && !question_.empty()) std::cout << question_;
    std::cout << std::flush;
}

void EveningSaid::question(const std::string& line) {
    if (terminal_) {
        std::cout << "\r\x1b[K" << line << std::flush;
    } else if (!line.empty() && question_.empty()) {
        std::cout << line << std::endl;
    }
    question_ = line;
}

void EveningSaid::say_changes(const EveningView& view) {
    if (view.block != last_.block && !view.block.empty())
        say(fmt::format("\n{} ({})", shown_text(view.block), minutes_left(view)));
    if (view.rig_here != last_.rig_here && (view.number > 1 || !view.rig_here))
        say(view.rig_here ? "the rig is there" : "the rig does not answer");
    if (view.paused != last_.paused) say(view.paused ? "pause: g or p goes on" : "it goes on");
    if (view.rig == AtRig::called && view.task && (last_.rig != AtRig::called || !same_task(view.task, last_.task))) {
        const TaskSeen& task = *view.task;
        say(fmt::format("At the rig: {}: {}, set {} of {}, {} reps{}{}", shown_text(task.athlete), task.drill, task.set,
                        task.sets, task.reps, task.silent ? ", without words, every rep counts" : "",
                        view.next.empty() ? "" : fmt::format("; next {}", shown_text(view.next))));
        if (!view.gates_to_move.empty()) say("  " + shown_text(view.gates_to_move));
    }
    if (view.rig == AtRig::running && view.at_rig != last_.at_rig && last_.rig == AtRig::running)
        say(fmt::format("The set is {}'s", shown_text(view.at_rig)));
    if (view.sets > last_.sets && view.summary)
        say(fmt::format("{}: {} of {} on time", shown_text(view.summary->athlete), view.summary->on_time,
                        view.summary->scored));
    const bool free = view.rig == AtRig::nobody && (last_.rig != AtRig::nobody || last_.number == 0);
    if (free && view.kind == BlockKind::rounds && !view.over && !view.next.empty())
        say(fmt::format("Next: {}: a strike brings the task ({})", shown_text(view.next), minutes_left(view)));
    if (view.over && !last_.over) say("The evening is over.");
}

// Said again where it changed: a void, a late contact.
void EveningSaid::say_reps(const std::vector<RepSeen>& reps) {
    for (const RepSeen& rep : reps) {
        reps_seen_ = rep.number;
        if (rep.first) continue;  // a terminal says a rep once it is closed
        std::string line = rep_line(rep.result);
        std::string& known = rep_lines_[{rep.session, rep.result.rep}];
        if (known == line) continue;
        known = line;
        say(line);
    }
}

void EveningSaid::follow(const LiveEvening& evening) {
    const auto view = evening.view();
    if (view->number == last_.number) return;
    say_reps(evening.reps_since(reps_seen_));
    say_changes(*view);
    last_ = *view;
}

}  // namespace breakstep
