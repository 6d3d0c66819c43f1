"""Kernels that find the triangle under each point and read the ground's plane there."""

import numpy as np

from terrain.arrays import Floats, Indices, Longs
from terrain.boxes import DEEPEST, FAN, BoxTree, enter
from terrain.compiled import kernel

TOUCH = 1e-9
"""Distance [m] outside a triangle up to which a point still counts as on its edge."""


@kernel
def depth_inside(vertices: Floats, triangles: Indices, t: int, px: float, py: float) -> float:
    """Return how far [m] the point (px, py) [m] lies inside triangle `t`, negative outside.

    `vertices` (n, 3) metres, `triangles` (m, 3) counter-clockwise; the least of the distances to the three edges.
    """
    least = np.inf
    for k in range(3):
        i = triangles[t, k]
        j = triangles[t, (k + 1) % 3]
        if i > j:  # one orientation for both triangles of an edge, so that they agree to the last bit
            sign = -1.0
            i, j = j, i
        else:
            sign = 1.0
        ex = vertices[j, 0] - vertices[i, 0]
        ey = vertices[j, 1] - vertices[i, 1]
        cross = ex * (py - vertices[i, 1]) - ey * (px - vertices[i, 0])
        least = min(least, sign * cross / np.sqrt(ex * ex + ey * ey))
    return least


@kernel
def triangle_under(vertices: Floats, triangles: Indices, tree: BoxTree, px: float, py: float) -> int:
    """Return the triangle that holds the point (px, py) [m], the first of several on an edge, or -1 outside.

    `vertices` (n, 3) metres, `triangles` (m, 3), both under `tree`. A point up to `TOUCH` outside counts as inside.
    """
    waiting = np.empty(DEEPEST * FAN, dtype=np.int64)
    height = np.empty(DEEPEST * FAN, dtype=np.int64)
    top = tree.starts.shape[0] - 2
    waiting[0] = tree.starts[top]
    height[0] = top
    size = 1
    best = -1
    deepest = -TOUCH
    while size > 0:
        size -= 1
        node = waiting[size]
        level = height[size]
        box = tree.boxes[node]
        if px < box[0] - TOUCH or py < box[1] - TOUCH or px > box[2] + TOUCH or py > box[3] + TOUCH:
            continue
        if level > 0:
            size = enter(tree, node, level, waiting, height, size)
            continue
        for t in range(node * FAN, min(node * FAN + FAN, triangles.shape[0])):
            depth = depth_inside(vertices, triangles, t, px, py)
            if depth >= 0.0:
                return t
            if depth > deepest:
                best, deepest = t, depth
    return best


@kernel
def triangles_under(vertices: Floats, triangles: Indices, tree: BoxTree, points: Floats, found: Longs) -> None:
    """Put into `found` (k,) the triangle under each of `points` (k, 2 or 3) metres, -1 outside.

    `vertices` (n, 3) metres, `triangles` (m, 3), both under `tree`.
    """
    for i in range(points.shape[0]):
        px = points[i, 0]
        py = points[i, 1]
        if np.isfinite(px) and np.isfinite(py):
            found[i] = triangle_under(vertices, triangles, tree, px, py)
        else:
            found[i] = -1


@kernel
def read_planes(vertices: Floats, triangles: Indices, found: Longs, points: Floats, planes: Floats) -> None:
    """Put into `planes` (k, 3) the slope east, slope north [m/m] and elevation [m] at `points` (k, 2 or 3) metres.

    `found` (k,) is the triangle under each, -1 outside where NaN is put; `vertices` (n, 3) metres and `triangles`
    (m, 3) are the ground. The elevation is measured from the nearest corner, so that it is exact there.
    """
    for i in range(points.shape[0]):
        planes[i, :] = np.nan
        if found[i] < 0:
            continue
        a = vertices[triangles[found[i], 0]]
        b = vertices[triangles[found[i], 1]]
        c = vertices[triangles[found[i], 2]]
        double = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        p = ((b[2] - a[2]) * (c[1] - a[1]) - (c[2] - a[2]) * (b[1] - a[1])) / double
        q = ((c[2] - a[2]) * (b[0] - a[0]) - (b[2] - a[2]) * (c[0] - a[0])) / double
        near = a
        for corner in (b, c):
            if abs(points[i, 0] - corner[0]) + abs(points[i, 1] - corner[1]) < abs(points[i, 0] - near[0]) + abs(
                points[i, 1] - near[1]
            ):
                near = corner
        planes[i, 0] = p
        planes[i, 1] = q
        planes[i, 2] = near[2] + p * (points[i, 0] - near[0]) + q * (points[i, 1] - near[1])
