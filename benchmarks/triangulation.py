"""Triangulating a million points: ours beside scipy's Delaunay, in time and in peak memory.

Each way runs in a process of its own, so that the peak of the one does not hide the other's.
"""

import json
import resource
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from benchmarks.rows import Row
from terrain.order import spatial_order
from terrain.triangles import triangulate

ROOT = Path(__file__).resolve().parents[1]
POINTS = 1_000_000
AIM_TIME = 0.25
AIM_MEMORY = 0.35


def scattered(count: int) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Return `count` points (count, 2) [m] in a square of 1 km around zero, the same at each call."""
    return np.random.default_rng(11).uniform(-500.0, 500.0, (count, 2))


def _peak() -> float:
    """Return the greatest memory [MB] this process has held so far."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0


def _ours(count: int) -> Callable[[], object]:
    triangulate(scattered(1000))  # loads and compiles what is used
    spatial_order(scattered(1000))
    points = scattered(count)

    def work() -> object:
        return triangulate(np.ascontiguousarray(points[spatial_order(points)]))

    return work


def _scipy(count: int) -> Callable[[], object]:
    from scipy.spatial import Delaunay

    Delaunay(scattered(1000))
    points = scattered(count)
    return lambda: Delaunay(points)


def measure(way: str, count: int) -> dict[str, float]:
    """Return time [s] and peak memory above the start [MB] of triangulating `count` points in this process."""
    work = {"ours": _ours, "scipy": _scipy}[way](count)
    before = _peak()
    begun = time.perf_counter()
    kept = work()
    taken = time.perf_counter() - begun
    del kept
    return {"time": taken, "memory": _peak() - before}


def _in_child(way: str, count: int) -> dict[str, float]:
    command = [sys.executable, "-m", "benchmarks.triangulation", way, str(count)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, check=True, text=True)
    found: dict[str, float] = json.loads(done.stdout)
    return found


def rows(count: int = POINTS) -> list[Row]:
    """Return the comparison in time and in memory for `count` points."""
    pairs = [(_in_child("ours", count), _in_child("scipy", count)) for _ in range(2)]
    times = min(ours["time"] for ours, _ in pairs), min(other["time"] for _, other in pairs)
    memory = min(ours["memory"] for ours, _ in pairs), min(other["memory"] for _, other in pairs)
    name, other_way = f"triangulate {count:,} points, neighbours included", "scipy.spatial.Delaunay, centred"
    return [
        Row(name, other_way, *times, "s", AIM_TIME),
        Row(f"{name}: peak memory", other_way, *memory, "MB", AIM_MEMORY),
    ]


if __name__ == "__main__":
    json.dump(measure(sys.argv[1], int(sys.argv[2])), sys.stdout)
