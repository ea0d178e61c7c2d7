#include "core/conduct/cut_session.hpp"

#include <algorithm>
#include <map>
#include <optional>

#include "core/journal/visiting.hpp"

namespace breakstep {
namespace {

// What conduct would say of itself, as far as the journal tells it.
struct Read {
    std::optional<SessionBegan> began;
    bool over = false, aside = false;
    SessionSuspended at;
    bool in_set = false;
    std::map<std::int32_t, RepOpened> open;

    void take(const JournalEvent& event);
};

void Read::take(const JournalEvent& event) {
    aside = std::holds_alternative<SessionSuspended>(event) || (aside && std::holds_alternative<RepVoided>(event));
    if (const auto* first = std::get_if<SessionBegan>(&event)) began = *first;
    if (const auto* suspended = std::get_if<SessionSuspended>(&event)) {
        at = *suspended;
        in_set = at.attempt > 0;
    }
    if (const auto* planned = std::get_if<SetPlanned>(&event)) {
        at.attempt = in_set && at.set == planned->set ? at.attempt + 1 : 1;
        at.set = planned->set;
        at.pace = planned->pace;
        in_set = true;
    }
    if (const auto* opened = std::get_if<RepOpened>(&event)) {
        at.next_rep = std::max(at.next_rep, static_cast<std::int32_t>(opened->rep) + 1);
        if (!opened->counts && !opened->catch_trial) at.window = opened->window;
        open.insert_or_assign(static_cast<std::int32_t>(opened->rep), *opened);
    }
    if (const auto* closed = std::get_if<RepClosed>(&event)) open.erase(static_cast<std::int32_t>(closed->rep));
    if (std::holds_alternative<CueSourceChanged>(event)) at.lamps_left = true;
    if (const auto* ended = std::get_if<SetEnded>(&event)) {
        at.set = ended->set + 1;
        at.attempt = 0;
        in_set = false;
    }
    over = over || std::holds_alternative<SessionEnded>(event);
}

}  // namespace

std::vector<JournalEvent> to_stand_aside(const std::vector<JournalRecord>& journal) {
    Read read;
    for (const JournalRecord& record : journal) read.take(record.event);
    if (!read.began || read.over || read.aside) return {};
    std::vector<JournalEvent> events;
    for (const auto& [number, opened] : read.open) {
        events.emplace_back(RepVoided{opened.rep, VoidReason::coach});
        events.emplace_back(RepClosed{opened.rep, opened.close});
    }
    // Draws since the last time it stood aside are not known: others follow, of a generator that never drew.
    if (read.at.random == RandomState{} || read.in_set)
        read.at.random = Random(read.began->seed, 0x61736964'0000'0000ULL + journal.size()).state();
    events.emplace_back(read.at);
    return events;
}

}  // namespace breakstep
