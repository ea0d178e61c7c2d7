#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"
#include "club/pages/page_of.hpp"
#include "club/pages/partner_words.hpp"
#include "report/drawing/verdict_words.hpp"

namespace breakstep {
namespace {

using pages::EveningRow;

std::string plural(std::uint64_t count, std::string_view one) {
    return fmt::format("{} {}{}", count, one, count == 1 ? "" : "s");
}

std::string name_of(const std::vector<Athlete>& athletes, const std::optional<AthleteId>& id) {
    if (!id) return "nobody";
    for (const Athlete& athlete : athletes)
        if (athlete.id == *id) return shown(athlete);
    return id_text(*id);
}

/// Sessions of nobody are nobody's to refuse.
const Athlete* athlete_of(const std::vector<Athlete>& athletes, const std::optional<AthleteId>& id) {
    for (const Athlete& athlete : athletes)
        if (id == athlete.id) return &athlete;
    return nullptr;
}

std::string how_it_ended(const std::optional<SessionEnd>& how) {
    if (!how) return "cut off, not ended";
    switch (*how) {
        case SessionEnd::finished:
            return "";
        case SessionEnd::cancelled:
            return "ended early";
        case SessionEnd::rig_gone:
            return "ended: the rig was gone";
        case SessionEnd::stopped:
            return "stopped";
        case SessionEnd::cannot_cue:
            return "ended: nothing could cue";
        case SessionEnd::no_partner_gates:
            return "ended: no gates for a partner's leg";
        case SessionEnd::no_edge_gates:
            return "ended: no partner's back mark";
    }
    return "";
}

/// Voids with their reasons, what was lost, how it ended: "2 void (the rig was away), 14 events lost, cut off".
std::string oddities(const std::vector<RepResult>& reps, const SessionTotals& totals,
                     const std::optional<SessionEnd>& how) {
    std::uint64_t voids = 0;
    std::set<std::string_view> reasons;
    for (const RepResult& rep : reps) {
        if (rep.verdict != Verdict::void_rep) continue;
        ++voids;
        reasons.insert(words_for(rep.void_reason));
    }
    std::vector<std::string> said;
    if (voids > 0) said.push_back(fmt::format("{} void ({})", voids, fmt::join(reasons, ", ")));
    if (totals.events_lost > 0)
        said.push_back(plural(static_cast<std::uint64_t>(totals.events_lost), "event") + " lost");
    if (totals.misplaced_events > 0)
        said.push_back(plural(static_cast<std::uint64_t>(totals.misplaced_events), "event") + " out of place");
    if (const std::string end = how_it_ended(how); !end.empty()) said.push_back(end);
    return fmt::format("{}", fmt::join(said, ", "));
}

/// What an evening's counts are kept apart by.
struct Counts {
    std::map<Moment, progress::Share> on_time;
    progress::Share held;  ///< feints

