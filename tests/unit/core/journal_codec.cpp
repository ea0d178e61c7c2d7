// Every kind of journal event as bytes and back.
#include <set>
#include <string>
#include <utility>

#include <doctest/doctest.h>

#include "core/journal/codec.hpp"
#include "core/journal/events.hpp"
#include "core/random.hpp"

using namespace breakstep;

namespace {

// Gives every field of an event some value of its own, within its enumeration.
class Filler {
  public:
    explicit Filler(std::uint64_t seed) : random_(seed) {}
    template <class... Fields>
    void operator()(Fields&... fields) {
        (fill(fields), ...);
    }
    template <class... Fields>
    void added(Fields&... fields) {
        (fill(fields), ...);
    }

  private:
    template <std::integral T>
    void fill(T& value) {
        if constexpr (std::same_as<T, bool>)
            value = random_.chance(0.5);
        else
            value = static_cast<T>((std::uint64_t{random_.next()} << 32U) | random_.next());
    }
    template <class T>
    requires std::is_enum_v<T>
    void fill(T& value) {
        if constexpr (sizeof(T) == 1) {
            value = static_cast<T>(random_.below(static_cast<std::uint32_t>(last_of<T>) + 1U));
        } else {
            std::underlying_type_t<T> number{};
            fill(number);
            value = static_cast<T>(number);
        }
    }
    void fill(double& value) { value = random_.uniform(-1e9, 1e9); }
    void fill(Duration& value) {
        std::int64_t count{};
        fill(count);
        value = Duration(count);
    }
    void fill(TargetTime& value) {
        BootId boot{};
        Duration since_boot{};
        (*this)(boot, since_boot);
        value = TargetTime(boot, since_boot);
    }
    void fill(std::string& value) {
        value.clear();
        for (std::uint32_t i = random_.below(40); i > 0; --i) value.push_back(static_cast<char>(random_.below(256)));
    }
    template <class T>
    void fill(std::vector<T>& values) {
        values.resize(random_.below(5));
        for (T& value : values) fill(value);
    }
    template <class T>
    requires(std::is_class_v<T>) void fill(T& value) { value.fields(*this); }

    Random random_;
};

std::string bytes_of(const JournalEvent& event) {
    std::string bytes;
    encode(event, bytes);
    return bytes;
}

// Calls `check` with a filled event of every known kind, several of each.
template <class Check, std::size_t Index = 0>
void for_every_kind(Check check) {
    if constexpr (Index < std::variant_size_v<JournalEvent>) {
        using Event = std::variant_alternative_t<Index, JournalEvent>;
        if constexpr (!std::same_as<Event, UnknownEvent>) {
            for (std::uint64_t seed = 1; seed <= 8; ++seed) {
                Event event;
                Filler filler(seed * 1000 + Index);
                event.fields(filler);
                check(JournalEvent(std::move(event)));
            }
        }
        for_every_kind<Check, Index + 1>(check);
    }
}

}  // namespace

TEST_CASE("every kind of event comes back from its bytes as it was") {
    int kinds = 0;
    for_every_kind([&](const JournalEvent& event) {
        const std::string bytes = bytes_of(event);
        const auto decoded = decode(kind_of(event), bytes);
        REQUIRE_MESSAGE(decoded.has_value(), name_of(event));
        CHECK(decoded->index() == event.index());
        CHECK_MESSAGE(bytes_of(*decoded) == bytes, name_of(event));
        ++kinds;
    });
    CHECK(kinds == 8 * 34);
}

TEST_CASE("kind numbers and names are unique") {
    std::set<std::uint16_t> numbers;
    std::set<std::string_view> names;
    for_every_kind([&](const JournalEvent& event) {
        numbers.insert(kind_of(event));
        names.insert(name_of(event));
    });
    CHECK(numbers.size() == 34);
    CHECK(names.size() == 34);
}

TEST_CASE("an event cut short anywhere is damaged") {
    for_every_kind([&](const JournalEvent& event) {
        const std::string bytes = bytes_of(event);
        for (std::size_t kept = 0; kept < bytes.size(); ++kept) {
            const auto decoded = decode(kind_of(event), std::string_view(bytes).substr(0, kept));
            REQUIRE_MESSAGE(!decoded.has_value(), name_of(event));
            CHECK(decoded.error().kind == ErrorKind::damaged);
            CHECK_FALSE(decoded.error().to_do.empty());
        }
    });
}

TEST_CASE("bytes behind an event's frame are damage") {
    for_every_kind([&](const JournalEvent& event) {
        CHECK_FALSE_MESSAGE(decode(kind_of(event), bytes_of(event) + 'x').has_value(), name_of(event));
    });
}

TEST_CASE("an unknown kind is kept as it was") {
    const std::string bytes("\0\1what is this\xff", 16);
    const auto decoded = decode(999, bytes);
    REQUIRE(decoded.has_value());
    CHECK(kind_of(*decoded) == 999);
    CHECK(name_of(*decoded) == "unknown");
    CHECK(bytes_of(*decoded) == bytes);
}

TEST_CASE("a value outside its enumeration is damaged and not taken for another") {
    PadHit hit;
    hit.at = TargetTime(BootId{1}, 5ms);
    hit.pad = PadRole::low_right;
    // The frame's length 4 bytes, boot 4, time 8, sequence 2, then the pad.
    std::string wrong = bytes_of(hit);
    REQUIRE(wrong[18] == static_cast<char>(PadRole::low_right));
    wrong[18] = 4;
    CHECK_FALSE(decode(kind_of(hit), wrong).has_value());
    std::string not_a_bool = bytes_of(SetEnded{1, true});
    REQUIRE(not_a_bool.back() == 1);
    not_a_bool.back() = 2;
    CHECK_FALSE(decode(kind_of(SetEnded{}), not_a_bool).has_value());
}

TEST_CASE("a list whose length is damage asks for no more memory than there are bytes") {
    SetPlanned planned;
    std::string bytes = bytes_of(planned);
    // Behind the list stand the reason, one byte, and twelve of what came later.
    for (std::size_t i = bytes.size() - 17; i < bytes.size() - 13; ++i) bytes[i] = '\xff';
    CHECK_FALSE(decode(kind_of(planned), bytes).has_value());
}

TEST_CASE("integers are little-endian on every machine") {
    const std::string bytes =
        bytes_of(StartStruck{0x01020304, TargetTime(BootId{0xA1B2C3D4}, Duration(0x1122334455667788))});
    CHECK(bytes == std::string("\x10\x00\x00\x00\x04\x03\x02\x01\xD4\xC3\xB2\xA1\x88\x77\x66\x55\x44\x33\x22\x11", 20));
}
