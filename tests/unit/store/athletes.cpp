// Athletes, calibrations, the list of sessions, backups, and erasing somebody for good.
#include <fstream>
#include <iterator>
#include <thread>

#include "store_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

Athlete full_athlete() {
    Athlete athlete;
    athlete.id = AthleteId{0xfeed'0000'0000'0001};
    athlete.call_sign = "Kestrel";
    athlete.real_name = "R. \"Robin\" O'Dell; DROP TABLE athletes; --";
    athlete.grade = "green belt";
    athlete.height_band = "150-160 cm";
    athlete.group = "Thursday";
    athlete.notes = "<b>left</b> knee; =1+1";
    athlete.lead = Side::left;
    athlete.birth_year = 2012;
    athlete.consent = Consent{"2024-09-30", "guardian", ""};
    athlete.consent_share_on = "2024-10-01";
    athlete.added_unix_seconds = 1'700'000'000;
    return athlete;
}

std::string everything_in(const std::filesystem::path& folder) {
    std::string all;
    for (const auto& entry : std::filesystem::directory_iterator(folder)) {
        std::ifstream file(entry.path(), std::ios::binary);
        all.append(std::istreambuf_iterator<char>(file), {});
    }
    return all;
}

}  // namespace

TEST_CASE("an athlete comes back whole, in any script, and can be changed") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    Athlete kestrel = full_athlete();
    REQUIRE(store->add_athlete(kestrel).has_value());
    Athlete swift;
    swift.id = AthleteId{2};
    swift.call_sign = "雨燕 Șwift стриж";
    REQUIRE(store->add_athlete(swift).has_value());
    CHECK(store->athletes().value() == std::vector<Athlete>{kestrel, swift});
    CHECK(store->find_athlete("kestrel").value() == kestrel);
    CHECK(store->find_athlete("雨燕 Șwift стриж").value() == swift);
    CHECK_FALSE(store->find_athlete("Kestre").value().has_value());
    CHECK_FALSE(store->find_athlete("").value().has_value());
    kestrel.call_sign = "KESTREL";
    kestrel.consent.reset();
    kestrel.consent_share_on.clear();
    kestrel.consent_refused_on = "2025-01-31";
    kestrel.birth_year.reset();
    REQUIRE(store->change_athlete(kestrel).has_value());
    CHECK(store->find_athlete("Kestrel").value() == kestrel);
}

TEST_CASE("an athlete that can't be is refused with the reason, and nothing changes") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    REQUIRE(store->add_athlete(full_athlete()).has_value());
    const auto refused = [&](auto change) {
        Athlete athlete = full_athlete();
        athlete.id = AthleteId{5};
        athlete.call_sign = "Dunnock";
        change(athlete);
        const Expected<void> added = store->add_athlete(athlete);
        REQUIRE_FALSE(added.has_value());
        CHECK(added.error().kind == ErrorKind::bad_input);
        CHECK_FALSE(added.error().to_do.empty());
        return added.error().what;
    };
    CHECK(refused([](Athlete& a) { a.call_sign = "kESTREL"; }).find("taken") != std::string::npos);
    CHECK(refused([](Athlete& a) { a.id = full_athlete().id; }).find("id") != std::string::npos);
    CHECK(refused([](Athlete& a) { a.id = AthleteId{}; }).find("id") != std::string::npos);
    CHECK(refused([](Athlete& a) { a.call_sign = std::string(201, 'x'); }).find("too long") != std::string::npos);
    CHECK(refused([](Athlete& a) { a.call_sign = "two\nlines"; }).find("line break") != std::string::npos);
    CHECK(refused([](Athlete& a) { a.real_name = std::string("a\0b", 3); }).find("control") != std::string::npos);
    CHECK(refused([](Athlete& a) { a.birth_year = 12; }).find("birth year") != std::string::npos);
    CHECK(store->athletes().value().size() == 1);
    // 200 characters of three bytes each are 200 characters.
    Athlete longest = full_athlete();
    longest.id = AthleteId{6};
    longest.call_sign.clear();
    for (int i = 0; i < 200; ++i) longest.call_sign += "雨";
    CHECK(store->add_athlete(longest).has_value());
    Athlete nobody = full_athlete();
    nobody.id = AthleteId{77};
    CHECK(store->change_athlete(nobody).error().kind == ErrorKind::not_found);
}

