"""Low and high points of a line on the ground that are more than noise of the survey."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from terrain.arrays import Floats

LEVEL = 1e-9
"""Elevations closer than this [m] count as level, so that rounding makes no low point."""
LEAST_THRESHOLD = 1e-6
"""Smallest prominence [m] that is told from rounding, whatever threshold is wished."""
UNKNOWN_THRESHOLD = 0.03
"""Prominence [m] asked for where the survey's accuracy is not known."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TurningPoint:
    """Where the pattern of ups and downs turns: station, elevation, prominence [m]; low or high, an end or not.

    The prominence of an end is NaN. `elevation` is that of the ground at the station itself.
    """

    station: float
    elevation: float
    low: bool
    prominence: float
    end: bool


def least_prominence(accuracy: float, wished: float | None) -> float:
    """Return the prominence [m] that a turning point must have, from the `accuracy` [m] or as `wished` [m].

    An elevation difference of two independent shots of sigma each is noise up to 2 sqrt(2) sigma in 95 of 100
    cases; where the accuracy is NaN it is `UNKNOWN_THRESHOLD`.
    Source: normal errors, the difference of two has sqrt(2) sigma and 95.4 % of it lies within twice that.

    >>> round(least_prominence(0.02, None), 4), least_prominence(math.nan, None), least_prominence(0.02, 0.5)
    (0.0566, 0.03, 0.5)
    """
    if wished is not None:
        return max(wished, LEAST_THRESHOLD)
    if math.isnan(accuracy):
        return UNKNOWN_THRESHOLD
    return max(2.0 * math.sqrt(2.0) * accuracy, LEAST_THRESHOLD)


def turning_points(
    station: Floats, elevation: Floats, threshold: float, low_first: bool = True
) -> tuple[TurningPoint, ...]:
    """Return the alternating lows and highs of a line straight between nodes, by increasing station, both ends too.

    `station` (n,) metres, increasing; `elevation` (n,) metres. An inner low or high is listed when its prominence
    is at least `threshold` [m]; a lesser one beside an end lends the end its part. Both ends always take part: the
    end of a reach that goes down to it is a low. Where the whole line is level within `threshold`, it is taken to
    fall towards its first node (`low_first`) or its last. On a level stretch the middle is the place. Fewer than
    two nodes have no turning points.

    >>> found = turning_points(np.arange(5) * 10.0, np.array([100.0, 99.5, 99.7, 99.2, 99.4]), 0.05)
    >>> [(one.station, one.low, round(one.prominence, 3)) for one in found if not one.end]
    [(10.0, True, 0.2), (20.0, False, 0.2), (30.0, True, 0.2)]
    """
    if len(station) < 2:
        return ()
    inner = list(_confirmed(elevation, threshold))
    first_low = low_first if not inner else inner[0][1]
    last_low = not first_low if not inner else not inner[-1][1]
    if inner:
        inner = inner[1:]
    last = len(station) - 1
    places = [0, *(index for index, _ in inner), last]
    result = [_end(station, elevation, 0, first_low)]
    for number, (index, low) in enumerate(inner, 1):
        sign = 1.0 if low else -1.0
        where = _middle(station, elevation, index, places[number - 1], places[number + 1])
        height = _prominence(sign * elevation, index)
        result.append(
            TurningPoint(station=where, elevation=float(elevation[index]), low=low, prominence=height, end=False)
        )
    return (*result, _end(station, elevation, last, last_low))


def _end(station: Floats, elevation: Floats, index: int, low: bool) -> TurningPoint:
    place, height = float(station[index]), float(elevation[index])
    return TurningPoint(station=place, elevation=height, low=low, prominence=math.nan, end=True)


def _confirmed(elevation: Floats, threshold: float) -> Iterator[tuple[int, bool]]:
    """Yield (node, low) at each extreme from which the line departs by `threshold` [m] before it is passed again.

    One pass with hysteresis; the first one belongs to the first end, and what follows the last turn to the last.
    This is the persistence of the line: two neighbours that differ by less are cancelled against each other.
    """
    lowest = highest = 0
    seek_low: bool | None = None
    for index, height in enumerate(elevation.tolist()):
        if seek_low is not False and height < elevation[lowest]:
            lowest = index
        if seek_low is not True and height > elevation[highest]:
            highest = index
        if seek_low is not False and height - elevation[lowest] >= threshold:
            yield lowest, True
            seek_low, highest = False, index
        elif seek_low is not True and elevation[highest] - height >= threshold:
            yield highest, False
            seek_low, lowest = True, index


def _middle(station: Floats, elevation: Floats, index: int, before: int, after: int) -> float:
    """Return the station [m] in the middle of the level stretch about node `index`, between two other nodes."""
    start = stop = index
    while start - 1 > before and abs(elevation[start - 1] - elevation[index]) <= LEVEL:
        start -= 1
    while stop + 1 < after and abs(elevation[stop + 1] - elevation[index]) <= LEVEL:
        stop += 1
    return float(station[index]) if start == stop else 0.5 * float(station[start] + station[stop])


def _prominence(height: Floats, index: int) -> float:
    """Return the rise [m] that keeps the low at `index` of `height` (n,) metres from lower ground or the ends."""
    rises = []
    for side in (height[index::-1], height[index:]):
        lower = np.flatnonzero(side < height[index] - LEVEL)
        rises.append(float(side[: lower[0] + 1].max() if len(lower) else side.max()))
    return min(rises) - float(height[index])
