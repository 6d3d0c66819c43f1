"""Facets: the planes over convex plan polygons whose lower envelope is the open trench.

Every run of a line gives its floor and, for each sloped wall, the wall from the floor's edge (or from the top of
the bench) outward, all cut square at both ends of the run. On the outer side of a bend each of the two runs is
drawn out to the bisector of the bend (a mitre), level along the run at the elevation of the bend, so that both
meet without a step and a short steep run is not prolonged; on the inner side the runs overlap and the lower one
counts, so nothing is lost however short the runs are. A bend sharper than a right angle is made as two equal bends
about a run of no length: the mitre then never reaches further than 1.42 times the offset.
A pit is a ring of such walls about its floor, and its corners are closed in the same way.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from estimate.dig.lines import FloatArray, IntArray, Line, Pit
from estimate.dig.section import Wall
from estimate.dig.sides import SHORTEST, Rings, Sides, chosen, corners, either, floors, stands, strips

FLOOR, WALL = 0, 1
ON_LINE, ON_PIT = 0, 1


class Facets(NamedTuple):
    """The facets of a dig as arrays; m facets with at most k corners each.

    corners (m, k, 2) metres, counter-clockwise, and their number `counts` (m,); normals (m, k, 2), the unit normals
    pointing inward of the edges corner i to i+1; plane (m, 5) = easting, northing, elevation of an anchor and the
    two gradients, so elevation = plane[2] + plane[3] (easting - plane[0]) + plane[4] (northing - plane[1]);
    kind (m,) FLOOR or WALL; face (m, k) whether a wall stands upright on the edge of a floor; foot (m, 5) = a point
    of the wall's foot, gradient of the height above the floor, and the rise [m] (zeros for floors); owner (m, 3) =
    ON_LINE or ON_PIT, index of the line or pit, index of the run or pit edge (-1: pit floor).
    """

    corners: FloatArray
    counts: IntArray
    normals: FloatArray
    plane: FloatArray
    kind: IntArray
    face: NDArray[np.bool_]
    foot: FloatArray
    owner: IntArray


def _line_rings(index: int, line: Line, heights: FloatArray) -> list[Rings]:
    """Return all facets of a line whose walls reach `heights` (runs,) metres above the floor."""
    steps = np.diff(line.floor, axis=0)
    lengths = np.hypot(*steps[:, :2].T)
    kept = np.flatnonzero(lengths >= SHORTEST)
    if len(kept) == 0:
        return []
    steps, lengths, start = steps[kept], lengths[kept], line.floor[kept]
    along = steps[:, :2] / lengths[:, None]
    normal = np.column_stack([-along[:, 1], along[:, 0]])
    grade, half = steps[:, 2] / lengths, line.section.half_width
    owner = np.column_stack([np.full(len(kept), ON_LINE), np.full(len(kept), index), kept]).astype(np.int64)
    each = np.ones(len(kept))

    def side(outward: FloatArray, wall: Wall) -> Sides:
        outer = half + wall.slope * np.maximum(0.0, heights[kept] - wall.rise)
        return Sides(start, along, outward, grade, half * each, outer, wall.slope * each, wall.rise * each, owner)

    left, right = side(normal, line.section.left), side(-normal, line.section.right)
    a, b = start[:, :2], line.floor[kept + 1, :2]
    ring = np.stack([a - half * normal, b - half * normal, b + half * normal, a + half * normal], axis=1)
    upright = np.outer(stands(left), [False, False, True, False]) | np.outer(
        stands(right), [True, False, False, False]
    )
    made = [floors(left, ring, upright), strips(left, lengths), strips(right, lengths)]
    turns_left = along[:-1, 0] * along[1:, 1] - along[:-1, 1] * along[1:, 0] >= 0.0
    ends = line.floor[kept + 1][:-1]
    before = either(turns_left, chosen(right, slice(-1)), chosen(left, slice(-1)))
    after = either(turns_left, chosen(right, slice(1, None)), chosen(left, slice(1, None)))
    return made + corners(before._replace(node=ends), after._replace(node=ends))


def _pit_rings(index: int, pit: Pit, height: float) -> list[Rings]:
    """Return all facets of a pit whose walls reach `height` [m] above its floor."""
    count = len(pit.corners)
    edges = np.roll(pit.corners, -1, axis=0) - pit.corners
    lengths = np.hypot(*edges.T)
    along, each = edges / lengths[:, None], np.ones(count)
    sides = Sides(
        np.column_stack([pit.corners, np.full(count, pit.elevation)]),
        along,
        np.column_stack([along[:, 1], -along[:, 0]]),
        np.zeros(count),
        np.zeros(count),
        pit.wall.width(height) * each,
        pit.wall.slope * each,
        pit.wall.rise * each,
        np.column_stack([np.full(count, ON_PIT), np.full(count, index), np.arange(count)]).astype(np.int64),
    )
    first = chosen(sides, np.arange(count) == 0)._replace(owner=np.array([[ON_PIT, index, -1]]))
    floor = floors(first, pit.corners[None], np.full((1, count), bool(stands(first)[0])))
    before = chosen(sides, np.arange(count) - 1)._replace(node=sides.node)
    return [floor, strips(sides, lengths), *corners(before, sides)]


def _pack(made: list[Rings]) -> Facets:
    """Turn the rings counter-clockwise and pack all into arrays."""
    made = [part for part in made if len(part.rings)]
    most, total = max((part.rings.shape[1] for part in made), default=3), sum(len(part.rings) for part in made)
    points, normals, face = (
        np.zeros((total, most, 2)),
        np.zeros((total, most, 2)),
        np.zeros((total, most), np.bool_),
    )
    counts, at = np.zeros(total, np.int64), 0
    for part in made:
        rings, upright, size = part.rings, part.face, part.rings.shape[1]
        shifted = rings - rings[:, :1]
        areas = (
            shifted[:, :, 0] * np.roll(shifted[:, :, 1], -1, 1)
            - np.roll(shifted[:, :, 0], -1, 1) * shifted[:, :, 1]
        )
        clockwise = areas.sum(axis=1) < 0.0
        rings = np.where(clockwise[:, None, None], rings[:, ::-1], rings)
        upright = np.where(clockwise[:, None], np.roll(upright[:, ::-1], -1, axis=1), upright)
        edges = np.roll(rings, -1, axis=1) - rings
        here = slice(at, at + len(rings))
        points[here, :size], face[here, :size], counts[here] = rings, upright, size
        lengths = np.hypot(edges[:, :, 0], edges[:, :, 1])[:, :, None]
        normals[here, :size] = np.stack([-edges[:, :, 1], edges[:, :, 0]], axis=2) / lengths
        at += len(rings)
    none = [np.zeros((0, 5))]
    foot = np.concatenate([part.foot for part in made] or none)
    owner = np.concatenate([part.owner for part in made] or [np.zeros((0, 3), np.int64)])
    kind = np.where((foot[:, 2:4] != 0.0).any(axis=1), WALL, FLOOR).astype(np.int64)
    plane = np.concatenate([part.plane for part in made] or none)
    return Facets(points, counts, normals, plane, kind, face, foot, owner)


def facets_to(
    lines: Sequence[Line], pits: Sequence[Pit], heights: Sequence[FloatArray], pit_heights: Sequence[float]
) -> Facets:
    """Return the facets of lines and pits whose walls reach given heights above their floors.

    `heights` holds for each line an array (runs,) metres, `pit_heights` one height [m] for each pit. Walls must
    reach past daylight; `estimate.dig.reach.wall_heights` finds heights that do.

    >>> from estimate.dig.section import Section, Wall
    >>> line = Line(np.array([[0, 0, 9], [20, 0, 9]], float), Section(0.6, Wall(1.0)))
    >>> facets_to([line], [], [np.array([2.0])], []).corners.shape
    (2, 4, 2)
    """
    made = [rings for i, line in enumerate(lines) for rings in _line_rings(i, line, heights[i])]
    made += [rings for i, pit in enumerate(pits) for rings in _pit_rings(i, pit, float(pit_heights[i]))]
    return _pack(made)


def facets_of(lines: Sequence[Line], pits: Sequence[Pit], top: float) -> Facets:
    """Return the facets of lines and pits whose walls all reach at least the elevation `top` [m].

    With the highest elevation of the ground as `top` the walls are surely past daylight.

    >>> len(facets_of([], [], 10.0).counts)
    0
    """
    heights = [
        np.maximum(0.0, top - np.minimum(line.floor[:-1, 2], line.floor[1:, 2])) if line.runs else np.zeros(0)
        for line in lines
    ]
    return facets_to(lines, pits, heights, [max(0.0, top - pit.elevation) for pit in pits])