TEST_CASE("a session of an athlete the table does not know is kept, with the athlete known by its id alone") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    store->append(SessionId{1}, some_records(SessionId{1}, 3));
    REQUIRE(store->flush().has_value());
    const auto athletes = store->athletes().value();
    REQUIRE(athletes.size() == 1);
    CHECK(athletes[0].id == AthleteId{42});
    CHECK(athletes[0].call_sign.empty());
}

TEST_CASE("the list of sessions says what each was, and finds one by number, id or last") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    CHECK(store->find_session("last").error().kind == ErrorKind::not_found);
    const SessionId first{0xffee'ddcc'bbaa'0099}, second{17};
    store->append(first, some_records(first, 25, true));
    store->append(second, some_records(second, 4));
    store->keep(second, full_rep(RepId{0}));
    REQUIRE(store->flush().has_value());
    const auto sessions = store->sessions().value();
    REQUIRE(sessions.size() == 2);
    SessionSummary expected;
    expected.number = 1;
    expected.id = first;
    expected.athlete = AthleteId{42};
    expected.began_unix_seconds = 1'700'000'000;
    expected.drill = "drop-of-a-single-kick";
    expected.start = StartKind::pattern;
    expected.stance = Stance::open;
    expected.level = Level::beginner;
    expected.test = true;
    expected.athlete_lead = Side::left;
    expected.seed = 0xfedcba9876543210;
    expected.how = SessionEnd::stopped;
    expected.events = 25;
    CHECK(sessions[0] == expected);
    CHECK_FALSE(sessions[1].how.has_value());
    CHECK(sessions[1].reps == 1);
    CHECK(store->find_session("1").value() == expected);
    CHECK(store->find_session("ffeeddccbbaa0099").value() == expected);
    CHECK(store->find_session("last").value().id == second);
    for (const char* wrong : {"", "0", "3", "-1", "1x", "ffeeddccbbaa0098", "99999999999999999999"}) {
        const auto found = store->find_session(wrong);
        REQUIRE_FALSE(found.has_value());
        CHECK(found.error().kind == ErrorKind::not_found);
        CHECK(found.error().to_do.find("1 to 2") != std::string::npos);
    }
}

TEST_CASE("all reps come in order of sessions and reps") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    const SessionId first{90}, second{3};
    store->append(first, some_records(first, 1));
    store->append(second, some_records(second, 1));
    for (const int rep : {2, 0, 1}) store->keep(second, full_rep(RepId{rep}));
    for (const int rep : {1, 0}) store->keep(first, full_rep(RepId{rep}));
    REQUIRE(store->flush().has_value());
    std::string order;
    const auto count = store->read_reps([&](SessionId session, const RepResult& rep) {
        order += std::to_string(static_cast<std::uint64_t>(session)) + ":" +
                 std::to_string(static_cast<std::int32_t>(rep.rep)) + " ";
        CHECK(rep == full_rep(rep.rep));
    });
    CHECK(count.value() == 5);
    CHECK(order == "90:0 90:1 3:0 3:1 3:2 ");
}

TEST_CASE("calibrations come back, the newest first") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    const Calibration old{OnsetSource::sound, "hall speaker", 100, 31'250'000ns, 400'000ns, 50};
    const Calibration newer{OnsetSource::screen, "", 200, 12ms, unknown_uncertainty, 0};
    REQUIRE(store->add_calibration(newer).has_value());
    REQUIRE(store->add_calibration(old).has_value());
    CHECK(store->calibrations().value() == std::vector<Calibration>{newer, old});
    CHECK_FALSE(store->add_calibration({OnsetSource::lamp, "", 1, 1ns, 1ns, 1}).has_value());
    CHECK(store->calibrations().value().size() == 2);
}

