/* The two ways to reckon CRC-32/ISO-HDLC: internal to the wire library and its tests, which compare them.
 *
 * wire_crc32() is the nibble one, with a table of 64 bytes, unless the library is built with WIRE_SLICED_CRC: then it
 * is the one that takes four bytes at a time, with tables of 4 kB. Pure; any thread; never fails.
 */
#ifndef BREAKSTEP_WIRE_CRC32_H
#define BREAKSTEP_WIRE_CRC32_H

#include <stddef.h>
#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

uint32_t wire_crc32_nibble(const uint8_t* bytes, size_t size);
uint32_t wire_crc32_sliced(const uint8_t* bytes, size_t size); /* only with WIRE_SLICED_CRC */

#ifdef __cplusplus
}
#endif

#endif
