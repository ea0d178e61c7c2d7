/* The board: an ATmega328P at 16 MHz. Pins as in RIG.md's wiring table.
 *
 * Timer 1 runs at 2 MHz and is the clock; its input capture stamps gate 0 in hardware, its compare match A wakes the
 * lamps. Timer 2 wakes the main program every 0.5 ms. The converter reads the pads in turn by single conversions
 * chained in its interrupt: running free, the channel of the reading in hand would be in doubt. Every interrupt is
 * short (the longest, the lamps', about 20 us), since the longest of them is what an edge may have to wait for.
 *
 * A ring's byte is stored before its index; indices are single bytes, so they are read and written whole.
 */
#include "board.h"

#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/sleep.h>
#include <avr/wdt.h>
#include <util/atomic.h>

#if F_CPU != 16000000UL
#error "the divisors below are those of 16 MHz"
#endif

enum {
    PIN_GATE_CAPTURE = PB0,
    LAMPS_SHIFT = PB1, /* lamps 0 to 3 on PB1 to PB4 */
    LAMPS_MASK = 0x0F << PB1,
    PIN_LIGHT = PB5,
    PIN_GATE_INT0 = PD2,
    PIN_GATE_INT1 = PD3,
    PIN_GATE_CHANGE_A = PD4,
    PIN_GATE_CHANGE_B = PD5,
    PIN_GATE_CHANGE_C = PD6,
    CHANGE_MASK = (1 << PD4) | (1 << PD5) | (1 << PD6),
    PIN_SYNC = PC4,
    PIN_PARTNER = PC5
};

/* From an edge to the reading of the timer in its interrupt, in ticks, when nothing is in the way: 4 cycles of
 * response, 3 of the jump, the registers saved. Taken off the stamps. Measured on the simulated board (tests/truth). */
enum { LAG_INT = 4, LAG_CHANGE = 4, LAG_SYNC = 4 };
/* A pad is held 1.5 converter clocks after the start of its conversion and stamped in the interrupt at its end, 11.5 us
 * and the interrupt's entry later. It may have crossed at any time since its conversion before, so the middle of that
 * time is the best guess: half of four conversions more. */
enum { LAG_PAD = 100 };
/* The lamps' interrupt is asked for so much ahead of time that it can wait for the very tick. */
enum { LAST_WAIT = 16, LAMP_LEAD = 44, ALARM_SOONEST = 8, ALARM_REACH = 30000 };

enum { EDGES = 16, RECEIVED = 256, ZEROS = 4, TO_SEND = 128 };

static volatile uint8_t work;

/* ---- time ---- */

static volatile uint16_t overflows;
static volatile uint16_t overflows_high;

ISR(TIMER1_OVF_vect) {
    if (++overflows == 0) ++overflows_high;
}

/* Interrupts off. The timer may have run over without its interrupt having been served yet. */
static inline __attribute__((always_inline)) uint32_t whole_stamp(uint16_t low) {
    uint16_t high = overflows;
    if ((TIFR1 & _BV(TOV1)) && low < 0x8000U) ++high;
    return ((uint32_t)high << 16) | low;
}

uint32_t board_stamp_locked(void) { return whole_stamp(TCNT1); }

uint32_t board_stamp(void) {
    uint32_t stamp;
    ATOMIC_BLOCK(ATOMIC_FORCEON) { stamp = whole_stamp(TCNT1); }
    return stamp;
}

struct rig_time board_time(void) {
    struct rig_time time;
    ATOMIC_BLOCK(ATOMIC_FORCEON) {
        time.low = TCNT1;
        time.high = ((uint32_t)overflows_high << 16) | overflows;
        if ((TIFR1 & _BV(TOV1)) && time.low < 0x8000U) ++time.high;
    }
    return time;
}

void board_lock(void) { cli(); }
void board_unlock(void) { sei(); }

ISR(TIMER2_COMPA_vect) { work = 1; }

/* ---- gates ---- */

static volatile struct {
    uint8_t gate; /* its highest bit: broken */
    uint32_t at;
} edges[EDGES];
static volatile uint8_t edges_head, edges_tail;
enum { EDGE_BROKEN = 0x80 };
static volatile uint8_t edges_missed;
static volatile uint8_t change_pins; /* as the pin change interrupt saw them last */

static inline __attribute__((always_inline)) void push_edge(uint8_t gate, bool broken, uint32_t at) {
    const uint8_t head = edges_head;
    const uint8_t next = (uint8_t)((head + 1) & (EDGES - 1));
    if (next == edges_tail) {
        if (edges_missed != 255) ++edges_missed;
        return;
    }
    edges[head].gate = broken ? gate | EDGE_BROKEN : gate;
    edges[head].at = at;
    edges_head = next;
    work = 1;
}

