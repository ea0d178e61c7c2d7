// athletes join: two rows that the coach says are one athlete.
#include <fmt/format.h>

#include <iostream>

#include "cli/athletes/shared.hpp"
#include "cli/session_setup.hpp"
#include "club/athletes/naming.hpp"
#include "club/opponents/kept_copies.hpp"

namespace breakstep {
namespace {

Expected<std::int64_t> sessions_of(const Store& store, AthleteId athlete) {
    const auto sessions = store.sessions();
    if (!sessions) return tl::make_unexpected(sessions.error());
    std::int64_t count = 0;
    for (const SessionSummary& session : *sessions) count += session.athlete == athlete ? 1 : 0;
    return count;
}

}  // namespace

int join_athletes(const KeepingOptions& options) {
    const StoreMode mode = options.yes ? StoreMode::inline_writes : StoreMode::read_only;
    return with_store_there(options.common, mode, [&](Store& store) {
        const auto kept = athlete_typed(store, options.call_sign);
        if (!kept) return complain(kept.error());
        const auto gone = athlete_typed(store, options.other);
        if (!gone) return complain(gone.error());
        if (kept->id == gone->id)
            return complain({ErrorKind::bad_input, "both names are of one athlete", "name the two that are to be one"});
        const auto count = sessions_of(store, gone->id);
        if (!count) return complain(count.error());
        const std::string said = fmt::format("{} ({}) with {} becomes {} ({})", shown(*gone), id_text(gone->id),
                                             count_of(*count, "session"), shown(*kept), id_text(kept->id));
        if (!options.yes)
            return complain({ErrorKind::bad_input, "so that " + said + ", for good",
                             "add --yes if the two are one athlete; nothing was changed"});
        const auto joined = store.join_athletes({gone->id, kept->id, unix_now() * 1000});
        if (!joined) return complain(joined.error(), exit_not_kept);
        // They bear the id that is gone, by which nobody would find them any more.
        const auto copies = delete_copies([&](const KeptCopy& copy) { return copy.partner == gone->id; });
        if (!copies) return complain(copies.error());
        for (const KeptCopy& copy : *copies)
            std::cerr << "deleted: the copy " << shown_text(copy.path.string())
                      << " of who is gone; make it anew: `breakstep opponents copy " << shell_word(shown(*kept))
                      << "`\n";
        if (!gone->consent_refused_on.empty() && kept->consent_refused_on.empty())
            std::cerr << shown_text(shown(*gone)) << " had said no on " << gone->consent_refused_on << ", and "
                      << shown_text(shown(*kept)) << "'s yes stands now: if the no holds, `breakstep athletes change "
                      << shell_word(shown(*kept)) << " --no-consent`\n";
        std::cout << said << "; other computers of the club learn it when they share or fetch\n";
        return static_cast<int>(exit_done);
    });
}

}  // namespace breakstep
