/* The rig's settings (PROTOCOL.md, section 12), kept in the board's memory while it is switched off. Main program only.
 *
 * Two copies with a number and a checksum each: a copy that was being written when the supply went is seen as spoilt,
 * and the other one holds. With both spoilt the first values hold.
 */
#ifndef RIG_SETTINGS_H
#define RIG_SETTINGS_H

#include <stdbool.h>
#include <stdint.h>

#include "board.h"

struct settings {
    uint16_t threshold[BOARD_PADS];  /* level */
    uint16_t window[BOARD_PADS];     /* 0.1 ms */
    uint16_t refractory[BOARD_PADS]; /* ms */
    uint16_t debounce[BOARD_GATES];  /* 0.1 ms */
    uint16_t crosstalk;              /* ms */
};

const struct settings* settings(void);
void settings_load(void);
/* The answers are wire_setting_status; `value` becomes what is now in force, 0 if there is no such setting. */
uint8_t settings_set(uint8_t key, uint8_t index, uint16_t* value);
uint8_t settings_get(uint8_t key, uint8_t index, uint16_t* value);
/* Writes a byte of what has changed if the memory is free; call it often. */
void settings_save_some(uint32_t now);

#endif
