"""Findings on the ends of the line: ports off the line, levels far from the ground, water that falls free."""

import numpy as np

from estimate.profile.structures import datum_height, elevation_text, local_elevation
from estimate.record import Finding, Structure
from estimate.route.bends import VERTICAL
from estimate.site_records import SiteFile
from terrain.ground import Ground
from terrain.units import show

OUT_OF_PLACE = 0.3
"""Height [m] of a port above the ground, or below the dug floor, beyond which it is surely a slip."""
FAR_LEVEL = 1.5
"""Height [m] of a water level above or below the ground at its end that is worth a second look."""
FREE = 0.001
"""Height [m] of the pipe's end above the upper water from which the water is said to leave in free air."""

_Pair = tuple[float, float]


def end_findings(
    file: SiteFile, ground: Ground, structures: tuple[Structure, Structure], surface: _Pair, floor: _Pair
) -> tuple[Finding, ...]:
    """Return the findings on both ends, whose `structures` stand in the order of stations.

    `surface` and `floor` are the local ground and trench floor [m] at the first and the last station.

    Raises:
        UnitsError: a pit's floor has an unknown unit.
    """
    found: list[Finding] = []
    for one, height, dug in zip(structures, surface, floor, strict=True):
        pit = (file.lower if one.end == "lower" else file.upper).pit
        lowest = dug if pit is None else min(dug, local_elevation(ground, pit.floor))
        found += _port_findings(file, ground, one, height, lowest)
    return (*found, *_far_levels(file, ground, structures, surface), *_free_outfall(file, ground, structures))


def _port_findings(
    file: SiteFile, ground: Ground, structure: Structure, surface: float, floor: float
) -> list[Finding]:
    """Return the findings on a port that is not where the line comes in, in the ground and above its floor."""
    port, invert = structure.port_m - datum_height(ground), structure.invert_m - datum_height(ground)
    found = []
    if abs(port - invert) > VERTICAL:
        side = "above" if port > invert else "below"
        reason = f"the port is {show(abs(port - invert), 'length', file.units)} {side} the line's invert there, "
        reason += "two 90 elbows join them"
        remedy = (
            f"set the port at {elevation_text(ground, invert)} to save them, or leave it and have the elbows ready"
        )
        found.append(_at(structure, "vertical pipe", "note", f"vertical pipe at {structure.name}", reason, remedy))
    where, key = f"port of {structure.name}", f"{structure.end}.port_elevation"
    check = f"check {key} and its datum, or leave it out: the port is then where the line comes in"
    if port - surface > OUT_OF_PLACE:
        reason = f"it is {show(port - surface, 'length', file.units)} above the ground there"
        found.append(_at(structure, "port above the ground", "warning", where, reason, check))
    if floor - port > OUT_OF_PLACE:
        reason = f"it is {show(floor - port, 'length', file.units)} below all that is dug there"
        found.append(_at(structure, "port below the line", "warning", where, reason, check))
    return found


def _at(structure: Structure, code: str, level: str, where: str, reason: str, remedy: str) -> Finding:
    """Return a finding at the station of `structure`."""
    place = structure.station_m
    return Finding(code=code, level=level, where=where, reason=reason, remedy=remedy, from_m=place, to_m=place)


def _far_levels(
    file: SiteFile, ground: Ground, structures: tuple[Structure, Structure], surface: _Pair
) -> list[Finding]:
    """Return a finding for each normal water level that is far from the ground at its end of the route."""
    water = np.array([one.water_level_m for one in structures]) - datum_height(ground)
    away = np.abs(water - np.array(surface))
    exchanged = float(np.abs(water[::-1] - np.array(surface)).max())
    remedy = "check the elevation, the survey's datum, and route.starts_at: is the route given from the other end?"
    if exchanged < 0.5 * away.max():
        other = "upper" if file.route.starts_at == "lower" else "lower"
        remedy += f' With the ends exchanged (route.starts_at = "{other}") both levels would lie within '
        remedy += f"{show(exchanged, 'length', file.units)} of the ground"
    found = []
    for one, level, height, gap in zip(structures, water.tolist(), surface, away.tolist(), strict=True):
        if gap <= FAR_LEVEL:
            continue
        side = "above" if level > height else "below"
        reason = f"its water level, {elevation_text(ground, level)}, is {show(gap, 'length', file.units)} {side} "
        reason += f"the ground at that end of the route, {elevation_text(ground, height)}"
        found.append(_at(one, "level far from the ground", "warning", f"{one.end}, {one.name}", reason, remedy))
    return found


def _free_outfall(file: SiteFile, ground: Ground, structures: tuple[Structure, Structure]) -> list[Finding]:
    """Return a finding where the pipe ends above the upper water."""
    upper = next(one for one in structures if one.end == "upper")
    gap = upper.end_m - upper.water_level_m
    if gap <= FREE:
        return []
    reason = (
        f"the pipe ends {show(gap, 'length', file.units)} above the water there: the static lift is counted to "
    )
    reason += f"the pipe's end, {elevation_text(ground, upper.end_m - datum_height(ground))}"
    remedy = "nothing, if the water shall fall free; else end the pipe below the water"
    return [_at(upper, "free outfall", "note", f"free outfall at {upper.name}", reason, remedy)]
