// Any bytes at all, into the receiver, the payload codec and COBS: no access out of bounds (the sanitizers see to
// that), and what was accepted is written again as it was read. The first byte of the input picks what is tried.
#include <algorithm>
#include <array>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <cstdlib>
#include <span>
#include <vector>

#include "wire/wire.h"

namespace {

using Bytes = std::vector<std::uint8_t>;
using Input = std::span<const std::uint8_t>;

void require(bool holds, const char* what) {
    if (holds) return;
    std::fprintf(stderr, "does not hold: %s\n", what);
    std::abort();
}

bool equal(const std::uint8_t* a, const std::uint8_t* b, std::size_t size) { return std::equal(a, a + size, b); }

/// Written again, a message gives the same payload, and a frame that reads as the same message.
void check_message(const wire_message& message) {
    std::array<std::uint8_t, WIRE_PAYLOAD_MAX> payload{}, again{};
    std::array<std::uint8_t, WIRE_FRAME_MAX> frame{};
    const std::size_t size = wire_encode_payload(&message, payload.data());
    const std::size_t frame_size = wire_encode_frame(&message, frame.data());
    if (size == 0) {
        require(wire_is_event(message.type) && frame_size == 0, "only newer events are read and not written");
        return;
    }
    wire_receiver receiver{};
    wire_message read{};
    for (std::size_t i = 0; i + 1 < frame_size; ++i)
        require(wire_receive(&receiver, frame[i], &read) == WIRE_RECEIVED_NOTHING, "a frame ends at its zero only");
    require(wire_receive(&receiver, frame[frame_size - 1], &read) == WIRE_RECEIVED_MESSAGE, "a frame written is read");
    require(wire_encode_payload(&read, again.data()) == size && equal(payload.data(), again.data(), size),
            "a message read again is the same");
}

void try_receiver(Input input) {
    wire_receiver receiver{};
    wire_message message{};
    for (const std::uint8_t byte : input) {
        if (wire_receive(&receiver, byte, &message) == WIRE_RECEIVED_MESSAGE) check_message(message);
        require(receiver.size < WIRE_FRAME_MAX, "the receiver stays inside its buffer");
    }
}

void try_payload(Input input) {
    const Bytes payload(input.begin(), input.end());  // a buffer of its own: reading past its end is seen
    wire_message message{};
    if (!wire_decode_payload(payload.data(), payload.size(), &message)) return;
    check_message(message);
    std::array<std::uint8_t, WIRE_PAYLOAD_MAX> again{};
    const std::size_t size = wire_encode_payload(&message, again.data());
    require(size <= payload.size() && equal(payload.data(), again.data(), size), "a payload read is written the same");
}

/// True CRCs, so that the input gets past them: each piece of it is a payload. The first byte of a piece is its size.
void try_frames(Input input) {
    Bytes stream;
    while (!input.empty()) {
        const std::size_t size = std::min<std::size_t>(input[0] % 40, input.size() - 1);
        Bytes plain(input.begin() + 1, input.begin() + 1 + static_cast<std::ptrdiff_t>(size));
        input = input.subspan(1 + size);
        const std::uint32_t crc = wire_crc32(plain.data(), plain.size());
        for (unsigned i = 0; i < WIRE_CRC_SIZE; ++i) plain.push_back(static_cast<std::uint8_t>(crc >> (8 * i)));
        Bytes stuffed(plain.size() + 1);
        stuffed.resize(wire_cobs_encode(plain.data(), plain.size(), stuffed.data()));
        stream.insert(stream.end(), stuffed.begin(), stuffed.end());
        stream.push_back(0);
    }
    try_receiver(stream);
}

void try_cobs(Input input) {
    const Bytes plain(input.begin(), input.end());
    Bytes stuffed(plain.size() + plain.size() / 254 + 1);
    stuffed.resize(wire_cobs_encode(plain.data(), plain.size(), stuffed.data()));
    require(std::count(stuffed.begin(), stuffed.end(), 0) == 0, "COBS has no zeros");
    Bytes back(stuffed.size());
    back.resize(wire_cobs_decode(stuffed.data(), stuffed.size(), back.data()));
    require(back == plain, "COBS comes back");

    Bytes decoded(std::max<std::size_t>(plain.size(), 1) - 1);  // as small as promised
    const std::size_t size = wire_cobs_decode(plain.data(), plain.size(), decoded.data());
    Bytes in_place = plain;
    require(wire_cobs_decode(in_place.data(), in_place.size(), in_place.data()) == size, "in place is the same");
    if (size == SIZE_MAX) return;
    require(size <= decoded.size() && equal(decoded.data(), in_place.data(), size), "in place gives the same bytes");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    if (size == 0) return 0;
    const Input input(data + 1, size - 1);
    switch (data[0] % 4) {
        case 0:
            try_receiver(input);
            break;
        case 1:
            try_payload(input);
            break;
        case 2:
            try_frames(input);
            break;
        default:
            try_cobs(input);
            break;
    }
    return 0;
}
