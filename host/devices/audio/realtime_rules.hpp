// What a function of the audio callback may do, and how it says so.
//
// The callback's thread belongs to the sound device: whatever makes it wait is heard. A function declared
// BREAKSTEP_REALTIME
//   - takes no lock and waits for nothing;
//   - neither allocates nor frees memory (no growing vector, no string, no shared_ptr's last owner);
//   - writes no log, reads and writes no file, calls nothing of the operating system but the steady clock;
//   - throws nothing (it is noexcept);
//   - runs in time that depends on the frames and on fixed bounds alone;
//   - speaks with other threads through atomics and bounded single-producer queues only, and counts what overflows.
// tests/unit/audio counts allocations while the callback's whole body runs, and fails on the first.
#pragma once

/// Stands before every function that the audio callback may call.
#define BREAKSTEP_REALTIME
