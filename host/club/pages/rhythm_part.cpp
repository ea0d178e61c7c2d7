#include "club/pages/rhythm_part.hpp"

#include <fmt/format.h>

#include <iterator>
#include <set>

namespace breakstep {
namespace {

using pages::AthletePage;
using pages::RhythmPeriod;
using progress::AthleteTerm;

constexpr std::size_t compared_evenings = 3;

/// The strip, where entries could be read, of the session of the period that had most windows.
Expected<RhythmPeriod> period_of(const Shelf& shelf, const std::string& title, const ShelvedSessions& sessions,
                                 const reading::HitCount& hits) {
    RhythmPeriod period;
    period.title = title;
    period.hits = hits;
    const ShelvedSession* fullest = nullptr;
    for (const ShelvedSession* session : sessions) {
        if (!session->hits) continue;
        const auto totals = shelf.totals(*session);
        if (!totals) return tl::make_unexpected(totals.error());
        ++period.drills;
        if (totals->sign > period.sign) {
            period.sign = totals->sign;
            period.raised = 0;
        }
        period.raised += totals->sign == period.sign ? 1 : 0;
        if (session->hits->scored > 0 && (fullest == nullptr || session->hits->scored > fullest->hits->scored))
            fullest = session;
    }
    if (fullest == nullptr) return period;
    auto strip = shelf.rhythm(*fullest);
    if (!strip) return tl::make_unexpected(strip.error());
    period.strip = std::move(*strip);
    return period;
}

}  // namespace

void keep_the_word(std::vector<RhythmPeriod>& periods) {
    for (RhythmPeriod& period : periods) {
        RhythmPeriod word;
        word.title = period.title;
        word.sign = period.sign;
        word.word_alone = true;
        period = std::move(word);
    }
}

Expected<void> add_rhythm(AthletePage& page, const Shelf& shelf, const ShelvedSessions& sessions,
                          const AthleteTerm& term) {
    std::set<std::int32_t> days;
    for (const ShelvedSession* session : sessions)
        if (session->hits) days.insert(session->day);
    if (term.hits.scored == 0) return {};
    const auto within = [&](std::int32_t first, std::int32_t last) {
        ShelvedSessions found;
        for (const ShelvedSession* session : sessions)
            if (session->day >= first && session->day <= last) found.push_back(session);
        return found;
    };
    const auto add = [&](const std::string& title, std::int32_t first, std::int32_t last,
                         const reading::HitCount& hits) -> Expected<void> {
        auto period = period_of(shelf, title, within(first, last), hits);
        if (!period) return tl::make_unexpected(period.error());
        page.rhythm.push_back(std::move(*period));
        return {};
    };
    if (days.size() < 2 * compared_evenings) return add("So far", *days.begin(), *days.rbegin(), term.hits);
    const auto first =
        add("First three evenings", *days.begin(), *std::next(days.begin(), compared_evenings - 1), term.hits_baseline);
    if (!first) return first;
    return add("Last three evenings", *std::prev(days.end(), compared_evenings), *days.rbegin(), term.hits_now);
}

Expected<void> add_read(AthletePage& page, const Shelf& shelf, const ShelvedSessions& sessions, bool child) {
    std::set<std::int32_t> evenings;
    int drills = 0, raised = 0;
    Sign sign = Sign::none;
    std::string reason;
    for (auto session = sessions.rbegin(); session != sessions.rend(); ++session) {
        const auto totals = shelf.totals(**session);
        if (!totals) return tl::make_unexpected(totals.error());
        // Nothing was bet where the drill leaves no choice.
        if (!totals->two_signs || totals->read_wealth == 1) continue;
        evenings.insert((*session)->day);
        if (evenings.size() > compared_evenings) break;
        ++drills;
        if (totals->read_sign > sign) {
            sign = totals->read_sign;
            reason = totals->read_reason;
            raised = 0;
        }
        raised += totals->read_sign == sign ? 1 : 0;
    }
    if (drills == 0) return {};
    const std::string plural = drills == 1 ? "drill" : "drills";
    page.read_words = sign == Sign::none
                          ? fmt::format("Can you be read? No sign in the last {} {} with a choice.", drills, plural)
                          : fmt::format("Can you be read? {}, in {} of {} {}{}.", sign == Sign::tell ? "Yes" : "Maybe",
                                        raised, drills, plural, child || reason.empty() ? "" : ": " + reason);
    return {};
}

}  // namespace breakstep
