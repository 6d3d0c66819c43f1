"""The exact cut against solid booleans by an independent library: the union of ground ∩ prism over each facet.

Rough ground may rise above a prolonged wall again beyond daylight; so each wall's solid is taken apart, and only
the parts that a chain of abutting solids of the same line or pit holds to a floor are counted.
"""

import os

import manifold3d
import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial import Delaunay

from estimate.dig.cut import cut
from estimate.dig.excavate import excavate
from estimate.dig.facets import WALL, Facets, facets_of
from estimate.dig.lines import Line, Pit
from estimate.dig.section import Section, Wall

FloatArray = NDArray[np.float64]
INTERPRETED = os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0")
SCENES = 12 if INTERPRETED else 200


def solid(vertices: FloatArray, triangles: NDArray[np.int64]) -> manifold3d.Manifold:
    mesh = manifold3d.Mesh64(vert_properties=vertices, tri_verts=triangles.astype(np.uint64))
    made = manifold3d.Manifold(mesh)
    assert made.status() == manifold3d.Error.NoError
    return made


def prism(ring: FloatArray, low: FloatArray, high: FloatArray) -> manifold3d.Manifold:
    """Return the solid over a convex counter-clockwise ring between two sets of elevations."""
    k = len(ring)
    vertices = np.concatenate([np.column_stack([ring, low]), np.column_stack([ring, high])])
    fan = np.array([(0, i, i + 1) for i in range(1, k - 1)])
    around = np.arange(k)
    following = (around + 1) % k
    sides = np.concatenate(
        [np.column_stack([around, following, k + following]), np.column_stack([around, k + following, k + around])]
    )
    return solid(vertices, np.concatenate([fan[:, ::-1], k + fan, sides]))


def ground_solid(vertices: FloatArray, triangles: NDArray[np.int64], base: float) -> manifold3d.Manifold:
    count = len(vertices)
    edges = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    known = {(int(a), int(b)) for a, b in edges}
    hull = np.array([(a, b) for a, b in known if (b, a) not in known])
    sides = np.concatenate(
        [
            np.column_stack([hull[:, 1], hull[:, 0], count + hull[:, 0]]),
            np.column_stack([hull[:, 1], count + hull[:, 0], count + hull[:, 1]]),
        ]
    )
    lower = vertices.copy()
    lower[:, 2] = base
    everything = np.concatenate([triangles, count + triangles[:, ::-1], sides])
    return solid(np.concatenate([vertices, lower]), everything)


def hangs(kept: manifold3d.Manifold, part: manifold3d.Manifold) -> bool:
    """Tell whether two parts abut; those which overlap, as the walls inside a bend, do not hold each other."""
    return bool(
        kept.min_gap(part, 1e-3) < 1e-7 and (kept ^ part).volume() < 1e-6 * min(kept.volume(), part.volume())
    )


def boolean_volume(vertices: FloatArray, triangles: NDArray[np.int64], facets: Facets) -> float:
    """Return the volume of all floors' solids below the ground and of the parts of walls that hang with them."""
    base = min(float(facets.plane[:, 2].min()), float(vertices[:, 2].min())) - 20.0
    ground = ground_solid(vertices, triangles, base)
    kept: list[tuple[tuple[int, ...], manifold3d.Manifold]] = []
    waiting = list(kept)
    for f, count in enumerate(facets.counts.tolist()):
        ring, plane = facets.corners[f, :count], facets.plane[f]
        low = plane[2] + (ring - plane[:2]) @ plane[3:]
        top = max(float(vertices[:, 2].max()), float(low.max())) + 1.0
        owner = tuple(facets.owner[f, :2].tolist())
        parts = (ground ^ prism(ring, low, np.full(count, top))).decompose()
        (waiting if facets.kind[f] == WALL else kept).extend((owner, part) for part in parts)
    at = 0
    while at < len(kept):
        owner, one = kept[at]
        found = [(other, part) for other, part in waiting if other == owner and hangs(one, part)]
        waiting = [pair for pair in waiting if pair not in found]
        kept.extend(found)
        at += 1
    return float(manifold3d.Manifold.batch_boolean([part for _, part in kept], manifold3d.OpType.Add).volume())


