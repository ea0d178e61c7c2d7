#include <algorithm>
#include <cctype>
#include <chrono>
#include <initializer_list>
#include <limits>
#include <string_view>

#include <fmt/format.h>

#include "club/athletes/naming.hpp"
#include "club/consent/consent_words.hpp"
#include "club/pages/countering_words.hpp"
#include "club/pages/page_of.hpp"
#include "club/pages/partner_words.hpp"
#include "club/pages/rhythm_part.hpp"
#include "club/term/gain_words.hpp"
#include "club/term/sentences.hpp"
#include "core/evening/dose.hpp"
#include "core/iso_date.hpp"
#include "core/trade/junior.hpp"
#include "report/drawing/strips_of_score.hpp"

namespace breakstep {
namespace {

using pages::AthletePage;
using pages::TestStrip;
using progress::AthleteTerm;

using Sessions = ShelvedSessions;

/// What these words join stays on one line: "7 times in 10".
std::string kept_together(std::string text, std::initializer_list<std::string_view> joining) {
    for (const std::string_view words : joining)
        for (std::size_t at = text.find(words); at != std::string::npos; at = text.find(words, at + 1)) {
            std::string joined(words);
            for (std::size_t space = joined.find(' '); space != std::string::npos; space = joined.find(' ', space + 1))
                joined.replace(space, 1, "\u00a0");
            text.replace(at, words.size(), joined);
        }
    return text;
}

bool asks(const std::vector<RepResult>& reps, const ShelvedSession& session, const progress::Cell& cell) {
    return session.summary.stance == cell.stance && std::any_of(reps.begin(), reps.end(), [&](const RepResult& rep) {
               return rep.scored && rep.asked.moment == cell.moment && rep.asked.moments == cell.moments &&
                      rep.asked.counter == cell.counter;
           });
}

struct ReadTest {
    const ShelvedSession* session;
    std::vector<RepResult> reps;
};

/// The sessions of one test drill: the one that asks for what is claimed, else the one run most often.
Expected<Sessions> tests_of_one_drill(const Shelf& shelf, const Sessions& sessions, const AthleteTerm& term) {
    std::map<std::string, Sessions> by_drill;
    for (const ShelvedSession* session : sessions)
        if (session->summary.test && session->summary.reps > 0) by_drill[session->summary.drill].push_back(session);
    const Sessions* most = nullptr;
    for (const auto& [drill, runs] : by_drill) {
        if (term.claimed.cell) {
            const auto reps = shelf.reps(*runs.front());
            if (!reps) return tl::make_unexpected(reps.error());
            if (asks(*reps, *runs.front(), *term.claimed.cell)) return runs;
        }
        if (most == nullptr || runs.size() > most->size()) most = &runs;
    }
    return most == nullptr ? Sessions{} : *most;
}

TestStrip strip_of(const std::string& title, const std::vector<RepResult>& reps) {
    TestStrip strip;
    strip.title = title;
    for (const RepResult& rep : reps) {
        if (rep.catch_trial) continue;  // nothing came: no rep that anybody counts
        strip.reps.push_back(strip_rep(rep));
        if (rep.scored) strip.on_time.count(rep.verdict == Verdict::on_time || rep.verdict == Verdict::around);
        const bool feint = rep.asked.kind == AttackKind::feint;
        if (feint && rep.verdict != Verdict::void_rep) strip.held.count(rep.verdict == Verdict::held);
    }
    return strip;
}

/// The first run from this end with enough scored reps to be worth looking at, else the first with any.
Expected<std::optional<ReadTest>> first_worth_a_look(const Shelf& shelf, const Sessions& runs) {
    constexpr std::ptrdiff_t enough = 8;
    std::optional<ReadTest> any;
    for (const ShelvedSession* run : runs) {
        auto reps = shelf.reps(*run);
        if (!reps) return tl::make_unexpected(reps.error());
        const auto scored = std::count_if(reps->begin(), reps->end(), [](const RepResult& rep) { return rep.scored; });
        if (scored >= enough) return ReadTest{run, std::move(*reps)};
        if (!any && !reps->empty()) any = ReadTest{run, std::move(*reps)};
    }
    return any;
}

/// The claimed cell's evenings: what the plot shows.
const progress::CellTerm* claimed_cell(const AthleteTerm& term) {
    for (const progress::CellTerm& one : term.cells)
        if (term.claimed.cell && one.cell == *term.claimed.cell) return &one;
    return nullptr;
}

/// The runs of the first (last) evening that the plot has a dot of; all of them where it has none.
Sessions runs_of_evening(const Sessions& runs, const AthleteTerm& term, bool first) {
    const auto& values = term.claimed.values;
    if (!term.claimed.cell || values.empty()) return runs;
    const auto day = static_cast<std::int32_t>((first ? values.front() : values.back()).day);
    Sessions found;
    for (const ShelvedSession* run : runs)
        if (run->day == day) found.push_back(run);
    return found.empty() ? runs : found;
}

/// A test beside its dot in the plot: the evening's own count, where there is one.
TestStrip strip_of_evening(const std::string& which, const ReadTest& test, const AthleteTerm& term) {
    TestStrip strip = strip_of(which + ", " + day_words(test.session->day), test.reps);
    const progress::CellTerm* cell = claimed_cell(term);
    if (cell == nullptr) return strip;
    for (const progress::EveningShare& evening : cell->evenings)
        if (evening.day == test.session->day) strip.on_time = evening.on_time;
    return strip;
}

Expected<void> add_tests(AthletePage& page, const Shelf& shelf, const Sessions& sessions, const AthleteTerm& term) {
    const auto runs = tests_of_one_drill(shelf, sessions, term);
    if (!runs) return tl::make_unexpected(runs.error());
    const auto first = first_worth_a_look(shelf, runs_of_evening(*runs, term, true));
    if (!first) return tl::make_unexpected(first.error());
    if (!*first) return {};
    page.first_test = strip_of_evening("First test", **first, term);
    const Sessions forwards = runs_of_evening(*runs, term, false);
    const auto last = first_worth_a_look(shelf, Sessions(forwards.rbegin(), forwards.rend()));
    if (!last) return tl::make_unexpected(last.error());
    if (*last && (*last)->session->day != (*first)->session->day)
        page.last_test = strip_of_evening("Last test", **last, term);
    return {};
}

/// A child takes no falling number home: the last test stands alone, the rest is the coach's to show.
void keep_from_falling(AthletePage& page, const AthleteTerm& term) {
    const bool undirected = term.claimed.measure.empty() && !term.others.empty();
    if (!has_fallen(term) && !undirected) return;
    if (page.last_test) page.first_test = std::move(page.last_test);
    page.last_test.reset();
    page.no_last_test = "Your coach has the other tests.";
    page.plot.points.clear();
    page.plot.line.reset();
    page.plot.missing = "Your coach has the evenings of this term.";
}

void add_plot(AthletePage& page, const AthleteTerm& term) {
    const progress::Followed* followed = &term.claimed;
    if (followed->measure.empty() && !term.others.empty()) followed = &term.others.front();
    if (followed->values.empty()) return;
    page.plot.title = measure_words(*followed) + ", evening by evening";
    if (followed->cell)  // an imported measure's name stays as it was typed
        page.plot.title[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(page.plot.title[0])));
    page.plot.share = followed->cell.has_value();
    page.plot.line = followed->claim.line;
    const progress::CellTerm* cell = followed->cell ? claimed_cell(term) : nullptr;
    for (const progress::EveningValue& value : followed->values) {
        pages::TermPoint point{static_cast<std::int32_t>(value.day), value.value, std::nullopt};
        if (cell != nullptr)
            for (const progress::EveningShare& evening : cell->evenings)
                if (evening.day == point.day) point.interval = evening.on_time.interval();
        page.plot.points.push_back(point);
    }
}

void add_answers(AthletePage& page, const AthleteTerm& term) {
    for (std::size_t i = 0; i < term.answers.size(); ++i)
        if (term.answers[i].of > 0)
            page.answers.push_back({std::string(word(static_cast<progress::Answer>(i))), term.answers[i]});
    page.answers_words = answers_words(term);
    if (page.answers_words.empty()) return;
    page.answers_words[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(page.answers_words[0])));
    page.answers_words = kept_together(page.answers_words + ".", {" of "});
}

