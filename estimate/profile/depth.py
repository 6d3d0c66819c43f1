"""Where the line would have to lie deeper than is allowed, why, and which fall would do."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from estimate.profile.extremes import TurningPoint
from estimate.record import Finding
from estimate.route.line import station_text
from estimate.site_records import SiteFile
from estimate.water.pipe import Pipe
from terrain.arrays import Floats
from terrain.ground import Ground
from terrain.units import show

TOLERANCE = 1e-9
"""Depth [m] beyond the limit that is rounding."""


def stretches_above(station: Floats, excess: Floats) -> list[tuple[float, float]]:
    """Return the stretches (from, to) [m] where `excess` (n,) metres, straight between nodes, is above zero.

    >>> stretches_above(np.array([0.0, 10.0, 20.0, 30.0]), np.array([-1.0, 1.0, -1.0, -1.0]))
    [(5.0, 15.0)]
    """
    above = excess > TOLERANCE
    edges = np.diff(np.concatenate([[False], above, [False]]).astype(np.int8))
    starts, stops = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    return [
        (_crossing(station, excess, start - 1, start), _crossing(station, excess, stop, stop + 1))
        for start, stop in zip(starts.tolist(), stops.tolist(), strict=True)
    ]


def _crossing(station: Floats, excess: Floats, before: int, after: int) -> float:
    """Return the station [m] where `excess` is zero between two nodes, or that of the line's end."""
    if before < 0:
        return float(station[0])
    if after >= len(station):
        return float(station[-1])
    share = excess[before] / (excess[before] - excess[after])
    return float(station[before] + share * (station[after] - station[before]))


def too_deep(
    file: SiteFile,
    ground: Ground,
    pipe: Pipe,
    nodes: tuple[Floats, Floats, Floats],
    pattern: Sequence[TurningPoint],
) -> tuple[Finding, ...]:
    """Return a finding for each stretch where the trench floor is deeper than `trench.greatest_depth`.

    `nodes` are station, ground and floor, (k,) metres each.
    """
    station, height, floor = nodes
    limit = file.trench.greatest_depth
    if limit is None:
        return ()
    found = []
    for start, stop in stretches_above(station, height - floor - limit):
        inside = (station >= start) & (station <= stop)
        deepest = float((height - floor)[inside].max(initial=limit))
        high, low = _reach(pattern, 0.5 * (start + stop))
        fall = fall_that_fits(file, pipe, nodes, high, low)
        found.append(_finding(file, ground, (start, stop), deepest, (high, low), fall))
    return tuple(found)


def _reach(pattern: Sequence[TurningPoint], station: float) -> tuple[float, float]:
    """Return the stations [m] of the high and the low between which `station` [m] lies."""
    for one, other in pairwise(pattern):
        if station <= other.station:
            return (other.station, one.station) if one.low else (one.station, other.station)
    return pattern[-1].station, pattern[-1].station


def fall_that_fits(
    file: SiteFile, pipe: Pipe, nodes: tuple[Floats, Floats, Floats], high: float, low: float
) -> float:
    """Return the greatest fall [m/m] from station `high` to `low` [m] that keeps the depth; none if not above 0.

    `nodes` are station, ground and floor, (k,) metres each. Cover and depth are kept where for every pair of nodes
    the ceiling upstream less the fall between them reaches at least the depth allowed downstream.
    """
    station, height, _ = nodes
    inside = (station >= min(high, low) - TOLERANCE) & (station <= max(high, low) + TOLERANCE)
    along = np.abs(station[inside] - high)
    order = np.argsort(along)
    along, surface = along[order], height[inside][order]
    ceiling = surface - file.trench.cover - (pipe.outside_m - pipe.wall_m)
    deepest = surface - (file.trench.greatest_depth or np.inf) + pipe.wall_m + file.trench.bedding
    best = np.inf
    for node in range(len(along) - 1):
        slopes = (ceiling[node] - deepest[node + 1 :]) / (along[node + 1 :] - along[node])
        best = min(best, float(slopes.min()))
    return best


def _finding(
    file: SiteFile,
    ground: Ground,
    stretch: tuple[float, float],
    deepest: float,
    reach: tuple[float, float],
    fall: float,
) -> Finding:
    start, stop = (station_text(ground, place) for place in stretch)
    high, low = (station_text(ground, place) for place in reach)
    limit = show(file.trench.greatest_depth or 0.0, "length", file.units)
    depth = show(deepest, "length", file.units)
    least = show(file.trench.least_fall, "ratio", file.units)
    ways = [f"allow {depth}", f"set a drain or another low point nearer than station {low}"]
    if 0.0 < fall < file.trench.least_fall:
        ways.insert(0, f"lay it at a fall of {show(fall, 'ratio', file.units)} or less")
    return Finding(
        code="deeper than allowed",
        level="act",
        where=f"station {start} to {stop}",
        reason=f"a fall of {least} from the high at station {high} to the low at station {low} takes the trench "
        f"to {depth}, deeper than {limit}",
        remedy=" or ".join(ways),
        from_m=stretch[0],
        to_m=stretch[1],
    )
