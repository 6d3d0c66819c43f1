"""Drape: a line laid on the ground, with a node at each of its corners and at every triangle edge it crosses.

Between two nodes the ground under the line is straight, so lengths and extremes found from the nodes are exact.
"""

from dataclasses import dataclass

import numpy as np

from terrain.arrays import Floats, Longs
from terrain.boxes import triangles_near
from terrain.crossings import edge_crossings
from terrain.errors import GeometryError
from terrain.ground import Ground, elevation
from terrain.watch import SILENT, Watch

SAME_NODE = 1e-9
"""Distance along the line [m] within which nodes are one."""
GAP = 1e-6
"""Shortest stretch [m] that is tried for leaving the ground."""


@dataclass(frozen=True, slots=True, eq=False)
class Drape:
    """A line on the ground, as nodes.

    `stations` (n,) metres along the line in plan, increasing; `points` (n, 3) metres, the elevation NaN off the
    ground; `segment` (n,) the segment of the line that each node lies on, a corner belonging to the one it begins.
    """

    stations: Floats
    points: Floats
    segment: Longs


def drape(ground: Ground, line: Floats, watch: Watch = SILENT) -> Drape:
    """Return `line` (k, 2) metres laid on `ground`; an empty line gives an empty drape.

    Where the line leaves the ground there is a node at the hull and, beyond it, one of elevation NaN.

    Raises:
        GeometryError: the line is not (k, 2) or not finite.
        Cancelled: by `watch`.

    >>> from terrain.synthetic import plane_ground
    >>> laid = drape(plane_ground(0.75, 0.0, 0.0, side=20.0, step=20.0), np.array([[-4.0, 0.0], [4.0, 0.0]]))
    >>> ground_length(laid), laid.points[0].tolist()
    (10.0, [-4.0, 0.0, -3.0])
    """
    plan = np.ascontiguousarray(line, dtype=np.float64)
    if plan.ndim != 2 or plan.shape[1] != 2 or not np.isfinite(plan).all():
        raise GeometryError("line to drape", f"an array of shape {plan.shape}", "(k, 2) finite metres")
    lengths = np.hypot(*np.diff(plan, axis=0).T) if len(plan) > 1 else np.zeros(0)
    ends = np.concatenate([[0.0], np.cumsum(lengths)])[: len(plan)]
    levels = elevation(ground, plan)
    pieces = []
    for i, length in enumerate(lengths):
        if length > SAME_NODE:
            pieces.append(_segment(ground, plan[i], plan[i + 1], levels[i : i + 2], float(ends[i]), i))
        watch.step("draping the line", i + 1, len(lengths))
    if not pieces:
        first = np.column_stack([plan[:1], levels[:1]])
        return Drape(ends[:1], first, np.zeros(len(first), dtype=np.int64))
    last = np.array([[ends[-1], *plan[-1], pieces[-1][-1, 3]]])
    nodes = np.concatenate([*(piece[:-1] for piece in pieces), last])
    numbers = np.flatnonzero(lengths > SAME_NODE)
    segment = np.repeat(numbers, [len(piece) - 1 for piece in pieces])
    return Drape(nodes[:, 0].copy(), nodes[:, 1:].copy(), np.append(segment, numbers[-1]).astype(np.int64))


def _segment(ground: Ground, start: Floats, stop: Floats, levels: Floats, station: float, number: int) -> Floats:
    """Return the nodes (n, 4) station, easting, northing, elevation metres of a straight segment, ends too."""
    length = float(np.hypot(*(stop - start)))
    inner = _crossings(ground, start, stop)
    inner = inner[np.argsort(inner[:, 0], kind="stable")]
    ends = np.array([[0.0, *start, levels[0]], [length, *stop, levels[1]]])
    for end, near in ((0, inner[:, 0] <= SAME_NODE), (1, inner[:, 0] >= length - SAME_NODE)):
        touching = inner[near, 3]
        if np.isnan(ends[end, 3]) and len(touching):
            ends[end, 3] = touching[0]
    inner = inner[(inner[:, 0] > SAME_NODE) & (inner[:, 0] < length - SAME_NODE)]
    if len(inner):
        inner = inner[np.concatenate([[True], np.diff(inner[:, 0]) > SAME_NODE])]
    nodes = _with_gaps(ground, np.concatenate([ends[:1], inner, ends[1:]]))
    nodes[:, 0] += station
    return nodes


