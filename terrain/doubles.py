"""Doubles: points of one survey that stand at the same place in plan, of which a triangulation allows one."""

from typing import NamedTuple

import numpy as np

from terrain.arrays import Floats, Longs
from terrain.same_place import groups_within, near_another

SAME_PLACE = 1e-4
"""Distance in plan [m] within which points are one place, and so are all that a chain of such points joins."""
AGREE = 0.05
"""Difference of elevation [m] up to which doubles are taken as repeats and averaged."""


class Thinned(NamedTuple):
    """Points left: `kept` (k,) indices, their `coordinates` (k, 3) metres, and what was removed.

    `place` (n,) is for each point given the index of the one left that stands for it. `removed` points in all;
    `lowered` places whose doubles disagree by more than `AGREE`, where the lowest elevation stands; `worst` is the
    greatest disagreement [m].
    """

    kept: Longs
    coordinates: Floats
    removed: int
    lowered: int
    worst: float
    place: Longs


def remove_doubles(coordinates: Floats) -> Thinned:
    """Return `coordinates` (n, 3) metres with one point for each place in plan, whatever order they come in.

    Doubles that agree within `AGREE` are averaged; where they do not, the lowest stands, because what stands above
    the ground (a rod on a stump, a return from a branch) is the usual reason. The place in plan is that of the
    lowest, of equal ones the westernmost and then the southernmost; points left keep the order of the file.

    >>> remove_doubles(np.array([[0.0, 0.0, 1.0], [5.0, 0.0, 2.0], [0.0, 0.0, 1.02]])).coordinates.round(9).tolist()
    [[0.0, 0.0, 1.01], [5.0, 0.0, 2.0]]
    """
    every = np.arange(len(coordinates), dtype=np.int64)
    rows = np.flatnonzero(near_another(coordinates[:, :2], SAME_PLACE))
    group = groups_within(coordinates[rows, :2], SAME_PLACE)
    if len(rows) == 0 or int(group.max()) + 1 == len(rows):
        return Thinned(every, coordinates, 0, 0, 0.0, every)
    easting, northing, level = coordinates[rows].T
    order = np.lexsort((northing, easting, level, group))
    rows, group, level = rows[order], group[order], level[order]
    count = np.bincount(group)
    last = np.cumsum(count) - 1
    first = last - count + 1
    low, spread = level[first], level[last] - level[first]
    mean = low + np.bincount(group, weights=level - low[group]) / count
    apart = spread > AGREE
    stands = every.copy()
    stands[rows] = rows[first][group]
    kept = np.flatnonzero(stands == every)
    work = coordinates.copy()
    work[rows[first], 2] = np.where(apart, low, mean)
    worst = float(spread.max())
    place = np.searchsorted(kept, stands)
    return Thinned(kept, work[kept], len(every) - len(kept), int(apart.sum()), worst, place)


def disagreeing(thinned: Thinned, coordinates: Floats) -> tuple[tuple[int, ...], ...]:
    """Return the points at each place where those of `coordinates` (n, 3) metres differ by more than `AGREE`.

    >>> rows = np.array([[0.0, 0.0, 1.0], [5.0, 0.0, 2.0], [0.0, 0.0, 3.0]])
    >>> disagreeing(remove_doubles(rows), rows)
    ((0, 2),)
    """
    low = np.full(len(thinned.kept), np.inf)
    high = np.full(len(thinned.kept), -np.inf)
    np.minimum.at(low, thinned.place, coordinates[:, 2])
    np.maximum.at(high, thinned.place, coordinates[:, 2])
    rows = np.flatnonzero(((high - low) > AGREE)[thinned.place])
    rows = rows[np.argsort(thinned.place[rows], kind="stable")]
    cuts = np.flatnonzero(np.diff(thinned.place[rows])) + 1
    return tuple(tuple(part.tolist()) for part in np.split(rows, cuts) if len(part))
