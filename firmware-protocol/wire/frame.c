/* Frames: COBS(payload, CRC-32), one zero; and the receiver that finds them in a row of bytes. */
#include "wire/bytes.h"
#include "wire/wire.h"

size_t wire_encode_frame(const struct wire_message* message, uint8_t out[WIRE_FRAME_MAX]) {
    uint8_t plain[WIRE_PAYLOAD_MAX + WIRE_CRC_SIZE];
    const size_t size = wire_encode_payload(message, plain);
    uint32_t crc;
    size_t stuffed;
    if (size == 0) return 0;
    crc = wire_crc32(plain, size);
    wire_put32(plain + size, &crc);
    stuffed = wire_cobs_encode(plain, size + WIRE_CRC_SIZE, out);
    out[stuffed] = 0;
    return stuffed + 1;
}

/* Decodes in place: COBS never writes ahead of what it has read. */
static enum wire_received frame_ended(struct wire_receiver* receiver, struct wire_message* out) {
    const size_t stuffed = receiver->size;
    const bool too_long = receiver->too_long;
    size_t size;
    uint32_t crc;
    receiver->size = 0;
    receiver->too_long = false;
    if (too_long) return WIRE_RECEIVED_DAMAGED;
    if (stuffed == 0) return WIRE_RECEIVED_NOTHING;
    size = wire_cobs_decode(receiver->bytes, stuffed, receiver->bytes);
    if (size == SIZE_MAX || size <= WIRE_CRC_SIZE) return WIRE_RECEIVED_DAMAGED;
    size -= WIRE_CRC_SIZE;
    wire_take32(receiver->bytes + size, &crc);
    if (crc != wire_crc32(receiver->bytes, size)) return WIRE_RECEIVED_DAMAGED;
    return wire_decode_payload(receiver->bytes, size, out) ? WIRE_RECEIVED_MESSAGE : WIRE_RECEIVED_UNKNOWN;
}

enum wire_received wire_receive(struct wire_receiver* receiver, uint8_t byte, struct wire_message* out) {
    if (byte == 0) return frame_ended(receiver, out);
    if (receiver->size < WIRE_FRAME_MAX - 1) {
        receiver->bytes[receiver->size++] = byte;
    } else {
        receiver->too_long = true;
    }
    return WIRE_RECEIVED_NOTHING;
}
