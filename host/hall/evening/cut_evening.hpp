// An evening whose program was cut off, read out of the store and made ready to go on: its own journal, its sessions
// that are to go on (each made to stand aside in its journal), those that had ended, and how far the rig's events are
// on the disk. Main thread, before the engine starts. Fails as reading the store does.
#pragma once

#include <optional>
#include <vector>

#include "core/evening/evening_events.hpp"
#include "link/link.hpp"
#include "store/store.hpp"

namespace breakstep {

struct CutEvening {
    std::vector<evening::EveningRecord> records;
    std::vector<std::vector<JournalRecord>> sessions;  ///< that stand aside
    /// What happened in sessions and the evening's journal does not tell yet: it is to be told in this order.
    std::vector<evening::EveningEvent> untold;
    std::optional<KnownRig> known;
};

/// `now` is what the records that are added say of when they were made.
[[nodiscard]] Expected<CutEvening> read_cut_evening(Store& store, EveningId evening, HostTime now);

}  // namespace breakstep
