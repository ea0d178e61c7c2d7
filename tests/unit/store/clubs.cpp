// What a store takes from other stores of its club: sessions that go on where they ended, athletes as they stand
// elsewhere, who was erased and who is one with whom.
#include "store/damaged/rescue.hpp"
#include "store_tests.hpp"

using namespace breakstep;
using namespace breakstep::testing;

namespace {

constexpr SessionId night{77};

Athlete athlete_named(std::uint64_t id, const std::string& call_sign) {
    Athlete athlete;
    athlete.id = AthleteId{id};
    athlete.call_sign = call_sign;
    athlete.added_unix_seconds = 1000;
    return athlete;
}

/// Records `from` to `to` of the session, as another store has them.
TakenSession part_of(const std::vector<JournalRecord>& records, std::size_t from, std::size_t to) {
    TakenSession taken;
    const auto& began = std::get<SessionBegan>(records.front().event);
    taken.summary.id = began.session;
    taken.summary.athlete = began.athlete;
    taken.summary.began_unix_seconds = began.unix_seconds;
    taken.summary.drill = began.drill.name;
    for (std::size_t i = from; i < to; ++i) {
        TakenRecord& record = taken.records.emplace_back();
        record.position = records[i].position;
        record.kind = kind_of(records[i].event);
        record.recorded_ns = records[i].recorded.time_since_epoch().count();
        encode(records[i].event, record.bytes);
    }
    return taken;
}

}  // namespace

TEST_CASE("a session comes in parts, each where the last one ended, or not at all") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store", inline_options());
    const auto records = some_records(night, 30, true);
    REQUIRE(store->take_sessions(std::vector{part_of(records, 0, 12)}).has_value());
    CHECK(bytes_of(stored_records(*store, night)).size() == 12);
    // It came by its athlete's id alone.
    CHECK(store->athletes().value().size() == 1);

    // A gap, and what is there already: refused, with whatever came in the same hand.
    const auto other = some_records(SessionId{78}, 5, true, 2);
    for (const std::size_t from : {std::size_t{13}, std::size_t{11}, std::size_t{0}}) {
        const auto refused = store->take_sessions(std::vector{part_of(other, 0, 5), part_of(records, from, 30)});
        REQUIRE_FALSE(refused.has_value());
        CHECK(refused.error().kind == ErrorKind::damaged);
        CHECK(store->sessions().value().size() == 1);
    }
    TakenSession rest = part_of(records, 12, 30);
    rest.with_results = true;
    rest.reps = {full_rep(RepId{0}), full_rep(RepId{1})};
    rest.totals = full_totals(3);
    REQUIRE(store->take_sessions(std::vector{part_of(other, 0, 5), rest}).has_value());
    CHECK(bytes_of(stored_records(*store, night)) == bytes_of(records));
    CHECK(store->reps(night).value() == rest.reps);
    CHECK(store->totals(night).value() == rest.totals);
    // Newer results take the place of those that are there.
    TakenSession again = part_of(records, 30, 30);
    again.with_results = true;
    again.reps = {full_rep(RepId{1})};
    REQUIRE(store->take_sessions(std::vector{again}).has_value());
    CHECK(store->reps(night).value() == again.reps);
    CHECK_FALSE(store->totals(night).value().has_value());
    CHECK(store->check().has_value());
}

TEST_CASE("who was erased takes part in nobody else's sessions any more, wherever those come from") {
    TemporaryFolder folder;
    const AthleteId partner{0x1234567890abcdef};
    auto records = some_records(night, 9, true);  // of athlete 42
    std::get<SessionBegan>(records[0].event).participants = {{ParticipantRole::athlete, AthleteId{42}, Side::right},
                                                             {ParticipantRole::partner, partner, Side::left}};
    auto forgotten = records;
    std::get<SessionBegan>(forgotten[0].event).participants[1].athlete = AthleteId{};
    auto store = open_store(folder / "a.store", inline_options());
    Athlete kicker = athlete_named(1, "Dunlin");
    kicker.id = partner;
    REQUIRE(store->take_athletes(std::vector{athlete_named(42, "Heron"), kicker}, {}).has_value());
    REQUIRE(store->take_sessions(std::vector{part_of(records, 0, 9)}).has_value());
    CHECK(bytes_of(stored_records(*store, night)) == bytes_of(records));

    SUBCASE("erased here") { REQUIRE(store->erase_athlete(partner).has_value()); }
    SUBCASE("erased elsewhere") { REQUIRE(store->note_erased(std::vector{ErasedAthlete{partner, 5}}).has_value()); }
    SUBCASE("erased before the session came") {
        auto other = open_store(folder / "b.store", inline_options());
        REQUIRE(other->note_erased(std::vector{ErasedAthlete{partner, 5}}).has_value());
        REQUIRE(other->take_athletes(std::vector{athlete_named(42, "Heron")}, {}).has_value());
        REQUIRE(other->take_sessions(std::vector{part_of(records, 0, 9)}).has_value());
        store = std::move(other);
    }
    CHECK(bytes_of(stored_records(*store, night)) == bytes_of(forgotten));
    CHECK(store->check().has_value());
}