def a_wall(rng: np.random.Generator) -> Wall:
    slope = float(rng.choice([0.0, 0.5, 0.75, 1.0, 1.5])) if rng.random() < 0.8 else float(rng.uniform(0.2, 1.4))
    return Wall(slope, float(rng.uniform(0.1, 0.7)) if rng.random() < 0.35 else 0.0)


def a_line(rng: np.random.Generator, nodes: int, start: FloatArray, depth: float) -> Line:
    """Return a wandering line, which may cross itself, with a floor that rises and falls."""
    heading, plan = float(rng.uniform(0, 2 * np.pi)), [start]
    for _ in range(nodes):
        heading += float(rng.uniform(-2.6, 2.6))
        step = float(rng.choice([0.4, 2.0, 5.0])) * float(rng.uniform(0.7, 1.3))
        plan.append(plan[-1] + step * np.array([np.cos(heading), np.sin(heading)]))
    floor = -depth + rng.uniform(-0.25, 0.25, nodes + 1) * (rng.random() < 0.7)
    section = Section(float(rng.uniform(0.3, 1.0)), a_wall(rng), a_wall(rng))
    return Line(np.column_stack([np.array(plan), floor]), section)


def a_pit(rng: np.random.Generator, around: FloatArray) -> Pit:
    count = int(rng.integers(3, 8))
    angles = (
        np.sort(rng.uniform(0, 2 * np.pi, count)) if rng.random() < 0.3 else np.arange(count) * 2 * np.pi / count
    )
    if np.diff(np.append(angles, angles[0] + 2 * np.pi)).max() > 3.0:
        angles = np.arange(count) * 2 * np.pi / count
    ring = around + np.column_stack([1.5 * np.cos(angles), np.sin(angles)])
    return Pit(ring, float(rng.uniform(-2.0, -0.8)), a_wall(rng))


def a_scene(seed: int) -> tuple[FloatArray, NDArray[np.int64], list[Line], list[Pit]]:
    rng = np.random.default_rng(seed)
    lines = [a_line(rng, int(rng.integers(1, 7)), rng.uniform(-4, 4, 2), float(rng.uniform(0.6, 1.6)))]
    for _ in range(int(rng.integers(0, 3))):  # branches from points of the first line
        foot = lines[0].floor[int(rng.integers(0, len(lines[0].floor))), :2]
        lines.append(a_line(rng, int(rng.integers(1, 3)), foot, float(rng.uniform(0.6, 1.6))))
    pits = [a_pit(rng, lines[0].floor[-1, :2]) for _ in range(int(rng.integers(0, 2)))]
    size = 45.0
    corners = size * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)], float)
    points = np.concatenate(
        [corners, rng.uniform(-size, size, (60, 2)), rng.normal(0, 6, (int(rng.integers(20, 400)), 2))]
    )
    vertices = np.column_stack([points, 0.15 * points[:, 0] * rng.random() + rng.normal(0, 0.12, len(points))])
    return vertices, Delaunay(points).simplices.astype(np.int64), lines, pits


def check(seed: int) -> None:
    vertices, triangles, lines, pits = a_scene(seed)
    dug, facets = excavate(vertices, triangles.astype(np.int32), lines, pits)
    assert dug.volume_m3 == pytest.approx(boolean_volume(vertices, triangles, facets), rel=1e-10)
    ring = dug.outline[:, :, :2].reshape(-1, 4)
    if seed % 5 == 0:
        assert 0.5 * (ring[:, 0] * ring[:, 3] - ring[:, 2] * ring[:, 1]).sum() == pytest.approx(
            dug.area_m2, rel=1e-7
        )
        wide = cut(vertices, triangles.astype(np.int32), facets_of(lines, pits, float(vertices[:, 2].max())))
        assert wide.volume_m3 == pytest.approx(dug.volume_m3, rel=1e-11)


@pytest.mark.parametrize("seed", range(SCENES))
def test_random_scene_equals_solid_booleans(seed: int) -> None:
    check(seed)
