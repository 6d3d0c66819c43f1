"""A pump's curve: head by flow from the maker's points, shape kept, never read beyond its ends."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import PchipInterpolator

from terrain.arrays import Floats
from terrain.errors import InputError


@dataclass(frozen=True, slots=True)
class PumpCurve:
    """A checked curve: flows [m3/s] rising from 0, heads [m] that never rise; made by `pump_curve`."""

    name: str
    flows_m3s: tuple[float, ...]
    heads_m: tuple[float, ...]

    @property
    def shut_off_m(self) -> float:
        """Head [m] at no flow, the highest water the pump can hold up."""
        return self.heads_m[0]

    @property
    def last_flow_m3s(self) -> float:
        """Greatest flow [m3/s] the curve tells of; beyond it nothing is known."""
        return self.flows_m3s[-1]


def pump_curve(points: Iterable[tuple[float, float]], name: str = "pump") -> PumpCurve:
    """Return the curve through `points`, pairs of flow [m3/s] and head [m] in order of flow.

    Raises:
        InputError: fewer than two points, a first flow other than 0, flows that do not increase, heads that rise or
            are negative, or a figure that is not a number; the message names the point.

    >>> pump_curve([(0.0, 4.0), (0.003, 3.0), (0.006, 0.0)]).shut_off_m
    4.0
    """
    pairs = [(float(flow), float(head)) for flow, head in points]
    where = f"pump curve of {name}"
    if len(pairs) < 2:
        raise InputError(where, f"{len(pairs)} points", "at least two", "add points from the maker's chart")
    for number, (flow, head) in enumerate(pairs, 1):
        if not (math.isfinite(flow) and math.isfinite(head)) or head < 0.0:
            found = f"flow {flow:g} m3/s, head {head:g} m"
            raise InputError(f"{where}, point {number}", found, "numbers, head 0 or more", "correct the point")
    if pairs[0][0] != 0.0:
        found = f"the first point has flow {pairs[0][0]:g} m3/s"
        raise InputError(where, found, "shut-off head at flow 0", "add the maker's greatest head with flow 0")
    for number, (before, after) in enumerate(pairwise(pairs), 2):
        if not after[0] > before[0]:
            found = f"flow {after[0]:g} m3/s after {before[0]:g} m3/s"
            raise InputError(f"{where}, point {number}", found, "flows that increase", "put the points in order")
        if after[1] > before[1]:
            found = f"head {after[1]:g} m after {before[1]:g} m"
            remedy = "correct the point; a curve that rises has no one operating point"
            raise InputError(f"{where}, point {number}", found, "heads that do not rise with flow", remedy)
    return PumpCurve(name, tuple(flow for flow, _ in pairs), tuple(head for _, head in pairs))


def head_at(curve: PumpCurve, flow: ArrayLike) -> Floats:
    """Return the pump's head (...) [m] at `flow` (...) [m3/s]; NaN below 0 and beyond the last point.

    Source: F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238: monotone piecewise cubic, so
    that no wave appears between the maker's points; limits are the ends of the curve, checked.

    >>> curve = pump_curve([(0.0, 4.0), (0.004, 2.0)])
    >>> head_at(curve, [0.0, 0.002, 0.005]).tolist()
    [4.0, 3.0, nan]
    """
    return np.asarray(_interpolant(curve)(np.asarray(flow, dtype=np.float64)), dtype=np.float64)


@lru_cache(maxsize=64)
def _interpolant(curve: PumpCurve) -> PchipInterpolator:
    """Return the monotone curve through the points, NaN outside them."""
    return PchipInterpolator(np.array(curve.flows_m3s), np.array(curve.heads_m), extrapolate=False)
