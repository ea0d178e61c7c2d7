#include "cli/consent/copies_gone.hpp"

#include <filesystem>
#include <iostream>

#include "cli/session_setup.hpp"
#include "club/consent/consent_words.hpp"
#include "club/opponents/kept_copies.hpp"

namespace breakstep {

void forget_copies(const CommonOptions& options, const Settings& settings) {
    std::error_code ignored;
    if (kept_copies().empty() || !std::filesystem::exists(store_path(options, settings), ignored)) return;
    const auto store = open_store(options, settings, StoreMode::read_only);
    if (!store) return;  // whoever opens it next says what is wrong with it
    const auto athletes = (*store)->athletes();
    if (!athletes) return;
    const auto gone = delete_copies_without_consent(*athletes, today_here());
    if (!gone) {
        (void)complain(gone.error());
        return;
    }
    for (const KeptCopy& copy : *gone)
        std::cerr << "deleted: the copy " << shown_text(copy.path.string()) << ", since its partner's yes has ended\n";
}

}  // namespace breakstep