    void add(const RepResult& rep) {
        if (rep.scored)
            on_time[rep.asked.moment].count(rep.verdict == Verdict::on_time || rep.verdict == Verdict::around);
        const bool feint = rep.asked.kind == AttackKind::feint && !rep.catch_trial;
        if (feint && rep.verdict != Verdict::void_rep) held.count(rep.verdict == Verdict::held);
    }
};

/// A row for each moment that was asked: they are never pooled. What belongs to the whole drill stands in the first.
Expected<std::vector<EveningRow>> rows_of(const Shelf& shelf, const ShelvedSession& session, const std::string& name,
                                          Counts& evening) {
    const auto reps = shelf.reps(session);
    if (!reps) return tl::make_unexpected(reps.error());
    const auto totals = shelf.totals(session);
    if (!totals) return tl::make_unexpected(totals.error());
    Counts counts;
    std::map<Moment, std::uint64_t> clashes, scored;
    for (const RepResult& rep : *reps) {
        counts.add(rep);
        evening.add(rep);
        if (!rep.scored) continue;
        ++scored[rep.asked.moment];
        clashes[rep.asked.moment] += rep.verdict == Verdict::clash ? 1 : 0;
    }
    const auto drawn = static_cast<std::uint64_t>(
        std::count_if(reps->begin(), reps->end(), [](const RepResult& rep) { return !rep.catch_trial; }));
    std::vector<EveningRow> rows;
    if (counts.on_time.empty()) counts.on_time[Moment::drop];  // nothing scored: a row that says so
    for (const auto& [moment, on_time] : counts.on_time) {
        EveningRow& row = rows.emplace_back();
        row.call_sign = name;
        row.drill = shelf.title_of(session.summary.drill);
        row.at = clock_time(session.summary.began_unix_seconds);
        if (counts.on_time.size() > 1) row.at += fmt::format(", the {}", word(moment));
        row.reps = counts.on_time.size() > 1 ? scored[moment] : drawn;
        row.on_time = on_time;
        row.clashes = clashes[moment];
        if (rows.size() > 1) continue;
        row.held = counts.held;
        row.sign = session.hits && session.hits->scored > 0 ? std::string(word(totals->sign)) : "-";
        if (totals->read_sign != Sign::none)
            row.read = std::string(word(totals->read_sign)) + ", " + totals->read_reason;
        row.odd = oddities(*reps, *totals, session.summary.how);
    }
    return rows;
}

/// "on time: drop 62 of 96, gap 12 of 20; feints held 18 of 32".
std::string counts_words(const Counts& counts) {
    std::vector<std::string> moments;
    for (const auto& [moment, on_time] : counts.on_time)
        moments.push_back(fmt::format("{} {}", word(moment), pages::counts(on_time)));
    std::string words = moments.empty() ? "nothing scored" : fmt::format("on time: {}", fmt::join(moments, ", "));
    if (counts.held.of > 0) words += fmt::format("; feints held {}", pages::counts(counts.held));
    return words;
}

/// What a coach would have seen of one athlete, over all drills of the evening.
class Seen {
  public:
    void add(const std::vector<RepResult>& reps, const EveningRow& first) {
        for (const RepResult& rep : reps) {
            if (rep.verdict == Verdict::void_rep) continue;
            scored_ += rep.scored ? 1 : 0;
            clashes_ += rep.scored && rep.verdict == Verdict::clash ? 1 : 0;
            hits_ += rep.verdict == Verdict::got_hit ? 1 : 0;
            const bool feint = !rep.catch_trial && rep.asked.kind == AttackKind::feint;
            feints_ += feint ? 1 : 0;
            taken_ += feint && rep.verdict == Verdict::took_the_feint ? 1 : 0;
        }
        timed_ = timed_ || first.sign == "yes";
        // A maybe is one athlete's in eight by chance alone: among an evening's drills it does not stand out.
        if (read_.empty() && first.read.starts_with("yes")) read_ = first.read;
    }
    /// "can be timed; clashes in 6 of 16"; "" where nothing stood out. The marks are ours: a third of the attacks, half
    /// of the feints, three or more of each.
    [[nodiscard]] std::string words() const {
        constexpr int least = 3;
        std::vector<std::string> said;
        if (timed_) said.emplace_back("can be timed");
        if (!read_.empty()) said.push_back("can be read: " + read_);
        if (clashes_ >= least && 3 * clashes_ >= scored_) said.push_back(of("clashes in", clashes_, scored_));
        if (hits_ >= least) said.push_back(fmt::format("inside while the leg was up {} times", hits_));
        if (taken_ >= least && 2 * taken_ >= feints_) said.push_back(of("took", taken_, feints_) + " feints");
        return fmt::format("{}", fmt::join(said, "; "));
    }