def _crossings(ground: Ground, start: Floats, stop: Floats) -> Floats:
    """Return every crossing (n, 4) distance, easting, northing, elevation metres of a segment with the edges."""
    a, b = (float(start[0]), float(start[1])), (float(stop[0]), float(stop[1]))
    found = np.empty(1024, dtype=np.int64)
    count = triangles_near(ground.tree, len(ground.triangles), *a, *b, SAME_NODE, found)
    if count > len(found):
        found = np.empty(count, dtype=np.int64)
        triangles_near(ground.tree, len(ground.triangles), *a, *b, SAME_NODE, found)
    nodes = np.empty((3 * count, 4))
    size = edge_crossings(ground.vertices, ground.triangles, ground.neighbours, found[:count], *a, *b, nodes)
    return nodes[:size]


def _with_gaps(ground: Ground, nodes: Floats) -> Floats:
    """Return `nodes` (n, 4) metres with one of elevation NaN in the middle of each stretch off the ground."""
    both = np.isfinite(nodes[:-1, 3]) & np.isfinite(nodes[1:, 3]) & (np.diff(nodes[:, 0]) > GAP)
    tried = np.flatnonzero(both)
    middles = 0.5 * (nodes[tried] + nodes[tried + 1])
    away = np.isnan(elevation(ground, middles[:, 1:3]))
    if not away.any():
        return nodes
    gaps = middles[away]
    gaps[:, 3] = np.nan
    return np.insert(nodes, tried[away] + 1, gaps, axis=0)


def elevation_along(laid: Drape, stations: Floats) -> Floats:
    """Return the ground's elevation (n,) metres at `stations` (n,) metres of the line, NaN off the ground.

    >>> from terrain.synthetic import plane_ground
    >>> laid = drape(plane_ground(0.1, 0.0, 0.0), np.array([[0.0, 0.0], [50.0, 0.0]]))
    >>> elevation_along(laid, np.array([0.0, 20.0, 60.0])).round(12).tolist()
    [0.0, 2.0, nan]
    """
    if len(laid.stations) == 0:
        return np.full(np.shape(stations), np.nan)
    result = np.interp(stations, laid.stations, laid.points[:, 2], left=np.nan, right=np.nan)
    return np.asarray(result, dtype=np.float64)


def ground_length(laid: Drape) -> float:
    """Return the length [m] in space of the line on the ground: 0 for an empty line, NaN if partly off it."""
    return float(np.sqrt((np.diff(laid.points, axis=0) ** 2).sum(axis=1)).sum())


def off_ground(laid: Drape) -> Floats:
    """Return the stretches (k, 2) metres, from station to station, where the line is off the ground.

    >>> from terrain.synthetic import plane_ground
    >>> laid = drape(plane_ground(0.1, 0.0, 0.0, side=20.0), np.array([[0.0, 0.0], [50.0, 0.0]]))
    >>> off_ground(laid).tolist()
    [[10.0, 50.0]]
    """
    absent = np.isnan(laid.points[:, 2])
    if not absent.any():
        return np.zeros((0, 2))
    edges = np.diff(np.concatenate([[False], absent, [False]]).astype(np.int8))
    begins = np.maximum(np.flatnonzero(edges == 1) - 1, 0)
    stops = np.minimum(np.flatnonzero(edges == -1), len(absent) - 1)
    return np.stack([laid.stations[begins], laid.stations[stops]], axis=1)