ISR(INT0_vect) {
    const uint16_t low = TCNT1;
    const uint8_t pins = PIND;
    push_edge(1, (pins & _BV(PIN_GATE_INT0)) != 0, whole_stamp(low));
}

ISR(INT1_vect) {
    const uint16_t low = TCNT1;
    const uint8_t pins = PIND;
    push_edge(2, (pins & _BV(PIN_GATE_INT1)) != 0, whole_stamp(low));
}

ISR(PCINT2_vect) {
    const uint16_t low = TCNT1;
    const uint8_t pins = PIND & CHANGE_MASK;
    const uint8_t changed = pins ^ change_pins;
    const uint32_t at = whole_stamp(low);
    change_pins = pins;
    if (changed & _BV(PIN_GATE_CHANGE_A)) push_edge(3, (pins & _BV(PIN_GATE_CHANGE_A)) != 0, at);
    if (changed & _BV(PIN_GATE_CHANGE_B)) push_edge(4, (pins & _BV(PIN_GATE_CHANGE_B)) != 0, at);
    if (changed & _BV(PIN_GATE_CHANGE_C)) push_edge(5, (pins & _BV(PIN_GATE_CHANGE_C)) != 0, at);
    if (changed == 0 && edges_missed != 255) ++edges_missed;
}

/* The capture takes one direction at a time. If the pin is back again once it listens the other way, that edge came
 * while nothing listened: it is stamped now. */
ISR(TIMER1_CAPT_vect) {
    const uint16_t low = ICR1;
    const bool broken = (TCCR1B & _BV(ICES1)) != 0;
    const uint32_t at = whole_stamp(low);
    TCCR1B ^= _BV(ICES1);
    TIFR1 = _BV(ICF1);
    push_edge(0, broken, at);
    if (((PINB & _BV(PIN_GATE_CAPTURE)) != 0) != broken) {
        if ((TIFR1 & _BV(ICF1)) == 0) {
            TCCR1B ^= _BV(ICES1);
            TIFR1 = _BV(ICF1);
            push_edge(0, !broken, whole_stamp(TCNT1));
        }
    }
}

/* No table: room is scarce. */
static uint8_t lag_of(uint8_t gate) {
    if (gate == 0) return 0;
    return gate < 3 ? LAG_INT : LAG_CHANGE;
}

bool board_take_edge(struct board_edge* edge) {
    const uint8_t tail = edges_tail;
    if (tail == edges_head) return false;
    edge->gate = edges[tail].gate & (uint8_t)~EDGE_BROKEN;
    edge->broken = (edges[tail].gate & EDGE_BROKEN) != 0;
    edge->at = edges[tail].at - lag_of(edge->gate);
    edges_tail = (uint8_t)((tail + 1) & (EDGES - 1));
    return true;
}

uint8_t board_edges_missed(void) {
    uint8_t missed;
    ATOMIC_BLOCK(ATOMIC_FORCEON) {
        missed = edges_missed;
        edges_missed = 0;
    }
    return missed;
}

bool board_gates(uint8_t* broken) {
    uint8_t b, d;
    bool settled;
    ATOMIC_BLOCK(ATOMIC_FORCEON) {
        b = PINB;
        d = PIND;
        settled = edges_head == edges_tail && (TIFR1 & _BV(ICF1)) == 0 && (EIFR & (_BV(INTF0) | _BV(INTF1))) == 0 &&
                  (PCIFR & _BV(PCIF2)) == 0;
        /* An edge that was over too soon may have left the capture listening the wrong way, or the pins remembered
         * wrongly. */
        if (settled) {
            change_pins = d & CHANGE_MASK;
            if (((TCCR1B & _BV(ICES1)) != 0) == ((b & _BV(PIN_GATE_CAPTURE)) != 0)) {
                TCCR1B ^= _BV(ICES1);
                TIFR1 = _BV(ICF1);
            }
        }
    }
    *broken = (uint8_t)((b & 1U) | ((d >> 1) & 0x3EU));
    return settled;
}

uint16_t board_gate_bound(uint8_t gate) { return gate == 0 ? BOARD_GATE_CAPTURE_BOUND : BOARD_GATE_INTERRUPT_BOUND; }

/* ---- sync ---- */

static volatile bool sync_any;
static volatile uint32_t sync_first, sync_last;

ISR(PCINT1_vect) {
    const uint32_t at = whole_stamp(TCNT1);
    if (!sync_any) {
        sync_first = at;
        sync_any = true;
        work = 1;
    }
    sync_last = at;
}

struct board_sync board_take_sync(void) {
    struct board_sync taken = {false, 0, 0};
    if (!sync_any) return taken;
    ATOMIC_BLOCK(ATOMIC_FORCEON) {
        taken.any = true;
        taken.first = sync_first - LAG_SYNC;
        taken.last = sync_last - LAG_SYNC;
        sync_any = false;
    }
    return taken;
}