  private:
    static std::string of(const char* what, int count, int all) { return fmt::format("{} {} of {}", what, count, all); }
    int scored_ = 0, clashes_ = 0, hits_ = 0, feints_ = 0, taken_ = 0;
    bool timed_ = false;
    std::string read_;
};

void add_next_week(pages::EveningPage& page, const Shelf& shelf, const NextRules& rules, const Term& term,
                   const std::vector<Athlete>& there) {
    for (const progress::AthleteTerm& one : term.terms) {
        const Athlete athlete = term.athlete(one);
        const bool was_there =
            std::any_of(there.begin(), there.end(), [&](const Athlete& other) { return other.id == athlete.id; });
        const auto next = progress::next_drill(one, rules.rules);
        if (!was_there || !next) continue;
        page.next_week.push_back(
            fmt::format("{}: {}; {}", isolated(shown(athlete)), shelf.title_of(next->drill), next->without_counts));
    }
}

/// How often a sign comes by chance, where one is on the page: who reads many drills finds some.
void add_chance(pages::EveningPage& page) {
    const bool some = std::any_of(page.rows.begin(), page.rows.end(), [](const EveningRow& row) {
        return row.sign == "maybe" || row.sign == "yes" || !row.read.empty();
    });
    if (some) page.stood_out.emplace_back("By chance alone 1 drill in 8 may say maybe, and 1 in 20 yes.");
}

std::string footer_for(const std::vector<EveningRow>& rows) {
    const bool bars = std::any_of(rows.begin(), rows.end(),
                                  [](const EveningRow& row) { return row.on_time.of >= pages::fewest_for_interval; });
    return fmt::format("Everyone is compared with themselves only.{}",
                       bars ? " Bars hold the true value 95 times in 100." : "");
}

}  // namespace

Expected<pages::EveningPage> evening_page_of(const Shelf& shelf, const Settings& settings,
                                             const std::vector<Athlete>& athletes, std::int32_t day,
                                             const NextRules* rules, const Term* term) {
    pages::EveningPage page;
    page.club = settings.club;
    page.date = full_date(day);
    const std::string today = today_here();
    std::vector<std::pair<std::string, const ShelvedSession*>> sessions;
    std::vector<Athlete> there;
    bool left_out = false;
    for (const ShelvedSession& session : shelf.sessions()) {
        if (session.day != day) continue;
        const Athlete* athlete = athlete_of(athletes, session.summary.athlete);
        if (athlete != nullptr && !may_keep(*athlete, today)) {
            left_out = true;
            continue;
        }
        sessions.emplace_back(name_of(athletes, session.summary.athlete), &session);
        const bool is_new = athlete != nullptr && std::none_of(there.begin(), there.end(), [&](const Athlete& other) {
                                return other.id == athlete->id;
                            });
        if (is_new) there.push_back(*athlete);
    }
    if (sessions.empty() && left_out)
        return failure(ErrorKind::not_found,
                       "nobody who trained on the evening of " + day_text(day) + " has given a consent that holds",
                       "`breakstep athletes list` says of each how it stands");
    if (sessions.empty())
        return failure(ErrorKind::not_found, "there is no session on the evening of " + day_text(day),
                       shelf.sessions().empty() ? "run a drill first"
                                                : "the last evening is " + day_text(shelf.sessions().back().day));
    std::stable_sort(sessions.begin(), sessions.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    std::set<std::string> names;
    Counts counts;
    std::uint64_t reps = 0;
    std::map<std::string, Seen> seen;
    std::vector<std::string> exchanges;
    for (const auto& [name, session] : sessions) {
        auto rows = rows_of(shelf, *session, name, counts);
        if (!rows) return tl::make_unexpected(rows.error());
        const auto known = shelf.reps(*session);
        if (!known) return tl::make_unexpected(known.error());
        seen[name].add(*known, rows->front());
        const auto said = exchange_of_session(shelf, *session, athletes, name);
        if (!said) return tl::make_unexpected(said.error());
        exchanges.insert(exchanges.end(), said->begin(), said->end());
        names.insert(name);
        for (EveningRow& row : *rows) {
            reps += row.reps;
            if (!row.odd.empty()) page.odd.push_back(fmt::format("{}, {}: {}", isolated(name), row.drill, row.odd));
            page.rows.push_back(std::move(row));
        }
    }
    for (const auto& [name, of_one] : seen)
        if (const std::string words = of_one.words(); !words.empty())
            page.stood_out.push_back(fmt::format("{}: {}", isolated(name), words));
    add_chance(page);
    page.footer = footer_for(page.rows);
    page.stood_out.insert(page.stood_out.end(), exchanges.begin(), exchanges.end());
    if (rules != nullptr && term != nullptr) add_next_week(page, shelf, *rules, *term, there);
    if (std::string ends = whose_consent_ends(there, today); !ends.empty()) page.odd.push_back(std::move(ends));
    page.summary = fmt::format("{}, {}, {}; {}.", plural(names.size(), "athlete"), plural(sessions.size(), "drill"),
                               plural(reps, "rep"), counts_words(counts));
    return page;
}

}  // namespace breakstep
