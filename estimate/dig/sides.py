"""The sides of runs and pit edges, many at once, and the rings of floor and wall they give."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from estimate.dig.lines import FloatArray, IntArray

SHORTEST = 1e-9
"""Runs shorter than this in plan, and corners narrower than this, [m] are dropped."""


class Sides(NamedTuple):
    """One side of each of n runs, straight and square at both ends.

    node (n, 3) metres on the centre line; along, outward (n, 2) unit vectors; grade (n,) m/m along; the wall lies
    between the offsets inner and outer (n,) metres, and has slope (n,) m/m and rise (n,) metres; owner (n, 3).
    """

    node: FloatArray
    along: FloatArray
    outward: FloatArray
    grade: FloatArray
    inner: FloatArray
    outer: FloatArray
    slope: FloatArray
    rise: FloatArray
    owner: IntArray


class Rings(NamedTuple):
    """Facets of one kind with k corners each: rings (n, k, 2) metres, and plane (n, 5), foot (n, 5), face (n, k),
    owner (n, 3) as in `Facets`."""

    rings: FloatArray
    plane: FloatArray
    foot: FloatArray
    face: NDArray[np.bool_]
    owner: IntArray


def chosen(sides: Sides, which: NDArray[np.bool_] | IntArray | slice) -> Sides:
    """Return those sides at which `which` (n,) holds, or those it names (k,), in its order."""
    return Sides._make(array[which] for array in sides)


def either(which: NDArray[np.bool_], one: Sides, two: Sides) -> Sides:
    """Return sides of `one` where `which` (n,) holds and of `two` elsewhere."""
    return Sides._make(
        np.where(which.reshape(-1, *([1] * (a.ndim - 1))), a, b) for a, b in zip(one, two, strict=True)
    )


def floors(sides: Sides, rings: FloatArray, upright: NDArray[np.bool_]) -> Rings:
    """Return floors over rings (n, k, 2) metres; `upright` (n, k) tells on which edges a wall stands upright."""
    plane = np.column_stack([sides.node, sides.grade[:, None] * sides.along])
    return Rings(rings, plane, np.zeros_like(plane), upright, sides.owner)


def stands(sides: Sides) -> NDArray[np.bool_]:
    """Return (n,) whether a wall stands upright at the edge of the floor."""
    return np.asarray((sides.slope == 0.0) | (sides.rise > 0.0), dtype=np.bool_)


def _slopes(sides: Sides) -> NDArray[np.bool_]:
    return np.asarray((sides.slope > 0.0) & (sides.outer > sides.inner), dtype=np.bool_)


def _walls(sides: Sides, rings: FloatArray) -> Rings:
    up = sides.outward / sides.slope[:, None]
    foot = sides.node[:, :2] + sides.inner[:, None] * sides.outward
    plane = np.column_stack([foot, sides.node[:, 2] + sides.rise, sides.grade[:, None] * sides.along + up])
    described = np.column_stack([foot, up, sides.rise])
    return Rings(rings, plane, described, np.zeros(rings.shape[:2], np.bool_), sides.owner)


def strips(sides: Sides, lengths: FloatArray) -> Rings:
    """Return the walls of whole runs of given lengths (n,) metres; upright walls give none."""
    which = _slopes(sides)
    sides, end = chosen(sides, which), (lengths[:, None] * sides.along)[which]
    near, far = sides.inner[:, None] * sides.outward, sides.outer[:, None] * sides.outward
    start = sides.node[:, :2]
    return _walls(sides, np.stack([start + near, start + end + near, start + end + far, start + far], axis=1))


def _wedges(sides: Sides, direction: FloatArray) -> list[Rings]:
    """Return floors and walls drawn out from the square end at `node` to a bisector along `direction` (n, 2)."""
    stretch = 1.0 / (sides.outward * direction).sum(axis=1)
    centre = sides.node[:, :2]
    square, tip = (
        centre + sides.inner[:, None] * sides.outward,
        centre + (sides.inner * stretch)[:, None] * direction,
    )
    made = []
    wide = sides.inner > 0.0
    if wide.any():
        upright = np.outer(stands(sides), [False, True, False])
        made.append(floors(chosen(sides, wide), np.stack([centre, square, tip], axis=1)[wide], upright[wide]))
    outer_square = centre + sides.outer[:, None] * sides.outward
    outer_tip = centre + (sides.outer * stretch)[:, None] * direction
    for which, ring in (
        (_slopes(sides) & wide, [square, tip, outer_tip, outer_square]),
        (_slopes(sides) & ~wide, [centre, outer_tip, outer_square]),
    ):
        if which.any():
            made.append(_walls(chosen(sides, which), np.stack(ring, axis=1)[which]))
    return made


def _turned(vector: FloatArray, angle: FloatArray) -> FloatArray:
    c, s = np.cos(angle), np.sin(angle)
    return np.column_stack([c * vector[:, 0] - s * vector[:, 1], s * vector[:, 0] + c * vector[:, 1]])


def corners(before: Sides, after: Sides) -> list[Rings]:
    """Close the outer side of bends between runs, whose outer sides with `node` at the bend are given."""
    cross = before.outward[:, 0] * after.outward[:, 1] - before.outward[:, 1] * after.outward[:, 0]
    angle = np.arctan2(cross, (before.outward * after.outward).sum(axis=1))
    ahead = before.outward[:, 0] * before.along[:, 1] - before.outward[:, 1] * before.along[:, 0]
    angle = np.where(abs(angle) > np.pi - 1e-9, np.copysign(angle, ahead), angle)  # back: round by the end
    before, after = before._replace(grade=0.0 * before.grade), after._replace(grade=0.0 * after.grade)
    middle = _turned(before.outward, 0.5 * angle)
    bends = abs(angle) * np.maximum(before.outer, after.outer) >= SHORTEST
    blunt = bends & (abs(angle) <= 0.5 * np.pi + 1e-12)
    sharp = bends & ~blunt
    made = []
    if blunt.any():
        made += _wedges(chosen(before, blunt), middle[blunt]) + _wedges(chosen(after, blunt), middle[blunt])
    if sharp.any():
        first = _turned(before.outward, 0.25 * angle)[sharp]
        second = _turned(before.outward, 0.75 * angle)[sharp]
        one, two = chosen(before, sharp), chosen(after, sharp)
        level = one._replace(outward=middle[sharp])
        beyond = level._replace(outer=two.outer, owner=two.owner)
        made += [*_wedges(one, first), *_wedges(level, first), *_wedges(beyond, second), *_wedges(two, second)]
    return made