/// "2 sets of 10, front hand, closed stance, advanced opponent".
/// A child gets no more of it than is good for their age.
std::string drill_words(const Drill& drill, const std::optional<Level>& level, std::int32_t age) {
    const evening::Dose dose = evening::dose_for(age, {drill.reps, drill.sets});
    std::vector<std::string> words{fmt::format("{} {} of {}", dose.sets, dose.sets == 1 ? "set" : "sets", dose.reps)};
    std::vector<std::string> counters;
    for (const AttackChoice& attack : drill.attacks) {
        std::string counter{word(attack.counter)};
        std::replace(counter.begin(), counter.end(), '-', ' ');
        if (attack.kind != AttackKind::feint && std::find(counters.begin(), counters.end(), counter) == counters.end())
            counters.push_back(std::move(counter));
    }
    if (drill.asks.rung == RungAim::range)
        words.emplace_back("no strike");
    else if (!counters.empty())
        words.push_back(fmt::format("{}", fmt::join(counters, " or ")));
    words.push_back(fmt::format("{} stance", word(drill.stance)));
    if (level) words.push_back(fmt::format("{} opponent", word(*level)));
    return fmt::format("{}.", fmt::join(words, ", "));
}

/// A rung's counts are the coach's to tell a child; the offer of a rung below always is.
void add_next(AthletePage& page, const Shelf& shelf, const NextRules& rules, const AthleteTerm& term, bool child,
              std::int32_t age) {
    const auto next = progress::next_drill(term, rules.rules);
    if (!next) return;
    page.next = {shelf.title_of(next->drill), "", child ? next->without_counts : next->because, {}};
    if (const auto& drill = shelf.drill(next->drill)) page.next.detail = drill_words(*drill, drill->level, age);
    const auto rule = std::find_if(rules.rules.begin(), rules.rules.end(),
                                   [&](const progress::NextRule& one) { return one.name == next->rule; });
    // A child sees no figure of being caught, but reads what to do about it.
    const bool timed = !page.rhythm.empty() && page.rhythm.back().sign == Sign::tell;
    if (child && timed && (rule == rules.rules.end() || !rule->can_be_timed))
        page.next.why += ". And in every drill: step in sooner once, then later";
    // A share that lies beyond a rule's border is worth seeing; that something was hardly practised is said in words.
    const bool by_share = rule != rules.rules.end() && (rule->above || rule->below);
    if (by_share && next->evidence && next->evidence->of >= pages::fewest_for_interval)
        page.next.evidence.push_back({next->rule, *next->evidence});
}

