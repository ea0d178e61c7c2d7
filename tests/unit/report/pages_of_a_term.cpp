// From a store whose truth is known to the values that the pages draw.
#include <doctest/doctest.h>

#include <algorithm>
#include <cstdlib>
#include <filesystem>

#include "club/pages/page_of.hpp"
#include "support/planted_term.hpp"

using namespace breakstep;

namespace {

/// A store with a planted term, in a folder that goes away.
struct Planted {
    std::filesystem::path folder;
    std::unique_ptr<Store> store;
    Settings settings;

    explicit Planted(const testing::PlantedTerm& wanted) {
        std::string name = (std::filesystem::temp_directory_path() / "breakstep-report-XXXXXX").string();
        REQUIRE(mkdtemp(name.data()) != nullptr);
        folder = name;
        StoreOptions options;
        options.mode = StoreMode::inline_writes;
        auto opened = Store::open(folder / "term.db", options);
        REQUIRE(opened);
        store = std::move(*opened);
        REQUIRE_FALSE(testing::plant(*store, wanted).empty());
    }
    ~Planted() {
        store.reset();
        std::error_code ignored;
        std::filesystem::remove_all(folder, ignored);
    }
    Planted(const Planted&) = delete;
    Planted& operator=(const Planted&) = delete;

    [[nodiscard]] Term term() const {
        TermOptions options = term_options(settings);
        options.end_of_term = true;
        options.rungs = rules().rungs;
        auto loaded = load_term(*store, options);
        REQUIRE(loaded);
        return std::move(*loaded);
    }
    [[nodiscard]] NextRules rules() const {
        auto loaded = load_next(settings);
        REQUIRE(loaded);
        return std::move(*loaded);
    }
    [[nodiscard]] Shelf shelf() const {
        auto opened = Shelf::open(*store, settings);
        REQUIRE(opened);
        return std::move(*opened);
    }
};

testing::PlantedTerm small_term() {
    testing::PlantedTerm wanted;
    wanted.athletes = 4;
    wanted.sessions = 16;
    wanted.reps = 48;
    return wanted;
}

/// The same share counted from the reps as the store gives them back.
progress::Share on_time_of(const Store& store, SessionId session) {
    progress::Share share;
    const auto reps = store.reps(session);
    REQUIRE(reps);
    for (const RepResult& rep : *reps)
        if (rep.scored) share.count(rep.verdict == Verdict::on_time || rep.verdict == Verdict::around);
    return share;
}

}  // namespace

TEST_CASE("an athlete's page shows the first and the last test, and every test evening with its interval") {
    const Planted planted(small_term());
    const Term term = planted.term();
    const Shelf shelf = planted.shelf();
    REQUIRE(term.terms.size() == 4);
    const Athlete& athlete = term.athlete(term.terms[0]);
    const auto page = athlete_page_of(shelf, planted.settings, planted.rules(), athlete, &term.terms[0]);
    REQUIRE_MESSAGE(page, page.error().text());
    CHECK(page->call_sign == athlete.call_sign);
    CHECK(page->headline.find(athlete.call_sign) != std::string::npos);

    std::vector<SessionSummary> tests;
    const auto sessions = planted.store->sessions();
    REQUIRE(sessions);
    for (const SessionSummary& session : *sessions)
        if (session.athlete == athlete.id && session.test) tests.push_back(session);
    REQUIRE(tests.size() == 8);
    REQUIRE(page->first_test);
    REQUIRE(page->last_test);
    // The words beside a test are those of its dot in the plot: of the claimed cell, no other moment.
    REQUIRE_FALSE(page->plot.points.empty());
    CHECK(page->first_test->on_time.rate() == doctest::Approx(page->plot.points.front().value));
    CHECK(page->last_test->on_time.rate() == doctest::Approx(page->plot.points.back().value));
    CHECK(page->first_test->on_time.of < on_time_of(*planted.store, tests.front().id).of);
    CHECK(page->first_test->reps.size() == 48);
    CHECK(page->first_test->held.of == 8);
    CHECK(page->first_test->title.find(day_words(evening_of(tests.front().began_unix_seconds))) != std::string::npos);

    CHECK(page->plot.share);
    REQUIRE(page->plot.points.size() == 8);
    for (const pages::TermPoint& point : page->plot.points) {
        REQUIRE(point.interval);
        CHECK(point.interval->low <= point.value);
        CHECK(point.value <= point.interval->high);
    }
    REQUIRE(page->plot.line);
    CHECK(page->plot.line->evenings == 8);
}

