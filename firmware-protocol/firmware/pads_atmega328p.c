/* The pads of the board: an ATmega328P's converter reads them in turn by single conversions chained in its interrupt:
 * running free, the channel of the reading in hand would be in doubt.
 */
#include "atmega328p.h"
#include "board.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <util/atomic.h>

/* A pad is held 1.5 converter clocks after the start of its conversion and stamped in the interrupt at its end, 11.5 us
 * and the interrupt's entry later. It may have crossed at any time since its conversion before, so the middle of that
 * time is the best guess: half of four conversions more. */
enum { LAG_PAD = 100 };

enum pad_state { PAD_OFF, PAD_ARMED, PAD_CROSSED };
/* The order matters to the interrupt below. */
struct pad {
    uint16_t level, top;
    struct pad* next;
    uint8_t next_channel;
    volatile uint8_t state;
    uint16_t threshold;
    uint32_t at;
};
static struct pad pads[BOARD_PADS] = {{.next = &pads[1], .next_channel = REFERENCE | 1},
                                      {.next = &pads[2], .next_channel = REFERENCE | 2},
                                      {.next = &pads[3], .next_channel = REFERENCE | 3},
                                      {.next = &pads[0], .next_channel = REFERENCE | 0}};
/* Named by the assembler text: not static. */
struct pad* volatile converting __attribute__((used)) = pads;
volatile uint8_t converted __attribute__((used)); /* not 0: since it was cleared last */

/* By far the most frequent interrupt, 60,000 times a second, and every edge may have to wait for it: so its common way
 * is written by hand. It stores the level, starts the next pad's conversion, and is done unless the level is the
 * largest so far: then it goes on as a C handler, as if that had been called in its place. */
ISR(ADC_vect, ISR_NAKED) {
    __asm__ volatile(
        "push r24\n\t"
        "in   r24, __SREG__\n\t"
        "push r24\n\t"
        "push r25\n\t"
        "push r30\n\t"
        "push r31\n\t"
        "lds  r30, converting\n\t"
        "lds  r31, converting+1\n\t"
        "lds  r24, %[adcl]\n\t"
        "st   Z, r24\n\t"
        "lds  r24, %[adch]\n\t"
        "std  Z+1, r24\n\t"
        "ldd  r24, Z+6\n\t"
        "sts  %[admux], r24\n\t"
        "ldi  r24, %[converter]\n\t"
        "sts  %[adcsra], r24\n\t"
        "sts  converted, r24\n\t"
        "ldd  r24, Z+4\n\t"
        "sts  converting, r24\n\t"
        "ldd  r24, Z+5\n\t"
        "sts  converting+1, r24\n\t"
        "ld   r24, Z\n\t"
        "ldd  r25, Z+2\n\t"
        "cp   r25, r24\n\t"
        "ldd  r24, Z+1\n\t"
        "ldd  r25, Z+3\n\t"
        "cpc  r25, r24\n\t"
        "pop  r31\n\t"
        "pop  r30\n\t"
        "pop  r25\n\t"
        "brcs 1f\n\t"
        "pop  r24\n\t"
        "out  __SREG__, r24\n\t"
        "pop  r24\n\t"
        "reti\n"
        "1:\n\t"
        "pop  r24\n\t"
        "out  __SREG__, r24\n\t"
        "pop  r24\n\t"
        "%~jmp __vector_level_rose\n\t" ::[adcl] "n"(_SFR_MEM_ADDR(ADCL)),
        [adch] "n"(_SFR_MEM_ADDR(ADCH)), [admux] "n"(_SFR_MEM_ADDR(ADMUX)), [adcsra] "n"(_SFR_MEM_ADDR(ADCSRA)),
        [converter] "n"(CONVERTER));
}

/* `converting` is the pad after the one that rose. */
void __vector_level_rose(void) __attribute__((signal, used));
void __vector_level_rose(void) {
    struct pad* const pad = converting == pads ? &pads[BOARD_PADS - 1] : converting - 1;
    const uint16_t low = TCNT1;
    pad->top = pad->level;
    if (pad->state == PAD_ARMED && pad->level >= pad->threshold) {
        pad->at = whole_stamp(low);
        pad->state = PAD_CROSSED;
        work = 1;
    }
}

void board_pad_threshold(uint8_t pad, uint16_t threshold) {
    ATOMIC_BLOCK(ATOMIC_FORCEON) {
        pads[pad].threshold = threshold;
        if (pads[pad].state == PAD_ARMED) pads[pad].top = 0;
    }
}

void board_pad_arm(uint8_t pad) {
    ATOMIC_BLOCK(ATOMIC_FORCEON) {
        pads[pad].top = 0;
        pads[pad].state = PAD_ARMED;
    }
}

bool board_pad_armed(uint8_t pad) { return pads[pad].state == PAD_ARMED; }

uint8_t board_pads_crossed(void) {
    return (uint8_t)((pads[0].state == PAD_CROSSED ? 1U : 0U) | (pads[1].state == PAD_CROSSED ? 2U : 0U) |
                     (pads[2].state == PAD_CROSSED ? 4U : 0U) | (pads[3].state == PAD_CROSSED ? 8U : 0U));
}

/* Nothing touches `at` between the crossing and the next arming. */
uint32_t board_pad_take_crossing(uint8_t pad) {
    const uint32_t at = pads[pad].at - LAG_PAD;
    pads[pad].state = PAD_OFF;
    return at;
}

uint16_t board_pad_level(uint8_t pad) {
    uint16_t level;
    ATOMIC_BLOCK(ATOMIC_FORCEON) { level = pads[pad].level; }
    return level;
}

uint16_t board_pad_top(uint8_t pad) {
    uint16_t top;
    ATOMIC_BLOCK(ATOMIC_FORCEON) { top = pads[pad].top; }
    return top;
}

uint16_t board_pad_take_top(uint8_t pad) {
    uint16_t top;
    ATOMIC_BLOCK(ATOMIC_FORCEON) {
        top = pads[pad].top;
        if (pads[pad].state != PAD_CROSSED) pads[pad].top = 0;
    }
    return top;
}
