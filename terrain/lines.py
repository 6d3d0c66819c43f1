"""Breaklines: lines on the ground that must become edges; noded where they cross before triangulation."""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from terrain.arrays import Floats, Longs
from terrain.errors import GeometryError

GRID = 0.001
"""Grid [m] to which breaklines are snapped so that their crossings are safe."""


def node_lines(vertices: Floats, breaklines: Sequence[Floats]) -> tuple[Floats, Longs, Longs]:
    """Return vertices (n, 3) metres with the breaklines' nodes, constraints (k, 2) and each vertex's origin (n,).

    `vertices` (n, 3) metres hold no doubles; `breaklines` are (k, 3) metres each. Lines are snapped to `GRID`
    and noded where they meet; a node takes its elevation along the line it lies on, the mean where lines cross. A
    vertex within one `GRID` of a node gives way to it. The origin is the index in `vertices`, -1 for a new node.

    Raises:
        GeometryError: a line that is not of shape (k, 3) with at least two finite points.
    """
    import shapely

    for number, line in enumerate(breaklines, start=1):
        if line.ndim != 2 or line.shape[1] != 3 or len(line) < 2 or not np.isfinite(line).all():
            raise GeometryError(
                f"breakline {number}", f"an array of shape {line.shape}", "(k, 3) finite metres, k >= 2"
            )
    merged = shapely.union_all([shapely.LineString(line[:, :2]) for line in breaklines], grid_size=GRID)
    parts = [np.asarray(part.coords)[:, :2] for part in shapely.get_parts(merged) if part.length > 0.0]
    if not parts:
        return vertices, np.zeros((0, 2), dtype=np.int64), np.arange(len(vertices), dtype=np.int64)
    stacked = np.round(np.concatenate(parts) / GRID).astype(np.int64)
    cells, number_of = np.unique(stacked, axis=0, return_inverse=True)
    number_of = number_of.reshape(-1)
    ends = np.cumsum([len(part) for part in parts])
    pairs = np.stack([number_of[:-1], number_of[1:]], axis=1)
    pairs = np.delete(pairs, ends[:-1] - 1, axis=0)
    pairs = np.unique(np.sort(pairs[pairs[:, 0] != pairs[:, 1]], axis=1), axis=0)
    places: Floats = cells.astype(np.float64) * GRID
    nodes = np.column_stack([places, _elevations(places, breaklines)])
    free = _away_from(vertices, nodes)
    origin = np.concatenate([np.flatnonzero(free), np.full(len(nodes), -1)]).astype(np.int64)
    return np.concatenate([vertices[free], nodes]), pairs.astype(np.int64) + int(free.sum()), origin


def _away_from(vertices: Floats, nodes: Floats) -> "np.ndarray[tuple[int], np.dtype[np.bool_]]":
    """Return which vertices (n, 3) metres lie more than one grid from every node (k, 3) metres."""
    from scipy.spatial import cKDTree

    distance, _ = cKDTree(nodes[:, :2]).query(vertices[:, :2], distance_upper_bound=2.0 * GRID)
    return np.asarray(distance > GRID, dtype=np.bool_)


def _elevations(nodes: Floats, breaklines: Sequence[Floats]) -> Floats:
    """Return the elevation (k,) metres of `nodes` (k, 2) metres along the breaklines, a mean where several meet."""
    total = np.zeros(len(nodes))
    count = np.zeros(len(nodes))
    nearest = np.full(len(nodes), np.inf)
    closest = np.zeros(len(nodes))
    for line in breaklines:
        for start, stop in pairwise(line):
            step = stop - start
            square = float(step[0] ** 2 + step[1] ** 2)
            if square == 0.0:
                continue
            share = np.clip(((nodes - start[:2]) @ step[:2]) / square, 0.0, 1.0)
            away = np.hypot(*(nodes - start[:2] - share[:, None] * step[:2]).T)
            level = start[2] + share * step[2]
            near = away <= GRID
            total[near] += level[near]
            count[near] += 1.0
            nearer = away < nearest
            nearest[nearer] = away[nearer]
            closest[nearer] = level[nearer]
    return np.where(count > 0.0, total / np.maximum(count, 1.0), closest)
