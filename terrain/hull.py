"""Outer boundary of a triangulation: its edges, its ring, and the filling of notches so that it is convex."""

import numpy as np

from terrain.arrays import Flags, Floats, Indices, Longs

THIN = 1e-9
"""Height [m] below which a triangle at the boundary, or a notch in it, is nothing but rounding."""


def boundary_edges(triangles: Indices, neighbours: Indices) -> Longs:
    """Return the boundary edges as (k, 4): from vertex, to vertex, triangle, corner opposite; ground on the left.

    `triangles` and `neighbours` are (m, 3).
    """
    rows, corners = np.nonzero(neighbours < 0)
    start = triangles[rows, (corners + 1) % 3]
    stop = triangles[rows, (corners + 2) % 3]
    return np.stack([start, stop, rows, corners], axis=1).astype(np.int64)


def _ring(edges: Longs) -> Longs:
    """Return the order of `edges` (k, 4) that makes one ring, or an empty array where they make several."""
    follower = dict(zip(edges[:, 0].tolist(), range(len(edges)), strict=True))
    order = [0]
    while len(order) < len(edges):
        after = follower.get(int(edges[order[-1], 1]), 0)
        if after == 0:
            return np.zeros(0, dtype=np.int64)
        order.append(after)
    return np.array(order, dtype=np.int64)


def convex_fill(points: Floats, triangles: Indices, neighbours: Indices) -> tuple[Indices, Indices]:
    """Return `triangles` and `neighbours` (m, 3) with triangles added until the boundary is convex.

    `points` (n, 2) metres. A triangulation that began in a finite outer triangle may lack slivers at its hull;
    a notch lower than `THIN` is left. Works like Graham's scan around the ring of boundary edges.
    """
    edges = boundary_edges(triangles, neighbours)
    ring = edges[_ring(edges)]
    if len(ring) < 4:
        return triangles, neighbours
    lowest = int(np.lexsort((points[ring[:, 0], 1], points[ring[:, 0], 0]))[0])
    scan = _Scan(points, len(triangles), neighbours)
    for edge in np.roll(ring, -lowest, axis=0).tolist():
        scan.append(edge)
    if not scan.added:
        return triangles, neighbours
    added = np.array(scan.added, dtype=np.int32)
    return np.concatenate([triangles, added]), np.concatenate(
        [scan.neighbours, np.array(scan.links, dtype=np.int32)]
    )


def peel_slivers(points: Floats, triangles: Indices, neighbours: Indices) -> tuple[Indices, Indices]:
    """Return `triangles` and `neighbours` (m, 3) without boundary triangles lower than `THIN`.

    `points` (n, 2) metres. Points meant to lie on one straight hull edge are off it by rounding and make them. Each
    round looks at no more than the edges that the round before laid bare; the last are never taken.
    """
    around = neighbours.copy()
    stay = np.ones(len(triangles), dtype=np.bool_)
    left = len(triangles)
    edges = boundary_edges(triangles, neighbours)
    while len(edges):
        thin = np.unique(edges[_height(points, triangles, edges) < THIN, 2])
        left -= len(thin)
        if len(thin) == 0 or left == 0:
            break
        stay[thin] = False
        edges = _laid_bare(triangles, around, stay, thin)
    if stay.all():
        return triangles, neighbours
    place = np.full(len(triangles) + 1, -1, dtype=np.int32)
    place[:-1][stay] = np.arange(int(stay.sum()), dtype=np.int32)
    return triangles[stay], place[around[stay]]


def _height(points: Floats, triangles: Indices, edges: Longs) -> Floats:
    """Return how high [m] the triangle of each boundary edge (k, 4) stands on it, (k,)."""
    start, along = points[edges[:, 0]], points[edges[:, 1]] - points[edges[:, 0]]
    away = points[triangles[edges[:, 2], edges[:, 3]]] - start
    double = along[:, 0] * away[:, 1] - along[:, 1] * away[:, 0]
    return np.asarray(double / np.hypot(along[:, 0], along[:, 1]), dtype=np.float64)


def _laid_bare(triangles: Indices, around: Indices, stay: Flags, gone: Longs) -> Longs:
    """Return the edges (k, 4) that become boundary when the triangles `gone` do; `around` (m, 3) is told so."""
    beside = around[gone]
    rows, corners = np.nonzero((beside >= 0) & stay[beside])
    bare = beside[rows, corners].astype(np.int64)
    across = (around[bare] == gone[rows][:, None]).argmax(axis=1)
    around[bare, across] = -1
    start, stop = triangles[bare, (across + 1) % 3], triangles[bare, (across + 2) % 3]
    return np.stack([start, stop, bare, across], axis=1).astype(np.int64)


class _Scan:
    """The state of one walk around the boundary: edges kept so far and triangles added."""

    def __init__(self, points: Floats, count: int, neighbours: Indices) -> None:
        self.points = points
        self.count = count
        self.neighbours = neighbours.copy()
        self.kept: list[list[int]] = []
        self.added: list[tuple[int, int, int]] = []
        self.links: list[list[int]] = []

    def append(self, edge: list[int]) -> None:
        """Add a boundary edge; close the notch it makes with the one before while there is one."""
        while self.kept and self._notch(self.kept[-1], edge):
            before = self.kept.pop()
            new = self.count + len(self.added)
            self.added.append((before[0], edge[1], edge[0]))
            # across from corner 0 (before's start) lies `edge`, from corner 1 `before`, from corner 2 the outside
            self.links.append([edge[2], before[2], -1])
            self._link(edge, new)
            self._link(before, new)
            edge = [before[0], edge[1], new, 2]
        self.kept.append(edge)

    def _notch(self, before: list[int], edge: list[int]) -> bool:
        a, b, c = self.points[before[0]], self.points[edge[0]], self.points[edge[1]]
        turn = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        return bool(turn < -THIN * np.hypot(c[0] - a[0], c[1] - a[1]))

    def _link(self, edge: list[int], new: int) -> None:
        if edge[2] < self.count:
            self.neighbours[edge[2], edge[3]] = new
        else:
            self.links[edge[2] - self.count][edge[3]] = new
