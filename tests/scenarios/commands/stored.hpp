// What tests of the commands look up in a store: its athletes, and the bytes of its files.
#pragma once

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <nlohmann/json.hpp>
#include <random>
#include <string>

#include "support/room.hpp"

namespace breakstep::testing {

inline std::string random_letters() {
    static std::random_device device;
    std::string letters;
    for (int i = 0; i < 16; ++i) letters += static_cast<char>('a' + device() % 26);
    return letters;
}

inline std::string store_files(const Room& room, const std::string& store) {
    std::string all;
    for (const auto& entry : std::filesystem::directory_iterator(room.folder)) {
        if (!entry.is_regular_file() || !entry.path().filename().string().starts_with(store)) continue;
        std::ifstream file(entry.path(), std::ios::binary);
        all.append(std::istreambuf_iterator<char>(file), {});
    }
    return all;
}

inline nlohmann::json athletes_in(const Room& room, const std::string& store) {
    const Said said = room.run("athletes list --with-names --json --store " + store);
    REQUIRE_MESSAGE(said.code == 0, said.err);
    return nlohmann::json::parse(said.out).at("athletes");
}

}  // namespace breakstep::testing
