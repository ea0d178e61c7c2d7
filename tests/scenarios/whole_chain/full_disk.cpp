// While nothing can be written the drill waits, whatever the coach does, and a pause that the coach asked for outlasts
// the trouble.
#include <doctest/doctest.h>

#include "support/fast_run.hpp"

using namespace breakstep;

namespace {

const Error full{ErrorKind::no_space, "the disk is full", "make room"};

struct Run : FastRun {
    Run() : FastRun(6) {
        driver.core().on_refusal = [this](const std::string& why) { refused.push_back(why); };
        target.set_athlete(driver.now(), {*find_athlete("Heron"), small_drill().attacks, 6});
    }
    void start() {
        SessionBegan session;
        session.session = id = SessionId{9};
        session.seed = 6;
        session.drill = small_drill();
        driver.core().start(session, {}, driver.now());
    }
    void coach(CoachAct act) { driver.core().call(InputCall{Coach{{act, 0}}, driver.now()}, driver.now()); }
    void disk(bool fails) {
        journal.fail(fails ? std::optional(full) : std::nullopt);
        if (!fails) journal.commit();
        driver.core().poll(driver.now());
    }
    [[nodiscard]] int opened() const {
        int count = 0;
        for (const JournalRecord& record : records()) count += std::holds_alternative<RepOpened>(record.event) ? 1 : 0;
        return count;
    }
    std::vector<std::string> refused;
};

}  // namespace

TEST_CASE("a coach can't make the drill go on while the store fails") {
    Run run;
    run.start();
    run.driver.pass(8s);
    run.disk(true);
    const int before = run.opened();
    run.coach(CoachAct::go_on);
    run.driver.pass(20s);
    CHECK(run.opened() == before);
    CHECK(run.refused.size() == 1);
    run.disk(false);
    run.driver.pass(60s);
    CHECK(run.opened() > before);
    CHECK(run.driver.core().session_end() == SessionEnd::finished);
}

TEST_CASE("a pause of the coach's own outlasts the trouble of the store") {
    for (const bool paused_before : {true, false}) {
        Run run;
        run.start();
        run.driver.pass(8s);
        if (paused_before) run.coach(CoachAct::pause);
        run.disk(true);
        if (!paused_before) run.coach(CoachAct::pause);
        run.driver.pass(2s);
        run.disk(false);
        const int before = run.opened();
        run.driver.pass(20s);
        CHECK(run.opened() == before);
        run.coach(CoachAct::go_on);
        run.driver.pass(60s);
        CHECK(run.opened() > before);
    }
}

TEST_CASE("a session that begins while the store fails waits until it can be kept") {
    Run run;
    run.driver.pass(1s);
    run.start();
    run.driver.pass(2s);
    run.disk(true);
    run.coach(CoachAct::stop);
    run.driver.pass(1s);
    REQUIRE(run.driver.core().session_end().has_value());
    SessionBegan next;
    next.session = run.id = SessionId{10};
    next.seed = 6;
    next.drill = small_drill();
    run.driver.core().start(next, {}, run.driver.now());
    run.driver.pass(30s);
    CHECK(run.opened() == 0);
    run.disk(false);
    run.driver.pass(80s);
    CHECK(run.driver.core().session_end() == SessionEnd::finished);
}