TEST_CASE("the rhythm of the first and the last three evenings is pooled, with how many drills raised a sign") {
    const Planted planted(small_term());
    const Term term = planted.term();
    const auto page = athlete_page_of(planted.shelf(), planted.settings, planted.rules(), term.athlete(term.terms[0]),
                                      &term.terms[0]);
    REQUIRE(page);
    REQUIRE(page->rhythm.size() == 2);
    // The planted totals: 24 windows a session, 16 of them caught for every third athlete.
    for (const pages::RhythmPeriod& period : page->rhythm) {
        CHECK(period.drills == 3);
        CHECK(period.hits.scored == 3 * 24);
        CHECK(period.hits.hits == 3 * 16);
        CHECK(period.sign == Sign::none);
        CHECK(period.raised == 3);
        CHECK_FALSE(period.strip);  // a planted journal holds no entries
    }
}

TEST_CASE("what comes next is the drill that the rules choose, with their reason") {
    const Planted planted(small_term());
    const Term term = planted.term();
    const Shelf shelf = planted.shelf();
    const auto page =
        athlete_page_of(shelf, planted.settings, planted.rules(), term.athlete(term.terms[0]), &term.terms[0]);
    REQUIRE(page);
    const auto next = progress::next_drill(term.terms[0], planted.rules().rules);
    REQUIRE(next);
    CHECK(page->next.title == shelf.title_of(next->drill));
    CHECK(page->next.title != next->drill);
    CHECK(page->next.why == next->because);
    CHECK(page->next.detail.find("sets of") != std::string::npos);
    const pages::GroupPage group = group_page_of(shelf, planted.settings, planted.rules(), term);
    CHECK(group.rows[0].next == "next: " + page->next.title);
    CHECK(group.plan.size() == 3);
}

TEST_CASE("a rung counts all of an athlete's evenings, those before the term too, and none after it") {
    const Planted planted(small_term());
    TermOptions options = term_options(planted.settings);
    options.rungs = planted.rules().rungs;
    const auto drop_of = [&] {
        const auto term = load_term(*planted.store, options);
        REQUIRE(term);
        for (const progress::RungStanding& rung : term->terms.front().rungs)
            if (rung.name == "the drop") return rung;
        FAIL("no such rung");
        return progress::RungStanding{};
    };
    const progress::RungStanding all = drop_of();
    CHECK(all.reps > 100);
    CHECK(all.evenings == 15);  // of 16: the first session of the training drill is for learning it
    const std::int32_t last = planted.term().last_day, first = planted.term().first_day;
    options.from_day = last;
    CHECK(drop_of() == all);
    options.from_day.reset();
    options.to_day = first;
    CHECK(drop_of().evenings == 1);
}

TEST_CASE("what the choices gave away has words and a count of its own, and a child's page the word alone") {
    const Planted planted(small_term());
    const Term term = planted.term();
    Athlete athlete = term.athlete(term.terms[0]);
    const auto words_of = [&] {
        const auto page = athlete_page_of(planted.shelf(), planted.settings, planted.rules(), athlete, &term.terms[0]);
        REQUIRE(page);
        return page->read_words;
    };
    CHECK(words_of().empty());  // planted drills leave no choice
    SessionTotals totals;
    totals.two_signs = true;
    totals.read_wealth = 0.5;
    const Shelf shelf = planted.shelf();
    const auto sessions = shelf.sessions_of(athlete.id, term.first_day, term.last_day);
    planted.store->keep_totals(sessions.back()->summary.id, totals);
    REQUIRE(planted.store->flush());
    CHECK(words_of() == "Can you be read? No sign in the last 1 drill with a choice.");
    totals.read_wealth = 30;
    totals.read_sign = Sign::tell;
    totals.read_reason = "after two retreats you go, 8 of 9";
    planted.store->keep_totals(sessions[sessions.size() - 2]->summary.id, totals);
    REQUIRE(planted.store->flush());
    CHECK(words_of() == "Can you be read? Yes, in 1 of 2 drills: after two retreats you go, 8 of 9.");
    athlete.birth_year = 2015;
    CHECK(words_of() == "Can you be read? Yes, in 1 of 2 drills.");
}

