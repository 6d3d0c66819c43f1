"""What belongs to the trench: the walls of each line and pit as far as they hang together with its floors.

A prolonged wall may run below the ground again beyond daylight, under a bank or on the far side of a ditch. That
ground is no part of the trench. A piece is the part of one facet that lies below one triangle of the ground; it is
convex, for both are and the ground is flat there. Pieces hang together where one facet goes on over an edge of the
ground, and where two facets of a line or pit abut within a triangle, both below the ground. A wall's piece from
which no such way leads to a floor is left out of the cut, and so how far walls are prolonged changes nothing.
Facets that only overlap, as those of two lines or of two legs of a hairpin, do not hold each other's walls.
"""

from typing import NamedTuple

import numpy as np

from estimate.dig.clip import part_above
from estimate.dig.facets import WALL, Facets
from estimate.dig.kernel import prepared
from estimate.dig.lines import FloatArray, IntArray, TriangleArray
from estimate.dig.scene import ACTIVE, CODE, DONE, ROW, STAMP, TURN, Scene, Work, work_of
from terrain.compiled import inner_kernel, lean_kernel
from terrain.watch import Watch

SLACK = 1e-7
"""Edges nearer to each other than this [m] in plan are one."""
SHORTEST_CONTACT = 1e-6
"""Pieces that touch over less than this [m] do not hang together."""
SHALLOW = 1e-9
"""Nor do they where they lie no deeper than this [m] below the ground."""
SLICE = 1 << 16
"""Triangles looked at before the watch is asked again."""
FEWEST, MOST = 1 << 10, 1 << 14
"""First room for pieces: about half as many as triangles, between these."""
FULL = 1
"""Why the kernel stopped: more room is needed."""
COUNT, STORED = 0, 1
"""Places in `Net.state`: pieces found, contacts stored."""


class Joints(NamedTuple):
    """Where walls abut other facets of their line or pit: those of wall f are other[first[f]:first[f + 1]], and
    ends (k, 4) holds the easting and northing of both ends of the common stretch, metres from the centre."""

    first: IntArray
    other: IntArray
    ends: FloatArray


class Net(NamedTuple):
    """Pieces and what holds them: pieces (p, 2) = triangle, facet; parent (p,), a forest with one tree for all that
    hang together, number 0 standing for all floors; table (s, 4), stored contacts = two vertices, facet, piece (-1:
    free); row_piece (m,) the piece of each row of the triangle at hand; stretch (3, 2) = ends of a stretch and the
    part of it, of no unit; state (2,), see the places above."""

    pieces: IntArray
    parent: IntArray
    table: TriangleArray
    row_piece: IntArray
    stretch: FloatArray
    state: IntArray


@inner_kernel
def _shared(
    own: FloatArray, i: int, after: int, other: FloatArray, j: int, following: int, ends: FloatArray
) -> bool:
    """Fill ends (4,) with what edge i of one facet, edges (k, 4), has in common with edge j of another."""
    e, n, p, q = own[i, 0], own[i, 1], own[i, 2], own[i, 3]
    if not p * other[j, 2] + q * other[j, 3] < -0.5:
        return False
    length = q * (own[after, 0] - e) - p * (own[after, 1] - n)
    one = q * (other[j, 0] - e) - p * (other[j, 1] - n)
    two = q * (other[following, 0] - e) - p * (other[following, 1] - n)
    first, last = max(0.0, min(one, two)), min(length, max(one, two))
    if not last - first > SHORTEST_CONTACT:
        return False
    away_one = p * (other[j, 0] - e) + q * (other[j, 1] - n)
    away_two = p * (other[following, 0] - e) + q * (other[following, 1] - n)
    for t in (first, last):
        if not abs(away_one + (t - one) / (two - one) * (away_two - away_one)) <= SLACK:
            return False
    ends[0], ends[1] = e + first * q, n - first * p
    ends[2], ends[3] = e + last * q, n - last * p
    return True


@lean_kernel
def _find_joints(scene: Scene, owner: IntArray, first: IntArray, other: IntArray, ends: FloatArray) -> int:
    """Fill the arrays of joints; return how many there are, stored only while room (the last row is scratch)."""
    count, room = 0, other.shape[0] - 1
    for f in range(scene.counts.shape[0]):
        first[f] = count
        if scene.foot[f, 2] == 0.0 and scene.foot[f, 3] == 0.0:
            continue
        for at in range(scene.pair_first[f], scene.pair_first[f + 1]):
            g = scene.pair_other[at]
            if g < 0:
                g = -1 - g
            if owner[f, 0] != owner[g, 0] or owner[f, 1] != owner[g, 1]:
                continue
            for i in range(scene.counts[f]):
                after = i + 1 if i + 1 < scene.counts[f] else 0
                for j in range(scene.counts[g]):
                    following = j + 1 if j + 1 < scene.counts[g] else 0
                    place = min(count, room)
                    if _shared(scene.edges[f], i, after, scene.edges[g], j, following, ends[place]):
                        other[place] = g
                        count += 1
    first[scene.counts.shape[0]] = count
    return count


