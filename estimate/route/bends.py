"""Bends of the route, and the fittings that they and the vertical pipe at the ends are made with."""

from collections.abc import Mapping, Sequence

import numpy as np

from estimate.record import Bend, Structure
from estimate.site_records import ValvePart
from terrain.arrays import Floats

BY_HAND = 5.0
"""Turn [degrees] up to which a rigid pipe is bent within its joints and needs no elbow; common practice."""
STEP = 22.5
"""The least elbow the trade stocks [degrees]; the others are twice and four times as much."""
VERTICAL = 0.025
"""Rise [m] up to which the ends are joined by bending the pipe rather than by a vertical piece."""
END_FITTINGS = ("swing check", "sharp entrance", "exit")
"""Fittings at the ends of the line; where the user counts one himself, his count stands."""


def bends_of(points: Floats, station: Floats) -> tuple[Bend, ...]:
    """Return a bend for each inner way point where the route turns; `points` (n, 2) and `station` (n,) in metres.

    Source: the turn is the angle between the headings before and after, left positive.

    >>> bends_of(np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 4.0]]), np.array([0.0, 3.0, 7.0]))
    (Bend(station_m=3.0, turn_deg=90.0),)
    """
    before, after = np.diff(points[:-1], axis=0), np.diff(points[1:], axis=0)
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turn = np.degrees(np.arctan2(cross, (before * after).sum(axis=1)))
    told = zip(station[1:-1].tolist(), turn.tolist(), strict=True)
    return tuple(Bend(station_m=where, turn_deg=angle) for where, angle in told if abs(angle) > 1e-9)


def elbows_for(turn: float) -> dict[str, int]:
    """Return the elbows by name for a `turn` [degrees, either sign]: the nearest sum of 22.5, 45 and 90.

    Of equal sums the one with fewest elbows; a turn of more than `BY_HAND` takes at least one, a lesser one none.

    >>> elbows_for(3.0), elbows_for(-33.0), elbows_for(70.0), elbows_for(90.0)
    ({}, {'22.5 elbow': 1}, {'45 elbow': 1, '22.5 elbow': 1}, {'90 elbow': 1})
    """
    size = abs(turn)
    if size <= BY_HAND:
        return {}
    steps = max(round(size / STEP), 1)
    quarter, rest = divmod(steps, 4)
    half, least = divmod(rest, 2)
    counted = {"90 elbow": quarter, "45 elbow": half, "22.5 elbow": least}
    return {name: count for name, count in counted.items() if count}


def bend_texts(bends: Sequence[Bend]) -> tuple[str, ...]:
    """Return what is assumed about the bends of a rigid pipe, with the worst misfit of its elbows.

    >>> bend_texts([Bend(station_m=3.0, turn_deg=-33.0)])[0].partition('take the ')[2]
    'nearest standard elbows, here at most 10.5 degrees off'
    """
    turns = [abs(one.turn_deg) for one in bends if abs(one.turn_deg) > BY_HAND]
    off = max((abs(STEP * max(round(turn / STEP), 1) - turn) for turn in turns), default=0.0)
    misfit = f", here at most {off:.1f} degrees off" if turns else ""
    return (
        f"rigid pipe: bends of the route of up to {BY_HAND:g} degrees are taken in the joints; the others take the "
        f"nearest standard elbows{misfit}",
        "rigid pipe: bends of the profile are taken by bending the pipe, and count no elbows",
    )


def vertical_elbows(structure: Structure) -> int:
    """Return how many 90 degree elbows lead from the line through the port to the end of the pipe at `structure`.

    A vertical piece between line and port takes two, one between port and pipe end takes one more.
    """
    outside = abs(structure.port_m - structure.invert_m) > VERTICAL
    inside = abs(structure.end_m - structure.port_m) > VERTICAL
    return 2 * outside + inside


def fittings_of(bends: Sequence[Bend], structures: Sequence[Structure]) -> dict[str, int]:
    """Return the fittings that bends and ends make, counted under their names in the table of fittings.

    Bends of the profile are taken by bending the pipe. Each structure with a check valve adds one;
    the line has an entrance and an exit.

    >>> fittings_of([Bend(station_m=3.0, turn_deg=-44.0)], [])
    {'45 elbow': 1, 'sharp entrance': 1, 'exit': 1}
    """
    counted: dict[str, int] = {}
    for bend in bends:
        for name, count in elbows_for(bend.turn_deg).items():
            counted[name] = counted.get(name, 0) + count
    risers = sum(vertical_elbows(one) for one in structures)
    if risers:
        counted["90 elbow"] = counted.get("90 elbow", 0) + risers
    checks = sum(one.check_valve for one in structures)
    if checks:
        counted["swing check"] = checks
    return counted | {"sharp entrance": 1, "exit": 1}


def valve_fittings(valves: Sequence[ValvePart]) -> dict[str, int]:
    """Return the fittings of the `valves` in the line: a swing check each, or a ball valve where it can be shut.

    >>> valve_fittings([ValvePart(station=3.0, kind="shut")])
    {'ball valve': 1}
    """
    counted: dict[str, int] = {}
    for one in valves:
        name = "swing check" if one.kind == "check" else "ball valve"
        counted[name] = counted.get(name, 0) + 1
    return counted


def with_given(counted: Mapping[str, int], given: Mapping[str, int]) -> dict[str, int]:
    """Return `counted` fittings together with those `given` by the user.

    Elbows and others are added; of the fittings at the ends (`END_FITTINGS`) the user's own count stands.

    >>> with_given({"90 elbow": 2, "exit": 1}, {"exit": 0, "ball valve": 1, "90 elbow": 1})
    {'90 elbow': 3, 'exit': 0, 'ball valve': 1}
    """
    result = dict(counted)
    for name, count in given.items():
        result[name] = count if name in END_FITTINGS else result.get(name, 0) + count
    return result
