"""Cutting a 100 m trench out of a million triangles: ours beside solid booleans and a bare bounding-box pass."""

import manifold3d
import numpy as np

from benchmarks.rows import Row, best_of
from estimate.dig.excavate import excavate
from estimate.dig.facets import Facets
from estimate.dig.lines import Line
from estimate.dig.section import Section, Wall
from terrain.arrays import Floats, Indices
from terrain.compiled import kernel
from terrain.ground import Ground
from terrain.synthetic import ground_of

POINTS = 500_000
SIDE = 200.0
DEPTH = 1.2
AIM_WHOLE, AIM_CROPPED, AIM_PASS = 0.02, 1.0, 5.0
BENDS = np.array([(-42, -18), (-25, -12), (-12, -18), (2, 0), (16, -4), (28, 13), (33, 13)], float)


def rough_ground(count: int) -> Ground:
    """Return a rolling, rough ground of `count` scattered points over a square of side `SIDE` [m]."""
    source = np.random.default_rng(5)
    plan = source.uniform(-0.5 * SIDE, 0.5 * SIDE, (count, 2))
    return ground_of(np.column_stack([plan, _rolling(plan) + source.normal(0.0, 0.02, count)]))


def _rolling(plan: Floats) -> Floats:
    return np.asarray(0.8 * np.sin(plan[:, 0] / 15.0) + 0.5 * np.cos(plan[:, 1] / 9.0), dtype=np.float64)


def bent_line() -> Line:
    """Return a trench line of about 100 m with five bends and 1:1 walls."""
    return Line(np.column_stack([BENDS, _rolling(BENDS) - DEPTH]), Section(0.6, Wall(1.0), Wall(1.0)))


@kernel
def box_pass(vertices: Floats, triangles: Indices, boxes: Floats) -> None:
    """Write the plan bounding box of each triangle (m, 3) of vertices (n, 3) metres into boxes (m, 4) metres."""
    for t in range(triangles.shape[0]):
        i, j, k = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        for axis in range(2):
            a, b, c = vertices[i, axis], vertices[j, axis], vertices[k, axis]
            boxes[t, axis] = min(a, b, c)
            boxes[t, axis + 2] = max(a, b, c)


def _solid(vertices: Floats, triangles: Indices) -> manifold3d.Manifold:
    return manifold3d.Manifold(
        manifold3d.Mesh64(vert_properties=vertices, tri_verts=np.ascontiguousarray(triangles, dtype=np.uint64))
    )


def prisms_of(facets: Facets, top: float) -> list[manifold3d.Manifold]:
    """Return the solids over all facets up to `top` [m] or above."""
    found = []
    for f, count in enumerate(facets.counts.tolist()):
        ring, plane, around = facets.corners[f, :count], facets.plane[f], np.arange(count)
        low = plane[2] + (ring - plane[:2]) @ plane[3:]
        lid = np.full(count, max(top, float(low.max())) + 1.0)
        fan = np.column_stack([np.zeros(count - 2, int), around[1:-1], around[2:]])
        after = (around + 1) % count
        sides = [
            np.column_stack([around, after, count + after]),
            np.column_stack([around, count + after, count + around]),
        ]
        corners = np.concatenate([np.column_stack([ring, low]), np.column_stack([ring, lid])])
        found.append(_solid(corners, np.concatenate([fan[:, ::-1], count + fan, *sides])))
    return found


def boolean_volume(vertices: Floats, triangles: Indices, facets: Facets, base: float) -> float:
    """Return the cut volume [m3] as solid booleans find it: the ground down to `base` [m] and all facets' solids.

    vertices (n, 3) metres, of which triangles (m, 3) may use some only; the rest is left out first.
    """
    used, small = np.unique(triangles, return_inverse=True)
    corners, faces = vertices[used], small.reshape(-1, 3).astype(np.int64)
    count = len(used)
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    ahead, back = edges[:, 0] * count + edges[:, 1], edges[:, 1] * count + edges[:, 0]
    a, b = edges[~np.isin(ahead, back)].T
    sides = [np.column_stack([b, a, count + a]), np.column_stack([b, count + a, count + b])]
    below = np.column_stack([corners[:, :2], np.full(count, base)])
    block = _solid(np.concatenate([corners, below]), np.concatenate([faces, count + faces[:, ::-1], *sides]))
    union = manifold3d.Manifold.batch_boolean(prisms_of(facets, float(corners[:, 2].max())), manifold3d.OpType.Add)
    return float((block ^ union).volume())


def corridor(ground: Ground, boxes: Floats, line: Line, facets: Facets) -> Indices:
    """Return the triangles (k, 3) whose boxes (m, 4) metres come as near to the line as the facets reach."""
    middles, sizes = 0.5 * (boxes[:, :2] + boxes[:, 2:]), np.hypot(*(boxes[:, 2:] - boxes[:, :2]).T)
    rings = [facets.corners[f, :count] for f, count in enumerate(facets.counts.tolist())]
    reach = float(_distance(np.concatenate(rings), line).max())
    rough = (middles >= BENDS.min(axis=0) - reach - 1.0) & (middles <= BENDS.max(axis=0) + reach + 1.0)
    box = np.flatnonzero(rough.all(axis=1))
    return np.asarray(ground.triangles[box[_distance(middles[box], line) <= reach + sizes[box]]], dtype=np.int32)


def _distance(points: Floats, line: Line) -> Floats:
    nearest = np.full(len(points), np.inf)
    for start, stop in zip(line.floor[:-1, :2], line.floor[1:, :2], strict=True):
        along = stop - start
        share = np.clip((points - start) @ along / (along @ along), 0.0, 1.0)
        nearest = np.minimum(nearest, np.hypot(*(points - start - share[:, None] * along).T))
    return nearest


def rows(count: int = POINTS) -> list[Row]:
    """Return the comparisons on a ground of `count` points.

    Raises:
        RuntimeError: the exact cut and the solid booleans differ by more than 1e-9 of the volume.
    """
    ground, line = rough_ground(count), bent_line()
    land = (ground.vertices, ground.triangles)
    dug, facets = excavate(*land, [line])
    boxes, base = np.empty((len(ground.triangles), 4)), float(ground.vertices[:, 2].min()) - 10.0
    ours = best_of(lambda: excavate(*land, [line]), 7)
    passing = best_of(lambda: box_pass(*land, boxes), 7)
    volumes = []
    whole = best_of(lambda: volumes.append(boolean_volume(*land, facets, base)), 1)

    def crop() -> None:
        box_pass(*land, boxes)
        volumes.append(boolean_volume(ground.vertices, corridor(ground, boxes, line, facets), facets, base))

    cropped = best_of(crop, 2)
    if any(abs(volume / dug.volume_m3 - 1.0) > 1e-9 for volume in volumes):
        raise RuntimeError(f"the cut gives {dug.volume_m3}, the booleans {volumes}")
    name = f"cut a trench of {line.stations[-1]:.0f} m out of {len(ground.triangles):,} triangles"
    return [
        Row(name, "manifold3d boolean of the whole ground", ours, whole, "s", AIM_WHOLE),
        Row(name, "manifold3d boolean cropped to the corridor", ours, cropped, "s", AIM_CROPPED),
        Row(name, "a bounding-box pass over the same arrays", ours, passing, "s", AIM_PASS),
    ]
