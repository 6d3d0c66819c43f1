"""Laws that hold for any cut, whatever the scene: moved, turned, reversed, refined, sliced, layered, deepened."""

import os

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.spatial import Delaunay

from estimate.dig.cut import Cut, cut
from estimate.dig.excavate import excavate, layer_volumes
from estimate.dig.facets import ON_LINE, facets_of
from estimate.dig.lines import Line, Pit
from estimate.dig.outline import ring_area, rings
from estimate.dig.section import Section, Wall

FloatArray = NDArray[np.float64]
TriangleArray = NDArray[np.int32]
Scene = tuple[FloatArray, TriangleArray, list[Line], list[Pit]]
TIGHT = 1e-11
seeds = st.integers(0, 100_000)
INTERPRETED = os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0")
few = settings(max_examples=3 if INTERPRETED else 25, deadline=None, derandomize=True)


def a_bank_or_ditch(rng: np.random.Generator) -> tuple[FloatArray, FloatArray, float]:
    """Return shots (k, 3) at a bank or ditch, its direction and distance (3,), and the rise beyond it [m]."""
    heading, away = rng.uniform(0, 2 * np.pi), rng.uniform(-1, 6)
    across, along = np.array([np.cos(heading), np.sin(heading)]), np.array([-np.sin(heading), np.cos(heading)])
    rise = float(rng.choice([0.0, 0.0, 1.0, 2.5]))
    steps = [(0.0, 0.0), (0.1, rise)] if rise > 0.0 else [(0.0, 0.0), (0.5, -1.0), (1.0, -0.9), (1.2, 0.0)]
    places = np.arange(-12.0, 12.1, 2.0)
    shots = [
        np.column_stack([(away + step) * across + places[:, None] * along, np.full(len(places), height)])
        for step, height in steps
    ]
    return np.concatenate(shots), np.append(across, away), rise


def a_scene(seed: int) -> Scene:
    """Return rough ground with a bank or ditch, and a line that may cross itself, often with a branch and a pit."""
    rng = np.random.default_rng(seed)
    lines = []
    start = np.zeros(2)
    for nodes in (int(rng.integers(1, 5)), 1)[: 1 + int(rng.integers(0, 2))]:
        heading = rng.uniform(0, 2 * np.pi) + np.cumsum(rng.uniform(-2.4, 2.4, nodes))
        steps = rng.choice([0.3, 2.0, 5.0], nodes)[:, None] * np.column_stack([np.cos(heading), np.sin(heading)])
        plan = start + np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])
        walls = [Wall(float(rng.choice([0, 0.5, 1, 1.3])), float(rng.choice([0, 0.4]))) for _ in range(2)]
        floor = np.column_stack([plan, -1.0 + rng.uniform(-0.3, 0.3, nodes + 1)])
        lines.append(Line(floor, Section(float(rng.uniform(0.3, 0.9)), *walls)))
        start = plan[-1] - 0.5 * steps[-1]
    angles = np.arange(5) * 2 * np.pi / 5
    ring = lines[0].floor[-1, :2] + np.column_stack([np.cos(angles), np.sin(angles)])
    pits = [Pit(ring, -1.5, Wall(float(rng.choice([0, 1]))))] if rng.random() < 0.5 else []
    corners = 40.0 * np.array([(-1, -1), (1, -1), (1, 1), (-1, 1)], float)
    points = np.concatenate([corners, rng.uniform(-40, 40, (40, 2)), rng.normal(0, 5, (120, 2))])
    shots, place, rise = a_bank_or_ditch(rng)
    beside = points @ place[:2] - place[2]
    points = points[(beside < -0.1) | (beside > 1.3) | (abs(points).max(axis=1) > 12.0)]
    heights = np.append(np.where(points @ place[:2] > place[2], rise, 0.0), shots[:, 2])
    points = np.concatenate([points, shots[:, :2]])
    vertices = np.column_stack([points, heights + 0.1 * points[:, 0] + rng.normal(0, 0.1, len(points))])
    return vertices, Delaunay(points).simplices.astype(np.int32), lines, pits


def dig(scene: Scene) -> Cut:
    return excavate(*scene)[0]


def moved(scene: Scene, angle: float, shift: FloatArray) -> Scene:
    vertices, triangles, lines, pits = scene
    c, s = np.cos(angle), np.sin(angle)
    turn = np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]])
    return (
        vertices @ turn + shift,
        triangles,
        [Line(line.floor @ turn + shift, line.section) for line in lines],
        [Pit(pit.corners @ turn[:2, :2] + shift[:2], pit.elevation + shift[2], pit.wall) for pit in pits],
    )


def assert_same(one: Cut, two: Cut, rel: float = TIGHT) -> None:
    assert one.volume_m3 == pytest.approx(two.volume_m3, rel=rel)
    assert one.area_m2 == pytest.approx(two.area_m2, rel=rel)
    assert one.tallest_face_m == pytest.approx(two.tallest_face_m, rel=1e-8)
    assert one.deepest.value_m == pytest.approx(two.deepest.value_m, rel=1e-8)


@few
@given(seeds, st.floats(0, 6.3), st.floats(-900, 900), st.floats(-900, 900), st.floats(-300, 2000))
def test_turning_and_shifting_change_nothing(seed: int, angle: float, east: float, north: float, up: float) -> None:
    scene = a_scene(seed)
    assert_same(dig(moved(scene, angle, np.array([east, north, up]))), dig(scene), 1e-9)


