// Taps beside a video, kept with an athlete as times alone.
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "club/athletes/kept_taps.hpp"
#include "club/athletes/own_files.hpp"
#include "support/room.hpp"

using namespace breakstep;
using breakstep::testing::Room;

TEST_CASE("what is kept is read again as it was, in its order, and a damaged file is said to be damaged") {
    const Room room;
    const auto file = taps_file(room.folder / "e.db", AthleteId{7});
    CHECK(file == room.folder / "e.db.desk" / "taps-0000000000000007.csv");
    CHECK(read_taps(file).value_or(std::vector<KeptTaps>{{}}).empty());
    REQUIRE(keep_taps(file, {"2026-11-27", {0.5, 1.25}, {}}));
    REQUIRE(keep_taps(file, {"2026-11-28", {0.1}, {0.2, 0.3}}));
    const auto kept = read_taps(file);
    REQUIRE(kept);
    REQUIRE(kept->size() == 2);
    CHECK(kept->at(0).day == "2026-11-27");
    CHECK(kept->at(0).a == std::vector<double>{0.5, 1.25});
    CHECK(kept->at(0).b.empty());
    CHECK(kept->at(1).b == std::vector<double>{0.2, 0.3});
    for (const char* wrong :
         {"2026-11-28,9,1.0,a", "2026-11-28,2,x,a", "2026-11-28,2,1.0,c", "2026-11-28,2,1.0", "rubbish"}) {
        REQUIRE(keep_taps(file, {"2026-11-28", {0.1}, {}}));
        std::ofstream(file, std::ios::app) << wrong << '\n';
        const auto damaged = read_taps(file);
        REQUIRE_FALSE(damaged);
        CHECK(damaged.error().kind == ErrorKind::damaged);
        CHECK_FALSE(keep_taps(file, {"2026-11-28", {0.1}, {}}));
        std::filesystem::remove(file);
    }
}

TEST_CASE("an athlete's taps are among the files that erasing takes, and nobody else's are") {
    const Room room;
    StoreOptions options;
    options.mode = StoreMode::inline_writes;
    auto store = Store::open(room.file("e.db"), options);
    REQUIRE(store);
    Athlete heron, curlew;
    heron.id = AthleteId{7};
    curlew.id = AthleteId{8};
    const auto own = taps_file((*store)->path(), heron.id), other = taps_file((*store)->path(), curlew.id);
    REQUIRE(keep_taps(own, {"2026-11-27", {0.5}, {}}));
    REQUIRE(keep_taps(other, {"2026-11-27", {0.5}, {}}));
    const auto files = own_files_of(**store, heron);
    REQUIRE(files);
    CHECK(files->alone == std::vector<std::filesystem::path>{own});
}
