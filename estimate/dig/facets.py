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

SHORTEST_RUN = 1e-9
"""Runs shorter than this in plan [m] are dropped."""
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


class _Piece(NamedTuple):
    """One facet before it is packed: ring (k, 2), anchor (3,), gradient (2,), upright edges, foot (5,), owner."""

    ring: FloatArray
    anchor: FloatArray
    gradient: FloatArray
    faces: tuple[int, ...]
    foot: FloatArray | None
    owner: tuple[int, int, int]


class _Side(NamedTuple):
    """One side of a run: a node (3,) of the centre line, grade along `along`, wall between two offsets [m]."""

    node: FloatArray
    along: FloatArray
    outward: FloatArray
    grade: float
    inner: float
    outer: float
    wall: Wall
    owner: tuple[int, int, int]


def _wall(side: _Side, ring: FloatArray) -> _Piece:
    up = side.outward / side.wall.slope
    foot = side.node[:2] + side.inner * side.outward
    anchor = np.array([foot[0], foot[1], side.node[2] + side.wall.rise])
    described = np.array([foot[0], foot[1], up[0], up[1], side.wall.rise])
    return _Piece(ring, anchor, side.grade * side.along + up, (), described, side.owner)


def _upright(wall: Wall) -> bool:
    return wall.is_vertical or wall.rise > 0.0


def _floor(side: _Side, ring: FloatArray, faces: tuple[int, ...]) -> _Piece:
    return _Piece(ring, side.node, side.grade * side.along, faces, None, side.owner)


def _strip(side: _Side, length: float) -> list[_Piece]:
    """Return the wall of a whole run, square at both ends; nothing for an upright wall."""
    if side.outer <= side.inner or side.wall.is_vertical:
        return []
    a, b = side.node[:2], side.node[:2] + length * side.along
    near, far = side.inner * side.outward, side.outer * side.outward
    return [_wall(side, np.array([a + near, b + near, b + far, a + far]))]


def _wedge(side: _Side, direction: FloatArray) -> list[_Piece]:
    """Return floor and wall of a run drawn out from its square end at `node` to the bisector along `direction`."""
    stretch = 1.0 / float(side.outward @ direction)
    centre = side.node[:2]
    floor_square, floor_tip = centre + side.inner * side.outward, centre + side.inner * stretch * direction
    faces = (1,) if _upright(side.wall) else ()
    pieces = []
    if side.inner > 0.0:
        pieces.append(_floor(side, np.array([centre, floor_square, floor_tip]), faces))
    if side.outer > side.inner and not side.wall.is_vertical:
        wall_square, wall_tip = centre + side.outer * side.outward, centre + side.outer * stretch * direction
        ring = (
            [floor_square, floor_tip, wall_tip, wall_square] if side.inner > 0 else [centre, wall_tip, wall_square]
        )
        pieces.append(_wall(side, np.array(ring)))
    return pieces


def _turned(vector: FloatArray, angle: float) -> FloatArray:
    c, s = np.cos(angle), np.sin(angle)
    return np.array([c * vector[0] - s * vector[1], s * vector[0] + c * vector[1]])


def _corner(before: _Side, after: _Side) -> list[_Piece]:
    """Close the outer side of a bend between two runs whose sides given here are the outer ones."""
    before, after = before._replace(grade=0.0), after._replace(grade=0.0)
    cross = float(before.outward[0] * after.outward[1] - before.outward[1] * after.outward[0])
    angle = float(np.arctan2(cross, before.outward @ after.outward))
    if abs(angle) * max(before.outer, after.outer) < SHORTEST_RUN:
        return []
    if abs(angle) > np.pi - 1e-9:  # straight back: go round by the end of the run that comes in
        angle = float(np.copysign(angle, before.outward[0] * before.along[1] - before.outward[1] * before.along[0]))
    middle = _turned(before.outward, 0.5 * angle)
    if abs(angle) <= 0.5 * np.pi + 1e-12:
        return _wedge(before, middle) + _wedge(after, middle)
    first, second = _turned(before.outward, 0.25 * angle), _turned(before.outward, 0.75 * angle)
    level = before._replace(outward=middle)
    pieces = _wedge(before, first) + _wedge(level, first)
    return pieces + _wedge(level._replace(outer=after.outer, owner=after.owner), second) + _wedge(after, second)


