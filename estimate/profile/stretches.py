"""Stretches of pipe in which water stands: from where to where, how full, and what holds it."""

from dataclasses import dataclass

import numpy as np

from estimate.profile.path import Basin, PipePath
from estimate.profile.standing import Standing
from terrain.arrays import Floats

WET = 1e-6
"""Depth [m] below which a place counts as dry, so that rounding leaves no puddle."""
PUDDLE = "puddle with air"
"""Grade of a stretch that is nowhere full bore: ice finds room."""
PLUG = "full-bore plug"
"""Grade of a stretch that is somewhere full bore, with air at one end at least."""
CLOSED = "closed and full"
"""Grade of a stretch that is full bore throughout, shut in or under water at both ends: no air at all."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wet:
    """A stretch of the path with water: its pieces `first` to `last`, the distances [m] it covers, its grade.

    `deepest` is the piece in which the water is deepest, `lowest` [m] the distance of the lowest point in it.
    """

    first: int
    last: int
    start: float
    stop: float
    grade: str
    deepest: int
    lowest: float


def wet_stretches(path: PipePath, level: Floats, bore: float) -> tuple[Wet, ...]:
    """Return the stretches of `path` with water at `level` (n - 1,) metres in a pipe of `bore` [m].

    A valve parts two stretches even where water stands on both sides.
    """
    first, last = level - path.invert[:-1], level - path.invert[1:]
    wet = np.flatnonzero(np.maximum(first, last) > WET)
    if not len(wet):
        return ()
    joined = (np.diff(wet) == 1) & (last[wet[:-1]] > WET) & (first[wet[1:]] > WET) & ~path.stops_down[wet[1:]]
    parts = np.split(wet, np.flatnonzero(~joined) + 1)
    return tuple(_stretch(path, part, level, bore) for part in parts)


def _stretch(path: PipePath, pieces: np.typing.NDArray[np.int64], level: Floats, bore: float) -> Wet:
    """Return the stretch made of `pieces` (k,)."""
    start, stop = int(pieces[0]), int(pieces[-1])
    depths = np.stack([level[pieces] - path.invert[pieces], level[pieces] - path.invert[pieces + 1]])
    full = bore - WET
    grade = CLOSED if bool((depths >= full).all()) else PLUG if bool((depths >= full).any()) else PUDDLE
    deepest = int(pieces[int(np.argmax(depths.max(axis=0)))])
    lower_end = path.invert[deepest] <= path.invert[deepest + 1]
    return Wet(
        first=start,
        last=stop,
        start=_edge(path, start, start + 1, level[start]),
        stop=_edge(path, stop + 1, stop, level[stop]),
        grade=grade,
        deepest=deepest,
        lowest=float(path.distance[deepest if lower_end else deepest + 1]),
    )


def _edge(path: PipePath, outer: int, inner: int, level: float) -> float:
    """Return the distance [m] at which the water begins in the piece between the nodes `outer` and `inner`."""
    if level >= path.invert[outer]:
        return float(path.distance[outer])
    share = (level - path.invert[inner]) / (path.invert[outer] - path.invert[inner])
    return float(path.distance[inner] + share * (path.distance[outer] - path.distance[inner]))


def cause_of(path: PipePath, water: Standing, wet: Wet, stations: tuple[str, str]) -> str:
    """Return in words what holds the water of `wet`; `stations` are its ends in the user's words."""
    piece = wet.deepest
    down, up, level = water.down[piece], water.up[piece], water.held[piece]
    if np.isinf(level):
        return f"shut in between the {_valve(path, piece, False)} and the {_valve(path, piece, True)}"
    basins = holders(path, water, piece, level)
    fed = [one.name for one in basins]
    if np.isinf(down) or np.isinf(up):
        held = f"{'above' if np.isinf(down) else 'below'} the {_valve(path, piece, bool(np.isinf(up)))}"
        return f"{held}, and below the winter level of {fed[0]}" if fed else held
    if basins and basins[0].feed >= level - WET:
        return f"below the winter level of {' and '.join(fed)}"
    sag = f"sag between stations {stations[0]} and {stations[1]}"
    if stations[0] == stations[1]:
        sag = f"bend of the vertical pipe at station {stations[0]}"
    return f"{sag}, and below the winter level of {fed[0]}" if fed else sag


def holders(path: PipePath, water: Standing, piece: int, level: float) -> tuple[Basin, ...]:
    """Return the basins that keep `piece` full up to `level` [m]: those whose own level that is, else who feeds it.

    A basin counts only where its water reaches the piece. Where the level is set by one basin, another that runs
    through the piece and off into the first is not told: emptying it alone would change nothing.
    """
    ways = ((path.lower, water.from_lower), (path.upper, water.from_upper))
    reaching = tuple(basin for basin, comes in ways if comes[piece])
    return tuple(one for one in reaching if abs(one.feed - level) <= WET) or reaching


def _valve(path: PipePath, piece: int, upward: bool) -> str:
    """Return the words of the nearest valve that stops the water of `piece` upward or downward."""
    nodes = range(piece + 1, len(path.invert)) if upward else range(piece, -1, -1)
    stops = path.stops_up if upward else path.stops_down
    for node in nodes:
        if stops[node]:
            return path.valve[node]
    return f"check valve at {(path.upper if upward else path.lower).name}"