TEST_CASE("an athlete without anything in these days has a page that says so everywhere") {
    const Planted planted(small_term());
    Athlete wren;
    wren.id = AthleteId{77};
    wren.call_sign = "Wren";
    REQUIRE(planted.store->add_athlete(wren));
    const auto page = athlete_page_of(planted.shelf(), planted.settings, planted.rules(), wren, nullptr);
    REQUIRE(page);
    CHECK(page->headline.find("has not trained") != std::string::npos);
    CHECK_FALSE(page->first_test);
    CHECK(page->plot.points.empty());
    for (const std::string& words :
         {page->no_test, page->no_rhythm, page->no_answers, page->plot.missing, page->plot.title, page->next.why})
        CHECK_FALSE(words.empty());
}

TEST_CASE("a page holds no p-value, d' or variance, and nobody else's name") {
    const Planted planted(small_term());
    const Term term = planted.term();
    const Shelf shelf = planted.shelf();
    for (const progress::AthleteTerm& one : term.terms) {
        const auto page = athlete_page_of(shelf, planted.settings, planted.rules(), term.athlete(one), &one);
        REQUIRE(page);
        std::string words = page->headline + page->beyond + page->term + page->plot.title + page->answers_words +
                            page->next.title + page->next.detail + page->next.why + page->footer;
        for (const pages::ShareRow& row : page->answers) words += row.label;
        for (const char* never : {"p =", "p-value", "d'", "variance", "rank", "best", "worst"})
            CHECK(words.find(never) == std::string::npos);
        for (const Athlete& other : term.athletes)
            if (other.id != term.athlete(one).id) CHECK(words.find(other.call_sign) == std::string::npos);
    }
}

TEST_CASE("the group's rows stand in order of call-sign, each with its own first and last evenings") {
    const Planted planted(small_term());
    const Term term = planted.term();
    const pages::GroupPage page = group_page_of(planted.shelf(), planted.settings, planted.rules(), term);
    REQUIRE(page.rows.size() == 4);
    CHECK(std::is_sorted(page.rows.begin(), page.rows.end(),
                         [](const auto& a, const auto& b) { return a.call_sign < b.call_sign; }));
    for (std::size_t i = 0; i < page.rows.size(); ++i) {
        CHECK(page.rows[i].claim == term.terms[i].claimed.claim.claim);
        CHECK(page.rows[i].reps == 16 * 48);
        CHECK(page.rows[i].evenings == 16);
        REQUIRE(page.rows[i].baseline);
        REQUIRE(page.rows[i].now);
    }
    CHECK_FALSE(page.expected_wrong.empty());
}

TEST_CASE("how many names are expected wrong follows the greatest q of the named") {
    Term term;
    const auto add = [&](progress::Claim claim, double q) {
        Athlete athlete;
        athlete.id = AthleteId{term.athletes.size() + 1};
        athlete.call_sign = "Bird " + std::to_string(term.athletes.size());
        progress::AthleteTerm one;
        one.athlete = term.athletes.size();
        one.claimed.measure = "reaction_ms";
        one.claimed.claim.claim = claim;
        one.claimed.q = q;
        term.athletes.push_back(athlete);
        term.terms.push_back(one);
    };
    const Planted planted({.athletes = 1, .sessions = 1, .reps = 2});
    const Shelf shelf = planted.shelf();
    add(progress::Claim::no_clear_change, 0.6);
    CHECK(group_page_of(shelf, {}, planted.rules(), term).expected_wrong.find("Nobody is named") == 0);
    add(progress::Claim::improved, 0.02);
    add(progress::Claim::improved, 0.04);
    add(progress::Claim::worse, 0.01);
    // 3 names, the greatest q .04: 3 x .04 = .12 of them are expected to be wrong.
    const std::string said = group_page_of(shelf, {}, planted.rules(), term).expected_wrong;
    CAPTURE(said);
    CHECK(said.find("2 improved, 1 needs practice again") == 0);
    CHECK(said.find("these 3 names about 0.1 ") != std::string::npos);
    CHECK(said.find("discovery") == std::string::npos);
}

