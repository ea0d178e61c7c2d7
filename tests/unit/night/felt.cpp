// "Could you time them?" beside the figures: kept by the session's id, counted against the session's sign.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "cli/desk/felt.hpp"
#include "support/room.hpp"

using namespace breakstep;
using breakstep::testing::Room;

namespace {

void keep_session(Store& store, std::uint64_t id, Sign sign) {
    SessionBegan began;
    began.session = SessionId{id};
    began.athlete = AthleteId{7};
    const JournalRecord record{0, HostTime{}, began};
    store.append(began.session, {&record, 1});
    SessionTotals totals;
    totals.timeable = 40;
    totals.sign = sign;
    store.keep_totals(began.session, totals);
}

}  // namespace

TEST_CASE(
    "people and figures are counted set by set, another answer replaces the first, a session that is not kept is "
    "refused") {
    const Room room;
    StoreOptions options;
    options.mode = StoreMode::inline_writes;
    auto store = Store::open(room.file("e.db"), options);
    REQUIRE(store);
    Athlete heron;
    heron.id = AthleteId{7};
    heron.call_sign = "Heron";
    REQUIRE((*store)->add_athlete(heron));
    keep_session(**store, 5, Sign::tell);
    keep_session(**store, 6, Sign::none);
    REQUIRE((*store)->flush());
    const auto folder = room.folder / "e.db.desk";
    CHECK(felt_and_figures(folder, **store).value_or("?").empty());
    REQUIRE(keep_felt(folder, **store, {SessionId{5}, 1, desk::Felt::no}));
    REQUIRE(keep_felt(folder, **store, {SessionId{5}, 1, desk::Felt::yes}));
    REQUIRE(keep_felt(folder, **store, {SessionId{6}, 1, desk::Felt::a_little}));
    CHECK(felt_and_figures(folder, **store).value_or("") ==
          "Could they be timed? Partners and figures say the same in 1 of 2 sets.");
    CHECK_FALSE(keep_felt(folder, **store, {SessionId{99}, 1, desk::Felt::yes}));
    // Who is erased takes the answers along with the next one.
    REQUIRE((*store)->erase_athlete(AthleteId{7}));
    CHECK(felt_and_figures(folder, **store).value_or("?").empty());
}
