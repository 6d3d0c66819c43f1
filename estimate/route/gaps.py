"""Gaps of the survey under the line: where it runs far from any shot and the ground between them is a guess."""

from collections.abc import Iterator

import numpy as np

from estimate.record import Finding
from estimate.route.line import LaidRoute, station_text
from terrain.arrays import Floats
from terrain.ground import Ground, far_from_shots
from terrain.units import show

FAR = 3.0
"""How many times the usual spacing of the survey a place may be from a shot; chosen, no published source."""
STEPS = 8
"""How many times in the distance that is far the line is looked at."""
MOST_TOLD = 5
"""Most stretches that are told one by one, the farthest; the others are counted in one finding."""


def usual_spacing(ground: Ground) -> float:
    """Return how far [m] apart the shots would stand if they were spread evenly over the ground.

    >>> from terrain.synthetic import plane_ground
    >>> usual_spacing(plane_ground(0.0, 0.0, 0.0, side=10.0, step=10.0))
    5.0
    """
    return float(np.sqrt(ground.area / len(ground.vertices)))


def gap_findings(ground: Ground, route: LaidRoute, units: str) -> tuple[Finding, ...]:
    """Return a finding for each stretch of the route that is far from any shot, in the order of the stations.

    `units` is the system, "US" or "SI", in which distances are told.
    """
    usual = usual_spacing(ground)
    station = _stations(route, FAR * usual / STEPS)
    plan = np.column_stack([np.interp(station, route.station, line) for line in (route.easting, route.northing)])
    distance = far_from_shots(ground, plan)
    stretches = list(_stretches(station, distance, FAR * usual))
    told = sorted(stretches, key=lambda one: -one[2])[:MOST_TOLD]
    rest = [one for one in stretches if one not in told]
    between = show(usual, "length", units)
    findings = [
        _finding(ground, start, stop, f"the nearest shot is up to {show(worst, 'length', units)} away", between)
        for start, stop, worst in sorted(told)
    ]
    if rest:
        worst = show(max(one[2] for one in rest), "length", units)
        count = "one more stretch is" if len(rest) == 1 else f"{len(rest)} more stretches are"
        what = f"{count} up to {worst} from the nearest shot"
        findings.append(_finding(ground, rest[0][0], rest[-1][1], what, between))
    return tuple(findings)


def _stations(route: LaidRoute, step: float) -> Floats:
    """Return the stations (n,) metres of the route's nodes and of places between, at most a `step` [m] apart."""
    length = float(route.station[-1])
    even = np.linspace(0.0, length, int(np.ceil(length / step)) + 1)
    return np.union1d(route.station, even)


def _stretches(station: Floats, distance: Floats, limit: float) -> Iterator[tuple[float, float, float]]:
    """Yield from and to [m] and the greatest distance [m] of each stretch farther than `limit` [m] from a shot.

    Stretches less than `limit` [m] apart are one.
    """
    far = np.flatnonzero(distance > limit)
    for part in np.split(far, np.flatnonzero(np.diff(station[far]) >= limit) + 1):
        if len(part):
            yield float(station[part[0]]), float(station[part[-1]]), float(distance[part].max())


def _finding(ground: Ground, start: float, stop: float, what: str, between: str) -> Finding:
    return Finding(
        code="far from any shot",
        level="warning",
        where=f"station {station_text(ground, start)} to {station_text(ground, stop)}",
        reason=f"{what}, while shots stand about {between} apart: there the ground is a plane between far shots",
        remedy="take shots there",
        from_m=start,
        to_m=stop,
    )
