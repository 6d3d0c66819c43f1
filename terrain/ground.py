"""Ground: the triangulated surface of a survey, and what can be asked of it: elevation, slope, hull, area."""

import math
from dataclasses import dataclass, field

import numpy as np

from terrain.arrays import Floats, Indices, Longs, frozen
from terrain.boxes import BoxTree, box_tree
from terrain.errors import GeometryError
from terrain.hull import boundary_edges
from terrain.locate import read_planes, triangles_under
from terrain.units import LengthUnit, M
from terrain.watch import SILENT, Watch

SLICE = 100_000
"""Points handled between two steps of the watch."""
_NO_TREE = BoxTree(np.zeros((0, 4)), np.zeros(1, dtype=np.int64))


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """A surface of triangles in metres around a local origin.

    `vertices` (n, 3) metres are easting, northing and elevation less `origin`; `triangles` (m, 3) are
    counter-clockwise in plan and sorted in space; `neighbours` (m, 3) lie across the edge opposite each corner, -1
    at the hull. `origin` is in the survey's own units: `horizontal` for the first two, `vertical` for the third.
    `accuracy` is the sigma of one elevation [m], NaN where unknown. `tree` is the index over the triangles, made
    when it is not given. `point` (n,) tells which survey point each vertex is, -1 for one made by crossing lines.
    `area` [m2] in plan, `lowest` and `highest` [m] above the origin are worked out when not given. The arrays are
    views that cannot be written.
    """

    vertices: Floats
    triangles: Indices
    neighbours: Indices
    origin: tuple[float, float, float] = (0.0, 0.0, 0.0)
    horizontal: LengthUnit = M
    vertical: LengthUnit = M
    source: str = ""
    kind: str = "shots"
    accuracy: float = math.nan
    notes: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    point: Longs = field(default_factory=lambda: np.zeros(0, dtype=np.int64))
    tree: BoxTree = _NO_TREE
    area: float = math.nan
    lowest: float = math.nan
    highest: float = math.nan

    def __post_init__(self) -> None:
        for name in ("vertices", "triangles", "neighbours", "point"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        if len(self.tree.boxes) == 0:
            object.__setattr__(self, "tree", box_tree(self.vertices, self.triangles))
        object.__setattr__(self, "tree", BoxTree(frozen(self.tree.boxes), frozen(self.tree.starts)))
        if math.isnan(self.area):
            object.__setattr__(self, "area", float(triangle_areas(self).sum()))
        if math.isnan(self.lowest) or math.isnan(self.highest):
            object.__setattr__(self, "lowest", float(self.vertices[:, 2].min(initial=math.inf)))
            object.__setattr__(self, "highest", float(self.vertices[:, 2].max(initial=-math.inf)))


def _plan(points: Floats) -> Floats:
    plan = np.ascontiguousarray(points, dtype=np.float64)
    if plan.ndim != 2 or plan.shape[1] < 2:
        raise GeometryError("points", f"an array of shape {np.shape(points)}", "(n, 2) metres")
    return plan


def planes(ground: Ground, points: Floats, watch: Watch = SILENT) -> Floats:
    """Return slope east, slope north [m/m] and elevation [m] (n, 3) at `points` (n, 2) metres, NaN outside.

    Raises:
        GeometryError: `points` is not of shape (n, 2).
        Cancelled: by `watch`.
    """
    plan = _plan(points)
    result = np.full((len(plan), 3), np.nan)
    found = np.full(len(plan), -1, dtype=np.int64)
    for start in range(0, len(plan), SLICE):
        part = slice(start, start + SLICE)
        triangles_under(ground.vertices, ground.triangles, ground.tree, plan[part], found[part])
        read_planes(ground.vertices, ground.triangles, found[part], plan[part], result[part])
        if len(plan) > SLICE:
            watch.step("reading elevations", min(start + SLICE, len(plan)), len(plan))
    return result


def elevation(ground: Ground, points: Floats, watch: Watch = SILENT) -> Floats:
    """Return the elevation (n,) metres above the local origin at `points` (n, 2) metres, NaN outside the hull.

    A point on an edge or up to a nanometre outside the hull counts as inside.

    Raises:
        GeometryError: `points` is not of shape (n, 2).
        Cancelled: by `watch`.

    >>> from terrain.synthetic import plane_ground
    >>> elevation(plane_ground(0.1, 0.0, 5.0), np.array([[10.0, 3.0], [1000.0, 0.0]])).round(12).tolist()
    [6.0, nan]
    """
    return np.ascontiguousarray(planes(ground, points, watch)[:, 2])


def slope(ground: Ground, points: Floats) -> Floats:
    """Return the slope (n, 2) east and north [m/m] of the ground at `points` (n, 2) metres, NaN outside the hull.

    On an edge it is that of one of the triangles that meet there.

    Raises:
        GeometryError: `points` is not of shape (n, 2).

    >>> from terrain.synthetic import plane_ground
    >>> slope(plane_ground(0.1, -0.2, 5.0), np.array([[10.0, 3.0]])).round(12).tolist()
    [[0.1, -0.2]]
    """
    return np.ascontiguousarray(planes(ground, points)[:, :2])


def triangle_at(ground: Ground, points: Floats) -> Longs:
    """Return the triangle (n,) under each of `points` (n, 2) metres, -1 outside the hull.

    Raises:
        GeometryError: `points` is not of shape (n, 2).
    """
    plan = _plan(points)
    found = np.full(len(plan), -1, dtype=np.int64)
    triangles_under(ground.vertices, ground.triangles, ground.tree, plan, found)
    return found


def far_from_shots(ground: Ground, points: Floats) -> Floats:
    """Return how far (n,) metres each of `points` (n, 2) metres is from a shot, NaN outside the hull.

    That is the distance in plan to the nearest corner of the triangle under it, which is where its elevation comes
    from: no less than the distance to the nearest shot of all.

    Raises:
        GeometryError: `points` is not of shape (n, 2).

    >>> from terrain.synthetic import plane_ground
    >>> far_from_shots(plane_ground(0.1, 0.0, 5.0), np.array([[0.0, 0.0], [10.0, 0.0], [1000.0, 0.0]])).tolist()
    [0.0, 10.0, nan]
    """
    under = triangle_at(ground, points)
    corners = ground.vertices[ground.triangles[under], :2]
    away = np.asarray(points, dtype=np.float64)[:, None, :2] - corners
    return np.where(under < 0, np.nan, np.hypot(away[..., 0], away[..., 1]).min(axis=1))


def hull_edges(ground: Ground) -> Longs:
    """Return the edges (k, 2) of the hull as vertex indices, counter-clockwise, in no order.

    >>> from terrain.synthetic import plane_ground
    >>> len(hull_edges(plane_ground(0.0, 0.0, 0.0, side=10.0, step=5.0)))
    8
    """
    return boundary_edges(ground.triangles, ground.neighbours)[:, :2]


def triangle_areas(ground: Ground) -> Floats:
    """Return the plan area (m,) square metres of each triangle."""
    a = ground.vertices[ground.triangles[:, 0], :2]
    b = ground.vertices[ground.triangles[:, 1], :2] - a
    c = ground.vertices[ground.triangles[:, 2], :2] - a
    return np.asarray(0.5 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0]), dtype=np.float64)


