// The journal's bytes. One visitor writes, one reads; both walk the events' fields().
#include "core/codec.hpp"
#include "core/events.hpp"

namespace breakstep {
namespace {

template <class Event>
constexpr bool is_unknown = std::same_as<Event, UnknownEvent>;

template <std::size_t Index = 0>
Expected<JournalEvent> decode_alternative(std::uint16_t kind, std::string_view bytes) {
    if constexpr (Index == std::variant_size_v<JournalEvent>) {
        return UnknownEvent{kind, std::string(bytes)};
    } else {
        using Event = std::variant_alternative_t<Index, JournalEvent>;
        if constexpr (!is_unknown<Event>) {
            if (kind == Event::kind) {
                Event event;
                ByteReader reader(bytes);
                event.fields(reader);
                if (!reader.good())
                    return failure(ErrorKind::damaged,
                                   "a journal event of kind " + std::to_string(kind) + " is damaged",
                                   "restore the store from a backup");
                return JournalEvent(std::move(event));
            }
        }
        return decode_alternative<Index + 1>(kind, bytes);
    }
}

}  // namespace

std::uint16_t kind_of(const JournalEvent& event) {
    return std::visit(
        [](const auto& known) -> std::uint16_t {
            if constexpr (is_unknown<std::remove_cvref_t<decltype(known)>>)
                return known.real_kind;
            else
                return known.kind;
        },
        event);
}

std::string_view name_of(const JournalEvent& event) {
    // In the order of JournalEvent's alternatives.
    static constexpr std::string_view names[] = {
        "unknown",     "session_began", "session_ended", "calibration_used", "rig_connected", "rig_lost",
        "events_lost", "pad_hit",       "gate_edge",     "sync_edge",        "lamps_set",     "lamps_refused",
        "clock_bound", "set_planned",   "set_ended",     "rep_opened",       "phase_began",   "rep_closed",
        "rep_voided",  "start_struck",  "interval_coin", "coach_input",      "cue_onset",     "nudge_shown"};
    static_assert(std::size(names) == std::variant_size_v<JournalEvent>);
    return names[event.index()];
}

void encode(const JournalEvent& event, std::string& out) {
    std::visit(
        [&out](const auto& known) {
            using Event = std::remove_cvref_t<decltype(known)>;
            if constexpr (is_unknown<Event>) {
                out.append(known.bytes);
            } else {
                ByteWriter writer(out);
                const_cast<Event&>(known).fields(writer);
            }
        },
        event);
}

Expected<JournalEvent> decode(std::uint16_t kind, std::string_view bytes) { return decode_alternative(kind, bytes); }

}  // namespace breakstep
