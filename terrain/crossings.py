"""Kernel of the drape: where a straight line crosses the edges of triangles, decided by signed distances alone."""

import numpy as np

from terrain.arrays import Floats, Indices, Longs
from terrain.compiled import kernel

ON_LINE = 1e-9
"""Distance [m] from the line within which a vertex lies on it."""


@kernel
def signed_distance(vertices: Floats, i: int, ax: float, ay: float, ux: float, uy: float) -> float:
    """Return how far [m] vertex `i` of `vertices` (n, 3) metres lies left of the line through a [m] along (ux, uy).

    (ux, uy) has length one. A vertex within `ON_LINE` lies on the line and has distance 0.
    """
    away = ux * (vertices[i, 1] - ay) - uy * (vertices[i, 0] - ax)
    return 0.0 if abs(away) <= ON_LINE else away


@kernel
def edge_crossings(
    vertices: Floats,
    triangles: Indices,
    neighbours: Indices,
    candidates: Longs,
    ax: float,
    ay: float,
    bx: float,
    by: float,
    nodes: Floats,
) -> int:
    """Put into `nodes` (3k, 4) metres each crossing of the segment a to b [m] with an edge; return how many.

    A node is distance along the segment, easting, northing, elevation. `candidates` (k,) are the triangles to try,
    `vertices` (n, 3) metres, `triangles` and `neighbours` (m, 3). An edge is crossed when its ends lie on different
    sides, or one of them on the line. An edge along the line needs no case of its own: its ends are ends of others.
    """
    length = np.sqrt((bx - ax) ** 2 + (by - ay) ** 2)
    ux, uy = (bx - ax) / length, (by - ay) / length
    size = 0
    for c in range(candidates.shape[0]):
        t = candidates[c]
        for k in range(3):
            if neighbours[t, k] > t:
                continue  # the edge belongs to the neighbour, which is a candidate as well
            i = min(triangles[t, (k + 1) % 3], triangles[t, (k + 2) % 3])
            j = max(triangles[t, (k + 1) % 3], triangles[t, (k + 2) % 3])
            di = signed_distance(vertices, i, ax, ay, ux, uy)
            dj = signed_distance(vertices, j, ax, ay, ux, uy)
            if (di >= 0.0) == (dj >= 0.0) and (di <= 0.0) == (dj <= 0.0):
                continue
            if dj == 0.0:
                i, j, di, dj = j, i, dj, di  # so that the node is exactly the end on the line
            for axis in range(3):
                nodes[size, axis + 1] = vertices[i, axis] + di / (di - dj) * (vertices[j, axis] - vertices[i, axis])
            along = ux * (nodes[size, 1] - ax) + uy * (nodes[size, 2] - ay)
            if -ON_LINE <= along <= length + ON_LINE:
                nodes[size, 0] = along
                size += 1
    return size
