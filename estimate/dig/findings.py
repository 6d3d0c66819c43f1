"""What the dig asks for: where it leaves the survey, how tall its faces are, pits and pipes that do not fit."""

from collections.abc import Iterator

import numpy as np

from estimate.dig.outline import Leaving
from estimate.dig.safety import face_findings
from estimate.dig.trench import Trench
from estimate.profile.line import LaidLine
from estimate.record import Dig, Finding, Pit
from estimate.route.line import nearest_station, station_text
from estimate.site_records import SiteFile
from estimate.water.pipe import Pipe
from terrain.ground import Ground, to_survey
from terrain.units import show


def dig_findings(
    file: SiteFile, ground: Ground, line: LaidLine, trench: Trench, dig: Dig, pipe: Pipe
) -> tuple[Finding, ...]:
    """Return all findings on the dig, in the order in which they are met on site."""
    place = _beside(ground, line, *dig.tallest_face_at_m)
    return (
        *_narrow(file, pipe),
        *(finding for pit in dig.pits for finding in _pit(file, pit)),
        *(_beyond(ground, line, gap, file.units) for gap in trench.gaps),
        *face_findings(dig.tallest_face_m, place, file.units),
    )


def _narrow(file: SiteFile, pipe: Pipe) -> Iterator[Finding]:
    """Yield a finding where the pipe is wider than the trench."""
    if pipe.outside_m > file.trench.width:
        outside, width = (show(size, "length_small", file.units) for size in (pipe.outside_m, file.trench.width))
        yield Finding(
            code="pipe wider than the trench",
            level="act",
            where="trench width",
            reason=f"the pipe is {outside} wide outside, the trench {width}",
            remedy="dig with a wider tool, or lay a smaller pipe",
        )


def _pit(file: SiteFile, pit: Pit) -> Iterator[Finding]:
    """Yield findings on a pit that is no pit, or deeper than is wished."""
    depth = show(pit.deepest_m, "length", file.units)
    if pit.bank_m3 <= 0.0:
        yield Finding(
            code="pit above its place",
            level="act",
            where=f"{pit.end}.pit, {pit.name}",
            reason="its floor lies above the ground or above the trench bottom there: nothing is dug for it",
            remedy=f"correct {pit.end}.pit.floor",
        )
    limit = file.trench.greatest_depth
    if limit is not None and pit.deepest_m > limit:
        yield Finding(
            code="deeper than allowed",
            level="warning",
            where=f"{pit.end}.pit, {pit.name}",
            reason=f"the pit is {depth} deep, more than the greatest depth of {show(limit, 'length', file.units)}",
            remedy="raise its floor, or allow the depth and protect the faces",
        )


def _beyond(ground: Ground, line: LaidLine, gap: Leaving, units: str) -> Finding:
    """Return the finding for a stretch where the dig leaves the survey."""
    area, length = show(gap.missing_m2, "area", units), show(gap.length_m, "length", units)
    if gap.line >= 0:
        what = "the trench"
        where = f"station {station_text(ground, gap.from_station_m)} to {station_text(ground, gap.to_station_m)}"
    else:
        what, where = "a pit", f"pit at {_beside(ground, line, gap.easting, gap.northing)}"
    return Finding(
        code="beyond the survey",
        level="warning",
        where=where,
        reason=f"{what} leaves the survey over {length} of its edge; about {area} lie beyond, so the volume is "
        "at least what is told",
        remedy="survey further out there, move the line in, or make the wall steeper where that is allowed",
        from_m=gap.from_station_m,
        to_m=gap.to_station_m,
    )


def _beside(ground: Ground, line: LaidLine, easting: float, northing: float) -> str:
    """Return a place in local metres as easting and northing, with the nearest station of the line."""
    station = nearest_station(line.station, np.column_stack([line.easting, line.northing]), easting, northing)
    return f"{place_text(ground, easting, northing)}, nearest station {station_text(ground, station)}"


def place_text(ground: Ground, easting: float, northing: float) -> str:
    """Return a place in local metres as the survey has it: easting and northing [m], written in its own unit.

    >>> from terrain.synthetic import plane_ground
    >>> place_text(plane_ground(0.0, 0.0, 0.0), 1.0, 2.5)
    'easting 1.0, northing 2.5'
    """
    east, north = to_survey(ground, np.array([[easting, northing]]))[0]
    return f"easting {east:.1f}, northing {north:.1f}"
