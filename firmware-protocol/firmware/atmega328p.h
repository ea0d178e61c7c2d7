/* What the board's two files share: the clock, and the converter's state. Internal to this folder. */
#ifndef BREAKSTEP_ATMEGA328P_H
#define BREAKSTEP_ATMEGA328P_H

#include <avr/io.h>
#include <stdint.h>

enum {
    CONVERTER = (1 << ADEN) | (1 << ADSC) | (1 << ADIE) | (1 << ADPS2), /* by 16: 1 MHz, 13 us a conversion */
    REFERENCE = 1 << REFS0                                              /* the supply */
};

/* board_atmega328p.c: not 0 where the main program has something to do. */
extern volatile uint8_t work;
/* board_atmega328p.c: how often timer 1 ran over, its lower half. */
extern volatile uint16_t overflows;
/* pads_atmega328p.c: not 0 once a conversion ended since it was cleared. Named by its assembler text. */
extern volatile uint8_t converted;

/* Interrupts off. The timer may have run over without its interrupt having been served yet. */
static inline __attribute__((always_inline)) uint32_t whole_stamp(uint16_t low) {
    uint16_t high = overflows;
    if ((TIFR1 & _BV(TOV1)) && low < 0x8000U) ++high;
    return ((uint32_t)high << 16) | low;
}

#endif
