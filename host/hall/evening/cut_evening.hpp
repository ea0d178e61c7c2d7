// An evening whose program was cut off, read out of the stores and made ready to go on: its own journal, its sessions
// that are to go on (each made to stand aside in its journal), and how far the rig's events are on the disk. What the
// cut left half done is done: what happened in sessions and the evening's journal does not tell is told, and a set that
// another athlete made is moved. Main thread, before the engine starts. Fails as reading the stores does.
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "core/evening/evening_events.hpp"
#include "hall/evening/evening_stores.hpp"
#include "link/link.hpp"

namespace breakstep {

struct CutEvening {
    std::vector<evening::EveningRecord> records;
    std::vector<std::vector<JournalRecord>> sessions;  ///< that stand aside
    std::optional<KnownRig> known;
};

/// What the evening is told by whoever goes on with it.
struct GoingOn {
    EveningId evening{};
    evening::EveningTime at{};  ///< since it began, by the wall clock
    HostTime now;               ///< what the records that are added say of when they were made
    std::function<SessionId()> fresh_session;
    /// Lead side of an athlete, for a set that is moved; null: right.
    std::function<Side(AthleteId)> lead{};
};

[[nodiscard]] Expected<CutEvening> read_cut_evening(EveningStores& stores, const GoingOn& going);

}  // namespace breakstep
