"""The highest invert that keeps the cover and the least fall, for a given pattern of lows and highs.

The ceiling is straight between the nodes of the ground. From each high the invert runs down to the next low as
z = min(ceiling, upstream - fall * distance); the low takes the lower of its two sides. No invert that keeps both
rules is anywhere higher, so it is the best for every cost that grows with depth.
"""

from collections.abc import Sequence

import numpy as np

from estimate.profile.extremes import TurningPoint
from estimate.route.nodes import SAME_NODE, with_nodes
from terrain.arrays import Floats


def highest_invert(
    station: Floats, ceiling: Floats, pattern: Sequence[TurningPoint], fall: float
) -> tuple[Floats, Floats]:
    """Return stations (k,) and invert (k,) metres: the highest line under `ceiling` that falls from highs to lows.

    `station` (n,) metres and `ceiling` (n,) metres are nodes; every turning point of `pattern` must be one of the
    stations. `fall` [m/m] is the least fall. Nodes are added where the invert leaves or meets the ceiling between
    two given ones, so that more given nodes on a straight ceiling change nothing.

    >>> from estimate.profile.extremes import turning_points
    >>> nodes, ceiling = np.array([0.0, 10.0, 20.0]), np.array([5.0, 5.0, 4.0])
    >>> stations, invert = highest_invert(nodes, ceiling, turning_points(nodes, ceiling, 0.1), 0.02)
    >>> stations.round(9).tolist(), invert.tolist()
    ([0.0, 10.0, 12.5, 20.0], [5.0, 4.8, 4.75, 4.0])
    """
    turns = [int(np.argmin(np.abs(station - one.station))) for one in pattern]
    invert = np.full(len(station), np.inf)
    breaks: list[Floats] = []
    for one, start, stop in zip(pattern, turns, turns[1:], strict=False):
        reach = slice(start, stop + 1)
        along = station[reach] - station[start]
        if one.low:
            down, meets = _sweep(along[-1] - along[::-1], ceiling[reach][::-1], fall)
            down, meets = down[::-1], along[-1] - meets
        else:
            down, meets = _sweep(along, ceiling[reach], fall)
        invert[reach] = np.minimum(invert[reach], down)
        breaks.append(station[start] + meets)
    if not breaks:
        return station.copy(), ceiling.copy()
    meets = np.concatenate(breaks)
    stations, levels = with_nodes(station, np.column_stack([invert, ceiling]), meets)
    return stations, _settle(stations, levels, meets)


def _sweep(along: Floats, ceiling: Floats, fall: float) -> tuple[Floats, Floats]:
    """Return the invert (n,) metres down a reach, and where (k,) metres along it meets the ceiling."""
    tilted = ceiling + fall * along
    least = np.minimum.accumulate(tilted)
    meeting = np.flatnonzero((tilted[:-1] > least[:-1]) & (tilted[1:] < least[:-1]))
    share = (tilted[meeting] - least[meeting]) / (tilted[meeting] - tilted[meeting + 1])
    return least - fall * along, along[meeting] + share * (along[meeting + 1] - along[meeting])


def _settle(station: Floats, levels: Floats, meets: Floats) -> Floats:
    """Return the invert (k,) metres with the ceiling's height at the stations `meets` (m,) metres.

    `levels` (k, 2) metres are the invert drawn straight between the given nodes, and the ceiling.
    """
    invert = levels[:, 0].copy()
    places = np.searchsorted(station, meets - SAME_NODE)
    invert[places] = levels[places, 1]
    return invert
