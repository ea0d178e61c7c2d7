/* Little-endian numbers in a row of bytes: internal to the wire library.
 *
 * On little-endian machines (every host in use, and the 8-bit AVR, where 64-bit shifts are expensive) a number is
 * copied whole; elsewhere, or with WIRE_PORTABLE_BYTES defined, it is shifted out byte by byte. Tests compare the two.
 * Each function returns the place after what it put or took, and checks no bounds: the caller has counted.
 * Never fails; any thread.
 */
#ifndef BREAKSTEP_WIRE_BYTES_H
#define BREAKSTEP_WIRE_BYTES_H

#include <stdint.h>
#include <string.h>

static inline uint8_t* wire_put8(uint8_t* at, uint8_t value) {
    *at = value;
    return at + 1;
}

static inline const uint8_t* wire_take8(const uint8_t* at, uint8_t* value) {
    *value = *at;
    return at + 1;
}

#if !defined(WIRE_PORTABLE_BYTES) && defined(__BYTE_ORDER__) && __BYTE_ORDER__ == __ORDER_LITTLE_ENDIAN__

#define WIRE_DEFINE_NUMBER(bits, type)                                             \
    static inline uint8_t* wire_put##bits(uint8_t* at, const type* value) {        \
        memcpy(at, value, (bits) / 8);                                             \
        return at + (bits) / 8;                                                    \
    }                                                                              \
    static inline const uint8_t* wire_take##bits(const uint8_t* at, type* value) { \
        *value = 0;                                                                \
        memcpy(value, at, (bits) / 8);                                             \
        return at + (bits) / 8;                                                    \
    }

#else

#define WIRE_DEFINE_NUMBER(bits, type)                                             \
    static inline uint8_t* wire_put##bits(uint8_t* at, const type* value) {        \
        uint8_t shift;                                                             \
        for (shift = 0; shift < (bits); shift = (uint8_t)(shift + 8U)) {           \
            *at++ = (uint8_t)(*value >> shift);                                    \
        }                                                                          \
        return at;                                                                 \
    }                                                                              \
    static inline const uint8_t* wire_take##bits(const uint8_t* at, type* value) { \
        uint8_t shift;                                                             \
        *value = 0;                                                                \
        for (shift = 0; shift < (bits); shift = (uint8_t)(shift + 8U)) {           \
            *value = (type)(*value | (type)((type)*at++ << shift));                \
        }                                                                          \
        return at;                                                                 \
    }

#endif

WIRE_DEFINE_NUMBER(16, uint16_t)
WIRE_DEFINE_NUMBER(32, uint32_t)
WIRE_DEFINE_NUMBER(48, uint64_t)
WIRE_DEFINE_NUMBER(64, uint64_t)

#undef WIRE_DEFINE_NUMBER

#endif
