"""The designed line: invert, top of pipe and trench floor at every node, with its lows, highs and structures."""

import math
from dataclasses import dataclass, replace

import numpy as np

from estimate.profile.depth import too_deep
from estimate.profile.ends import end_findings
from estimate.profile.extremes import TurningPoint, least_prominence, turning_points
from estimate.profile.grade import grade_findings
from estimate.profile.invert import highest_invert
from estimate.profile.structures import both_ends, datum_height, structure_of
from estimate.record import Extreme, Finding, Structure
from estimate.route.bends import bend_texts
from estimate.route.line import LaidRoute
from estimate.route.nodes import with_nodes
from estimate.site_records import SiteFile
from estimate.water.pipe import Pipe
from terrain.arrays import Floats
from terrain.ground import Ground
from terrain.units import show


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidLine:
    """The line as it is to be laid, straight between its nodes.

    `station`, `easting`, `northing`, and above the local origin `ground`, `invert` (inside bottom), `top` (outside
    top of pipe) and `floor` (trench bottom), all (k,) metres: the nodes of the route, and those where the invert
    leaves or meets its ceiling. Structures (by increasing station) and extremes hold absolute metres; `pattern`
    the turning points in local metres.
    """

    station: Floats
    easting: Floats
    northing: Floats
    ground: Floats
    invert: Floats
    top: Floats
    floor: Floats
    structures: tuple[Structure, Structure]
    pattern: tuple[TurningPoint, ...]
    low_points: tuple[Extreme, ...]
    high_points: tuple[Extreme, ...]
    pipe_length_m: float
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]


def design_line(file: SiteFile, ground: Ground, route: LaidRoute, pipe: Pipe) -> LaidLine:
    """Return the highest line that keeps the cover and falls from every high to the next low.

    Only the nodes where the ground or the route breaks decide its shape; the others are read from it.

    Raises:
        InputError: a level of a structure contradicts another or the survey.
        UnitsError: a level has an unknown unit.
    """
    threshold = least_prominence(ground.accuracy, file.trench.low_point_threshold)
    pattern = pattern_of(route, threshold, file.route.starts_at == "lower")
    station, invert = _shape(file, route, pipe, pattern)
    easting, northing, height = (
        np.interp(station, route.station, values) for values in (route.easting, route.northing, route.ground)
    )
    floor = invert - pipe.wall_m - file.trench.bedding
    ends = both_ends(file, ground, *_both(height))
    datum = datum_height(ground)
    first = structure_of(ends[0], 0.0, float(invert[0]), datum)
    last = structure_of(ends[1], float(station[-1]), float(invert[-1]), datum)
    length = float(np.hypot(np.diff(station), np.diff(invert)).sum()) + first.vertical_pipe_m + last.vertical_pipe_m
    told = (*ends[0].assumptions, *ends[1].assumptions, *bend_texts(route.bends))
    laid = LaidLine(
        station=station,
        easting=easting,
        northing=northing,
        ground=height,
        invert=invert,
        top=invert - pipe.wall_m + pipe.outside_m,
        floor=floor,
        structures=(first, last),
        pattern=pattern,
        low_points=_extremes(pattern, True, station, invert, datum),
        high_points=_extremes(pattern, False, station, invert, datum),
        pipe_length_m=length,
        findings=(),
        assumptions=(*_threshold_text(file, ground, threshold), *told),
    )
    return replace(laid, findings=_findings(file, ground, pipe, laid, threshold))


def _findings(file: SiteFile, ground: Ground, pipe: Pipe, line: LaidLine, threshold: float) -> tuple[Finding, ...]:
    """Return what is to be said of the depth, the ends and the shape of `line`."""
    nodes = (line.station, line.ground, line.invert)
    return (
        *too_deep(file, ground, pipe, (line.station, line.ground, line.floor), line.pattern),
        *end_findings(file, ground, line.structures, _both(line.ground), _both(line.floor)),
        *grade_findings(ground, nodes, line.pattern, threshold, file.units),
    )


def _both(values: Floats) -> tuple[float, float]:
    """Return the first and the last of `values` (n,) metres."""
    return float(values[0]), float(values[-1])


def pattern_of(route: LaidRoute, threshold: float, lower_first: bool) -> tuple[TurningPoint, ...]:
    """Return the lows and highs of `route` that are more than `threshold` [m], by increasing station, ends too.

    They are sought from the lower structure on, so that a route given from its other end has the same ones; a
    line that is level within the threshold falls to the lower structure.
    """
    station, height = route.station[route.natural], route.ground[route.natural]
    if lower_first:
        return turning_points(station, height, threshold)
    last = float(station[-1])
    found = turning_points(last - station[::-1], height[::-1], threshold)
    return tuple(replace(one, station=last - one.station) for one in reversed(found))


def _shape(
    file: SiteFile, route: LaidRoute, pipe: Pipe, pattern: tuple[TurningPoint, ...]
) -> tuple[Floats, Floats]:
    """Return station (k,) and invert (k,) metres of the line, with a node at every node of the route."""
    natural = route.natural
    turns = np.array([one.station for one in pattern])
    station, height = with_nodes(route.station[natural], route.ground[natural], turns)
    ceiling = height - file.trench.cover - (pipe.outside_m - pipe.wall_m)
    station, invert = highest_invert(station, ceiling, pattern, file.trench.least_fall)
    return with_nodes(station, invert, route.station)


def _extremes(
    pattern: tuple[TurningPoint, ...], low: bool, station: Floats, invert: Floats, datum: float
) -> tuple[Extreme, ...]:
    """Return the inner lows or highs with the invert there, in absolute metres; ends are no extremes."""
    return tuple(
        Extreme(
            station_m=one.station,
            ground_m=one.elevation + datum,
            invert_m=float(np.interp(one.station, station, invert)) + datum,
            prominence_m=one.prominence,
        )
        for one in pattern
        if one.low == low and not one.end
    )


def _threshold_text(file: SiteFile, ground: Ground, threshold: float) -> tuple[str, ...]:
    """Return what is assumed about the least low point that counts."""
    if file.trench.low_point_threshold is not None:
        return ()
    said = show(threshold, "length_small", file.units)
    if math.isnan(ground.accuracy):
        why = "the accuracy of the survey is not known"
    else:
        why = "two shots differ by that much in one case of twenty from the survey's accuracy alone"
    return (f"trench.low_point_threshold: low and high points of less than {said} are not counted; {why}",)
