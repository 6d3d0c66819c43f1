"""Constrained Delaunay triangulation in plan; the only file that knows the triangulation library."""

import numpy as np
import pythoncdt

from terrain.arrays import Floats, Indices, Longs
from terrain.errors import GeometryError
from terrain.hull import convex_fill, peel_slivers
from terrain.order import inverse, spatial_order
from terrain.watch import SILENT, Watch

ON_EDGE = 1e-4
"""Distance [m] within which a point near a constraint becomes part of it."""
STEP = "triangulating"
"""Name of the stages that a watch is told."""


def triangulate(points: Floats, constraints: Longs | None = None, watch: Watch = SILENT) -> tuple[Indices, Indices]:
    """Return the Delaunay triangles (m, 3) of `points` (n, 2) metres and their neighbours (m, 3).

    Triangles are counter-clockwise and sorted in space; neighbour k lies across the edge opposite corner k, -1 at
    the hull, which is convex. `constraints` (k, 2) are pairs of point indices that become edges; they may touch
    points but not cross each other. Points must be near a local origin and hold no doubles; points sorted in space
    (`terrain.order`) go fastest. The watch is asked before and after each stage; the library's own insertion, about
    a second for a million points, is one call that cannot be cut in slices without losing its order of insertion.

    Raises:
        GeometryError: fewer than three points, all on one line, doubles, or crossing constraints.
        Cancelled: by `watch`.

    >>> triangles, neighbours = triangulate(np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.1]]))
    >>> len(triangles), int((neighbours < 0).sum())
    (2, 4)
    """
    if len(points) < 3:
        raise GeometryError("triangulation", f"{len(points)} points", "at least three points")
    watch.step(STEP, 0, 4)
    triangles, neighbours = _in_order(points, constraints)
    if len(triangles) == 0:
        raise GeometryError("triangulation", "all points lie on one straight line", "points with some width")
    watch.step(STEP, 1, 4)
    triangles, neighbours = convex_fill(points, triangles, neighbours)
    watch.step(STEP, 2, 4)
    triangles, neighbours = peel_slivers(points, triangles, neighbours)
    watch.step(STEP, 3, 4)
    triangles, neighbours = sort_triangles(points, triangles, neighbours)
    watch.step(STEP, 4, 4)
    return triangles, neighbours


def _in_order(points: Floats, constraints: Longs | None) -> tuple[Indices, Indices]:
    """Return triangles and neighbours after handing the points over in spatial order, which is far quicker."""
    order = spatial_order(points[:, :2])
    if (order[1:] > order[:-1]).all():
        return _delaunay(np.ascontiguousarray(points, dtype=np.float64), constraints)
    if constraints is not None:
        constraints = inverse(order)[constraints]
    triangles, neighbours = _delaunay(np.ascontiguousarray(points[order], dtype=np.float64), constraints)
    return order.astype(np.int32)[triangles], neighbours


def _delaunay(points: Floats, constraints: Longs | None) -> tuple[Indices, Indices]:
    """Return triangles and neighbours as the library gives them, its errors made ours."""
    touch = ON_EDGE if constraints is not None and len(constraints) else 0.0
    order, crossing = pythoncdt.VertexInsertionOrder.AUTO, pythoncdt.IntersectingConstraintEdges.NOT_ALLOWED
    work = pythoncdt.Triangulation(order, crossing, touch)
    try:
        work.insert_vertices(points)
        if constraints is not None and len(constraints):
            work.insert_edges(np.ascontiguousarray(constraints, dtype=np.uint32))
        work.erase_super_triangle()
    except (RuntimeError, ValueError) as broken:
        raise GeometryError(
            "triangulation", str(broken), "points without doubles and lines that do not cross"
        ) from broken
    records = work.triangles_array(copy=False)
    triangles = records["vertices"].astype(np.int32)
    across = records["neighbors"].view(np.int32)  # across edge (k, k + 1); the library's "none" reads as -1
    neighbours = np.empty_like(triangles)
    for corner in range(3):
        neighbours[:, corner] = across[:, (corner + 1) % 3]
    return triangles, neighbours


def sort_triangles(points: Floats, triangles: Indices, neighbours: Indices) -> tuple[Indices, Indices]:
    """Return `triangles` and `neighbours` (m, 3) with the rows in spatial order of their centroids.

    `points` (n, 2) metres are the corners.
    """
    centroids = points[triangles[:, 0]]
    centroids += points[triangles[:, 1]]
    centroids += points[triangles[:, 2]]
    order = spatial_order(centroids)
    place = np.empty(len(order) + 1, dtype=np.int32)
    place[order] = np.arange(len(order), dtype=np.int32)
    place[-1] = -1
    return np.ascontiguousarray(triangles[order]), place[neighbours[order]]
