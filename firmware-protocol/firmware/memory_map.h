/* What lies where in the memory that outlasts switching off. */
#ifndef RIG_MEMORY_MAP_H
#define RIG_MEMORY_MAP_H

enum {
    MEMORY_IDENTITY = 0,  /* 8 bytes, then their CRC-32 */
    MEMORY_BOOTS = 16,    /* 4 bytes: how often the rig has started */
    MEMORY_WATCHDOG = 20, /* 2 bytes: how often the watchdog did it; 65535 means none yet */
    MEMORY_SETTINGS_A = 64,
    MEMORY_SETTINGS_B = 160
};

#endif
