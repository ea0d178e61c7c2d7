// The golden frames read as what they say and are written as they stand, and PROTOCOL.md shows the same ones.
#include <doctest/doctest.h>

#include <fstream>
#include <map>
#include <set>
#include <sstream>
#include <stdexcept>

#include "message_text.hpp"
#include "places.hpp"

using namespace breakstep::wire_test;

namespace {

const std::string folder = std::string(BREAKSTEP_SOURCE_DIR) + "/firmware-protocol/";

struct Golden {
    std::string name, message;
    Bytes frame;
};

std::string trimmed(const std::string& text) {
    const auto first = text.find_first_not_of(' ');
    return first == std::string::npos ? "" : text.substr(first, text.find_last_not_of(' ') - first + 1);
}

std::vector<std::string> lines_of(const std::string& path) {
    std::ifstream file(path);
    if (!file) throw std::runtime_error("can't read " + path);
    std::vector<std::string> lines;
    for (std::string line; std::getline(file, line);) lines.push_back(line);
    return lines;
}

std::vector<Golden> golden_frames() {
    std::vector<Golden> frames;
    for (const std::string& line : lines_of(folder + "golden/frames.txt")) {
        if (line.empty() || line[0] == '#') continue;
        std::istringstream parts(line);
        std::string name, message, hex;
        std::getline(parts, name, '|');
        std::getline(parts, message, '|');
        std::getline(parts, hex);
        frames.push_back({trimmed(name), trimmed(message), bytes_from_hex(hex)});
    }
    return frames;
}

/// Those whose payload this version writes itself, and those it must only bear.
std::vector<Golden> golden_frames(bool of_this_version) {
    std::vector<Golden> chosen;
    for (const Golden& golden : golden_frames())
        if (golden.message.starts_with("payload ") != of_this_version) chosen.push_back(golden);
    return chosen;
}

/// The worked frames of PROTOCOL.md: each message in a block marked `block`, with the bytes on the line after it.
std::vector<Golden> worked_frames(const std::string& block) {
    std::vector<Golden> frames;
    bool inside = false;
    std::string message;
    for (const std::string& line : lines_of(folder + "PROTOCOL.md")) {
        if (line.starts_with("```")) {
            inside = line == "```" + block;
        } else if (inside && line.starts_with("= ")) {
            frames.push_back({"PROTOCOL.md", message, bytes_from_hex(line.substr(2))});
        } else if (inside && !line.starts_with("#")) {
            message = line.starts_with("> ") || line.starts_with("< ") ? line.substr(2) : line;
        }
    }
    return frames;
}

void check_both_ways(const Golden& golden) {
    CAPTURE(golden.name);
    CAPTURE(golden.message);
    const wire_message meant = message_from_text(golden.message);
    CHECK(hex_from(frame_of(meant)) == hex_from(golden.frame));
    const Heard heard = heard_in(golden.frame);
    REQUIRE(heard.messages.size() == 1);
    CHECK(text_from(heard.messages[0]) == text_from(meant));
    CHECK(heard.damaged + heard.unknown == 0);
}

}  // namespace

TEST_CASE("every golden frame reads as its message and is written as it stands") {
    std::map<std::uint8_t, int> seen;
    for (const Golden& golden : golden_frames(true)) {
        check_both_ways(golden);
        ++seen[message_from_text(golden.message).type];
    }
    for (const std::uint8_t type : all_types()) {
        CAPTURE(type);
        // Two messages have no fields, so there is only one of each.
        const bool bare = type == WIRE_HELLO_REQUEST || type == WIRE_COUNTERS_REQUEST;
        CHECK(seen[type] >= (bare ? 1 : 2));
    }
}

TEST_CASE("PROTOCOL.md shows a golden frame of every message") {
    std::map<std::string, std::string> hex_of;
    for (const Golden& golden : golden_frames(true)) hex_of[golden.message] = hex_from(golden.frame);
    std::set<std::uint8_t> shown;
    for (const Golden& worked : worked_frames("frame")) {
        CAPTURE(worked.message);
        REQUIRE(hex_of.contains(worked.message));
        CHECK(hex_from(worked.frame) == hex_of[worked.message]);
        shown.insert(message_from_text(worked.message).type);
    }
    CHECK(shown.size() == all_types().size());
}

TEST_CASE("the conversation in PROTOCOL.md is made of true frames") {
    const auto talk = worked_frames("talk");
    CHECK(talk.size() == 17);
    for (const Golden& frame : talk) check_both_ways(frame);
}

TEST_CASE("a longer payload of a newer version reads as the message this version knows") {
    std::map<std::string, std::string> message_of;
    for (const Golden& golden : golden_frames(true)) message_of[golden.name] = golden.message;
    int longer = 0;
    for (const Golden& golden : golden_frames(false)) {
        static const std::string mark = "longer: ";
        if (!golden.name.starts_with(mark)) continue;
        CAPTURE(golden.name);
        ++longer;
        const Heard heard = heard_in(golden.frame);
        REQUIRE(heard.messages.size() == 1);
        CHECK(text_from(heard.messages[0]) ==
              text_from(message_from_text(message_of.at(golden.name.substr(mark.size())))));
    }
    CHECK(longer == 3);
}

TEST_CASE("whole frames that this version does not know are told apart from damaged ones") {
    int unknown = 0;
    for (const Golden& golden : golden_frames(false)) {
        if (!golden.name.starts_with("unknown: ")) continue;
        CAPTURE(golden.name);
        ++unknown;
        const Heard heard = heard_in(golden.frame);
        CHECK(heard.messages.empty());
        CHECK(heard.damaged == 0);
        CHECK(heard.unknown == 1);
    }
    CHECK(unknown == 5);
}

TEST_CASE("an event of a newer version keeps its place in the sequence") {
    int newer = 0;
    for (const Golden& golden : golden_frames(false)) {
        if (!golden.name.starts_with("newer event: ")) continue;
        CAPTURE(golden.name);
        ++newer;
        const Heard heard = heard_in(golden.frame);
        REQUIRE(heard.messages.size() == 1);
        CHECK(wire_is_event(heard.messages[0].type));
        CHECK(heard.messages[0].sequence == 42);
        CHECK(heard.messages[0].time == 5'000'000);
    }
    CHECK(newer == 2);
}
