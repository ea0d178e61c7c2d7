// Values that grow: what an older or a newer version wrote.
#include <algorithm>
#include <cstdio>
#include <fstream>
#include <map>
#include <sstream>
#include <string>

#include <doctest/doctest.h>

#include "core/journal/codec.hpp"
#include "core/journal/events.hpp"
#include "places.hpp"
#include "unit/core/journal_samples.hpp"

using namespace breakstep;

namespace {

// A value in three ages: the member it began with, one added, one more added, and a nested value that grew too.
struct Inner {
    std::int32_t first = 1, later = 2;
    template <class Archive>
    void fields(Archive& archive) {
        archive(first);
        archive.added(later);
    }
};
struct OldInner {
    std::int32_t first = 1;
    template <class Archive>
    void fields(Archive& archive) {
        archive(first);
    }
};
template <class Nested>
struct Old {
    std::vector<Nested> nested;
    std::int32_t last = 3;
    template <class Archive>
    void fields(Archive& archive) {
        archive(nested, last);
    }
};
struct New {
    std::vector<Inner> nested;
    std::int32_t last = 3;
    std::string added = "not said", newest = "not said either";
    template <class Archive>
    void fields(Archive& archive) {
        archive(nested, last);
        archive.added(added);
        archive.added(newest);
    }
};

template <class Value>
std::string framed(const Value& value) {
    std::string bytes;
    ByteWriter writer(bytes);
    writer(value);
    return bytes;
}
template <class Value>
std::optional<Value> read(std::string_view bytes, Layout layout = Layout::framed) {
    Value value;
    ByteReader reader(bytes, layout);
    reader(value);
    if (!reader.good() || !reader.at_end()) return std::nullopt;
    return value;
}

std::string from_hex(const std::string& hex) {
    std::string bytes;
    for (std::size_t i = 0; i + 1 < hex.size(); i += 2)
        bytes.push_back(static_cast<char>(std::stoi(hex.substr(i, 2), nullptr, 16)));
    return bytes;
}
std::string to_hex(std::string_view bytes) {
    std::string hex;
    for (const char byte : bytes) {
        char two[3];
        std::snprintf(two, sizeof two, "%02x", static_cast<unsigned>(static_cast<unsigned char>(byte)));
        hex += two;
    }
    return hex;
}
std::string bytes_of(const JournalEvent& event) {
    std::string bytes;
    encode(event, bytes);
    return bytes;
}

struct Golden {
    std::string layout, name;
    std::uint16_t number = 0;
    std::string bytes;
};

std::vector<Golden> goldens() {
    std::ifstream file(BREAKSTEP_SOURCE_DIR "/tests/unit/core/journal_goldens.txt");
    REQUIRE(file);
    std::vector<Golden> found;
    for (std::string line; std::getline(file, line);) {
        if (line.empty() || line.starts_with('#')) continue;
        std::istringstream words(line);
        Golden golden;
        std::string hex;
        words >> golden.layout >> golden.name >> golden.number >> hex;
        golden.bytes = from_hex(hex);
        found.push_back(std::move(golden));
    }
    return found;
}

// By layout, then by name.
std::map<std::string, std::map<std::string, JournalEvent>> samples() {
    std::map<std::string, std::map<std::string, JournalEvent>> by_layout;
    for (const JournalEvent& event : samples_of_the_flat_layout())
        by_layout["flat"].emplace(std::string(name_of(event)), event);
    for (const JournalEvent& event : samples_of_the_framed_layout())
        by_layout["framed-1"].emplace(std::string(name_of(event)), event);
    for (const JournalEvent& event : samples_of_the_second_framing())
        by_layout["framed-2"].emplace(std::string(name_of(event)), event);
    for (const JournalEvent& event : samples_of_the_third_framing())
        by_layout["framed-3"].emplace(std::string(name_of(event)), event);
    for (const JournalEvent& event : samples_of_the_fourth_framing())
        by_layout["framed-4"].emplace(std::string(name_of(event)), event);
    for (const JournalEvent& event : samples_of_the_fifth_framing())
        by_layout["framed-5"].emplace(std::string(name_of(event)), event);
    for (const JournalEvent& event : samples_of_the_sixth_framing())
        by_layout["framed-6"].emplace(std::string(name_of(event)), event);
    for (const JournalEvent& event : samples_of_the_seventh_framing())
        by_layout["framed-7"].emplace(std::string(name_of(event)), event);
    return by_layout;
}

// How often an event's fields() calls added(): its version within the framed layout.
struct CountAdded {
    int groups = 0;
    template <class... Fields>
    void operator()(Fields&...) {}
    template <class... Fields>
    void added(Fields&...) {
        ++groups;
    }
};

template <std::size_t Index = 1, class Each>
void for_each_kind(Each each) {
    if constexpr (Index < std::variant_size_v<JournalEvent>) {
        each(std::variant_alternative_t<Index, JournalEvent>{});
        for_each_kind<Index + 1>(each);
    }
}

}  // namespace

