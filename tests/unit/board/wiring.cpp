// RIG.md's wiring table, row by row, against the pins that the firmware names and the simulated board wires: a builder
// solders by that table. That firmware and simulated board agree in deed, all other tests here show.
#include <doctest/doctest.h>

#include <fstream>
#include <iterator>
#include <map>
#include <regex>
#include <string>
#include <vector>

#include "places.hpp"

namespace {

std::string text_of(const std::string& path) {
    std::ifstream in(std::string(BREAKSTEP_SOURCE_DIR) + "/firmware-protocol/" + path);
    REQUIRE(in.good());
    return {std::istreambuf_iterator<char>(in), {}};
}

/// Channel ("gate 3") to pin ("PD4"), of the rows of the form | pin | direction | channel | ...
std::map<std::string, std::string> wiring_table() {
    const std::string rig = text_of("RIG.md");
    const std::regex row("\n\\| (P[BCD][0-7]) \\| [^|]+ \\| ([^|]+) \\|");
    std::map<std::string, std::string> table;
    for (std::sregex_iterator found(rig.begin(), rig.end(), row), end; found != end; ++found) {
        CAPTURE((*found)[2].str());
        CHECK(table.emplace((*found)[2], (*found)[1]).second);
    }
    return table;
}

/// What the firmware's board file says of NAME = Pxn.
std::string pin_named(const std::string& source, const std::string& name) {
    std::smatch found;
    const std::regex line("\\b" + name + " = (P[BCD][0-7])");
    REQUIRE_MESSAGE(std::regex_search(source, found, line), name);
    return found[1];
}

}  // namespace

TEST_CASE("the wiring table of RIG.md names the pins that the firmware uses") {
    const std::string board = text_of("firmware/board_atmega328p.c");
    std::map<std::string, std::string> used;
    const std::vector<std::string> gates{"PIN_GATE_CAPTURE", "PIN_GATE_INT0", "PIN_GATE_INT1", "PIN_GATE_CHANGE_A",
                                         "PIN_GATE_CHANGE_B", "PIN_GATE_CHANGE_C"};
    for (std::size_t i = 0; i < gates.size(); ++i) used["gate " + std::to_string(i)] = pin_named(board, gates[i]);
    const std::string first_lamp = pin_named(board, "LAMPS_SHIFT");
    for (int i = 0; i < 4; ++i) {
        // Pads are the converter's channels 0 to 3, which are port C's first pins (datasheet, from memory).
        used["pad " + std::to_string(i)] = "PC" + std::to_string(i);
        CHECK(board.find("REFERENCE | " + std::to_string(i)) != std::string::npos);
        used["lamp " + std::to_string(i)] = first_lamp.substr(0, 2) + std::to_string(first_lamp[2] - '0' + i);
    }
    used["sync"] = pin_named(board, "PIN_SYNC");
    used["switch"] = pin_named(board, "PIN_PARTNER");
    used["light"] = pin_named(board, "PIN_LIGHT");
    // The controller's own serial line (datasheet, from memory).
    used["serial in"] = "PD0";
    used["serial out"] = "PD1";
    CHECK(wiring_table() == used);
}

TEST_CASE("the wiring table of RIG.md names the pins that the simulated board feeds") {
    const std::string controller = text_of("board/controller.cpp");
    std::smatch found;
    const std::regex list(R"(pins\{(\{[^;]+)\};)");
    REQUIRE(std::regex_search(controller, found, list));
    const std::string pins = found[1];
    const std::regex one("'([BCD])', ([0-7])");
    std::vector<std::string> fed;
    for (std::sregex_iterator pin(pins.begin(), pins.end(), one), end; pin != end; ++pin)
        fed.push_back("P" + (*pin)[1].str() + (*pin)[2].str());
    auto table = wiring_table();
    CHECK(fed == std::vector<std::string>{table["gate 0"], table["gate 1"], table["gate 2"], table["gate 3"],
                                          table["gate 4"], table["gate 5"], table["sync"], table["switch"]});
}

TEST_CASE("RIG.md states the bounds that the firmware states") {
    const std::string rig = text_of("RIG.md"), header = text_of("firmware/board.h");
    const auto bound_us = [&](const std::string& name) {
        std::smatch found;
        const std::regex line(name + " = ([0-9]+)");
        REQUIRE(std::regex_search(header, found, line));
        return std::to_string(std::stoi(found[1]) / 2) + " us";  // a tick is 0.5 us
    };
    const auto row_says = [&](const std::string& row, const std::string& bound) {
        CAPTURE(row);
        std::smatch found;
        const std::regex line("\n\\| " + row + "[^|]*\\| ([^|]+) \\|");
        REQUIRE(std::regex_search(rig, found, line));
        CHECK(found[1] == bound);
    };
    row_says("gate 0", bound_us("BOARD_GATE_CAPTURE_BOUND"));
    row_says("gates 1 and 2", bound_us("BOARD_GATE_INTERRUPT_BOUND"));
    row_says("gates 3 to 5", bound_us("BOARD_GATE_INTERRUPT_BOUND"));
    row_says("pads", bound_us("BOARD_PAD_BOUND"));
    row_says("lamps", bound_us("BOARD_LAMP_BOUND"));
    row_says("sync input", bound_us("BOARD_SYNC_BOUND"));
}
