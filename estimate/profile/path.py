"""The way of the water through the pipe from the lower to the upper structure, with what may stop it in winter."""

import math
from dataclasses import dataclass

import numpy as np

from estimate.profile.line import LaidLine
from estimate.profile.structures import datum_height
from estimate.record import Structure
from estimate.route.line import LaidRoute, station_in_metres, station_text
from estimate.site_records import SiteFile
from terrain.arrays import Flags, Floats
from terrain.ground import Ground

ENDS = 2
"""Nodes at each end beyond those of the buried line: the port and the end of the pipe."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Basin:
    """What the water at one end does in winter, levels in local metres.

    `spill` is the level down to which the pipe gives water off there (infinite behind a check valve), `feed` that
    up to which water comes in (minus infinity where it cannot), `winter` that of the basin (NaN where empty).
    """

    name: str
    winter: float
    spill: float
    feed: float
    check_valve: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PipePath:
    """The inside bottom of the pipe as nodes from the end in the lower structure to that in the upper one.

    `distance` (n,) metres in plan from the lower structure and `invert` (n,) local metres; the first and last two
    nodes are pipe end and port. A valve stands at the upper of two nodes at one place, so that both its sides have
    a node of their own, except at the ends of the line. `stops_down` and `stops_up` (n,) tell where a valve lets
    nothing pass downward or upward; `valve` (n,) its words, empty elsewhere.
    """

    distance: Floats
    invert: Floats
    stops_down: Flags
    stops_up: Flags
    valve: tuple[str, ...]
    lower: Basin
    upper: Basin


def upward(line: LaidLine) -> bool:
    """Return whether the stations (metres) of `line` run from the lower to the upper structure."""
    return line.structures[0].end == "lower"


def from_lower(line: LaidLine, route: LaidRoute, station: float) -> float:
    """Return the distance [m] from the lower structure of a `station` [m], and the station of such a distance."""
    return station if upward(line) else route.plan_length_m - station


def basin_of(structure: Structure, datum: float) -> Basin:
    """Return how the basin at `structure` acts on the pipe in winter; `datum` [m] is added to its elevations.

    A basin whose winter level covers the end of the pipe holds the water back to that level and lets it in; one
    that is empty or lower gives way to the end's own height. Check valves open from the lower to the upper end:
    that of the lower structure lets nothing out, that of the upper one nothing in.
    """
    end, winter = structure.end_m - datum, structure.winter_level_m - datum
    covered = winter > end
    check, lower = structure.check_valve, structure.end == "lower"
    spill = winter if covered else end
    return Basin(
        name=structure.name,
        winter=winter,
        spill=math.inf if check and lower else spill,
        feed=winter if covered and (lower or not check) else -math.inf,
        check_valve=check,
    )


def node_at(distance: Floats, place: float) -> int:
    """Return the node of the buried line that is nearest to `place` [m]; `distance` (n,) metres is the path's.

    Of the two nodes at a shut valve it is the upper one, so that a drain wanted there stands above the valve.

    >>> node_at(np.array([0.0, 0.0, 0.0, 4.0, 9.0, 9.0, 9.0]), 3.5)
    3
    """
    away = np.abs(distance[ENDS:-ENDS] - place)
    return ENDS + len(away) - 1 - int(np.argmin(away[::-1]))


def pipe_path(file: SiteFile, ground: Ground, route: LaidRoute, line: LaidLine) -> PipePath:
    """Return the path of `line` from the lower to the upper structure with its valves and basins.

    Raises:
        InputError: a valve stands beyond the ends of the route.
    """
    datum = datum_height(ground)
    along = upward(line)
    lower, upper = line.structures if along else line.structures[::-1]
    length = route.plan_length_m
    run = line.station if along else (length - line.station)[::-1]
    invert = line.invert if along else line.invert[::-1]
    stations = [station_in_metres(ground, one.station, length, f"valve {n}") for n, one in enumerate(file.valve, 1)]
    twice = np.unique([np.argmin(np.abs(run - from_lower(line, route, station))) for station in stations])
    twice = twice[(twice > 0) & (twice < len(run) - 1)].astype(np.int64)
    run, invert = np.insert(run, twice, run[twice]), np.insert(invert, twice, invert[twice])
    distance = np.concatenate([[0.0] * ENDS, run, [length] * ENDS])
    distance[ENDS], distance[-ENDS - 1] = 0.0, length
    ends = [[lower.end_m - datum, lower.port_m - datum], [upper.port_m - datum, upper.end_m - datum]]
    stops = np.zeros((2, len(distance)), dtype=np.bool_)
    words = [""] * len(distance)
    for station, valve in zip(stations, file.valve, strict=True):
        node = node_at(distance, from_lower(line, route, station))
        stops[0, node] = True
        stops[1, node] |= valve.kind == "shut"
        kind = "check valve" if valve.kind == "check" else "shut valve"
        words[node] = f"{kind} {valve.name}".strip() + f" at station {station_text(ground, station)}"
    return PipePath(
        distance=distance,
        invert=np.concatenate([ends[0], invert, ends[1]]),
        stops_down=stops[0],
        stops_up=stops[1],
        valve=tuple(words),
        lower=basin_of(lower, datum),
        upper=basin_of(upper, datum),
    )
