// The journal: everything that happened in a session, in order. `score` reads it and nothing else; the store keeps it.
//
// An event is a plain value whose fields() lists its members, for the codec, the tests and the pages. Times are integer
// nanoseconds. Names and call-signs never stand here: an athlete is a random id. A kind number is never used again for
// another meaning; a reader keeps kinds it does not know and skips them. A member that an event gains later goes into
// archive.added() with a default that means "not said" (codec.hpp). Pure values, any thread.
//
// The events themselves stand beside this: of the session, the rig, the drill and the partner.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <variant>

#include "core/error.hpp"
#include "core/journal/drill_events.hpp"
#include "core/journal/identities.hpp"
#include "core/journal/partner_events.hpp"
#include "core/journal/rig_events.hpp"
#include "core/journal/session_events.hpp"

namespace breakstep {

/// A kind this version does not know: kept as it was, skipped by score.
struct UnknownEvent {
    static constexpr std::uint16_t kind = 0;
    std::uint16_t real_kind = 0;
    std::string bytes;
};

using JournalEvent =
    std::variant<UnknownEvent, SessionBegan, SessionEnded, CalibrationUsed, VideoMark, RigConnected, RigLost,
                 EventsLost, PadHit, GateEdge, SyncEdge, LampsSet, LampsRefused, ClockBound, ClockRate, SetPlanned,
                 SetEnded, RepOpened, PhaseBegan, RepClosed, RepVoided, StartStruck, IntervalCoin, CoachInput, CueOnset,
                 NudgeShown, EventSkipped, CueSourceChanged, SessionSuspended, SessionResumed, ContactSettled,
                 LegExpected, PhaseSeen, PartnerCued, CoinThrown>;

/// One line of the journal. `position` counts from 0 in the session without holes; `recorded` is the host's time at
/// which it came in (for a rig event: the arrival), for people and for captures, never for scores.
struct JournalRecord {
    std::int64_t position = 0;
    HostTime recorded;
    JournalEvent event;
};

/// The number under which encode()'s bytes are kept: the event's kind, and that they are framed. Of an unknown event
/// its own.
[[nodiscard]] std::uint16_t kind_of(const JournalEvent& event);
/// Its name in snake_case: "pad_hit"; "unknown" for unknown ones.
[[nodiscard]] std::string_view name_of(const JournalEvent& event);

/// The event as bytes, framed (codec.hpp). The same event gives the same bytes on every machine. Appends to `out`.
void encode(const JournalEvent& event, std::string& out);
/// Reads framed bytes, and the flat ones of the first layout, by their number. Fails (damaged) if the bytes are too few
/// or too many or a value is outside its enumeration; members that a newer version added are skipped. An unknown kind
/// comes back as UnknownEvent.
[[nodiscard]] Expected<JournalEvent> decode(std::uint16_t kind, std::string_view bytes);

}  // namespace breakstep
