// Messages of the wire as text ("pad_hit sequence=1 time=5000000 pad=0 peak=640 echoes=0") and back, as the golden
// frames and PROTOCOL.md write them; and random ones. For tests only. A text that is no message throws: the test fails.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <vector>

#include "core/random.hpp"
#include "wire/wire.h"

namespace breakstep::wire_test {

using Bytes = std::vector<std::uint8_t>;

/// Every type of this version, in the order of their numbers.
[[nodiscard]] std::vector<std::uint8_t> all_types();

/// Numbers may be decimal or, after 0x, hexadecimal.
[[nodiscard]] wire_message message_from_text(const std::string& text);
/// All numbers decimal.
[[nodiscard]] std::string text_from(const wire_message& message);

/// "0a 1b" and back; anything else throws.
[[nodiscard]] Bytes bytes_from_hex(const std::string& hex);
[[nodiscard]] std::string hex_from(const Bytes& bytes);

/// A message of that type: each field at one of its ends, zero, or anywhere between.
[[nodiscard]] wire_message random_message(Random& random, std::uint8_t type);
[[nodiscard]] wire_message random_message(Random& random);

[[nodiscard]] Bytes frame_of(const wire_message& message);
/// A frame of any payload, also of types and lengths that the library does not write.
[[nodiscard]] Bytes frame_of_payload(const Bytes& payload);

/// Everything a fresh receiver says about these bytes.
struct Heard {
    std::vector<wire_message> messages;
    std::size_t damaged = 0;
    std::size_t unknown = 0;
};
[[nodiscard]] Heard heard_in(const Bytes& bytes);

/// The same message: equal in every field that goes over the wire.
[[nodiscard]] bool same(const wire_message& a, const wire_message& b);

}  // namespace breakstep::wire_test
