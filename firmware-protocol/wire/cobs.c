/* Consistent Overhead Byte Stuffing (Cheshire & Baker 1999): no zero inside, one byte more up to 254. */
#include "wire/wire.h"

size_t wire_cobs_encode(const uint8_t* bytes, size_t size, uint8_t* out) {
    uint8_t* code_at = out;
    uint8_t* to = out + 1;
    uint8_t code = 1;
    while (size != 0) {
        const uint8_t byte = *bytes++;
        --size;
        if (byte != 0) {
            *to++ = byte;
            ++code;
            if (code != 0xFF || size == 0) continue;
        }
        *code_at = code;
        code_at = to++;
        code = 1;
    }
    *code_at = code;
    return (size_t)(to - out);
}

size_t wire_cobs_decode(const uint8_t* bytes, size_t size, uint8_t* out) {
    uint8_t* to = out;
    if (size == 0) return SIZE_MAX;
    for (;;) {
        const uint8_t code = *bytes++;
        uint8_t left = code;
        if (code == 0 || code > size) return SIZE_MAX;
        size -= code;
        while (--left != 0) {
            const uint8_t byte = *bytes++;
            if (byte == 0) return SIZE_MAX;
            *to++ = byte;
        }
        if (size == 0) return (size_t)(to - out);
        if (code != 0xFF) *to++ = 0;
    }
}
