"""Doubles: points of one survey that stand at the same place in plan, of which a triangulation allows one."""

from typing import NamedTuple

import numpy as np

from terrain.arrays import Floats, Longs

SAME_PLACE = 1e-4
"""Distance in plan [m] within which points are one place."""
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
    """Return `coordinates` (n, 3) metres with one point for each place in plan, in the order of first appearance.

    Doubles that agree within `AGREE` are averaged; where they do not, the lowest stands, because what stands above
    the ground (a rod on a stump, a return from a branch) is the usual reason.

    >>> remove_doubles(np.array([[0.0, 0.0, 1.0], [5.0, 0.0, 2.0], [0.0, 0.0, 1.02]])).coordinates.round(9).tolist()
    [[0.0, 0.0, 1.01], [5.0, 0.0, 2.0]]
    """
    kept = np.arange(len(coordinates), dtype=np.int64)
    work, place = coordinates, kept
    lowered, worst = 0, 0.0
    for shift in ((0.0, 0.0), (0.5, 0.5), (0.5, 0.0), (0.0, 0.5)):  # so that no pair hides across a cell's border
        group, first = _cells(work, shift)
        if len(first) == len(work):
            continue
        count = np.bincount(group)
        low = np.full(len(first), np.inf)
        high = np.full(len(first), -np.inf)
        np.minimum.at(low, group, work[:, 2])
        np.maximum.at(high, group, work[:, 2])
        apart = (high - low) > AGREE
        mean = np.bincount(group, weights=work[:, 2]) / count
        lowered += int(apart.sum())
        worst = max(worst, float((high - low).max()))
        kept, work, place = kept[first], work[first].copy(), group[place]
        several = count > 1
        work[several, 2] = np.where(apart, low, mean)[several]
    return Thinned(kept, work, len(coordinates) - len(kept), lowered, worst, place)


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
    apart = np.flatnonzero((high - low) > AGREE)
    return tuple(tuple(np.flatnonzero(thinned.place == one).tolist()) for one in apart)


def _cells(coordinates: Floats, shift: tuple[float, float]) -> tuple[Longs, Longs]:
    """Return for each point the number of its cell, by first appearance, and the first point of each cell."""
    cells = np.floor(coordinates[:, :2] / SAME_PLACE + np.array(shift)).astype(np.int64)
    cells -= cells.min(axis=0)
    key = cells[:, 0] * (int(cells[:, 1].max()) + 1) + cells[:, 1]
    order = np.argsort(key, kind="stable")
    fresh = np.empty(len(key), dtype=np.bool_)
    fresh[0] = True
    np.not_equal(key[order][1:], key[order][:-1], out=fresh[1:])
    first = order[fresh]
    if len(first) == len(key):
        return np.arange(len(key), dtype=np.int64), np.arange(len(key), dtype=np.int64)
    place = np.empty(len(key), dtype=np.int64)
    place[order] = np.cumsum(fresh) - 1
    by_first = np.argsort(first, kind="stable")
    rank = np.empty(len(first), dtype=np.int64)
    rank[by_first] = np.arange(len(first))
    return rank[place], first[by_first]