TEST_CASE("an evening's page has every session of that evening, by call-sign, and sums them") {
    const Planted planted(small_term());
    const Shelf shelf = planted.shelf();
    const auto athletes = planted.store->athletes();
    REQUIRE(athletes);
    const std::int32_t day = shelf.sessions().front().day;
    const auto page = evening_page_of(shelf, planted.settings, *athletes, day);
    REQUIRE(page);
    REQUIRE(page->rows.size() == 8);  // two moments each, never pooled
    CHECK(std::is_sorted(page->rows.begin(), page->rows.end(),
                         [](const auto& a, const auto& b) { return a.call_sign < b.call_sign; }));
    progress::Share gap, drop, held;
    for (const pages::EveningRow& row : page->rows) {
        const bool of_gap = row.at.ends_with(", the gap");
        CHECK(of_gap != row.at.ends_with(", the drop"));
        (of_gap ? gap : drop) += row.on_time;
        held += row.held;
        CHECK(row.reps == row.on_time.of);
        CHECK(row.odd.empty());
    }
    CHECK(held.of == 4 * 8);
    for (const std::string& words :
         {"gap " + pages::counts(gap), "drop " + pages::counts(drop), "feints held " + pages::counts(held)})
        CHECK_MESSAGE(page->summary.find(words) != std::string::npos, page->summary);
    CHECK(page->odd.empty());
    CHECK_FALSE(evening_page_of(shelf, planted.settings, *athletes, day + 1));
    CHECK(page->footer.find("Bars hold") != std::string::npos);
    const bool signs = std::any_of(page->rows.begin(), page->rows.end(), [](const pages::EveningRow& row) {
        return row.sign == "maybe" || row.sign == "yes" || !row.read.empty();
    });
    const bool said = std::any_of(page->stood_out.begin(), page->stood_out.end(),
                                  [](const std::string& line) { return line.starts_with("By chance alone"); });
    CHECK(said == signs);
    for (const std::string& line : page->stood_out) CHECK_MESSAGE(line.find("maybe, ") == std::string::npos, line);
}

TEST_CASE("a page without bars says nothing of bars") {
    const Planted planted({.athletes = 1, .sessions = 1, .reps = 2});
    const Shelf shelf = planted.shelf();
    const auto athletes = planted.store->athletes();
    REQUIRE(athletes);
    const auto page = evening_page_of(shelf, planted.settings, *athletes, shelf.sessions().front().day);
    REQUIRE(page);
    CHECK(page->footer.find("Bars") == std::string::npos);
}

TEST_CASE("a child whose numbers fell takes none of them home, an adult does") {
    testing::PlantedTerm wanted = small_term();
    wanted.first_rate = .8;
    wanted.last_rate = .2;
    const Planted planted(wanted);
    const Term term = planted.term();
    Athlete athlete = term.athlete(term.terms[0]);
    const auto page_of = [&] {
        auto page = athlete_page_of(planted.shelf(), planted.settings, planted.rules(), athlete, &term.terms[0]);
        REQUIRE(page);
        return *page;
    };
    REQUIRE(term.terms[0].claimed.claim.claim == progress::Claim::worse);
    const pages::AthletePage adult = page_of();
    CHECK(adult.headline.find("needs practice again") != std::string::npos);
    CHECK(adult.last_test);
    CHECK_FALSE(adult.plot.points.empty());
    athlete.birth_year = 2015;
    const pages::AthletePage child = page_of();
    CHECK(child.headline == "We practise the drop again.");
    CHECK(child.child);  // "inside: step out" in the legend, not "got hit"
    CHECK(child.beyond.empty());
    CHECK(child.plot.points.empty());
    CHECK_FALSE(child.plot.line);
    REQUIRE(child.first_test);
    CHECK(child.first_test->title.starts_with("Last test"));
    CHECK_FALSE(child.last_test);
    for (const pages::AthletePage& page : {adult, child})
        for (const std::string& words :
             {page.headline, page.beyond, page.answers_words, page.next.why, page.plot.title})
            for (const char* never : {"worse", "only", "weak", "fell", "failed", "should", "[measures]"})
                CHECK_MESSAGE(words.find(never) == std::string::npos, words);
}