/* ---- pads ---- */

enum pad_state { PAD_OFF, PAD_ARMED, PAD_CROSSED };
enum {
    CONVERTER = (1 << ADEN) | (1 << ADSC) | (1 << ADIE) | (1 << ADPS2), /* by 16: 1 MHz, 13 us a conversion */
    REFERENCE = 1 << REFS0                                              /* the supply */
};

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

/* ---- lamps ---- */

ISR(TIMER1_COMPA_vect) { lamps_on_alarm(); }

/* A match that is set too near would be missed for a whole lap of the timer: then it is set again. */
bool board_alarm(uint32_t at) {
    const uint32_t when = at - LAMP_LEAD;
    const uint32_t left = when - board_stamp_locked();
    uint16_t match = (uint16_t)when;
    if ((int32_t)left > ALARM_REACH) return false;
    TIFR1 = _BV(OCF1A);
    if ((int32_t)left < ALARM_SOONEST) match = TCNT1 + ALARM_SOONEST;
    for (;;) {
        OCR1A = match;
        if ((int16_t)(match - TCNT1) > 0 || (TIFR1 & _BV(OCF1A)) != 0) break;
        match = TCNT1 + ALARM_SOONEST;
    }
    TIMSK1 |= _BV(OCIE1A);
    return true;
}

void board_alarm_off(void) { TIMSK1 &= (uint8_t)~_BV(OCIE1A); }

uint32_t board_lamps(uint8_t lit) {
    PORTB = (uint8_t)((PORTB & ~LAMPS_MASK) | ((lit << LAMPS_SHIFT) & LAMPS_MASK));
    return whole_stamp(TCNT1);
}

void board_hold_until(uint32_t at) {
    const uint16_t low = (uint16_t)at;
    const uint16_t left = (uint16_t)(low - TCNT1);
    if (left > BOARD_HOLD_MOST) return;
    while ((int16_t)(low - TCNT1) > 0) {
    }
}

/* ---- the line ---- */

static volatile uint8_t received[RECEIVED];
static volatile uint8_t received_head, received_tail;
static volatile uint32_t zero_at[ZEROS];
static volatile uint8_t zeros;
static uint8_t zeros_taken;
static volatile uint16_t overrun;
static volatile uint8_t to_send[TO_SEND];
static volatile uint8_t send_head, send_tail;
static bool sent_any;

ISR(USART_RX_vect) {
    const uint16_t low = TCNT1;
    const uint8_t status = UCSR0A;
    const uint8_t value = UDR0;
    const uint8_t head = received_head;
    const uint8_t next = (uint8_t)((head + 1) & (RECEIVED - 1));
    if (((status & _BV(DOR0)) || next == received_tail) && overrun != 65535U) ++overrun;
    if (next == received_tail) return;
    received[head] = value;
    if (value == 0) {
        zero_at[zeros & (ZEROS - 1)] = whole_stamp(low);
        ++zeros;
        work = 1;
    }
    received_head = next;
}

bool board_receive(struct board_byte* byte) {
    const uint8_t tail = received_tail;
    if (tail == received_head) return false;
    byte->value = received[tail];
    if (byte->value == 0) {
        /* When more zeros wait than stamps are kept, this is a later one's: late, as it may be. */
        ATOMIC_BLOCK(ATOMIC_FORCEON) { byte->at = zero_at[zeros_taken & (ZEROS - 1)]; }
        ++zeros_taken;
    }
    received_tail = (uint8_t)((tail + 1) & (RECEIVED - 1));
    return true;
}

uint16_t board_receive_overrun(void) {
    uint16_t lost;
    ATOMIC_BLOCK(ATOMIC_FORCEON) { lost = overrun; }
    return lost;
}

ISR(USART_UDRE_vect) {
    const uint8_t tail = send_tail;
    if (tail == send_head) {
        UCSR0B &= (uint8_t)~_BV(UDRIE0);
        work = 1;
        return;
    }
    UCSR0A = _BV(TXC0);
    UDR0 = to_send[tail];
    send_tail = (uint8_t)((tail + 1) & (TO_SEND - 1));
}

uint8_t board_send_room(void) { return (uint8_t)((send_tail - send_head - 1) & (TO_SEND - 1)); }

bool board_send_idle(void) { return send_head == send_tail && (!sent_any || (UCSR0A & _BV(TXC0)) != 0); }

static void fill(const uint8_t* bytes, uint8_t size) {
    uint8_t head = send_head;
    while (size-- != 0) {
        to_send[head] = *bytes++;
        head = (uint8_t)((head + 1) & (TO_SEND - 1));
    }
    send_head = head;
    sent_any = true;
}

void board_send(const uint8_t* bytes, uint8_t size) {
    fill(bytes, size);
    ATOMIC_BLOCK(ATOMIC_FORCEON) { UCSR0B |= _BV(UDRIE0); }
}

