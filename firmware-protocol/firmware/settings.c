#include "settings.h"

#include <stddef.h>

#include "memory_map.h"
#include "wire/wire.h"

enum { COPY_SIZE = 1 + sizeof(struct settings) + WIRE_CRC_SIZE };
enum { SETTLE_TICKS_MS = 300 }; /* a host sets them one by one: saved once, after the last */

static struct settings now_in_force;
static uint8_t generation; /* of the newer copy */
static bool unsaved;
static uint32_t changed_at;
static uint8_t saved_bytes;

const struct settings* settings(void) { return &now_in_force; }

static uint16_t copy_place(uint8_t number) { return (number & 1U) ? MEMORY_SETTINGS_B : MEMORY_SETTINGS_A; }

static void first_values(void) {
    uint8_t i;
    for (i = 0; i < BOARD_PADS; ++i) {
        now_in_force.threshold[i] = 60;
        now_in_force.window[i] = 50;
        now_in_force.refractory[i] = 60;
    }
    for (i = 0; i < BOARD_GATES; ++i) now_in_force.debounce[i] = 20;
    now_in_force.crosstalk = 5;
}

/* Takes a copy over if it is whole and newer than what was taken so far. True if anything has been taken. */
static bool take_copy(uint16_t place, bool taken) {
    uint8_t bytes[COPY_SIZE];
    uint32_t crc;
    uint8_t i;
    for (i = 0; i < COPY_SIZE; ++i) bytes[i] = board_memory_read(place + i);
    memcpy(&crc, bytes + COPY_SIZE - WIRE_CRC_SIZE, WIRE_CRC_SIZE);
    if (crc != wire_crc32(bytes, COPY_SIZE - WIRE_CRC_SIZE)) return taken;
    if (taken && (int8_t)(bytes[0] - generation) < 0) return true;
    generation = bytes[0];
    memcpy(&now_in_force, bytes + 1, sizeof now_in_force);
    return true;
}

void settings_load(void) {
    uint8_t pad;
    first_values();
    take_copy(copy_place(1), take_copy(copy_place(0), false));
    for (pad = 0; pad < BOARD_PADS; ++pad) board_pad_threshold(pad, now_in_force.threshold[pad]);
}

struct place {
    uint16_t* value; /* null: no such setting */
    uint16_t least, most;
};

static struct place place_of(uint8_t key, uint8_t index) {
    struct place place = {NULL, 0, 0};
    switch (key) {
        case WIRE_SETTING_PAD_THRESHOLD:
            if (index < BOARD_PADS) place = (struct place){&now_in_force.threshold[index], 1, 1023};
            break;
        case WIRE_SETTING_PAD_WINDOW:
            if (index < BOARD_PADS) place = (struct place){&now_in_force.window[index], 5, 200};
            break;
        case WIRE_SETTING_PAD_REFRACTORY:
            if (index < BOARD_PADS) place = (struct place){&now_in_force.refractory[index], 5, 500};
            break;
        case WIRE_SETTING_CROSSTALK:
            if (index == 0) place = (struct place){&now_in_force.crosstalk, 1, 20};
            break;
        case WIRE_SETTING_GATE_DEBOUNCE:
            if (index < BOARD_GATES) place = (struct place){&now_in_force.debounce[index], 0, 500};
            break;
        default:
            break;
    }
    return place;
}

uint8_t settings_get(uint8_t key, uint8_t index, uint16_t* value) {
    const struct place place = place_of(key, index);
    *value = place.value == NULL ? 0 : *place.value;
    return place.value == NULL ? WIRE_SETTING_UNKNOWN : WIRE_SETTING_OK;
}

uint8_t settings_set(uint8_t key, uint8_t index, uint16_t* value) {
    const struct place place = place_of(key, index);
    const uint16_t asked = *value;
    if (place.value == NULL) {
        *value = 0;
        return WIRE_SETTING_UNKNOWN;
    }
    if (asked < place.least || asked > place.most) {
        *value = *place.value;
        return WIRE_SETTING_OUT_OF_RANGE;
    }
    if (*place.value != asked) {
        *place.value = asked;
        if (key == WIRE_SETTING_PAD_THRESHOLD) board_pad_threshold(index, asked);
        unsaved = true;
        saved_bytes = 0;
        changed_at = board_stamp();
    }
    return WIRE_SETTING_OK;
}

/* Made anew for each byte that is written: that is once in 3.4 ms, and room is scarce. */
static uint8_t copy_byte(uint8_t at) {
    uint8_t bytes[COPY_SIZE];
    uint32_t crc;
    bytes[0] = (uint8_t)(generation + 1);
    memcpy(bytes + 1, &now_in_force, sizeof now_in_force);
    crc = wire_crc32(bytes, COPY_SIZE - WIRE_CRC_SIZE);
    memcpy(bytes + COPY_SIZE - WIRE_CRC_SIZE, &crc, WIRE_CRC_SIZE);
    return bytes[at];
}

void settings_save_some(uint32_t now) {
    uint16_t place;
    uint8_t byte;
    if (!unsaved || board_memory_busy()) return;
    /* Later changes begin a copy under way anew, so that no copy is a mixture. */
    if (now - changed_at < SETTLE_TICKS_MS * (uint32_t)TICKS_PER_MS) return;
    place = copy_place((uint8_t)(generation + 1)) + saved_bytes;
    byte = copy_byte(saved_bytes);
    if (board_memory_read(place) != byte) board_memory_write(place, byte);
    if (++saved_bytes == COPY_SIZE) {
        ++generation;
        unsaved = false;
    }
}