def _line_pieces(index: int, line: Line, heights: FloatArray) -> list[_Piece]:
    """Return all facets of a line whose walls reach `heights` (runs,) metres above the floor."""
    pieces: list[_Piece] = []
    previous: tuple[_Side, _Side] | None = None
    half = line.section.half_width
    for run, height in enumerate(heights):
        start, stop = line.floor[run], line.floor[run + 1]
        length = float(np.hypot(*(stop - start)[:2]))
        if length < SHORTEST_RUN:
            continue
        along = (stop - start)[:2] / length
        left = np.array([-along[1], along[0]])
        grade, owner = float(stop[2] - start[2]) / length, (ON_LINE, index, run)
        sides = tuple(
            _Side(start, along, outward, grade, half, half + wall.width(float(height)), wall, owner)
            for outward, wall in ((left, line.section.left), (-left, line.section.right))
        )
        a, b = start[:2], stop[:2]
        ring = np.array([a - half * left, b - half * left, b + half * left, a + half * left])
        faces = tuple(edge for edge, side in ((2, sides[0]), (0, sides[1])) if _upright(side.wall))
        pieces += [_floor(sides[0], ring, faces), *_strip(sides[0], length), *_strip(sides[1], length)]
        if previous is not None:
            turn = previous[0].along[0] * along[1] - previous[0].along[1] * along[0]
            outer = 1 if turn >= 0.0 else 0
            pieces += _corner(previous[outer], sides[outer])
        previous = (sides[0]._replace(node=stop), sides[1]._replace(node=stop))
    return pieces


def _pit_pieces(index: int, pit: Pit, height: float) -> list[_Piece]:
    """Return all facets of a pit whose walls reach `height` [m] above its floor."""
    count = len(pit.corners)
    anchor = np.array([*pit.corners[0], pit.elevation])
    faces = tuple(range(count)) if _upright(pit.wall) else ()
    floor = _Piece(pit.corners, anchor, np.zeros(2), faces, None, (ON_PIT, index, -1))
    edges = np.roll(pit.corners, -1, axis=0) - pit.corners
    lengths = np.hypot(*edges.T)
    sides = []
    for edge in range(count):
        along = edges[edge] / lengths[edge]
        node = np.array([*pit.corners[edge], pit.elevation])
        outward = np.array([along[1], -along[0]])
        owner = (ON_PIT, index, edge)
        sides.append(_Side(node, along, outward, 0.0, 0.0, pit.wall.width(height), pit.wall, owner))
    pieces = [floor]
    for edge, side in enumerate(sides):
        pieces += _strip(side, float(lengths[edge]))
        pieces += _corner(sides[edge - 1]._replace(node=side.node), side)
    return pieces


def _pack(pieces: list[_Piece]) -> Facets:
    """Turn the rings counter-clockwise and pack all into arrays."""
    count, most = len(pieces), max((len(piece.ring) for piece in pieces), default=3)
    corners, normals = np.zeros((count, most, 2)), np.zeros((count, most, 2))
    face, plane, foot = np.zeros((count, most), np.bool_), np.zeros((count, 5)), np.zeros((count, 5))
    for i, piece in enumerate(pieces):
        ring, size = piece.ring, len(piece.ring)
        upright = np.isin(np.arange(size), piece.faces)
        shifted = ring - ring[0]
        if (shifted[:, 0] * np.roll(shifted[:, 1], -1) - np.roll(shifted[:, 0], -1) * shifted[:, 1]).sum() < 0.0:
            ring, upright = ring[::-1], np.roll(upright[::-1], -1)
        edges = np.roll(ring, -1, axis=0) - ring
        corners[i, :size] = ring
        normals[i, :size] = np.stack([-edges[:, 1], edges[:, 0]], axis=1) / np.hypot(*edges.T)[:, None]
        face[i, :size] = upright
        plane[i] = [*piece.anchor, *piece.gradient]
        if piece.foot is not None:
            foot[i] = piece.foot
    return Facets(
        corners,
        np.array([len(piece.ring) for piece in pieces], np.int64),
        normals,
        plane,
        np.array([FLOOR if piece.foot is None else WALL for piece in pieces], np.int64),
        face,
        foot,
        np.array([piece.owner for piece in pieces], np.int64).reshape(count, 3),
    )


def facets_to(
    lines: Sequence[Line], pits: Sequence[Pit], heights: Sequence[FloatArray], pit_heights: Sequence[float]
) -> Facets:
    """Return the facets of lines and pits whose walls reach given heights above their floors.

    `heights` holds for each line an array (runs,) metres, `pit_heights` one height [m] for each pit. Walls must
    reach past daylight; `estimate.dig.reach.wall_heights` finds heights that do.

    >>> from estimate.dig.section import Section
    >>> line = Line(np.array([[0, 0, 9], [20, 0, 9]], float), Section(0.6, Wall(1.0)))
    >>> facets_to([line], [], [np.array([2.0])], []).corners.shape
    (2, 4, 2)
    """
    pieces = [piece for i, line in enumerate(lines) for piece in _line_pieces(i, line, heights[i])]
    pieces += [piece for i, pit in enumerate(pits) for piece in _pit_pieces(i, pit, float(pit_heights[i]))]
    return _pack(pieces)


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
