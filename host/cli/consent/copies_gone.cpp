#include "cli/consent/copies_gone.hpp"

#include <filesystem>
#include <iostream>
#include <utility>
#include <vector>

#include "cli/session_setup.hpp"
#include "club/consent/consent_words.hpp"
#include "club/opponents/kept_copies.hpp"
#include "devices/simulated/athlete_profile.hpp"

namespace breakstep {

void forget_copies(const CommonOptions& options, const Settings& settings) {
    std::error_code ignored;
    if (kept_copies().empty()) return;
    std::vector<Athlete> known;
    if (std::filesystem::exists(store_path(options, settings), ignored)) {
        // What is wrong with it is said by whoever opens it next.
        if (const auto store = open_store(options, settings, StoreMode::read_only))
            if (auto athletes = (*store)->athletes()) known = std::move(*athletes);
    }
    const auto gone = delete_copies_without_consent(
        known, today_here(), [](const std::string& call_sign) { return find_athlete(call_sign).has_value(); });
    if (!gone) {
        (void)complain(gone.error());
        return;
    }
    for (const KeptCopy& copy : *gone)
        std::cerr << "deleted: the copy " << shown_text(copy.path.string()) << ", since its partner's yes has ended\n";
}

}  // namespace breakstep