/* The last few us are waited for with interrupts off, so that none comes between the time named and the byte. */
void board_send_at(const uint8_t* bytes, uint8_t size, uint32_t at) {
    fill(bytes + 1, (uint8_t)(size - 1));
    while ((int32_t)(at - board_stamp()) > LAST_WAIT) {
    }
    ATOMIC_BLOCK(ATOMIC_FORCEON) {
        board_hold_until(at);
        UCSR0A = _BV(TXC0);
        UDR0 = bytes[0];
        UCSR0B |= _BV(UDRIE0);
    }
}

/* ---- memory ---- */

bool board_memory_busy(void) { return (EECR & _BV(EEPE)) != 0; }

uint8_t board_memory_read(uint16_t at) {
    EEAR = at;
    EECR |= _BV(EERE);
    return EEDR;
}

void board_memory_write(uint16_t at, uint8_t value) {
    EEAR = at;
    EEDR = value;
    ATOMIC_BLOCK(ATOMIC_FORCEON) {
        EECR = _BV(EEMPE);
        EECR = _BV(EEMPE) | _BV(EEPE);
    }
}

/* ---- start, sleep ---- */

static uint8_t reset_flags __attribute__((section(".noinit")));

/* After its own reset the watchdog stays on with its shortest time: it must be stopped before anything else. */
void stop_watchdog(void) __attribute__((naked, used, section(".init3")));
void stop_watchdog(void) {
    reset_flags = MCUSR;
    MCUSR = 0;
    wdt_disable();
}

enum board_reset_cause board_reset_cause(void) {
    if (reset_flags & _BV(WDRF)) return BOARD_WATCHDOG;
    return (reset_flags & _BV(PORF)) ? BOARD_POWERED : BOARD_RESET;
}

void board_start(void) {
    PORTB = _BV(PIN_GATE_CAPTURE);
    DDRB = LAMPS_MASK | _BV(PIN_LIGHT);
    PORTC = _BV(PIN_SYNC) | _BV(PIN_PARTNER);
    PORTD = _BV(0) | _BV(PIN_GATE_INT0) | _BV(PIN_GATE_INT1) | CHANGE_MASK;
    DIDR0 = 0x0F; /* the pads' pins are analogue */

    TCCR2A = _BV(WGM21);
    OCR2A = 124; /* 0.5 ms at 250 kHz */
    TCCR2B = _BV(CS22);
    TIMSK2 = _BV(OCIE2A);

    EICRA = _BV(ISC00) | _BV(ISC10); /* any edge */
    EIMSK = _BV(INT0) | _BV(INT1);
    change_pins = PIND & CHANGE_MASK;
    PCMSK1 = _BV(PCINT12);
    PCMSK2 = _BV(PCINT20) | _BV(PCINT21) | _BV(PCINT22);
    PCICR = _BV(PCIE1) | _BV(PCIE2);

    UBRR0 = 1; /* 16 MHz / 16 / 2: 500000 to the bit */
    UCSR0C = _BV(UCSZ01) | _BV(UCSZ00);
    UCSR0B = _BV(RXCIE0) | _BV(RXEN0) | _BV(TXEN0);

    ADMUX = REFERENCE;
    ADCSRA = CONVERTER;
    set_sleep_mode(SLEEP_MODE_IDLE);

    TCCR1A = 0;
    TIMSK1 = _BV(ICIE1) | _BV(TOIE1);
    TCCR1B = _BV(ICNC1) | _BV(ICES1) | _BV(CS11); /* the rig's time begins */
    wdt_enable(WDTO_250MS);
    sei();
}

uint32_t board_noise(void) {
    uint32_t noise = 0x9E3779B9UL;
    uint8_t i;
    for (i = 0; i < 64; ++i) {
        converted = 0;
        while (converted == 0) {
        }
        noise = ((noise << 5) | (noise >> 27)) ^ board_pad_level(i & (BOARD_PADS - 1)) ^ ((uint32_t)TCNT1 << 11);
        noise *= 0x01000193UL;
    }
    return noise;
}

bool board_partner(void) { return (PINC & _BV(PIN_PARTNER)) == 0; }

void board_light(bool on) {
    ATOMIC_BLOCK(ATOMIC_FORCEON) {
        if (on) {
            PORTB |= _BV(PIN_LIGHT);
        } else {
            PORTB &= (uint8_t)~_BV(PIN_LIGHT);
        }
    }
}

void board_work_again(void) { work = 1; }

void board_wait(void) {
    for (;;) {
        cli();
        if (work) break;
        sleep_enable();
        sei();
        sleep_cpu();
        sleep_disable();
    }
    work = 0;
    sei();
    if (converted != 0) {
        converted = 0;
        wdt_reset();
    }
}
