"""The route laid on the ground: way points become stations with the ground's elevation at every node."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimate.record import Bend
from estimate.route.bends import bends_of
from estimate.route.nodes import SAME_NODE, with_nodes
from estimate.site_checks import in_degrees
from estimate.site_records import SiteFile
from terrain.arrays import Flags, Floats
from terrain.drape import Drape, drape, ground_length, off_ground
from terrain.errors import GeometryError, InputError
from terrain.ground import Ground, to_local
from terrain.watch import SILENT, Watch

ONE_PLACE = 0.01
"""Way points nearer to each other than this [m] are one: nobody stakes, or bends a pipe, that closely."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidRoute:
    """The route on the ground, straight between its nodes.

    `points_m` (n, 2) way points; `station`, `easting`, `northing` and `ground` (k,) metres at every node: each
    triangle edge crossed, way point, multiple of the interval, drain and valve. `natural` (k,) tells the nodes
    where the ground or the route itself breaks; the others lie on a straight line between those.
    """

    points_m: Floats
    station: Floats
    easting: Floats
    northing: Floats
    ground: Floats
    natural: Flags
    plan_length_m: float
    ground_length_m: float
    bends: tuple[Bend, ...]


def station_text(ground: Ground, metres: float) -> str:
    """Return a station given in `metres` as the user writes it: in the survey's own horizontal unit.

    >>> from terrain.synthetic import plane_ground
    >>> station_text(plane_ground(0.0, 0.0, 0.0), 12.345)
    '12.35 m'
    """
    return f"{metres / ground.horizontal.metres:.2f} {ground.horizontal.name}"


def station_in_metres(ground: Ground, station: float, length: float, key: str) -> float:
    """Return a `station` in the survey's own unit as metres along a route of `length` [m]; `key` is its name.

    Raises:
        InputError: the station lies before the first or after the last way point.

    >>> from terrain.synthetic import plane_ground
    >>> station_in_metres(plane_ground(0.0, 0.0, 0.0), 12.0, 30.0, "drain 1")
    12.0
    """
    metres = station * ground.horizontal.metres
    if -SAME_NODE <= metres <= length * (1.0 + 1e-9):
        return min(max(metres, 0.0), length)
    raise InputError(
        f"{key}: station",
        f"station {station:g} {ground.horizontal.name}",
        f"a station between 0 and {station_text(ground, length)}, the end of the route",
        "measure it along the route in plan from the first way point, in the survey's unit",
    )


def nearest_station(station: Floats, plan: Floats, easting: float, northing: float) -> float:
    """Return the station [m] of the line that is nearest to a place at `easting` and `northing` [m].

    The line has its nodes at `station` (k,) metres and `plan` (k, 2) metres.

    >>> nearest_station(np.array([0.0, 10.0]), np.array([[0.0, 0.0], [10.0, 0.0]]), 4.0, 3.0)
    4.0
    """
    start, step = plan[:-1], np.diff(plan, axis=0)
    away = np.array([easting, northing]) - start
    square = np.maximum((step * step).sum(axis=1), np.finfo(np.float64).tiny)
    share = np.clip((away * step).sum(axis=1) / square, 0.0, 1.0)
    best = int(np.hypot(*(away - share[:, None] * step).T).argmin())
    return float(station[best] + share[best] * (station[best + 1] - station[best]))


def lay_route(file: SiteFile, ground: Ground, watch: Watch = SILENT) -> LaidRoute:
    """Return the way points of `file` as a route on `ground`, with a node wherever anything changes.

    Stations run from the first way point, whichever structure it stands at. Two way points at one place count once.

    Raises:
        GeometryError: fewer than two distinct way points, or the centre line leaves the ground.
        InputError: a drain or valve stands beyond the ends of the route.
        Cancelled: by `watch`.
    """
    points = _distinct(to_local(ground, np.array(file.route.points, dtype=np.float64).reshape(-1, 2)))
    laid = drape(ground, points, watch)
    _refuse_gaps(ground, laid, file.route.points)
    length = float(laid.stations[-1])
    extra = _wanted_stations(file, ground, length)
    station, nodes, natural = _insert(laid, extra)
    corners = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    return LaidRoute(
        points_m=points,
        station=station,
        easting=nodes[:, 0].copy(),
        northing=nodes[:, 1].copy(),
        ground=nodes[:, 2].copy(),
        natural=natural,
        plan_length_m=length,
        ground_length_m=ground_length(laid),
        bends=bends_of(points, corners),
    )


def _distinct(points: Floats) -> Floats:
    """Return `points` (n, 2) metres without those that stand within `ONE_PLACE` of the one before."""
    if len(points):
        moved = np.hypot(*np.diff(points, axis=0).T) > ONE_PLACE
        points = points[np.concatenate([[True], moved])]
    if len(points) < 2:
        raise GeometryError(
            "route.points",
            f"{len(points)} distinct way point{'' if len(points) == 1 else 's'}",
            "at least two way points at different places",
            "give the place of each structure, and the bends between them in order",
        )
    return points


def _refuse_gaps(ground: Ground, laid: Drape, given: Sequence[tuple[float, float]]) -> None:
    """Raise where the centre line is off the ground; the stretches are told in the survey's unit and in metres."""
    gaps = off_ground(laid)
    if not len(gaps):
        return
    metres, name = ground.horizontal.metres, ground.horizontal.name
    told = [f"{start / metres:.2f} to {stop / metres:.2f} {name}" for start, stop in gaps.tolist()]
    if name != "m":
        told = [
            f"{text} ({start:.2f} to {stop:.2f} m)" for text, (start, stop) in zip(told, gaps.tolist(), strict=True)
        ]
    east, north = (float(value) for value in _middle(ground))
    degrees = (
        "" if in_degrees([(east, north)]) or not in_degrees(given) else "they look like degrees: project them; "
    )
    raise GeometryError(
        "route.points",
        f"the centre line is off the surveyed ground at station {', '.join(told)}",
        "a route on the ground that was surveyed, whose middle is about "
        f"easting {east:.2f}, northing {north:.2f} {name}",
        f"{degrees}move the way points, check that easting stands before northing, or survey that stretch",
    )


def _middle(ground: Ground) -> Floats:
    """Return the middle (2,) of the ground's extent in the survey's own unit."""
    plan = ground.vertices[:, :2]
    middle = 0.5 * (plan.min(axis=0) + plan.max(axis=0)) / ground.horizontal.metres
    return np.asarray(middle + np.array(ground.origin[:2]), dtype=np.float64)


def _wanted_stations(file: SiteFile, ground: Ground, length: float) -> Floats:
    """Return the stations (n,) metres at which the user wants a figure, apart from the ground's own nodes."""
    interval = file.trench.interval
    count = int(length / interval) if interval > 0.0 else 0
    wished = [*(("drain", n, one.station) for n, one in enumerate(file.drain, 1))]
    wished += [("valve", n, one.station) for n, one in enumerate(file.valve, 1)]
    own = [station_in_metres(ground, station, length, f"{key} {n}") for key, n, station in wished]
    return np.concatenate([interval * np.arange(1, count + 1), own]).astype(np.float64)


def _insert(laid: Drape, extra: Floats) -> tuple[Floats, Floats, Flags]:
    """Return station (k,) and nodes (k, 3) metres with `extra` (n,) ones, and which (k,) are the drape's own."""
    station, nodes = with_nodes(laid.stations, laid.points, extra)
    return station, nodes, np.isin(station, laid.stations)