TEST_CASE("who was erased comes back neither as an athlete nor with a session nor with a value") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store", inline_options());
    const auto records = some_records(night, 9, true);  // of athlete 42
    REQUIRE(store->add_athlete(athlete_named(42, "Heron")).has_value());
    REQUIRE(store->take_sessions(std::vector{part_of(records, 0, 9)}).has_value());
    REQUIRE(store->erase_athlete(AthleteId{42}).has_value());
    const auto erased = store->club_notes()->erased;
    REQUIRE(erased.size() == 1);
    CHECK(erased[0].athlete == AthleteId{42});
    CHECK(erased[0].erased_unix_ms > 1'700'000'000'000);

    REQUIRE(store->take_athletes(std::vector{athlete_named(42, "Heron")}, {}).has_value());
    REQUIRE(store->take_sessions(std::vector{part_of(records, 0, 9)}).has_value());
    REQUIRE(store->take_measures(std::vector{Measure{AthleteId{42}, "reaction_ms", "2024-03-02", 250}}).has_value());
    CHECK(store->athletes().value().empty());
    CHECK(store->sessions().value().empty());
    CHECK(store->measures().value().empty());
    // One who was erased elsewhere and never known here comes no more than that.
    REQUIRE(store->note_erased(std::vector{ErasedAthlete{AthleteId{43}, 5}}).has_value());
    REQUIRE(store->take_athletes(std::vector{athlete_named(43, "Rook")}, {}).has_value());
    CHECK(store->athletes().value().empty());
}

TEST_CASE(
    "athletes come as they stand elsewhere, a call-sign that another has here is left away until they are joined") {
    TemporaryFolder folder;
    auto store = open_store(folder / "a.store", inline_options());
    REQUIRE(store->add_athlete(athlete_named(1, "Heron")).has_value());
    Athlete twin = athlete_named(2, "heron");
    twin.grade = "blue";
    const FieldChange change{AthleteId{2}, "grade", 5'000'000, 0xffffffffffffffffULL};
    REQUIRE(store->take_athletes(std::vector{twin}, std::vector{change}).has_value());
    CHECK(store->club_notes()->changes == std::vector{change});
    const auto both = store->athletes().value();
    REQUIRE(both.size() == 2);
    CHECK(both[0].call_sign.empty());
    CHECK(both[0].grade == "blue");
    auto records = some_records(night, 9, true);
    std::get<SessionBegan>(records.front().event).athlete = AthleteId{2};
    REQUIRE(store->take_sessions(std::vector{part_of(records, 0, 9)}).has_value());
    const std::vector<Measure> values{{AthleteId{1}, "jump", "2024-03-02", 31},
                                      {AthleteId{2}, "jump", "2024-03-02", 32},
                                      {AthleteId{2}, "jump", "2024-03-09", 33}};
    REQUIRE(store->add_all({}, values).has_value());

    CHECK(store->join_athletes({AthleteId{2}, AthleteId{1}, 6'000'000}).value());
    CHECK_FALSE(store->join_athletes({AthleteId{2}, AthleteId{1}, 7'000'000}).value());
    REQUIRE(store->athletes().value().size() == 1);
    CHECK(store->sessions().value().front().athlete == AthleteId{1});
    CHECK(store->measures().value() == std::vector<Measure>{values[0], {AthleteId{1}, "jump", "2024-03-09", 33}});
    // What comes later of the one who is gone belongs to the one who stayed.
    auto later = some_records(SessionId{78}, 4, true);
    std::get<SessionBegan>(later.front().event).athlete = AthleteId{2};
    REQUIRE(store->take_sessions(std::vector{part_of(later, 0, 4)}).has_value());
    const auto sessions = store->sessions().value();
    for (const SessionSummary& session : sessions) CHECK(session.athlete == AthleteId{1});
    CHECK(store->check().has_value());
    // Erased is the one with the other.
    REQUIRE(store->erase_athlete(AthleteId{1}).has_value());
    CHECK(store->club_notes()->erased.size() == 2);
    CHECK(store->club_notes()->joined.empty());
}

TEST_CASE("what a rescued store tells its club is what the damaged one told") {
    TemporaryFolder folder;
    {
        auto store = open_store(folder / "a.store", inline_options());
        REQUIRE(store->add_athlete(athlete_named(1, "Heron")).has_value());
        REQUIRE(store->add_athlete(athlete_named(2, "Rook")).has_value());
        REQUIRE(store->add_athlete(athlete_named(3, "Wren")).has_value());
        REQUIRE(store->add_athlete(athlete_named(4, "Avocet")).has_value());
        Athlete heron = athlete_named(1, "Heron");
        heron.notes = "left knee";
        REQUIRE(store->change_athlete(heron).has_value());
        REQUIRE(store->erase_athlete(AthleteId{2}).has_value());
        REQUIRE(store->join_athletes({AthleteId{4}, AthleteId{3}, 6'000'000}).has_value());
        REQUIRE(store->close().has_value());
    }
    REQUIRE(rescue_store(folder / "a.store", folder / "b.store", 1'800'000'000).has_value());
    const auto before = open_store(folder / "a.store")->club_notes().value();
    const auto after = open_store(folder / "b.store")->club_notes().value();
    REQUIRE(before.changes.size() == 1);
    REQUIRE(before.erased.size() == 1);
    REQUIRE(before.joined.size() == 1);
    CHECK(after.changes == before.changes);
    CHECK(after.erased == before.erased);
    CHECK(after.joined == before.joined);
}
