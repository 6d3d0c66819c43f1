"""Pits in section along the line: floor and walls of each as a line of stations and elevations."""

from typing import NamedTuple

import numpy as np

from estimate.record import Estimate, Pit
from terrain.arrays import Floats
from viewer.relief import along


class PitSection(NamedTuple):
    """A pit cut along the line: `stations` and absolute `elevations` (4,) [m], wall top, floor, floor, wall top."""

    name: str
    stations: Floats
    elevations: Floats


def pit_sections(estimate: Estimate) -> tuple[PitSection, ...]:
    """Return the section of each pit along the leg of the line that ends in it.

    Outside the line's ends the ground is taken level with that at the end; towards the line the wall ends at the
    trench bottom, where that is higher than the pit's floor.
    """
    found = []
    for pit in estimate.dig.pits:
        first = pit.end == "lower"
        reach = _reach(estimate, pit, first)
        if reach is not None:
            found.append(_section(estimate, pit, reach, first))
    return tuple(found)


def _reach(estimate: Estimate, pit: Pit, first: bool) -> tuple[float, float] | None:
    """Return between which distances [m] along the end leg, from the end inwards, the pit's floor lies."""
    line = np.column_stack([estimate.profile.easting_m, estimate.profile.northing_m])
    line = line if first else line[::-1]
    away = np.hypot(*(line - line[0]).T)
    further = np.flatnonzero(away > 1e-6)
    if len(further) == 0:
        return None
    start, ahead = line[0], (line[further[0]] - line[0]) / away[further[0]]
    aside = np.array([-ahead[1], ahead[0]])
    corners = (pit.corners_m - start) @ np.column_stack([ahead, aside])
    crossings = []
    for one, two in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        if (one[1] > 0.0) != (two[1] > 0.0):
            crossings.append(one[0] + one[1] / (one[1] - two[1]) * (two[0] - one[0]))
    return (float(min(crossings)), float(max(crossings))) if crossings else None


def _section(estimate: Estimate, pit: Pit, reach: tuple[float, float], first: bool) -> PitSection:
    """Return the section of a pit whose floor lies between two distances [m] inwards from the end of the line."""
    station = estimate.profile.station_m
    end, way = (float(station[0]), 1.0) if first else (float(station[-1]), -1.0)
    outer, inner = end + way * reach[0], end + way * reach[1]
    ground = float(along(estimate, outer, "ground_m")[0])
    name = "floor_m" if float(station[0]) <= inner <= float(station[-1]) else "ground_m"
    bottom = max(float(along(estimate, inner, name)[0]), pit.floor_m)
    rise, slope = pit.wall.rise_m, pit.wall.slope
    back = slope * max(ground - pit.floor_m - rise, 0.0)
    into = slope * max(bottom - pit.floor_m - rise, 0.0)
    stations = np.array([outer - way * back, outer, inner, inner + way * into])
    return PitSection(pit.name, stations, np.array([ground, pit.floor_m, pit.floor_m, bottom]))