TEST_CASE("what was erased is found nowhere in the store's files, and the others' data is whole") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    Athlete gone = full_athlete(), stays = full_athlete();
    gone.call_sign = "zqxjkvbpwmfyghdn";
    gone.real_name = "ngetuoacrhslmkip";
    gone.notes = "wpvbqzxjykfmgduh";
    gone.id = AthleteId{1};
    stays.id = AthleteId{42};
    REQUIRE(store->add_athlete(gone).has_value());
    REQUIRE(store->add_athlete(stays).has_value());
    std::vector<JournalRecord> theirs = some_records(SessionId{1}, 500);
    std::get<SessionBegan>(theirs[0].event).athlete = gone.id;
    std::get<SessionBegan>(theirs[0].event).prior = "mqwnebrvtcyxuzia";
    const auto others = some_records(SessionId{2}, 500);
    store->append(SessionId{1}, theirs);
    store->append(SessionId{2}, others);
    store->keep(SessionId{1}, full_rep(RepId{0}));
    const std::vector<Measure> measures{{gone.id, "hsjwkqzvtdnyplrx", "2024-03-02", 250},
                                        {stays.id, "reaction_ms", "2024-03-02", 260}};
    REQUIRE(store->add_all({}, measures).has_value());
    // Moved about a little, so that pages hold old copies.
    for (int i = 0; i < 20; ++i) {
        gone.notes += " " + std::to_string(i) + std::string(100, 'n');
        REQUIRE(store->change_athlete(gone).has_value());
    }
    REQUIRE(store->flush().has_value());
    REQUIRE(everything_in(folder.path()).find("zqxjkvbpwmfyghdn") != std::string::npos);

    REQUIRE(store->erase_athlete(gone.id).has_value());
    const auto traces = [&] {
        const std::string all = everything_in(folder.path());
        int found = 0;
        for (const char* planted :
             {"zqxjkvbpwmfyghdn", "ngetuoacrhslmkip", "wpvbqzxjykfmgduh", "mqwnebrvtcyxuzia", "hsjwkqzvtdnyplrx"})
            found += all.find(planted) != std::string::npos ? 1 : 0;
        return found;
    };
    CHECK(traces() == 0);
    CHECK(store->athletes().value() == std::vector<Athlete>{stays});
    CHECK(store->sessions().value().size() == 1);
    CHECK(store->measures().value() == std::vector<Measure>{measures[1]});
    CHECK(bytes_of(stored_records(*store, SessionId{2})) == bytes_of(others));
    CHECK(store->erase_athlete(gone.id).error().kind == ErrorKind::not_found);
    // A session of the erased athlete that still ran is cut, and told.
    theirs[0].position = 500;
    store->append(SessionId{1}, std::span(theirs).first(1));
    REQUIRE(store->failure().has_value());
    CHECK(store->failure()->what.find("erased") != std::string::npos);
    REQUIRE(store->close().has_value());
    CHECK(traces() == 0);
}

TEST_CASE("a backup is a whole store, taken while the store is in use, and overwrites nothing") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    const auto records = some_records(SessionId{1}, 100);
    store->append(SessionId{1}, records);
    REQUIRE(store->flush().has_value());
    REQUIRE(store->backup(folder / "copy's.store").has_value());
    CHECK(store->backup(folder / "copy's.store").error().kind == ErrorKind::bad_input);
    CHECK_FALSE(store->backup(folder.path() / "no" / "copy.store").has_value());
    auto copy = open_store(folder / "copy's.store");
    CHECK(bytes_of(stored_records(*copy, SessionId{1})) == bytes_of(records));
    CHECK(copy->check().has_value());
}

TEST_CASE("reading from other threads beside the writer sees whole beginnings only") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store");
    const auto records = some_records(SessionId{1}, 3000);
    std::atomic<bool> done{false};
    std::atomic<int> readings{0};
    std::atomic<bool> wrong{false};
    const auto read = [&] {
        while (!done) {
            const std::int64_t before = store->committed(SessionId{1});
            std::int64_t seen = 0;
            const auto count = store->read_records(SessionId{1}, [&](const JournalRecord& record) {
                if (record.position != seen++) wrong = true;
            });
            if (!count || *count <= before) wrong = true;
            (void)store->sessions();
            ++readings;
        }
    };
    std::thread one(read), two(read);
    for (const JournalRecord& record : records) store->append(SessionId{1}, std::span(&record, 1));
    while (readings < 4) std::this_thread::yield();
    REQUIRE(store->flush().has_value());
    done = true;
    one.join();
    two.join();
    CHECK_FALSE(wrong);
    CHECK(store->committed(SessionId{1}) == 2999);
}