def _joints_of(scene: Scene, owner: IntArray) -> Joints:
    room = 8 * len(scene.counts)
    while True:
        joints = Joints(
            np.zeros(len(scene.counts) + 1, np.int64), np.zeros(room + 1, np.int64), np.zeros((room + 1, 4))
        )
        count = _find_joints(scene, owner, joints.first, joints.other, joints.ends)
        if count <= room:
            return joints
        room = count


@inner_kernel
def _root(parent: IntArray, piece: int) -> int:
    while parent[piece] != piece:
        parent[piece] = parent[parent[piece]]
        piece = parent[piece]
    return piece


@inner_kernel
def _join(parent: IntArray, one: int, two: int) -> None:
    """Let two pieces hang together; the lower number stays the root."""
    one, two = _root(parent, one), _root(parent, two)
    parent[max(one, two)] = min(one, two)


@inner_kernel
def _crosses(lines: FloatArray, edges: int, i: int, j: int, length: float, part: FloatArray) -> bool:
    """Tell whether the piece given by lines (k, 3) [m] reaches the side of the triangle between corners i and j."""
    part[0], part[1] = 0.0, 1.0
    part_above(lines[0, i] - SHALLOW, lines[0, j] - SHALLOW, part)
    if part[1] <= part[0]:
        return False
    for k in range(1, edges + 1):
        part_above(lines[k, i] + SLACK, lines[k, j] + SLACK, part)
    return bool((part[1] - part[0]) * length > SHORTEST_CONTACT)


@inner_kernel
def _over_edge(net: Net, low: int, high: int, facet: int, piece: int) -> None:
    """Join the piece to the one of the same facet stored for the ground's edge low-high, or store it there."""
    size = net.table.shape[0]
    slot = ((low * 73856093) ^ (high * 19349663) ^ (facet * 83492791)) & (size - 1)
    while net.table[slot, 3] >= 0:
        if net.table[slot, 0] == low and net.table[slot, 1] == high and net.table[slot, 2] == facet:
            _join(net.parent, piece, net.table[slot, 3])
            return
        slot = (slot + 1) & (size - 1)
    net.table[slot, 0], net.table[slot, 1], net.table[slot, 2], net.table[slot, 3] = low, high, facet, piece
    net.state[STORED] += 1


@inner_kernel
def _within(corner: FloatArray, ends: FloatArray, signed: float, stretch: FloatArray) -> float:
    """Put the ends of the part of a plan stretch (4,) [m] inside the triangle, as u and v, into stretch[0:2];
    return its length [m]; `signed` is twice the area [m2]."""
    part = stretch[2]
    part[0], part[1] = 0.0, 1.0
    for k in range(3):
        a, b = corner[k], corner[(k + 1) % 3]
        east, north = b[0] - a[0], b[1] - a[1]
        slack = SLACK * (abs(east) + abs(north))
        one = east * (ends[1] - a[1]) - north * (ends[0] - a[0])
        two = east * (ends[3] - a[1]) - north * (ends[2] - a[0])
        if signed < 0.0:
            one, two = -one, -two
        part_above(one + slack, two + slack, part)
    for k in range(2):
        e = ends[0] + part[k] * (ends[2] - ends[0]) - corner[0, 0]
        n = ends[1] + part[k] * (ends[3] - ends[1]) - corner[0, 1]
        ua, va = corner[1, 0] - corner[0, 0], corner[1, 1] - corner[0, 1]
        ub, vb = corner[2, 0] - corner[0, 0], corner[2, 1] - corner[0, 1]
        stretch[k, 0], stretch[k, 1] = (e * vb - n * ub) / signed, (ua * n - va * e) / signed
    return float((part[1] - part[0]) * (abs(ends[2] - ends[0]) + abs(ends[3] - ends[1])))


