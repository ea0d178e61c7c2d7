#include "tools/subtitle_audit.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "club/results/subtitles.hpp"

namespace breakstep {
namespace {

/// The blow that fell nearest to then. Blows of two reps lie a second or more apart.
Duration nearest_to(const std::vector<PlantedStrike>& strikes, HostTime then) {
    Duration least = Duration::max();
    for (const PlantedStrike& strike : strikes) least = std::min(least, std::chrono::abs(strike.at - then));
    return least;
}

}  // namespace

Expected<SubtitleFigures> audit_subtitles(const Store& store, HostTime flash,
                                          const std::vector<PlantedStrike>& strikes) {
    const auto film = captions_of(store, "");
    if (!film) return tl::make_unexpected(film.error());
    std::map<SessionId, std::vector<RepResult>> reps;
    SubtitleFigures figures;
    for (const Caption& caption : film->captions) {
        auto known = reps.find(caption.session);
        if (known == reps.end()) {
            auto read = store.reps(caption.session);
            if (!read) return tl::make_unexpected(read.error());
            known = reps.emplace(caption.session, std::move(*read)).first;
        }
        const auto rep = std::find_if(known->second.begin(), known->second.end(),
                                      [&](const RepResult& each) { return each.rep == caption.rep; });
        // From a lean nothing was measured; a void rep may be another's.
        if (rep == known->second.end() || rep->catch_trial || !rep->contact_from_onset ||
            rep->verdict == Verdict::void_rep)
            continue;
        const Duration off = nearest_to(strikes, flash + caption.from + *rep->contact_from_onset);
        ++figures.reps;
        figures.worst_ms = std::max(figures.worst_ms, static_cast<double>(off.count()) / 1e6);
    }
    return figures;
}

}  // namespace breakstep