int year_of_day(std::int32_t day) {
    return static_cast<int>(std::chrono::year_month_day(std::chrono::sys_days(std::chrono::days(day))).year());
}

constexpr const char* bars_words = "Bars hold the true value 95 times in 100.";

std::string footer_for(const Athlete& athlete, bool child) {
    const std::string name = shown(athlete);
    const auto last_day = athlete.consent ? date_from(athlete.consent->until) : std::nullopt;
    if (last_day && ends_this_month(athlete, today_here()))
        return "Consent to keep these results ends on " +
               day_words(static_cast<std::int32_t>(last_day->time_since_epoch().count())) +
               ": the coach asks for it again." + (child ? "" : std::string(" ") + bars_words);
    constexpr double widest = 60;
    const bool fits = text_width(name, pages::small_text, Weight::regular) <= widest;
    const std::string who = fits ? isolated(name) : "Everyone";
    return (child ? "" : std::string(bars_words) + " ") + who + " is compared with " +
           (fits ? isolated(name) : "themselves") + " only. Kept on the club\u2019s computer.";
}

/// No intervals, no windows and no chances on a child's page: those are the coach's to tell.
void keep_without_figures(AthletePage& page) {
    for (pages::TermPoint& point : page.plot.points) point.interval.reset();
    keep_the_word(page.rhythm);
}

