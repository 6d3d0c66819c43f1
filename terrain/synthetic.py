"""Synthetic grounds with known shape, for tests, benchmarks and examples; random ones from a seed."""

from collections.abc import Callable

import numpy as np

from terrain.arrays import Floats
from terrain.build import build_ground
from terrain.ground import Ground
from terrain.points import SurveyPoints
from terrain.units import M

Shape = Callable[[Floats, Floats], Floats]
"""Elevation (n,) metres from easting and northing (n,) metres."""


def ground_of(coordinates: Floats, kind: str = "shots") -> Ground:
    """Return the ground through `coordinates` (n, 3) metres, with the origin at zero.

    Raises:
        SurveyError: fewer than three points at different places, or all on one straight line.
    """
    return build_ground(SurveyPoints(coordinates, (0.0, 0.0, 0.0), M, M, "synthetic", kind, 0.02))


def grid_points(side: float, step: float) -> Floats:
    """Return the points (n, 2) metres of a square grid from -side/2 to side/2 [m] each way, `step` [m] apart.

    >>> len(grid_points(10.0, 5.0))
    9
    """
    axis = np.linspace(-0.5 * side, 0.5 * side, max(round(side / step), 1) + 1)
    return np.stack(np.meshgrid(axis, axis, indexing="ij"), axis=-1).reshape(-1, 2)


def random_points(count: int, side: float, seed: int) -> Floats:
    """Return `count` points (count, 2) metres, the four corners first, in a square of `side` [m] around zero."""
    half = 0.5 * side
    corners = np.array([[-half, -half], [half, -half], [half, half], [-half, half]])
    inside = np.random.default_rng(seed).uniform(-half, half, (max(count - 4, 0), 2))
    return np.concatenate([corners, inside])


def on_shape(points: Floats, shape: Shape) -> Floats:
    """Return `points` (n, 2) metres with the elevation of `shape` as (n, 3) metres."""
    return np.column_stack([points, shape(points[:, 0], points[:, 1])])


def plane_ground(east: float, north: float, level: float, side: float = 200.0, step: float = 20.0) -> Ground:
    """Return a plane with slopes `east` and `north` [m/m], `level` [m] at the middle, over a square of `side` [m].

    Its points stand `step` [m] apart.

    >>> plane_ground(0.05, 0.0, 10.0).kind
    'shots'
    """
    return ground_of(on_shape(grid_points(side, step), lambda e, n: level + east * e + north * n))


def hills(easting: Floats, northing: Floats) -> Floats:
    """Return elevations (n,) metres of a tilted yard with hills at `easting` and `northing` (n,) metres."""
    tilt = 100.0 + 0.04 * easting - 0.02 * northing
    return np.asarray(tilt + 1.5 * np.sin(easting / 13.0) * np.cos(northing / 17.0) + 0.3 * np.sin(northing / 3.1))


def hilly_ground(count: int = 2000, side: float = 200.0, seed: int = 7, noise: float = 0.0) -> Ground:
    """Return random points on `hills` over a square of `side` [m], with normal `noise` [m] on each elevation.

    >>> len(hilly_ground(100).vertices)
    100
    """
    coordinates = on_shape(random_points(count, side, seed), hills)
    coordinates[:, 2] += noise * np.random.default_rng(seed + 1).standard_normal(len(coordinates))
    return ground_of(coordinates, "lidar")
