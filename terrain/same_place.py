"""Same place: groups of points of which each lies nearer to another than a reach, found without comparing all."""

import numpy as np

from terrain.arrays import Flags, Floats, Longs
from terrain.compiled import kernel

_MIX = 1.618033988749895
"""An irrational number that makes one key of two cell numbers; two cells with one key cost time only."""


def near_another(plan: Floats, reach: float) -> Flags:
    """Return which (n,) of `plan` (n, 2) metres may lie within `reach` [m] of another: all that do, and a few more.

    Two points within the reach share a cell of twice its side in one of four grids, each shifted by half a cell.

    >>> near_another(np.array([[0.0, 0.0], [5.0, 0.0], [0.0, 0.0001]]), 0.001).tolist()
    [True, False, True]
    """
    scaled = plan / (2.0 * reach)
    columns = [np.floor(scaled[:, 0] + shift) * _MIX for shift in (0.0, 0.5)]
    rows = [np.floor(scaled[:, 1] + shift) for shift in (0.0, 0.5)]
    near = np.zeros(len(plan), dtype=np.bool_)
    for column in columns:
        for row in rows:
            key = column + row
            ordered = np.sort(key)
            shared = np.unique(ordered[1:][ordered[1:] == ordered[:-1]])
            if len(shared):
                rest = np.flatnonzero(~near)
                near[rest] = _find(shared, key[rest]) >= 0
    return near


def groups_within(plan: Floats, reach: float) -> Longs:
    """Return for each of `plan` (n, 2) metres the number (n,) of its group: all points that chains join to it.

    No step of a chain is longer than `reach` [m]; groups are numbered from 0 in no order.

    >>> groups_within(np.array([[0.0, 0.0], [9.0, 0.0], [1.0, 0.0], [2.0, 0.0]]), 1.0).tolist()
    [0, 1, 0, 0]
    """
    if len(plan) == 0:
        return np.zeros(0, dtype=np.int64)
    places, where = _once(plan)
    group = np.arange(len(places), dtype=np.int64)
    rows = np.flatnonzero(near_another(places, reach))
    if len(rows):
        group[rows] = rows[_chained(places[rows], reach)]
    return np.unique(group[where], return_inverse=True)[1].reshape(-1).astype(np.int64)


def _once(plan: Floats) -> tuple[Floats, Longs]:
    """Return each different row of `plan` (n, 2) metres once, and for each row of `plan` which it is."""
    order = np.lexsort((plan[:, 1], plan[:, 0]))
    ordered = plan[order]
    fresh = np.ones(len(plan), dtype=np.bool_)
    fresh[1:] = (ordered[1:] != ordered[:-1]).any(axis=1)
    where = np.empty(len(plan), dtype=np.int64)
    where[order] = np.cumsum(fresh) - 1
    return ordered[fresh], where


def _chained(places: Floats, reach: float) -> Longs:
    """Return for each of `places` (n, 2) metres, all different, the first place (n,) of its group."""
    cells = np.floor(places * (np.sqrt(2.0) / reach))  # so small that all points of one cell are within the reach
    cell, columns, rows = _numbered(cells)
    order = np.argsort(cell, kind="stable")
    keys, first = np.unique(cell[order], return_index=True)
    starts = np.append(first, len(order)).astype(np.int64)
    parent = np.arange(len(keys), dtype=np.int64)
    _join(np.ascontiguousarray(places[order]), starts, _beside(keys, columns, rows), reach, parent)
    chained = np.empty(len(places), dtype=np.int64)
    chained[order] = np.repeat(order[first][parent], np.diff(starts))
    return chained


def _numbered(cells: Floats) -> tuple[Longs, Floats, Floats]:
    """Return one number (n,) for each of `cells` (n, 2), and the columns and rows that are taken, sorted."""
    columns, column = np.unique(cells[:, 0], return_inverse=True)
    rows, row = np.unique(cells[:, 1], return_inverse=True)
    return (column.reshape(-1) * len(rows) + row.reshape(-1)).astype(np.int64), columns, rows


def _beside(keys: Longs, columns: Floats, rows: Floats) -> Longs:
    """Return for each cell of `keys` (c,) the cells (c, 12) up to two columns and rows further on, -1 for none."""
    column, row = np.divmod(keys, len(rows))
    steps = [(east, north) for east in range(3) for north in range(-2, 3) if east > 0 or north > 0]
    steps.sort(key=lambda step: step[0] ** 2 + step[1] ** 2)  # the nearest join most, and the others find it done
    beside = np.full((len(keys), len(steps)), -1, dtype=np.int64)
    for number, (east, north) in enumerate(steps):
        there = _find(columns, columns[column] + east), _find(rows, rows[row] + north)
        wanted = np.where((there[0] < 0) | (there[1] < 0), -1, there[0] * len(rows) + there[1])
        beside[:, number] = _find(keys, wanted)
    return beside


def _find(ordered: Floats | Longs, wanted: Floats | Longs) -> Longs:
    """Return where each of `wanted` (n,) stands in `ordered` (k,), -1 for one that does not."""
    place = np.minimum(np.searchsorted(ordered, wanted), len(ordered) - 1)
    return np.where(ordered[place] == wanted, place, -1).astype(np.int64)


@kernel
def _root(parent: Longs, cell: int) -> int:
    """Return the cell that stands for the group of `cell`, and shorten the way to it."""
    while parent[cell] != cell:
        parent[cell] = parent[parent[cell]]
        cell = parent[cell]
    return cell


@kernel
def _join(places: Floats, starts: Longs, beside: Longs, reach: float, parent: Longs) -> None:
    """Put into `parent` (c,) the group of each cell: of two cells `beside` each other where two points are near.

    Cell c holds the rows `starts[c]` to `starts[c + 1]` of `places` (n, 2) metres.
    """
    for number in range(beside.shape[1]):
        for cell in range(beside.shape[0]):
            other = beside[cell, number]
            if other < 0:
                continue
            one, two = _root(parent, cell), _root(parent, other)
            if one != two and _touch(places, starts, cell, other, reach):
                parent[max(one, two)] = min(one, two)
    for cell in range(beside.shape[0]):
        parent[cell] = _root(parent, cell)


@kernel
def _touch(places: Floats, starts: Longs, cell: int, other: int, reach: float) -> bool:
    """Return whether a point of `cell` lies within `reach` [m] of a point of the `other` cell."""
    for i in range(starts[cell], starts[cell + 1]):
        for j in range(starts[other], starts[other + 1]):
            east = places[i, 0] - places[j, 0]
            north = places[i, 1] - places[j, 1]
            if east * east + north * north <= reach * reach:
                return True
    return False