@inner_kernel
def _abut(work: Work, one: int, two: int, length: float, stretch: FloatArray) -> bool:
    """Tell whether the facets of two rows both lie below the ground on a part of the stretch."""
    part = stretch[2]
    part[0], part[1] = 0.0, 1.0
    for row in (one, two):
        height = work.lines[row, 0]
        east, north = height[1] - height[0], height[2] - height[0]
        start = height[0] + stretch[0, 0] * east + stretch[0, 1] * north
        stop = height[0] + stretch[1, 0] * east + stretch[1, 1] * north
        part_above(start - SHALLOW, stop - SHALLOW, part)
    return bool((part[1] - part[0]) * length > SHORTEST_CONTACT)


@inner_kernel
def _connect(scene: Scene, work: Work, joints: Joints, net: Net, triangle: int, row: int) -> None:
    """Join the piece of one row to what it touches over the triangle's sides and in the triangle."""
    facet, piece, corner = work.met[row, ACTIVE], net.row_piece[row], work.corner
    for i in range(3):
        j = i + 1 if i < 2 else 0
        length = abs(corner[j, 0] - corner[i, 0]) + abs(corner[j, 1] - corner[i, 1])
        if _crosses(work.lines[row], scene.counts[facet], i, j, length, net.stretch[2]):
            one, two = int(scene.triangles[triangle, i]), int(scene.triangles[triangle, j])
            _over_edge(net, min(one, two), max(one, two), facet, piece)
    signed = (corner[1, 0] - corner[0, 0]) * (corner[2, 1] - corner[0, 1])
    signed -= (corner[2, 0] - corner[0, 0]) * (corner[1, 1] - corner[0, 1])
    if signed == 0.0:
        return
    for at in range(joints.first[facet], joints.first[facet + 1]):
        other = joints.other[at]
        if work.met[other, STAMP] != work.state[TURN] or work.met[other, ROW] < 0:
            continue
        length = _within(corner, joints.ends[at], signed, net.stretch)
        if length > SHORTEST_CONTACT and _abut(work, row, work.met[other, ROW], length, net.stretch):
            _join(net.parent, piece, net.row_piece[work.met[other, ROW]])


@lean_kernel
def _net_range(scene: Scene, work: Work, joints: Joints, net: Net, start: int, stop: int) -> int:
    """Add the pieces of triangles start..stop; return the first one not done, with the reason in the CODE."""
    work.state[CODE] = DONE
    for t in range(start, stop):
        active = prepared(scene, work, t, SLACK)
        if net.state[COUNT] + active > net.pieces.shape[0] or 4 * (net.state[STORED] + 3 * active) > 3 * len(
            net.table
        ):
            work.state[CODE] = FULL
            return t
        for row in range(active):
            facet = work.met[row, ACTIVE]
            net.row_piece[row] = 0
            if scene.foot[facet, 2] != 0.0 or scene.foot[facet, 3] != 0.0:
                piece = net.state[COUNT]
                net.pieces[piece, 0], net.pieces[piece, 1], net.parent[piece] = t, facet, piece
                net.row_piece[row] = piece
                net.state[COUNT] += 1
        for row in range(active):
            if net.row_piece[row] > 0:
                _connect(scene, work, joints, net, t, row)
    return stop


@lean_kernel
def _flatten(net: Net) -> None:
    for piece in range(net.state[COUNT]):
        net.parent[piece] = _root(net.parent, piece)


def _net_of(scene: Scene, room: int) -> Net:
    return Net(
        np.zeros((room, 2), np.int64),
        np.zeros(room, np.int64),
        np.full((4 * room, 4), -1, np.int32),
        np.zeros(len(scene.counts), np.int64),
        np.zeros((3, 2)),
        np.array([1, 0], np.int64),
    )


def foreign(scene: Scene, facets: Facets, watch: Watch) -> IntArray:
    """Return the pieces of walls that hang together with no floor, (k, 2) = triangle and facet, by triangle.

    Raises:
        Cancelled: the watch was asked to stop.
    """
    if not (facets.kind == WALL).any():
        return np.zeros((0, 2), np.int64)
    joints, work = _joints_of(scene, facets.owner), work_of(scene, 1, 1)
    room, start, total = FEWEST, 0, len(scene.triangles)
    while room < 2 * len(facets.counts) or 2 * room < min(total, 2 * MOST):
        room *= 2
    net = _net_of(scene, room)
    while start < total:
        watch.step("finding what belongs to the trench", start, total)
        start = _net_range(scene, work, joints, net, start, min(total, start + SLICE))
        if work.state[CODE] == FULL:
            room, start = 2 * room, 0
            net = _net_of(scene, room)
    _flatten(net)
    count = int(net.state[COUNT])
    left: IntArray = net.pieces[:count][net.parent[:count] != 0]
    return left
