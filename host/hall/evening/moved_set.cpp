#include "hall/evening/moved_set.hpp"

namespace breakstep {
namespace {

bool is_own(const JournalEvent& event) {
    return std::holds_alternative<SessionBegan>(event) || std::holds_alternative<SessionEnded>(event) ||
           std::holds_alternative<SessionResumed>(event) || std::holds_alternative<SessionSuspended>(event);
}

bool begins(const JournalEvent& event) {
    return std::holds_alternative<SessionBegan>(event) || std::holds_alternative<SessionResumed>(event);
}

}  // namespace

std::span<const JournalRecord> last_stretch(std::span<const JournalRecord> journal) {
    std::span<const JournalRecord> found;
    std::size_t first = 0;
    bool inside = false, set_began = false;
    for (std::size_t i = 0; i < journal.size(); ++i) {
        const JournalEvent& event = journal[i].event;
        if (begins(event)) {
            first = i;
            inside = true;
            set_began = false;
        }
        set_began = set_began || (inside && std::holds_alternative<StartStruck>(event));
        if (inside && set_began) found = journal.subspan(first, i + 1 - first);
        if (std::holds_alternative<SessionSuspended>(event) || std::holds_alternative<SessionEnded>(event))
            inside = false;
    }
    return found;
}

std::vector<JournalRecord> moved_session(const SessionBegan& began, std::span<const JournalRecord> stretch) {
    std::vector<JournalRecord> moved;
    const auto add = [&moved](HostTime recorded, JournalEvent event) {
        moved.push_back({static_cast<std::int64_t>(moved.size()), recorded, std::move(event)});
    };
    if (stretch.empty()) return moved;
    // What was struck before the set began is nobody's set: it stays where it is.
    const StartStruck* struck = nullptr;
    for (const JournalRecord& entry : stretch)
        if (const auto* found = std::get_if<StartStruck>(&entry.event)) struck = found;
    const auto is_before = [struck](const JournalEvent& event) {
        const auto* hit = std::get_if<PadHit>(&event);
        return hit != nullptr && struck != nullptr && (!hit->at.same_boot(struck->at) || hit->at < struck->at);
    };
    add(stretch.front().recorded, began);
    for (const JournalRecord& entry : stretch)
        if (!is_own(entry.event) && !is_before(entry.event)) add(entry.recorded, entry.event);
    add(stretch.back().recorded, SessionEnded{SessionEnd::finished});
    return moved;
}

std::vector<Participant> participants_after(const SessionBegan& before, AthleteId to, Side lead) {
    std::vector<Participant> after;
    if (before.participants.empty()) return after;
    after.push_back({ParticipantRole::athlete, to, lead});
    for (Participant each : before.participants) {
        if (each.role != ParticipantRole::partner) continue;
        if (each.athlete == to) {
            each.athlete = before.athlete;
            each.lead = before.athlete_lead;
        }
        after.push_back(each);
    }
    return after;
}

std::vector<RepId> reps_in(std::span<const JournalRecord> stretch) {
    std::vector<RepId> reps;
    for (const JournalRecord& entry : stretch)
        if (const auto* opened = std::get_if<RepOpened>(&entry.event)) reps.push_back(opened->rep);
    return reps;
}

}  // namespace breakstep
