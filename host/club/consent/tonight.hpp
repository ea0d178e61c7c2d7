// The evening's own file in use: opened for an athlete whose results may not be kept, ended with the evening, and
// cleared away by the first start after it.
//
// Main thread. Failures as the store's (store.hpp, tonight.hpp).
#pragma once

#include <cstdint>
#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "store/store.hpp"

namespace breakstep {

/// Whether a file in which something was last recorded at `recorded` is of an evening that is over: evenings end at
/// four in the morning by this computer's clock. A clock that was set back to another evening ends it too: what may not
/// be kept is rather lost than kept by a wrong clock.
[[nodiscard]] bool tonight_is_over(std::int64_t recorded_unix_seconds, std::int64_t now_unix_seconds);

/// At the start of whatever uses the store: an evening's file that is over goes. Gives what went, if anything did.
struct ClearedEvening {
    std::int32_t evening = 0;  ///< its day since 1970-01-01, as evening_of() says
    std::filesystem::path file;
};
[[nodiscard]] Expected<std::optional<ClearedEvening>> clear_evening_that_is_over(const std::filesystem::path& store);

/// Opens (makes) the evening's file of `store` for writing inline, with the athlete and the calibrations in it.
[[nodiscard]] Expected<std::unique_ptr<Store>> open_tonight(const Store& store, const Athlete& athlete);

/// The same for a whole evening: nobody is in it yet, but for who was before.
[[nodiscard]] Expected<std::unique_ptr<Store>> open_tonight(const Store& store, StoreOptions options);
/// The athlete as the evening's file knows them: by the call-sign, else put into it under `fresh`, so that what the
/// store keeps of the evening names nobody whose results are the evening's only.
[[nodiscard]] Expected<Athlete> under_tonights_id(Store& tonight, const Athlete& athlete, AthleteId fresh);

/// At the evening's end: removes what was the evening's only, and gives the names whose results that were; "" if
/// nobody's.
[[nodiscard]] Expected<std::string> remove_tonights_results(const std::filesystem::path& store);

/// Fails (bad_input) for an evening's file: nothing that stays is made from it.
[[nodiscard]] Expected<void> may_be_copied(const std::filesystem::path& store);

}  // namespace breakstep