TEST_CASE(
    "a child's page has no Timeable, no count of being caught and no interval, and says what to do about a beat") {
    const Planted planted(small_term());
    const Term term = planted.term();
    Athlete athlete = term.athlete(term.terms[0]);
    const Shelf shelf = planted.shelf();
    const auto sessions = shelf.sessions_of(athlete.id, term.first_day, term.last_day);
    auto totals = shelf.totals(*sessions.back());
    REQUIRE(totals);
    totals->sign = Sign::tell;
    planted.store->keep_totals(sessions.back()->summary.id, *totals);
    REQUIRE(planted.store->flush());
    const auto page_of = [&] {
        auto page = athlete_page_of(planted.shelf(), planted.settings, planted.rules(), athlete, &term.terms[0]);
        REQUIRE(page);
        return *page;
    };
    const pages::AthletePage adult = page_of();
    CHECK(adult.rhythm.back().hits.scored > 0);
    CHECK(adult.footer.find("95 times in 100") != std::string::npos);
    CHECK(adult.next.why.find("step in sooner") == std::string::npos);
    athlete.birth_year = 2017;
    const pages::AthletePage child = page_of();
    REQUIRE(child.rhythm.size() == adult.rhythm.size());
    CHECK(child.rhythm.back().sign == Sign::tell);  // the word stays
    for (const pages::RhythmPeriod& period : child.rhythm) {
        CHECK(period.word_alone);
        CHECK(period.hits.scored == 0);
        CHECK(period.drills == 0);
        CHECK_FALSE(period.strip);
    }
    REQUIRE_FALSE(child.plot.points.empty());
    for (const pages::TermPoint& point : child.plot.points) CHECK_FALSE(point.interval);
    CHECK(child.footer.find("95 times in 100") == std::string::npos);
    CHECK(child.footer.find("compared with") != std::string::npos);
    CHECK(child.next.why.ends_with(". And in every drill: step in sooner once, then later"));
}

TEST_CASE("who has past results alone is sent to the first rung whose drill exists, on the page and in the group") {
    const Planted planted({.athletes = 1, .sessions = 1, .reps = 2});
    Term term;
    Athlete athlete;
    athlete.id = AthleteId{5};
    athlete.call_sign = "Wren";
    term.athletes = {athlete};
    progress::AthleteTerm one;
    one.others.emplace_back().measure = "reaction_ms";
    one.others.front().values = {{20'700, 250}};
    term.terms = {one};
    const Shelf shelf = planted.shelf();
    const auto page = athlete_page_of(shelf, {}, planted.rules(), athlete, &term.terms[0]);
    REQUIRE(page);
    CHECK(page->next.title == shelf.title_of("in-and-out"));
    CHECK(group_page_of(shelf, {}, planted.rules(), term).rows[0].next == "next: " + page->next.title);
    for (const std::string& words : {page->headline, page->beyond})
        CHECK(words.find("[measures]") == std::string::npos);
}

TEST_CASE("the group's plan says how many reps it asks for, and the lift stands last") {
    const Planted planted(small_term());
    const Term term = planted.term();
    const pages::GroupPage page = group_page_of(planted.shelf(), planted.settings, planted.rules(), term);
    CHECK(page.plan_words.find("under 20 reps, or of fewer than 3 athletes") != std::string::npos);
    CHECK(page.plan.front().why.find("4 athletes on time") == 0);
    REQUIRE(page.plan.size() == 3);
    CHECK(page.plan.back().what == "the lift");
}

TEST_CASE("dates are said in full") {
    // 2026-11-03 is a Tuesday: 20 760 days after 1970-01-01, which was a Thursday.
    CHECK(full_date(20'760) == "Tuesday 3 November 2026");
    CHECK(span_of_days(20'697, 20'760) == "1 September to 3 November 2026");
    CHECK(span_of_days(20'760, 20'760) == "3 November 2026");
    CHECK(span_of_days(20'760, 20'820) == "3 November 2026 to 2 January 2027");
}
