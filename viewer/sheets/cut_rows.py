"""The rows of the cut sheet: which stations get one, and what is dug there."""

import math
from typing import NamedTuple

import numpy as np

from estimate.record import Estimate, Wall
from estimate.route.line import nearest_station
from terrain.arrays import Floats
from viewer.relief import along
from viewer.words import feet_inches, number

SAME = 0.005
"""Stations nearer to each other than this [m] share a row."""
STRAIGHT = 0.0127
"""How far straight digging between two rows may leave the design [m], half an inch."""
ROUNDING = 0.0022
"""What rounding to hundredths of a foot and eighths of an inch adds to that [m]; it is taken off beforehand."""


class Row(NamedTuple):
    """One row: station [m], plan [m from the origin], absolute elevations [m], depth and top width [m], remarks."""

    station: float
    easting: float
    northing: float
    ground: float
    floor: float
    top: float
    depth: float
    top_width: float
    remarks: str


def cut_rows(estimate: Estimate) -> tuple[Row, ...]:
    """Return the rows of the cut sheet in order.

    Every interval, bend, drain, structure, low and high point has one, and so has every break in grade between
    them that straight digging would miss by more than `STRAIGHT`.
    """
    remarks: dict[float, list[str]] = {}
    for station, words in sorted(_places(estimate), key=lambda place: place[0]):
        near = next((one for one in remarks if abs(one - station) < SAME), station)
        remarks.setdefault(near, []).extend([words] if words else [])
    for station in _grade_breaks(estimate, np.array(sorted(remarks))):
        remarks[station] = ["grade break"]
    stations = np.array(sorted(remarks))
    names = ("easting_m", "northing_m", "ground_m", "floor_m", "top_m")
    columns = [along(estimate, stations, name) for name in names]
    rows = []
    for i, station in enumerate(stations.tolist()):
        easting, northing, ground, floor, top = (float(one[i]) for one in columns)
        depth = ground - floor
        wide, words = top_width(estimate, depth), "; ".join(remarks[station])
        rows.append(Row(station, easting, northing, ground, floor, top, depth, wide, words))
    return tuple(rows)


def top_width(estimate: Estimate, depth: float) -> float:
    """Return how wide the trench is at the surface [m] at a `depth` [m], were the ground level across."""
    dig = estimate.dig
    return dig.width_m + sum(_run(wall, depth) for wall in (dig.left_wall, dig.right_wall))


def _run(wall: Wall, depth: float) -> float:
    """Return how far a wall leans back over a `depth` [m]."""
    return wall.slope * max(depth - wall.rise_m, 0.0)


def _grade_breaks(estimate: Estimate, stations: Floats) -> list[float]:
    """Return the stations [m] to put between `stations` (n,) [m] so that floor and top run straight between rows.

    Source: Ramer (1972) and Douglas and Peucker (1973): split where a chord is farthest from the line.
    """
    profile = estimate.profile
    found: list[float] = []
    spans = list(zip(stations[:-1].tolist(), stations[1:].tolist(), strict=True))
    while spans:
        first, last = spans.pop()
        inner = (profile.station_m > first + 1e-9) & (profile.station_m < last - 1e-9)
        nodes = profile.station_m[inner]
        if len(nodes) == 0:
            continue
        ends, off = np.array([first, last]), np.zeros(len(nodes))
        for name, line in (("floor_m", profile.floor_m), ("top_m", profile.top_m)):
            chord = np.interp(nodes, ends, along(estimate, ends, name))
            off = np.maximum(off, np.abs(line[inner] - chord))
        if float(off.max()) > STRAIGHT - ROUNDING:
            middle = float(nodes[int(off.argmax())])
            found.append(middle)
            spans += [(first, middle), (middle, last)]
    return found


def _places(estimate: Estimate) -> list[tuple[float, str]]:
    """Return the stations [m] that get a row, each with its remark or an empty one."""
    units, profile = estimate.units, estimate.profile
    places = [(one.from_m, "") for one in estimate.dig.intervals]
    places += [(float(profile.station_m[0]), ""), (float(profile.station_m[-1]), "")]
    places += [(one.station_m, one.name) for one in estimate.structures]
    places += _pit_places(estimate)
    places += [(bend.station_m, bend_words(bend.turn_deg)) for bend in estimate.route.bends]
    places += [(drain.station_m, drain.name or "drain") for drain in estimate.drains]
    places += [(one.station_m, "low point") for one in estimate.low_points]
    places += [(one.station_m, "high point") for one in estimate.high_points]
    depth = profile.ground_m - profile.floor_m
    if len(depth):
        places.append((float(profile.station_m[int(depth.argmax())]), "deepest on the centre line"))
    face = number(estimate.dig.tallest_face_m, "level", units, 2)
    unit = "ft" if units == "US" else "m"
    places.append((face_station(estimate), f"tallest face {face} {unit} near here"))
    first, last = float(profile.station_m[0]), float(profile.station_m[-1])
    return [(min(max(station, first), last), words) for station, words in places]


def bend_words(turn: float) -> str:
    """Return the remark on a bend of `turn` [degrees, left positive], empty below one degree.

    >>> bend_words(53.8), bend_words(-1.2), bend_words(0.9)
    ('bend 54 degrees left', 'bend 1 degree right', '')
    """
    whole = round(abs(turn))
    if abs(turn) < 1.0:
        return ""
    return f"bend {whole} {'degree' if whole == 1 else 'degrees'} {'left' if turn > 0.0 else 'right'}"


def _pit_places(estimate: Estimate) -> list[tuple[float, str]]:
    """Return the stations [m] of structures that stand in a pit, with how much deeper its floor is."""
    places = []
    for pit in estimate.dig.pits:
        for one in estimate.structures:
            if one.end == pit.end:
                below = float(along(estimate, one.station_m, "floor_m")[0]) - pit.floor_m
                places.append((one.station_m, _deeper(below, estimate.units)))
    return places


def _deeper(below: float, units: str) -> str:
    """Return in words how far [m] a pit's floor is below the trench bottom."""
    side = "below" if below >= 0.0 else "above"
    if units == "US":
        return f"pit floor {number(abs(below), 'level', units)} ft ({feet_inches(abs(below))}) {side} this bottom"
    return f"pit floor {number(abs(below), 'level', units)} m {side} this bottom"


def face_station(estimate: Estimate) -> float:
    """Return the station [m] of the line nearest to the tallest face; its first one where nothing is dug."""
    profile, (easting, northing) = estimate.profile, estimate.dig.tallest_face_at_m
    if len(profile.station_m) < 2 or not (math.isfinite(easting) and math.isfinite(northing)):
        return float(profile.station_m[0])
    return nearest_station(
        profile.station_m, np.column_stack([profile.easting_m, profile.northing_m]), easting, northing
    )