/// What each part says while there is nothing to show.
void add_missing_words(AthletePage& page) {
    page.no_test =
        "No test yet. A test is the same drill at the same speed every time, so that one evening can be laid beside "
        "another.";
    page.no_last_test = "One test evening so far. The next one is drawn here, beside the first.";
    page.plot.title = "Evening by evening";
    page.plot.missing = "Too few reps in tests for a value of an evening: five are needed.";
    page.no_rhythm = "No step-in was read yet: that takes drills with the light gates across the floor.";
    page.no_answers = "No scored rep yet.";
    page.next.why = "Nothing chosen yet: the coach has the word.";
}

}  // namespace

std::string measure_words(const progress::Followed& followed) {
    return followed.cell ? "on time in the " + std::string(word(followed.cell->moment)) : followed.measure;
}

Expected<AthletePage> athlete_page_of(const Shelf& shelf, const Settings& settings, const NextRules& rules,
                                      const Athlete& athlete, const AthleteTerm* term) {
    // By the year in which the term ended: a page printed later says the same.
    const bool child = athlete.birth_year && term != nullptr &&
                       year_of_day(term->last_day) - *athlete.birth_year <= junior_under_years;
    AthletePage page;
    page.call_sign = shown(athlete);
    page.club = settings.club;
    page.child = child;
    page.footer = footer_for(athlete, child);
    add_missing_words(page);
    const auto kicks = term == nullptr ? partner_words(shelf, athlete.id, std::numeric_limits<std::int32_t>::min(),
                                                       std::numeric_limits<std::int32_t>::max(), child)
                                       : partner_words(shelf, athlete.id, term->first_day, term->last_day, child);
    if (!kicks) return tl::make_unexpected(kicks.error());
    if (term == nullptr) {
        page.read_words = *kicks;
        page.headline = isolated(page.call_sign) + " has not trained at the rig in these days.";
        page.beyond = "A test once a week shows after six weeks what has changed.";
        return page;
    }
    page.term = span_of_days(term->first_day, term->last_day);
    if (term->evenings > 0) page.term += fmt::format(", {} evening{}", term->evenings, term->evenings == 1 ? "" : "s");
    const Headline said = headline(*term, isolated(page.call_sign), child ? Reader::child : Reader::home);
    page.headline = kept_together(said.claim, {" times in ", " once in "});
    page.beyond = said.beside;
    const Sessions sessions = shelf.sessions_of(athlete.id, term->first_day, term->last_day);
    if (const auto tests = add_tests(page, shelf, sessions, *term); !tests) return tl::make_unexpected(tests.error());
    add_plot(page, *term);
    if (const auto read = add_rhythm(page, shelf, sessions, *term); !read) return tl::make_unexpected(read.error());
    if (const auto read = add_read(page, shelf, sessions, child); !read) return tl::make_unexpected(read.error());
    const auto countering = countering_words(shelf, sessions, child);
    if (!countering) return tl::make_unexpected(countering.error());
    if (!countering->empty()) page.read_words += (page.read_words.empty() ? "" : " ") + *countering;
    if (const std::string gain = gain_words(*term, child); !gain.empty())
        page.read_words += (page.read_words.empty() ? "" : " ") + gain;
    if (!kicks->empty()) page.read_words += (page.read_words.empty() ? "" : " ") + *kicks;
    add_answers(page, *term);
    const std::int32_t age = athlete.birth_year ? year_of_day(term->last_day) - *athlete.birth_year : 0;
    add_next(page, shelf, rules, *term, child, child ? std::min(age, junior_under_years - 1) : age);
    if (child) {
        keep_from_falling(page, *term);
        keep_without_figures(page);
    }
    return page;
}

}  // namespace breakstep
