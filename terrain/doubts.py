"""Doubts: what of a survey looks wrong, told as warnings that name the shots: doubles that disagree, spikes."""

import math

from terrain.accuracy import typical_accuracy
from terrain.doubles import AGREE, Thinned, disagreeing
from terrain.ground import Ground
from terrain.points import SurveyPoints
from terrain.spikes import spikes

MOST_TOLD = 6
"""Most places with doubles that are told one by one."""
NEAR = 0.15
"""Share by which a difference or a ratio may miss a power of ten and still look like a slip of it."""


def double_warnings(points: SurveyPoints, thinned: Thinned) -> tuple[str, ...]:
    """Return a warning for each place where shots of one survey disagree; scans and meshes are left out.

    The first `MOST_TOLD` places are told one by one, the others counted.
    """
    if points.kind not in ("shots", "stations") or thinned.lowered == 0:
        return ()
    places = disagreeing(thinned, points.coordinates)
    if points.kind == "stations" and points.names:  # what a ribbon carries to the sides repeats the line
        places = tuple(place for place in places if place[0] < len(points.names))
    told = [_double(points, place) for place in places[:MOST_TOLD]]
    if len(places) > MOST_TOLD:
        told.append(f"and {len(places) - MOST_TOLD} more places where shots on one spot disagree")
    return tuple(told)


def _double(points: SurveyPoints, place: tuple[int, ...]) -> str:
    """Return what to say of shots at one place."""
    unit = points.vertical
    levels = [_level(points.coordinates[shot, 2], unit.metres, points.origin[2]) for shot in place]
    names = [_name(points, shot) for shot in place]
    return (
        f"{_listed(names)} stand on one spot but disagree: elevations {_listed(levels)} {unit.name}, more than"
        f" {AGREE / unit.metres:.2f} {unit.name} apart; the lowest was taken: check which is right"
    )


def spike_warnings(points: SurveyPoints, ground: Ground) -> tuple[str, ...]:
    """Return a warning for each single shot that stands far off its neighbours; scans are not searched."""
    if points.kind != "shots":
        return ()
    known = math.isfinite(points.accuracy)
    accuracy = points.accuracy if known else typical_accuracy(points.kind).sigma
    unit, told = points.vertical, []
    for spike in spikes(ground.vertices, ground.triangles, accuracy):
        shot = int(ground.point[spike.vertex])
        if shot < 0:
            continue
        booked = _level(ground.vertices[spike.vertex, 2], unit.metres, points.origin[2])
        said = spike.expected / unit.metres + points.origin[2]
        off = spike.off / unit.metres
        told.append(
            f"{_name(points, shot)} stands {abs(off):.1f} {unit.name} {'above' if off > 0.0 else 'below'} its"
            f" neighbours: booked {booked}, its neighbours say about {said:.1f}{_slip(off, said)}"
        )
    return tuple(told)


def _slip(off: float, said: float) -> str:
    """Return the question that a difference of `off` from `said`, in any unit, asks: 10 too much, a lost point."""
    for power in (1.0, 10.0, 100.0, 1000.0):
        if abs(abs(off) / power - 1.0) <= NEAR:
            return f": a slip of {power:g}?"
    for power in (10.0, 100.0, 1000.0):
        for times in (power, 1.0 / power):
            if said != 0.0 and abs((said + off) / said / times - 1.0) <= NEAR:
                return ": a decimal point in the wrong place?"
    return ": check the booking"


def _name(points: SurveyPoints, shot: int) -> str:
    """Return how the user knows a shot: its point number, or its place in the file."""
    name = points.names[shot] if shot < len(points.names) else ""
    return f"point {name}" if name else f"shot {shot + 1} of the file"


def _level(local: float, metres: float, origin: float) -> str:
    return f"{local / metres + origin:.2f}"


def _listed(words: list[str]) -> str:
    return ", ".join(words[:-1]) + f" and {words[-1]}" if len(words) > 1 else words[0]
