// The journal's bytes. One visitor writes, one reads; both walk the events' fields().
#include "core/journal/codec.hpp"
#include "core/journal/events.hpp"

namespace breakstep {
namespace {

template <class Event>
constexpr bool is_unknown = std::same_as<Event, UnknownEvent>;

// Framed bytes stand under the event's kind number and this; flat ones under the kind number alone.
constexpr std::uint16_t framed_kinds = 256;

template <std::size_t Index = 0>
Expected<JournalEvent> decode_alternative(std::uint16_t kind, Layout layout, std::uint16_t number,
                                          std::string_view bytes) {
    if constexpr (Index == std::variant_size_v<JournalEvent>) {
        return UnknownEvent{number, std::string(bytes)};
    } else {
        using Event = std::variant_alternative_t<Index, JournalEvent>;
        if constexpr (!is_unknown<Event>) {
            if (kind == Event::kind) {
                Event event;
                ByteReader reader(bytes, layout);
                reader(event);
                if (!reader.good() || (layout == Layout::framed && !reader.at_end()))
                    return failure(ErrorKind::damaged,
                                   "a journal event of kind " + std::to_string(kind) + " is damaged",
                                   "restore the store from a backup");
                return JournalEvent(std::move(event));
            }
        }
        return decode_alternative<Index + 1>(kind, layout, number, bytes);
    }
}

}  // namespace

std::uint16_t kind_of(const JournalEvent& event) {
    return std::visit(
        [](const auto& known) -> std::uint16_t {
            if constexpr (is_unknown<std::remove_cvref_t<decltype(known)>>)
                return known.real_kind;
            else
                return framed_kinds + known.kind;
        },
        event);
}

std::string_view name_of(const JournalEvent& event) {
    // In the order of JournalEvent's alternatives.
    static constexpr std::string_view names[] = {
        "unknown",        "session_began", "session_ended",      "calibration_used",  "video_mark",
        "rig_connected",  "rig_lost",      "events_lost",        "pad_hit",           "gate_edge",
        "sync_edge",      "lamps_set",     "lamps_refused",      "clock_bound",       "clock_rate",
        "set_planned",    "set_ended",     "rep_opened",         "phase_began",       "rep_closed",
        "rep_voided",     "start_struck",  "interval_coin",      "coach_input",       "cue_onset",
        "nudge_shown",    "event_skipped", "cue_source_changed", "session_suspended", "session_resumed",
        "contact_settled", "leg_expected",  "phase_seen",         "partner_cued",      "coin_thrown"};
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
                writer(known);
            }
        },
        event);
}

Expected<JournalEvent> decode(std::uint16_t kind, std::string_view bytes) {
    if (kind >= framed_kinds)
        return decode_alternative(static_cast<std::uint16_t>(kind - framed_kinds), Layout::framed, kind, bytes);
    return decode_alternative(kind, Layout::flat, kind, bytes);
}

}  // namespace breakstep
