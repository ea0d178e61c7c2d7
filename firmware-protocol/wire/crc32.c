/* CRC-32 for the smallest controllers, and the choice between the two ways to reckon it. */
#include "wire/crc32.h"

#include "wire/wire.h"

/* Half a byte at a time: a table of 64 bytes. */
static const uint32_t nibble_table[16] = {
    0x00000000UL, 0x1DB71064UL, 0x3B6E20C8UL, 0x26D930ACUL, 0x76DC4190UL, 0x6B6B51F4UL, 0x4DB26158UL, 0x5005713CUL,
    0xEDB88320UL, 0xF00F9344UL, 0xD6D6A3E8UL, 0xCB61B38CUL, 0x9B64C2B0UL, 0x86D3D2D4UL, 0xA00AE278UL, 0xBDBDF21CUL};

uint32_t wire_crc32_nibble(const uint8_t* bytes, size_t size) {
    uint32_t crc = 0xFFFFFFFFUL;
    size_t i;
    for (i = 0; i < size; ++i) {
        crc ^= bytes[i];
        crc = (crc >> 4) ^ nibble_table[crc & 15U];
        crc = (crc >> 4) ^ nibble_table[crc & 15U];
    }
    return crc ^ 0xFFFFFFFFUL;
}

uint32_t wire_crc32(const uint8_t* bytes, size_t size) {
#ifdef WIRE_SLICED_CRC
    return wire_crc32_sliced(bytes, size);
#else
    return wire_crc32_nibble(bytes, size);
#endif
}
