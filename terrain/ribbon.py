"""Ribbon: a single line of stations with elevations, widened to a strip of ground by stated assumptions."""

from typing import NamedTuple

import numpy as np

from terrain.arrays import Floats
from terrain.units import FT


class Ribbon(NamedTuple):
    """Points (n, 3) metres of a strip, easting the station, northing the offset to the left; what was assumed."""

    coordinates: Floats
    assumptions: tuple[str, ...]


def ribbon(shots: Floats, half_width: float) -> Ribbon:
    """Return the strip through `shots` (n, 3) metres of station, offset (left positive) and elevation.

    Where the line has a shot on one side, the cross slope of that side comes from its outermost shot and is carried
    to the stations without one, straight between two and level with the nearest beyond; a side with no shot at all
    is carried level, `half_width` [m] wide.

    >>> made = ribbon(np.array([[0.0, 0.0, 10.0], [20.0, 0.0, 11.0]]), 3.0)
    >>> made.coordinates[2:].tolist()
    [[0.0, 3.0, 10.0], [20.0, 3.0, 11.0], [0.0, -3.0, 10.0], [20.0, -3.0, 11.0]]
    >>> made.assumptions[0].partition(", ")[2].partition(";")[0]
    '3 m (9.84 ft) to each side'
    """
    centre = shots[shots[:, 1] == 0.0]
    pieces = [shots]
    told = []
    bare = []
    for side, name in ((1.0, "left"), (-1.0, "right")):
        beside = _outermost(shots, centre, side)
        lacking = centre[~np.isin(centre[:, 0], beside[:, 0])]
        if len(beside) == 0:
            bare.append(name)
            pieces.append(_carried(lacking, side, np.full(len(lacking), half_width), np.zeros(len(lacking))))
        elif len(lacking):
            reach = np.interp(lacking[:, 0], beside[:, 0], beside[:, 1])
            cross = np.interp(lacking[:, 0], beside[:, 0], beside[:, 2])
            pieces.append(_carried(lacking, side, reach, cross))
            told.append(
                f"{len(lacking)} of {len(centre)} stations have no shot to the {name}:"
                " the cross slope of that side is carried to them from the stations that have one"
            )
    told = [*_told_bare(bare, half_width), *told]
    if told:
        told[0] += "; left and right are seen walking along rising stations"
    return Ribbon(np.concatenate(pieces), tuple(told))


def _told_bare(bare: list[str], half_width: float) -> list[str]:
    """Return what is assumed of the sides without a shot, `half_width` [m] wide, in metres and in feet."""
    if not bare:
        return []
    each = "each side" if len(bare) == 2 else "that side"
    width = f"{half_width:.4g} m ({half_width / FT.metres:.3g} ft)"
    return [
        f"no shots to the {' and '.join(bare)} of the line: the ground is taken level across it, {width} to {each}"
    ]


def _outermost(shots: Floats, centre: Floats, side: float) -> Floats:
    """Return (k, 3) station, reach [m] and outward slope [m/m] of the stations with a shot on one `side`."""
    beside = shots[shots[:, 1] * side > 0.0]
    levels = dict(zip(centre[:, 0].tolist(), centre[:, 2].tolist(), strict=True))
    far: dict[float, tuple[float, float]] = {}
    for station, offset, elevation in beside.tolist():
        reach = offset * side
        if station in levels and reach > far.get(station, (0.0, 0.0))[0]:
            far[station] = (reach, (elevation - levels[station]) / reach)
    rows = [(station, *far[station]) for station in sorted(far)]
    return np.array(rows).reshape(-1, 3)


def _carried(centre: Floats, side: float, reach: Floats, cross: Floats) -> Floats:
    """Return points (k, 3) metres at `reach` (k,) metres on one `side` of `centre`, rising by `cross` (k,)."""
    return np.column_stack([centre[:, 0], side * reach, centre[:, 2] + cross * reach])


def straight_line(points: Floats, tolerance: float) -> bool:
    """Return whether all `points` (n, 3) metres lie within `tolerance` [m] of one straight line in plan.

    >>> straight_line(np.array([[0.0, 0.0, 1.0], [5.0, 5.0, 2.0], [9.0, 9.0, 1.0]]), 0.001)
    True
    """
    start, along = _line(points)
    away = points[:, :2] - start
    return bool(np.abs(along[0] * away[:, 1] - along[1] * away[:, 0]).max() <= tolerance)


def _line(points: Floats) -> tuple[Floats, Floats]:
    """Return a point of the line through the two of `points` (n, 3) metres farthest apart, and its direction."""
    middle = points[:, :2].mean(axis=0)
    first = points[int(np.hypot(*(points[:, :2] - middle).T).argmax()), :2]
    last = points[int(np.hypot(*(points[:, :2] - first).T).argmax()), :2]
    length = float(np.hypot(*(last - first)))
    return first, (last - first) / length if length > 0.0 else np.array([1.0, 0.0])


def ribbon_on_line(points: Floats, half_width: float) -> Ribbon:
    """Return the strip around `points` (n, 3) metres that lie on one straight line, in their own coordinates.

    `half_width` [m] is carried level to each side.
    """
    start, along = _line(points)
    stations = (points[:, :2] - start) @ along
    across = np.array([-along[1], along[0]])
    made = ribbon(np.column_stack([stations, np.zeros(len(points)), points[:, 2]]), half_width)
    plan = np.concatenate([points[:, :2]] * 3)
    plan += made.coordinates[:, 1:2] * across
    return Ribbon(np.column_stack([plan, made.coordinates[:, 2]]), made.assumptions)
