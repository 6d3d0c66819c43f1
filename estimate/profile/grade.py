"""Findings on the shape of the designed line: sharp turns, sudden drops, and ground without any fall."""

from collections.abc import Sequence

import numpy as np

from estimate.profile.extremes import TurningPoint
from estimate.record import Finding
from estimate.route.bends import VERTICAL
from estimate.route.line import station_text
from terrain.arrays import Floats
from terrain.ground import Ground
from terrain.units import show

REACH = 0.5
"""Length [m] on each side over which the mean grade is taken, so that the survey's noise makes no turn."""
SHARP = 11.25
"""Turn of the profile [degrees] above which bending alone does not do; half the least elbow; common practice."""


def grade_findings(
    ground: Ground,
    nodes: tuple[Floats, Floats, Floats],
    pattern: Sequence[TurningPoint],
    threshold: float,
    units: str,
) -> tuple[Finding, ...]:
    """Return the findings on the shape of a line; `nodes` are station, ground and invert, (k,) metres each.

    `threshold` [m] is the height up to which a rise of the ground is noise; `units` those of the words.
    """
    station, height, invert = nodes
    drops = _drops(ground, station, invert, pattern, units)
    found = (_level_line(station, height, threshold, units), *drops, _sharp_turns(ground, station, invert, units))
    return tuple(one for one in found if one is not None)


def turns_of(station: Floats, invert: Floats) -> tuple[Floats, Floats]:
    """Return where (n,) [m] the profile turns by more than `SHARP`, and by how much (n,) [degrees].

    `station` (k,) metres and `invert` (k,) metres are the line's nodes. At each one the turn is that between the
    mean grades over `REACH` on both sides; of turns that stand closer than that only the greatest counts.

    >>> turns_of(np.array([0.0, 5.0, 10.0]), np.array([1.0, 0.0, 1.0]))[0].tolist()
    [5.0]
    """
    inner = station[(station >= station[0] + REACH) & (station <= station[-1] - REACH)]
    before, here, after = (np.interp(inner + step, station, invert) for step in (-REACH, 0.0, REACH))
    turn = np.degrees(np.abs(np.arctan2(after - here, REACH) - np.arctan2(here - before, REACH)))
    kept: list[int] = []
    for index in np.argsort(-turn, kind="stable").tolist():
        if turn[index] > SHARP and all(abs(inner[index] - inner[other]) > REACH for other in kept):
            kept.append(index)
    kept.sort()
    return inner[kept], turn[kept]


def _sharp_turns(ground: Ground, station: Floats, invert: Floats, units: str) -> Finding | None:
    """Return the finding that lists where the profile turns sharply."""
    places, turn = turns_of(station, invert)
    if not len(places):
        return None
    told = ", ".join(f"{station_text(ground, place)} ({by:.0f}°)" for place, by in zip(places, turn, strict=True))
    return Finding(
        code="sharp turn of the profile",
        level="note",
        where=f"station {told}",
        reason=f"the profile turns there by more than {SHARP:g}° between {show(REACH, 'length', units)} before and "
        "after: more than a rigid pipe takes by bending",
        remedy="have elbows ready for those places (they are not in the list of fittings), or ease the trench "
        "floor over a longer stretch",
        from_m=float(places[0]),
        to_m=float(places[-1]),
    )


def _drops(
    ground: Ground, station: Floats, invert: Floats, pattern: Sequence[TurningPoint], units: str
) -> list[Finding]:
    """Return a finding for each stretch where the line is steeper than one to one."""
    run, rise = np.diff(station), np.diff(invert)
    steep = np.where(np.abs(rise) > run, np.sign(rise), 0.0)
    found = []
    for pieces in np.split(np.arange(len(run)), np.flatnonzero(np.diff(steep)) + 1):
        first, last = int(pieces[0]), int(pieces[-1]) + 1
        drop = abs(float(invert[last] - invert[first]))
        if not steep[first] or drop <= VERTICAL:
            continue
        lows = [
            one for one in pattern if one.low and station[first] - REACH <= one.station <= station[last] + REACH
        ]
        before = f"before the low point at station {station_text(ground, lows[0].station)}" if lows else "there"
        start, stop = float(station[first]), float(station[last])
        found.append(
            Finding(
                code="steep drop",
                level="warning",
                where=f"station {station_text(ground, start)} to {station_text(ground, stop)}",
                reason=f"the line drops {show(drop, 'length', units)} at once {before}, steeper than one to one",
                remedy="join the two heights with elbows (they are not in the list of fittings), or lay the higher "
                "side deeper so that it comes down evenly",
                from_m=start,
                to_m=stop,
            )
        )
    return found


def _level_line(station: Floats, height: Floats, threshold: float, units: str) -> Finding | None:
    """Return a finding where the ground along the line neither rises nor falls beyond the survey's noise."""
    whole = float(height.max() - height.min())
    if whole >= threshold:
        return None
    return Finding(
        code="level line",
        level="note",
        where="the whole line",
        reason=f"the ground along it rises and falls by {show(whole, 'length_small', units)} in all, less than the "
        f"{show(threshold, 'length_small', units)} that the survey can tell: all the fall is made by digging",
        remedy="the line is taken to fall to its lower structure; check that it shall drain to that end",
        from_m=float(station[0]),
        to_m=float(station[-1]),
    )
