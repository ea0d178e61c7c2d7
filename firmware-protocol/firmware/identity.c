#include "identity.h"

#include <string.h>

#include "board.h"
#include "memory_map.h"
#include "wire/wire.h"

static uint8_t board_bytes[8 + WIRE_CRC_SIZE];
static uint32_t boot;
static uint16_t watchdog_resets;
static uint32_t random_state;

/* A bijection of 32 bits in which every bit of the input moves about half of the output: the finalizer of MurmurHash3
 * (A. Appleby, public domain). As it is one-to-one, different counts never give the same boot id by way of it. */
static uint32_t scrambled(uint32_t value) {
    value ^= value >> 16;
    value *= 0x85EBCA6BUL;
    value ^= value >> 13;
    value *= 0xC2B2AE35UL;
    return value ^ (value >> 16);
}

static void read_bytes(uint16_t at, void* out, uint8_t size) {
    uint8_t* to = out;
    while (size-- != 0) *to++ = board_memory_read(at++);
}

/* Only at the start, before the watchdog could mind: a byte takes 3.4 ms, 12 bytes at most. */
static void write_bytes(uint16_t at, const void* in, uint8_t size) {
    const uint8_t* from = in;
    for (; size != 0; --size, ++at, ++from) {
        if (board_memory_read(at) == *from) continue;
        board_memory_write(at, *from);
        while (board_memory_busy()) {
        }
    }
}

static uint32_t crc_of_board(void) { return wire_crc32(board_bytes, 8); }

static void know_board(void) {
    uint32_t crc;
    read_bytes(MEMORY_IDENTITY, board_bytes, sizeof board_bytes);
    memcpy(&crc, board_bytes + 8, WIRE_CRC_SIZE);
    if (crc == crc_of_board()) return;
    {
        const uint32_t low = scrambled(board_noise()) | 1U; /* never 0 */
        const uint32_t high = scrambled(board_noise());
        memcpy(board_bytes, &low, 4);
        memcpy(board_bytes + 4, &high, 4);
    }
    crc = crc_of_board();
    memcpy(board_bytes + 8, &crc, WIRE_CRC_SIZE);
    write_bytes(MEMORY_IDENTITY, board_bytes, sizeof board_bytes);
}

void identity_start(void) {
    uint32_t boots;
    uint32_t identity;
    know_board();
    read_bytes(MEMORY_BOOTS, &boots, sizeof boots);
    ++boots;
    write_bytes(MEMORY_BOOTS, &boots, sizeof boots);
    memcpy(&identity, board_bytes, sizeof identity);
    boot = scrambled(boots ^ identity ^ scrambled(board_noise()));
    if (boot == 0) boot = 1;
    random_state = boot;

    read_bytes(MEMORY_WATCHDOG, &watchdog_resets, sizeof watchdog_resets);
    if (watchdog_resets == 65535U) watchdog_resets = 0;
    if (board_reset_cause() == BOARD_WATCHDOG && watchdog_resets < 65534U) {
        ++watchdog_resets;
        write_bytes(MEMORY_WATCHDOG, &watchdog_resets, sizeof watchdog_resets);
    }
}

uint64_t identity_board(void) {
    uint64_t board;
    memcpy(&board, board_bytes, sizeof board);
    return board;
}

uint32_t identity_boot(void) { return boot; }
uint16_t identity_watchdog_resets(void) { return watchdog_resets; }

uint16_t random_16(void) {
    random_state ^= random_state << 13;
    random_state ^= random_state >> 17;
    random_state ^= random_state << 5;
    return (uint16_t)(random_state >> 8);
}
