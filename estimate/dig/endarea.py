"""Volumes from end areas, as an estimator checks by hand; the exact cut is elsewhere and rules."""

import math
from collections.abc import Sequence

from terrain.errors import InputError


def average_end_area(stations: Sequence[float], areas: Sequence[float], *, pyramid_ends: bool = False) -> float:
    """Return the volume [m3] between cross sections of `areas` (n,) [m2] at `stations` (n,) [m].

    With `pyramid_ends` a stretch that has no area at one end counts as a pyramid, A L / 3, instead of A L / 2.
    Fewer than two stations give 0.

    Source: average end area, V = L (A1 + A2) / 2, any surveying handbook; exact only where the area changes
    linearly, otherwise usually too large.

    Raises:
        InputError: lists of unequal length, stations that run back, or an area below zero.

    >>> average_end_area([0.0, 10.0], [2.0, 4.0]), average_end_area([], [])
    (30.0, 0.0)
    """
    _check(stations, areas)
    strips = []
    for k in range(len(stations) - 1):
        length, pair = stations[k + 1] - stations[k], areas[k] + areas[k + 1]
        pointed = pyramid_ends and min(areas[k], areas[k + 1]) == 0.0
        strips.append(pair * length / (3.0 if pointed else 2.0))
    return math.fsum(strips)


def _check(stations: Sequence[float], areas: Sequence[float]) -> None:
    """Refuse lists from which no volume follows."""
    if len(stations) != len(areas):
        found = f"{len(stations)} stations and {len(areas)} areas"
        raise InputError("end areas", found, "as many areas as stations", "complete the lists")
    for k, (station, area) in enumerate(zip(stations, areas, strict=True)):
        if not (math.isfinite(station) and 0.0 <= area < math.inf):
            raise InputError("end areas", f"area {area:g} at {station:g}", "area 0 or more", "correct the row")
        if k and station < stations[k - 1]:
            found = f"station {station:g} after {stations[k - 1]:g}"
            raise InputError("end areas", found, "stations in order", "sort the rows")
