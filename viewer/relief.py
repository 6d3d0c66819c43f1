"""The ground as a drawing needs it: cropped to the work, shaded, with a contour interval; arrays, no plotting."""

import math
from typing import NamedTuple

import numpy as np

from estimate.record import Estimate
from terrain.arrays import Flags, Floats, Indices
from terrain.ground import Ground


class Box(NamedTuple):
    """A box in plan [m from the origin]."""

    west: float
    south: float
    east: float
    north: float


class Surface(NamedTuple):
    """Vertices (n, 3) metres from the origin and triangles (m, 3) of a piece of ground."""

    vertices: Floats
    triangles: Indices


def absolute(ground: Ground) -> float:
    """Return what [m] is added to a local elevation to make it an elevation in the survey's datum."""
    return ground.origin[2] * ground.vertical.metres


def line_points(estimate: Estimate) -> Floats:
    """Return the line's nodes in plan, (n, 2) metres from the origin."""
    return np.column_stack([estimate.profile.easting_m, estimate.profile.northing_m])


def along(estimate: Estimate, stations: Floats | float, field: str) -> Floats:
    """Return a `field` of the profile, such as "invert_m", at `stations` (n,) metres as (n,) metres."""
    profile = estimate.profile
    values: Floats = getattr(profile, field)
    return np.asarray(np.interp(np.atleast_1d(stations), profile.station_m, values), dtype=np.float64)


def work_box(estimate: Estimate, share: float = 0.12, least: float = 3.0) -> Box:
    """Return the box of the line and the disturbed ground with a margin, a `share` of its size, `least` [m]."""
    work = np.concatenate([line_points(estimate), estimate.route.points_m, *estimate.dig.outline_m])
    low, high = work.min(axis=0), work.max(axis=0)
    margin = max(share * float((high - low).max()), least)
    west, south = low - margin
    east, north = high + margin
    return Box(float(west), float(south), float(east), float(north))


def crop(ground: Ground, box: Box) -> Surface:
    """Return the triangles of `ground` that touch `box`, with their vertices renumbered."""
    corners = ground.vertices[:, :2]
    beyond = np.stack(
        [corners[:, 0] < box.west, corners[:, 0] > box.east, corners[:, 1] < box.south, corners[:, 1] > box.north]
    )
    outside = np.zeros(len(ground.triangles), dtype=bool)
    for side in beyond:
        outside |= side[ground.triangles].all(axis=1)
    return compact(ground.vertices, ground.triangles[~outside])


def compact(vertices: Floats, triangles: Indices) -> Surface:
    """Return `triangles` (m, 3) with only the `vertices` (n, 3) metres that they use."""
    used, places = np.unique(triangles, return_inverse=True)
    return Surface(vertices[used], places.reshape(-1, 3).astype(np.int32))


def vertex_normals(surface: Surface, exaggeration: float = 1.0) -> Floats:
    """Return unit normals (n, 3), pointing up: the mean of the triangles around each vertex weighted by area.

    Heights are drawn `exaggeration` times larger [a ratio].
    """
    stretched = surface.vertices * np.array([1.0, 1.0, exaggeration])
    a, b, c = (stretched[surface.triangles[:, k]] for k in range(3))
    face = np.cross(b - a, c - a)
    normals = np.zeros_like(stretched)
    for k in range(3):
        for axis in range(3):
            normals[:, axis] += np.bincount(surface.triangles[:, k], face[:, axis], len(stretched))
    length = np.linalg.norm(normals, axis=1)
    normals[length == 0.0] = (0.0, 0.0, 1.0)
    length[length == 0.0] = 1.0
    return np.asarray(normals / length[:, None], dtype=np.float64)


def hillshade(normals: Floats, azimuth: float = 315.0, altitude: float = 45.0) -> Floats:
    """Return the light (n,) from 0 to 1 on faces with unit `normals` (n, 3); the sun stands at an
    `azimuth` from north and an `altitude` above the horizon [degrees].

    Level ground has sin(altitude). Source: Lambert's cosine law; light from the north-west is a habit of maps.

    >>> hillshade(np.array([[0.0, 0.0, 1.0]])).round(4).tolist()
    [0.7071]
    """
    turn, up = math.radians(azimuth), math.radians(altitude)
    sun = np.array([math.sin(turn) * math.cos(up), math.cos(turn) * math.cos(up), math.sin(up)])
    return np.asarray(np.clip(normals @ sun, 0.0, 1.0), dtype=np.float64)


def round_step(least: float, steps: tuple[float, ...] = (1.0, 2.0, 5.0)) -> float:
    """Return the smallest of `steps` times a power of ten that is not below `least` [any unit].

    >>> [round_step(value) for value in (0.3, 1.0, 7.1)]
    [0.5, 1.0, 10.0]
    """
    decade = 10.0 ** math.floor(math.log10(least))
    choices = [step * decade for step in steps] + [10.0 * steps[0] * decade]
    return float(f"{next(choice for choice in choices if choice >= least * (1.0 - 1e-9)):.6g}")


def contour_levels(low: float, high: float, wanted: int = 14) -> Floats:
    """Return about `wanted` round levels (n,) between `low` and `high` [any unit], none where it is level.

    >>> contour_levels(98.2, 101.1, 6).tolist()
    [98.5, 99.0, 99.5, 100.0, 100.5, 101.0]
    """
    if not high - low > 1e-6:
        return np.zeros(0)
    step = round_step((high - low) / wanted)
    return np.asarray(np.arange(math.ceil(low / step), math.floor(high / step) + 1) * step, dtype=np.float64)


def inside_rings(points: Floats, rings: tuple[Floats, ...]) -> Flags:
    """Return which of `points` (n, 2) metres lie inside `rings` (k, 2) metres by the even-odd rule, (n,)."""
    inside = np.zeros(len(points), dtype=bool)
    for ring in rings:
        low, high = ring.min(axis=0), ring.max(axis=0)
        near = np.flatnonzero(((points >= low) & (points <= high)).all(axis=1))
        inside[near] ^= _inside_one(points[near], ring)
    return inside


def _inside_one(points: Floats, ring: Floats) -> Flags:
    odd = np.zeros(len(points), dtype=bool)
    for start, end in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        crosses = (start[1] > points[:, 1]) != (end[1] > points[:, 1])
        if crosses.any():
            share = (points[crosses, 1] - start[1]) / (end[1] - start[1])
            odd[crosses] ^= points[crosses, 0] < start[0] + share * (end[0] - start[0])
    return odd
