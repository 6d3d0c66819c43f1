"""Rows of the table of benchmarks: our figure beside another way's, both taken in the same run."""

import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """One comparison: what is done, the other way, both figures in `unit` (s, MB), and the ratio aimed at."""

    name: str
    other_way: str
    ours: float
    other: float
    unit: str
    aim: float

    @property
    def ratio(self) -> float:
        """Return our figure over the other way's [ratio]."""
        return self.ours / self.other

    @property
    def holds(self) -> bool:
        """Return whether the ratio is at most the aim."""
        return self.ratio <= self.aim


def best_of(work: Callable[[], object], times: int = 3) -> float:
    """Return the least wall time [s] of `times` runs of `work`."""
    taken = []
    for _ in range(times):
        begun = time.perf_counter()
        work()
        taken.append(time.perf_counter() - begun)
    return min(taken)