TEST_CASE("what an older version wrote reads with defaults for what it did not know") {
    const auto value = read<New>(framed(Old<OldInner>{{{5}, {6}}, 7}));
    REQUIRE(value);
    REQUIRE(value->nested.size() == 2);
    CHECK(value->nested[1].first == 6);
    CHECK(value->nested[1].later == 2);
    CHECK(value->last == 7);
    CHECK(value->added == "not said");
}

TEST_CASE("what a newer version wrote reads without what is not known here") {
    New newer;
    newer.nested = {{5, 50}, {6, 60}};
    newer.last = 7;
    newer.added = "said";
    const auto value = read<Old<OldInner>>(framed(newer));
    REQUIRE(value);
    REQUIRE(value->nested.size() == 2);
    CHECK(value->nested[1].first == 6);
    CHECK(value->last == 7);
}

TEST_CASE("a frame that ends inside what its version holds is damage") {
    New newer;
    newer.added = "said";
    newer.newest = "said too";
    const std::string bytes = framed(newer);
    // Ends that can be: of the first version, and of the one that added a member.
    const std::size_t first_version = framed(Old<Inner>{}).size(), second = bytes.size() - 4 - newer.newest.size();
    for (std::size_t kept = 4; kept < bytes.size(); ++kept) {
        std::string cut;
        ByteWriter{cut}(static_cast<std::uint32_t>(kept - 4));
        cut += bytes.substr(4, kept - 4);
        CHECK(read<New>(cut).has_value() == (kept == first_version || kept == second));
    }
}

TEST_CASE("the flat layout has no frames and nothing that was added later") {
    std::string flat;
    ByteWriter{flat}(std::uint32_t{1}, std::int32_t{5}, std::int32_t{7});
    const auto value = read<New>(flat, Layout::flat);
    REQUIRE(value);
    REQUIRE(value->nested.size() == 1);
    CHECK(value->nested[0].first == 5);
    CHECK(value->nested[0].later == 2);
    CHECK(value->last == 7);
    CHECK(value->added == "not said");
}

TEST_CASE("bytes that were once written read as they always did") {
    const auto known = samples();
    int checked = 0;
    for (const Golden& golden : goldens()) {
        const std::string what = golden.layout + ' ' + golden.name;
        CAPTURE(what);
        const auto layout = known.find(golden.layout);
        REQUIRE(layout != known.end());
        const auto sample = layout->second.find(golden.name);
        REQUIRE(sample != layout->second.end());
        const auto event = decode(golden.number, golden.bytes);
        REQUIRE(event.has_value());
        CHECK(name_of(*event) == golden.name);
        CHECK(to_hex(bytes_of(*event)) == to_hex(bytes_of(sample->second)));
        ++checked;
    }
    CHECK(checked == 23 + 26 + 4 + 4 + 6 + 4 + 1 + 2);
}

TEST_CASE("each kind of each version has a golden, and the newest is what is written today") {
    const auto all = goldens();
    for_each_kind([&](auto event) {
        CountAdded version;
        event.fields(version);
        const std::string name(name_of(event));
        CAPTURE(name);
        std::vector<Golden> framed_ones;
        for (const Golden& golden : all)
            if (golden.name == name && golden.layout.starts_with("framed-")) framed_ones.push_back(golden);
        REQUIRE_FALSE(framed_ones.empty());
        const Golden& newest = framed_ones.back();
        const JournalEvent sample = samples().at(newest.layout).at(name);
        CHECK(to_hex(bytes_of(sample)) == to_hex(newest.bytes));
        CHECK(kind_of(sample) == newest.number);
        // The layouts began with one added group for some kinds; each group that comes later brings a golden of its
        // own.
        CHECK(static_cast<int>(framed_ones.size()) >= std::max(1, version.groups));
    });
}
