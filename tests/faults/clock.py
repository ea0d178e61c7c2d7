"""The rig's clock: ticks of 0.5 us since boot, wrong by `ppm`. True time is this machine's monotonic clock, in ns."""
import time

from wire import TICK_NS


def true_now():
    return time.monotonic_ns()


class Clock:
    def __init__(self, ppm):
        self.rate = 1 + ppm * 1e-6
        self.born = true_now()

    def ticks(self, true_ns):
        """The newest whole tick at that moment."""
        return int((true_ns - self.born) * self.rate / TICK_NS)

    def nearest(self, true_ns):
        return round((true_ns - self.born) * self.rate / TICK_NS)

    def true(self, ticks):
        return self.born + round(ticks * TICK_NS / self.rate)
