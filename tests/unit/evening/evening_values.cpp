// The evening's journal as bytes.
#include <fstream>
#include <map>
#include <sstream>

#include <doctest/doctest.h>

#include "core/evening/evening_events.hpp"
#include "places.hpp"

using namespace breakstep;
using namespace breakstep::evening;

namespace {

std::map<std::string, EveningEvent> samples() {
    const AthleteId athlete{0x99AABBCCDDEEFF01};
    const SessionId session{0x1122334455667788};
    EveningBegan began{EveningId{0x5566}, 1'795'613'057, 11, {}};
    began.blocks = {{BlockKind::hall, 600s, "warm-up", Who::all, ""},
                    {BlockKind::rounds, 1200s, "rounds", Who::juniors, "feints"}};
    const std::vector<EveningEvent> all{
        began,
        AthleteCame{athlete, 11, 2},
        AthleteLeft{athlete},
        DoseGiven{athlete, "feints", 8, 3, 33s, true},
        BlockBegan{1},
        TurnCalled{athlete, session, true},
        SetBegan{session, 2},
        SetDone{session, 2, 31s + 5ns},
        StoodAside{session},
        SessionOver{session, SessionEnd::stopped},
        SetMoved{session, 2, athlete, SessionId{77}},
        Asked{{Ask::note, athlete, "left hand late"}, Hand::desk, {AnswerKind::refused, Why::rig_has_next}},
        KeptOutside{269, "abc"},
        RigSeen{true},
        WentOn{1'795'613'999},
        EveningEnded{true},
        CountCancelled{session},
    };
    std::map<std::string, EveningEvent> by_name;
    for (const EveningEvent& event : all) by_name.emplace(std::string(name_of(event)), event);
    return by_name;
}

// Those that have grown since, with a value in each new member.
std::map<std::string, EveningEvent> grown() {
    const AthleteId athlete{0x99AABBCCDDEEFF01};
    const SessionId session{0x1122334455667788};
    EveningBegan began{EveningId{0x5566}, 1'795'613'057, 11, {}};
    began.blocks = {{BlockKind::rounds, 1200s, "rounds", Who::juniors, "feints", 2, 7, true}};
    return {{"evening_began", began},
            {"athlete_came", AthleteCame{athlete, 11, 2, "feints"}},
            {"set_moved", SetMoved{session, 2, athlete, SessionId{77}, 5, 90}}};
}

std::string bytes_of(const EveningEvent& event) {
    std::string bytes;
    encode(event, bytes);
    return bytes;
}

std::string from_hex(const std::string& hex) {
    std::string bytes;
    for (std::size_t i = 0; i + 1 < hex.size(); i += 2)
        bytes.push_back(static_cast<char>(std::stoi(hex.substr(i, 2), nullptr, 16)));
    return bytes;
}

}  // namespace

TEST_CASE("an evening's bytes that were once written read as they always did, and every kind has some") {
    const auto known = samples();
    CHECK(known.size() == std::variant_size_v<EveningEvent> - 1);
    std::ifstream file(BREAKSTEP_SOURCE_DIR "/tests/unit/evening/evening_goldens.txt");
    REQUIRE(file);
    std::size_t checked = 0, checked_grown = 0;
    for (std::string line; std::getline(file, line);) {
        if (line.empty() || line.starts_with('#')) continue;
        std::istringstream words(line);
        std::string version, name, hex;
        std::uint16_t number = 0;
        words >> version >> name >> number >> hex;
        CAPTURE(name);
        const bool has_grown = version == "2";
        const auto of_version = has_grown ? grown() : known;
        const auto sample = of_version.find(name);
        REQUIRE(sample != of_version.end());
        const auto event = evening::decode(number, from_hex(hex));
        REQUIRE(event);
        CHECK(name_of(*event) == name);
        CHECK(bytes_of(*event) == bytes_of(sample->second));
        // One that has grown since is written longer today.
        if (has_grown || !grown().contains(name)) CHECK(bytes_of(sample->second) == from_hex(hex));
        CHECK(kind_of(sample->second) == number);
        ++(has_grown ? checked_grown : checked);
    }
    CHECK(checked == known.size());
    CHECK(checked_grown == grown().size());
}

TEST_CASE("an evening's event that is cut off is damage, and one of a newer kind is kept as it is") {
    for (const auto& [name, event] : samples()) {
        CAPTURE(name);
        const std::string bytes = bytes_of(event);
        for (std::size_t kept = 0; kept < bytes.size(); ++kept)
            CHECK_FALSE(evening::decode(kind_of(event), bytes.substr(0, kept)).has_value());
    }
    const auto newer = evening::decode(4000, "whatever");
    REQUIRE(newer);
    CHECK(kind_of(*newer) == 4000);
    CHECK(bytes_of(*newer) == "whatever");
}

TEST_CASE("an event says whom it names, so that an erasure finds it") {
    const AthleteId athlete{0x99AABBCCDDEEFF01};
    for (const char* name : {"athlete_came", "athlete_left", "dose_given", "turn_called", "set_moved", "asked"})
        CHECK(athlete_of(samples().at(name)) == athlete);
    for (const char* name : {"evening_began", "set_began", "kept_outside", "evening_ended"})
        CHECK(athlete_of(samples().at(name)) == AthleteId{});
}
