"""Pieces of the 3D scene made of triangles: ground cut to a block and opened over the dig, walls, skirts, discs."""

import math
from dataclasses import dataclass

import numpy as np

from terrain.arrays import Flags, Floats, Indices
from terrain.errors import GeometryError
from terrain.ground import Ground, elevation, planes
from terrain.triangles import triangulate
from viewer.relief import Box, Surface, compact, inside_rings

NEAR = 1e-6
"""Points nearer than this in plan [m] are one."""
LOOK = 1e-5
"""How far across an edge its other side is looked for [m]."""
LEAST_STEP = 1e-3
"""A wall lower than this [m] is left out."""


@dataclass(frozen=True, slots=True)
class Block:
    """A rectangle in plan, `corners` (4, 2) metres counter-clockwise, the first side along the line."""

    corners: Floats

    @property
    def box(self) -> Box:
        """The upright box around it."""
        (west, south), (east, north) = self.corners.min(axis=0).tolist(), self.corners.max(axis=0).tolist()
        return Box(west, south, east, north)

    @property
    def length(self) -> float:
        """The longer side [m]."""
        return float(
            max(np.hypot(*(self.corners[1] - self.corners[0])), np.hypot(*(self.corners[2] - self.corners[1])))
        )


def cut_to_box(surface: Surface, block: Block) -> Surface:
    """Return the part of `surface` inside `block`, its triangles clipped at the four sides."""
    for start, end in zip(block.corners, np.roll(block.corners, -1, axis=0), strict=True):
        surface = _clip(surface, start, end)
    return surface


def _clip(surface: Surface, start: Floats, end: Floats) -> Surface:
    """Return the part of `surface` left of the line from `start` to `end` (2,) metres."""
    way = (end - start) / np.hypot(*(end - start))
    plan = surface.vertices[:, :2] - start
    offset = way[0] * plan[:, 1] - way[1] * plan[:, 0]
    offset[np.abs(offset) < NEAR] = 0.0
    sides = offset[surface.triangles]
    kept = (sides >= 0.0).all(axis=1) & (sides > 0.0).any(axis=1)
    mixed = (sides > 0.0).any(axis=1) & (sides < 0.0).any(axis=1)
    vertices, triangles = [surface.vertices], [surface.triangles[kept]]
    corner = surface.triangles[mixed]
    inside = offset[corner] >= 0.0
    for count in (1, 2):
        rows = np.flatnonzero(inside.sum(axis=1) == count)
        if len(rows) == 0:
            continue
        lone = (inside if count == 1 else ~inside)[rows].argmax(axis=1)
        turned = corner[rows[:, None], (lone[:, None] + np.arange(3)) % 3]
        first = _crossing(surface.vertices, offset, turned[:, 0], turned[:, 1])
        second = _crossing(surface.vertices, offset, turned[:, 2], turned[:, 0])
        at = sum(len(part) for part in vertices) + np.arange(len(rows))
        vertices += [first, second]
        a, b = at, at + len(rows)
        if count == 1:
            triangles.append(np.column_stack([turned[:, 0], a, b]))
        else:
            triangles.append(np.column_stack([a, turned[:, 1], turned[:, 2]]))
            triangles.append(np.column_stack([a, turned[:, 2], b]))
    joined = _join(np.concatenate(vertices), np.concatenate(triangles))
    return compact(*joined)


def _crossing(vertices: Floats, offset: Floats, first: Indices, second: Indices) -> Floats:
    """Return where edges cross the line, (n, 3) metres, computed from the lower index so that neighbours agree."""
    low, high = np.minimum(first, second), np.maximum(first, second)
    share = offset[low] / (offset[low] - offset[high])
    return np.asarray(vertices[low] + share[:, None] * (vertices[high] - vertices[low]), dtype=np.float64)


def _join(vertices: Floats, triangles: Indices) -> Surface:
    """Return the mesh with equal vertices made one and triangles without area dropped."""
    unique, places = np.unique(vertices, axis=0, return_inverse=True)
    joined = places.reshape(-1)[triangles]
    whole = (joined[:, 0] != joined[:, 1]) & (joined[:, 1] != joined[:, 2]) & (joined[:, 2] != joined[:, 0])
    return Surface(unique, joined[whole].astype(np.int32))


