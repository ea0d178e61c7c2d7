/* The CRC of the wire for a controller of 8 bits: the same nibble table as wire/crc32.c, worked through byte by byte.
 * Shifting a 32-bit number by 4 is a loop there; swapping the halves of four bytes is not, and a frame takes half the
 * time.
 */
#include "wire/wire.h"

#define ROW(value) (value) & 0xFF, ((value) >> 8) & 0xFF, ((value) >> 16) & 0xFF, ((value) >> 24) & 0xFF
static const uint8_t rows[16][4] = {{ROW(0x00000000UL)}, {ROW(0x1DB71064UL)}, {ROW(0x3B6E20C8UL)}, {ROW(0x26D930ACUL)},
                                    {ROW(0x76DC4190UL)}, {ROW(0x6B6B51F4UL)}, {ROW(0x4DB26158UL)}, {ROW(0x5005713CUL)},
                                    {ROW(0xEDB88320UL)}, {ROW(0xF00F9344UL)}, {ROW(0xD6D6A3E8UL)}, {ROW(0xCB61B38CUL)},
                                    {ROW(0x9B64C2B0UL)}, {ROW(0x86D3D2D4UL)}, {ROW(0xA00AE278UL)}, {ROW(0xBDBDF21CUL)}};

__attribute__((optimize("O2"))) uint32_t wire_crc32(const uint8_t* bytes, size_t size) {
    uint8_t a = 0xFF, b = 0xFF, c = 0xFF, d = 0xFF; /* the register, lowest byte first */
    const uint8_t* const end = bytes + size;
    while (bytes != end) {
        uint8_t halves = 2;
        a ^= *bytes++;
        do {
            const uint8_t* const row = rows[a & 15U];
            const uint8_t turned_b = __builtin_avr_swap(b), turned_c = __builtin_avr_swap(c);
            const uint8_t turned_d = __builtin_avr_swap(d);
            a = (uint8_t)((__builtin_avr_swap(a) & 0x0F) | (turned_b & 0xF0)) ^ row[0];
            b = (uint8_t)((turned_b & 0x0F) | (turned_c & 0xF0)) ^ row[1];
            c = (uint8_t)((turned_c & 0x0F) | (turned_d & 0xF0)) ^ row[2];
            d = (uint8_t)(turned_d & 0x0F) ^ row[3];
        } while (--halves != 0);
    }
    return ~(((uint32_t)d << 24) | ((uint32_t)c << 16) | ((uint16_t)b << 8) | a);
}
