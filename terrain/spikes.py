"""Spikes: single shots that stand far off the plane of the shots around them, as a slip in booking does."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from terrain.arrays import Floats, Indices

MOST_POINTS = 2000
"""Surveys of as many points or more are not searched: nobody booked them by hand."""
LEAST = 1.0
"""A shot that stands off by no more than this [m] is taken for ground: a step, a bank, a wall, a boulder."""
TIMES = 6.0
"""How many times its own sigma a shot must stand off to be a spike."""
MOST = 5
"""Most spikes that are told: where there are more, it is the ground that is rough."""
FEWEST_AROUND = 6
"""Fewest shots whose plane is trusted; where fewer touch a shot, theirs are taken too."""
MEDIAN_TO_SIGMA = 1.4826
"""The sigma of a normal spread over its median absolute deviation."""


class Spike(NamedTuple):
    """A vertex that stands off: its index, the elevation [m] that its neighbours say, its own less that [m]."""

    vertex: int
    expected: float
    off: float


class _Fit(NamedTuple):
    """How one vertex stands to the plane around it: expected [m], off [m], spread [m], widening, beyond all."""

    expected: float
    off: float
    spread: float
    widening: float
    beyond: bool


def spikes(vertices: Floats, triangles: Indices, accuracy: float) -> tuple[Spike, ...]:
    """Return the spikes of a ground of `vertices` (n, 3) metres and `triangles` (m, 3), the greatest first.

    Each vertex is left out and compared with the plane through those around it. It is a spike where it is higher or
    lower than all of them and off by more than `LEAST` and by more than `TIMES` its sigma: the greatest of the
    spread around it, of the usual spread of the whole ground (median absolute deviation), and of the `accuracy`
    [m] of one shot, NaN where unknown. A vertex in question is taken away before the usual spread is told and the
    next is sought, for it spoils the planes of its neighbours.
    Source: leave-one-out residuals, as in textbooks of robust regression.

    >>> plan = np.stack(np.meshgrid(np.arange(5.0), np.arange(5.0)), axis=-1).reshape(-1, 2)
    >>> from terrain.synthetic import ground_of
    >>> slip = ground_of(np.column_stack([plan, np.where(np.arange(25) == 12, 13.0, 3.0)]))
    >>> [round(spike.off, 9) for spike in spikes(slip.vertices, slip.triangles, 0.02)]
    [10.0]
    """
    if not 4 <= len(vertices) < MOST_POINTS:
        return ()
    around = _around(len(vertices), triangles)
    found: list[Spike] = []
    left = set(range(len(vertices)))
    passed: set[int] = set()
    fits = {vertex: _fit(vertices, around, vertex, left) for vertex in left}
    floor = 0.0 if np.isnan(accuracy) else accuracy
    while len(found) <= MOST:
        worst = max((one for one in left - passed if _stands(fits[one], floor)), key=_off(fits), default=-1)
        if worst < 0:
            return tuple(found)
        left.discard(worst)
        rest = {vertex: fits[vertex] for vertex in left}
        rest |= {vertex: _fit(vertices, around, vertex, left) for vertex in _reach(around, worst) & left}
        if _stands(fits[worst], max(floor, _usual(rest))):
            found.append(Spike(worst, fits[worst].expected, fits[worst].off))
            fits = rest
        else:
            left.add(worst)
            passed.add(worst)
    return ()


def _around(count: int, triangles: Indices) -> list[set[int]]:
    """Return for each of `count` vertices those that share an edge of a triangle with it."""
    around: list[set[int]] = [set() for _ in range(count)]
    for corners in triangles.tolist():
        for corner in corners:
            around[corner].update(corners)
    for vertex, those in enumerate(around):
        those.discard(vertex)
    return around


def _reach(around: list[set[int]], vertex: int) -> set[int]:
    """Return the neighbours of `vertex` and their neighbours, without itself."""
    return set().union(around[vertex], *(around[near] for near in around[vertex])) - {vertex}


def _fit(vertices: Floats, around: list[set[int]], vertex: int, left: set[int]) -> _Fit:
    """Return how `vertex` stands to the plane through those around it that are `left`."""
    near = around[vertex] & left
    if len(near) < FEWEST_AROUND:
        near = _reach(around, vertex) & left
    chosen = sorted(near)
    if len(chosen) < 5:
        return _Fit(np.nan, 0.0, np.inf, 1.0, False)
    away = vertices[chosen] - vertices[vertex]
    design = np.column_stack([np.ones(len(chosen)), away[:, :2]])
    answer, _, rank, _ = np.linalg.lstsq(design, away[:, 2], rcond=1e-6)
    if rank < 3:
        return _Fit(np.nan, 0.0, np.inf, 1.0, False)
    residuals = away[:, 2] - design @ answer
    spread = float(np.sqrt((residuals @ residuals) / (len(chosen) - 3)))
    widening = float(np.sqrt(1.0 + np.linalg.inv(design.T @ design)[0, 0]))  # the plane's own doubt at the vertex
    beyond = bool((away[:, 2] < 0.0).all() or (away[:, 2] > 0.0).all())
    return _Fit(float(vertices[vertex, 2] + answer[0]), -float(answer[0]), spread, widening, beyond)


def _stands(fit: _Fit, least: float) -> bool:
    """Return whether a vertex stands off by far more than its sigma, which is `least` [m] or more."""
    return fit.beyond and abs(fit.off) > max(LEAST, TIMES * max(fit.spread, least) * fit.widening)


def _usual(fits: dict[int, _Fit]) -> float:
    """Return the usual sigma [m] of one vertex about the plane of those around it."""
    return MEDIAN_TO_SIGMA * float(np.median([abs(one.off) / one.widening for one in fits.values()]))


def _off(fits: dict[int, _Fit]) -> Callable[[int], float]:
    """Return the function by which the vertex that stands off most is chosen."""
    return lambda vertex: abs(fits[vertex].off)