@few
@given(seeds)
def test_walking_the_other_way_changes_nothing(seed: int) -> None:
    vertices, triangles, lines, pits = a_scene(seed)
    whole = dig((vertices, triangles, lines, pits))
    back = dig((vertices, triangles, [line.reversed() for line in lines[::-1]], pits))
    assert_same(back, whole)
    if len(lines) == 1:
        assert back.run_volumes(0, lines[0].runs)[::-1] == pytest.approx(
            whole.run_volumes(0, lines[0].runs), abs=1e-9
        )


@few
@given(seeds)
def test_refining_triangles_changes_nothing(seed: int) -> None:
    vertices, triangles, lines, pits = a_scene(seed)
    share = np.random.default_rng(seed).dirichlet((1, 1, 1), len(triangles))
    inner = np.einsum("tk,tkc->tc", share, vertices[triangles])
    number = len(vertices) + np.arange(len(triangles), dtype=np.int32)
    finer = np.concatenate(
        [np.column_stack([triangles[:, k], triangles[:, (k + 1) % 3], number]) for k in range(3)]
    ).astype(np.int32)
    assert_same(
        dig((np.concatenate([vertices, inner]), finer, lines, pits)), dig((vertices, triangles, lines, pits))
    )


@few
@given(seeds, st.floats(0.5, 30.0))
def test_reach_beyond_daylight_changes_nothing(seed: int, further: float) -> None:
    vertices, triangles, lines, pits = a_scene(seed)
    top = float(vertices[:, 2].max())
    whole = dig((vertices, triangles, lines, pits))
    assert_same(cut(vertices, triangles, facets_of(lines, pits, top)), whole)
    assert_same(cut(vertices, triangles, facets_of(lines, pits, top + further)), whole)


@few
@given(seeds, st.lists(st.floats(0.01, 20.0), min_size=1, max_size=6))
def test_station_slices_sum_to_the_whole(seed: int, stations: list[float]) -> None:
    vertices, triangles, lines, pits = a_scene(seed)
    whole = dig((vertices, triangles, lines, pits))
    sliced = [line.split_at(np.array(stations)) for line in lines]
    parts = dig((vertices, triangles, sliced, pits))
    assert_same(parts, whole)
    runs = sum(parts.run_volumes(i, line.runs).sum() for i, line in enumerate(sliced))
    assert runs + sum(parts.pit_volume(i) for i in range(len(pits))) == pytest.approx(whole.volume_m3, rel=TIGHT)


@few
@given(seeds, st.floats(0.0, 0.5), st.floats(0.0, 0.5))
def test_layers_sum_to_the_whole(seed: int, first: float, second: float) -> None:
    vertices, triangles, lines, pits = a_scene(seed)
    whole, facets = excavate(vertices, triangles, lines, pits)
    layers = layer_volumes(vertices, triangles, facets, whole, [first, second])
    assert layers.sum() == pytest.approx(whole.volume_m3, rel=TIGHT)
    assert (layers >= -1e-9).all()
    rounding = 1e-12 * whole.volume_m3  # a layer is a difference of two volumes
    assert layers[0] <= first * whole.area_m2 * (1 + 1e-9) + rounding


@few
@given(seeds)
def test_weights_are_the_derivative_and_sum_to_the_area(seed: int) -> None:
    vertices, triangles, lines, pits = a_scene(seed)
    whole, facets = excavate(vertices, triangles, lines, pits)
    assert whole.weights.sum() == pytest.approx(whole.area_m2, rel=TIGHT)
    for vertex in np.argsort(whole.weights)[-3:]:
        lift = np.zeros_like(vertices)
        lift[vertex, 2] = 1e-6
        up, down = (cut(vertices + sign * lift, triangles, facets).volume_m3 for sign in (1, -1))
        assert (up - down) / 2e-6 == pytest.approx(whole.weights[vertex], rel=1e-5, abs=1e-6)


@few
@given(seeds, st.floats(0.01, 1.0))
def test_deeper_is_more_and_together_is_at_most_the_sum(seed: int, deeper: float) -> None:
    vertices, triangles, lines, pits = a_scene(seed)
    whole = dig((vertices, triangles, lines, pits))
    down = np.array([0.0, 0.0, deeper])
    low = [Line(line.floor - down, line.section) for line in lines]
    more = dig((vertices, triangles, low, pits)).volume_m3
    by_lines = whole.facet_volume[whole.owner[:, 0] == ON_LINE].sum()
    assert more >= whole.volume_m3 * (1 - TIGHT)
    assert more > whole.volume_m3 or by_lines == 0.0  # a line may hang in the air over a ditch
    alone = [dig((vertices, triangles, [line], [])) for line in lines]
    alone += [dig((vertices, triangles, [], [pit])) for pit in pits]
    assert whole.volume_m3 <= sum(one.volume_m3 for one in alone) * (1 + TIGHT)
    assert whole.volume_m3 >= max(one.volume_m3 for one in alone) * (1 - TIGHT)


@few
@given(seeds)
def test_outline_encloses_the_area_and_the_surface_lies_over_it(seed: int) -> None:
    vertices, triangles, lines, pits = a_scene(seed)
    whole, _ = excavate(vertices, triangles, lines, pits, surface=True)
    assert sum(ring_area(ring) for ring in rings(whole)) == pytest.approx(whole.area_m2, rel=1e-7)
    a, b, c = whole.surface.transpose(1, 0, 2)
    areas = 0.5 * ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0])
    assert areas.sum() == pytest.approx(whole.area_m2, rel=1e-9)
    assert (areas > -1e-9).all()