def carve(surface: Surface, rings: tuple[Floats, ...], ground: Ground) -> Surface:
    """Return `surface` without what lies inside `rings` (k, 2) metres, its edges along them.

    Where the rings cannot be made edges (they cross each other), whole triangles are taken away instead.
    """
    if not rings or len(surface.triangles) == 0:
        return surface
    try:
        new = _with_edges(surface, rings, ground)
    except GeometryError:
        new = surface
    middle = new.vertices[new.triangles, :2].mean(axis=1)
    outside = ~inside_rings(middle, rings)
    return compact(new.vertices, new.triangles[outside])


def _with_edges(surface: Surface, rings: tuple[Floats, ...], ground: Ground) -> Surface:
    """Return `surface` triangulated anew with the rings as edges, the part beyond its own rim left out."""
    ring = np.concatenate(rings)
    heights = elevation(ground, ring)
    heights[np.isnan(heights)] = float(np.median(surface.vertices[:, 2]))
    points = np.concatenate([surface.vertices, np.column_stack([ring, heights])])
    keys = np.round(points[:, :2] / NEAR).astype(np.int64)
    _, first, places = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    places = places.reshape(-1)
    lines, start = [], len(surface.vertices)
    for one in rings:
        index = places[start + np.arange(len(one))]
        lines.append(np.column_stack([index, np.roll(index, -1)]))
        start += len(one)
    edges = np.concatenate(lines)
    edges = np.unique(np.sort(edges[edges[:, 0] != edges[:, 1]], axis=1), axis=0)
    vertices = points[first]
    triangles, _ = triangulate(vertices[:, :2], edges)
    middle = vertices[triangles, :2].mean(axis=1)
    return compact(vertices, triangles[_inside_mesh(middle, surface, ground)])


def _inside_mesh(points: Floats, surface: Surface, ground: Ground) -> Flags:
    """Return which of `points` (n, 2) metres the ground lies under (n,)."""
    return np.isfinite(elevation(ground, points))


def rim(triangles: Indices) -> Indices:
    """Return the edges (k, 2) that only one of `triangles` (m, 3) has, with the surface on their left."""
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    _, places, counts = np.unique(np.sort(edges, axis=1), axis=0, return_inverse=True, return_counts=True)
    return np.asarray(edges[counts[places.reshape(-1)] == 1], dtype=np.int32)


def curtain(top: Floats, bottom: Floats) -> Floats:
    """Return the upright faces between edges `top` and `bottom` (n, 2, 3) metres as triangles (k, 3, 3)."""
    first = np.stack([top[:, 0], bottom[:, 0], bottom[:, 1]], axis=1)
    second = np.stack([top[:, 0], bottom[:, 1], top[:, 1]], axis=1)
    both = np.concatenate([first, second])
    sides = np.cross(both[:, 1] - both[:, 0], both[:, 2] - both[:, 0])
    return np.asarray(both[np.linalg.norm(sides, axis=1) > 1e-12], dtype=np.float64)


def skirt(surface: Surface, base: float) -> Floats:
    """Return the sides (n, 3, 3) metres from the rim of `surface` down to `base` [m]."""
    top = surface.vertices[rim(surface.triangles)]
    bottom = top.copy()
    bottom[..., 2] = base
    return curtain(top, bottom)


def walls(dug: Floats, ground: Ground) -> Floats:
    """Return the upright walls (n, 3, 3) metres of a dig whose bottoms and slopes are `dug` (m, 3, 3) metres.

    Every edge of a triangle looks just across: where nothing is dug there, a wall rises to the ground; where
    the dig lies deeper there (below a bench, in a pit at the trench's end), a wall goes down to that.
    """
    if len(dug) == 0:
        return np.zeros((0, 3, 3))
    edges, inside = _split_edges(dug)
    way = edges[:, 1, :2] - edges[:, 0, :2]
    turn = way[:, 0] * inside[:, 1] - way[:, 1] * inside[:, 0]
    long = np.hypot(way[:, 0], way[:, 1])
    keep = np.flatnonzero((long > 10.0 * LOOK) & (np.abs(turn) > 0.5 * LOOK * long))
    edges, way = edges[keep], way[keep]
    aside = np.column_stack([way[:, 1], -way[:, 0]]) * (np.sign(turn[keep]) * LOOK / long[keep])[:, None]
    beyond = _beyond(edges, aside, dug)
    above = elevation(ground, edges[:, :, :2].reshape(-1, 2)).reshape(-1, 2)
    rim_of_all = np.asarray(np.isnan(beyond).any(axis=1), dtype=np.bool_)
    other = edges.copy()
    other[..., 2] = np.where(rim_of_all[:, None], above, beyond)
    height = np.where(rim_of_all, 1.0, -1.0) * (other[..., 2] - edges[..., 2]).mean(axis=1)
    outer, inner = (np.flatnonzero((height > LEAST_STEP) & one) for one in (rim_of_all, ~rim_of_all))
    return np.concatenate([curtain(other[outer], edges[outer]), curtain(edges[inner], other[inner])])