def plan_area(ground: Ground) -> float:
    """Return the plan area [m2] of the whole ground.

    >>> from terrain.synthetic import plane_ground
    >>> plan_area(plane_ground(0.3, 0.0, 0.0, side=10.0, step=5.0))
    100.0
    """
    return ground.area


def to_local(ground: Ground, coordinates: Floats) -> Floats:
    """Return `coordinates` (n, 2) or (n, 3) in the survey's own units as metres around the local origin.

    The origin is subtracted before the conversion, so that no digit is lost far from zero.

    >>> from terrain.synthetic import plane_ground
    >>> to_local(plane_ground(0.0, 0.0, 0.0), np.array([[3.0, 4.0]])).tolist()
    [[3.0, 4.0]]
    """
    width = np.shape(coordinates)[1]
    local = np.asarray(coordinates, dtype=np.float64) - np.array(ground.origin[:width])
    return np.asarray(local * _metres(ground)[:width], dtype=np.float64)


def to_survey(ground: Ground, local: Floats) -> Floats:
    """Return `local` (n, 2) or (n, 3) metres as coordinates in the survey's own units."""
    width = np.shape(local)[1]
    back = np.asarray(local, dtype=np.float64) / _metres(ground)[:width]
    return np.asarray(back + np.array(ground.origin[:width]), dtype=np.float64)


def _metres(ground: Ground) -> Floats:
    return np.array([ground.horizontal.metres, ground.horizontal.metres, ground.vertical.metres])