def _beyond(edges: Floats, aside: Floats, dug: Floats) -> Floats:
    """Return the elevations (n, 2) metres, at both ends, of what is dug a step `aside` (n, 2) of `edges` (n, 2, 3).

    Two places are looked at, for a triangle thin as a hair may hide the step from one of them; the deeper tells.
    NaN where nothing is dug at one of them.
    """
    way = edges[:, 1, :2] - edges[:, 0, :2]
    found = np.stack(
        [
            np.stack([_across(edges[:, end], aside + (share - end) * way, dug) for end in (0, 1)], axis=1)
            for share in (0.2, 0.8)
        ]
    )
    deeper = found.mean(axis=2).argmin(axis=0)  # NaN comes first
    return np.asarray(found[deeper, np.arange(len(edges))], dtype=np.float64)


def _split_edges(dug: Floats) -> tuple[Floats, Floats]:
    """Return the edges (k, 2, 3) metres of triangles (m, 3, 3), cut wherever another's corner stands on them.

    With each comes the way (k, 2) metres from its start to the middle of its triangle.
    """
    edges = dug[:, [[0, 1], [1, 2], [2, 0]]].reshape(-1, 2, 3)
    inside = np.repeat(dug.mean(axis=1)[:, :2], 3, axis=0) - edges[:, 0, :2]
    _, corner = np.unique(np.round(edges[:, :, :2] / NEAR).reshape(-1, 2), axis=0, return_inverse=True)
    pairs = np.sort(corner.reshape(-1, 2), axis=1)
    _, places, counts = np.unique(pairs, axis=0, return_inverse=True, return_counts=True)
    alone = counts[places.reshape(-1)] == 1
    corners = np.unique(edges[alone, :, :2].reshape(-1, 2), axis=0)
    pieces, sides = [edges[~alone]], [inside[~alone]]
    for edge, side in zip(edges[alone], inside[alone], strict=True):
        way = edge[1] - edge[0]
        square = max(float(way[:2] @ way[:2]), 1e-300)
        offset = corners - edge[0, :2]
        share = offset @ way[:2] / square
        gap = np.abs(offset[:, 0] * way[1] - offset[:, 1] * way[0]) / np.sqrt(square)
        cuts = np.unique(share[(gap < 10.0 * NEAR) & (share > 1e-6) & (share < 1.0 - 1e-6)])
        stops = edge[0] + np.concatenate([[0.0], cuts, [1.0]])[:, None] * way
        pieces.append(np.stack([stops[:-1], stops[1:]], axis=1))
        sides.append(np.broadcast_to(side, (len(stops) - 1, 2)) - (stops[:-1, :2] - edge[0, :2]))
    return np.concatenate(pieces), np.concatenate(sides)


def _across(ends: Floats, step: Floats, dug: Floats) -> Floats:
    """Return the elevation (n,) metres at `ends` (n, 3) of what is dug a `step` (n, 2) away, NaN where none is."""
    whole = Ground(
        np.ascontiguousarray(dug.reshape(-1, 3)),
        np.arange(3 * len(dug), dtype=np.int32).reshape(-1, 3),
        np.full((len(dug), 3), -1, dtype=np.int32),
    )
    found = planes(whole, ends[:, :2] + step)
    return np.asarray(found[:, 2] - (found[:, :2] * step).sum(axis=1), dtype=np.float64)


def disc(middle: tuple[float, float, float], radius: float, parts: int = 40) -> Floats:
    """Return a level disc around `middle` [m] of `radius` [m] as triangles (parts, 3, 3) metres."""
    turn = np.linspace(0.0, 2.0 * math.pi, parts + 1)
    rim_points = np.column_stack([np.cos(turn), np.sin(turn), np.zeros(parts + 1)]) * radius + np.array(middle)
    centre = np.broadcast_to(np.array(middle), (parts, 3))
    return np.stack([centre, rim_points[:-1], rim_points[1:]], axis=1)
