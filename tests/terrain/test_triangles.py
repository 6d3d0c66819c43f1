"""Triangulation: convex hull kept, neighbours right, sorted, the same as the plain Delaunay of another library."""

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull, Delaunay

from terrain.arrays import Floats, Indices
from terrain.build import build_ground
from terrain.errors import Cancelled, GeometryError
from terrain.hull import THIN, peel_slivers
from terrain.points import SurveyPoints
from terrain.synthetic import grid_points, random_points
from terrain.triangles import triangulate
from terrain.units import M


def areas(points: Floats, triangles: Indices) -> Floats:
    a = points[triangles[:, 0]]
    b = points[triangles[:, 1]] - a
    c = points[triangles[:, 2]] - a
    return np.asarray(0.5 * (b[:, 0] * c[:, 1] - b[:, 1] * c[:, 0]))


def turned(points: Floats, angle: float) -> Floats:
    c, s = np.cos(angle), np.sin(angle)
    return np.asarray(points @ np.array([[c, s], [-s, c]]))


def clouds() -> dict[str, Floats]:
    rng = np.random.default_rng(11)
    turn = np.linspace(0.0, 2.0 * np.pi, 601)[:-1]
    return {
        "random": rng.uniform(0.0, 100.0, (4000, 2)),
        "grid": grid_points(100.0, 5.0),
        "turned grid": turned(grid_points(100.0, 5.0), 0.3),
        "circle": 50.0 * np.column_stack([np.cos(turn), np.sin(turn)]),
        "normal": rng.normal(0.0, 30.0, (2000, 2)),
        "strip": np.column_stack([rng.uniform(0.0, 100.0, 400), rng.uniform(0.0, 0.01, 400)]),
        "centimetres": np.asarray(np.unique(rng.integers(0, 500, (9000, 2)), axis=0) * 0.01, dtype=np.float64),
    }


@pytest.mark.parametrize("name", clouds())
def test_the_hull_is_filled_and_every_point_used(name: str) -> None:
    points = clouds()[name]
    triangles, _ = triangulate(points)
    size = areas(points, triangles)
    assert size.min() > 0.0
    assert size.sum() == pytest.approx(ConvexHull(points).volume, rel=1e-9)
    assert len(np.unique(triangles)) == len(points)


@pytest.mark.parametrize("name", clouds())
def test_neighbours_lie_across_the_edge_opposite(name: str) -> None:
    triangles, neighbours = triangulate(clouds()[name])
    for corner in range(3):
        here = np.flatnonzero(neighbours[:, corner] >= 0)
        there = neighbours[here, corner]
        edge = np.sort(np.delete(triangles[here], corner, axis=1), axis=1)
        shared = (triangles[there][:, :, None] == edge[:, None, :]).any(axis=1)
        assert shared.all()
        assert ((neighbours[there] == here[:, None]).sum(axis=1) == 1).all()


def test_the_same_triangles_as_another_library() -> None:
    points = clouds()["random"]
    ours = np.unique(np.sort(triangulate(points)[0], axis=1), axis=0)
    theirs = np.unique(np.sort(Delaunay(points).simplices, axis=1), axis=0)
    np.testing.assert_array_equal(ours, theirs)


def test_triangles_that_follow_each_other_are_near() -> None:
    points = random_points(20_000, 100.0, 3)
    triangles, _ = triangulate(points)
    middles = points[triangles].mean(axis=1)
    assert np.median(np.hypot(*np.diff(middles, axis=0).T)) < 1.5


@given(st.integers(0, 10_000), st.integers(3, 40))
@settings(max_examples=40, deadline=None)
def test_any_few_points_fill_their_hull(seed: int, count: int) -> None:
    points = np.random.default_rng(seed).uniform(-10.0, 10.0, (count, 2))
    triangles, _ = triangulate(points)
    assert areas(points, triangles).sum() == pytest.approx(ConvexHull(points).volume, rel=1e-9)


def test_constraints_become_edges() -> None:
    points = random_points(500, 100.0, 5)
    line = np.array([[-40.0, -30.0], [10.0, 5.0], [45.0, 40.0]])
    every = np.concatenate([points, line])
    triangles, _ = triangulate(every, np.array([[500, 501], [501, 502]]))
    pairs = np.concatenate([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]])
    edges = {tuple(pair) for pair in np.sort(pairs, axis=1).tolist()}
    assert {(500, 501), (501, 502)} <= edges


@pytest.mark.parametrize(
    "points",
    [
        np.zeros((0, 2)),
        np.array([[0.0, 0.0], [1.0, 0.0]]),
        np.array([[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]]),
        np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [1.0, 0.0]]),
    ],
)
def test_what_cannot_be_triangulated_is_told(points: Floats) -> None:
    with pytest.raises(GeometryError):
        triangulate(points)


def test_crossing_constraints_are_told() -> None:
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    with pytest.raises(GeometryError):
        triangulate(square, np.array([[0, 2], [1, 3]]))


class Counting:
    """A watch that keeps its steps, and stops at one of them."""

    def __init__(self, stop: int = -1) -> None:
        self.seen: list[tuple[str, float]] = []
        self.stop = stop

    def step(self, name: str, done: float, total: float) -> None:
        assert 0 <= done <= total
        if len(self.seen) == self.stop:
            raise Cancelled(name)
        self.seen.append((name, done))


def test_every_stage_asks_the_watch_and_can_be_stopped() -> None:
    points = SurveyPoints(
        np.column_stack([random_points(50, 9.0, 1), np.zeros(50)]), (0.0, 0.0, 0.0), M, M, "a", "shots"
    )
    whole = Counting()
    build_ground(points, watch=whole)
    assert len(set(whole.seen)) == len(whole.seen) == 11
    for stop in range(len(whole.seen)):
        with pytest.raises(Cancelled):
            build_ground(points, watch=Counting(stop))


def peeled_round_by_round(points: Floats, triangles: Indices) -> list[tuple[int, ...]]:
    """Return the triangles that stay, sorted: in each round all of the boundary are looked at anew."""
    stay = [tuple(row) for row in triangles.tolist()]
    while True:
        edges = Counter(frozenset((row[k], row[k - 1])) for row in stay for k in range(3))
        thin = set()
        for row in stay:
            for k in range(3):
                a, b, c = (points[row[(k + turn) % 3]] for turn in range(3))
                double = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
                if edges[frozenset((row[k], row[(k + 1) % 3]))] == 1 and double < THIN * np.hypot(*(b - a)):
                    thin.add(row)
        if not thin or len(thin) == len(stay):
            return sorted(stay)
        stay = [row for row in stay if row not in thin]


@pytest.mark.parametrize("angle", [0.3, 1.1, 2.5])
def test_slivers_are_peeled_as_round_by_round(angle: float) -> None:
    points = turned(grid_points(60.0, 2.0), angle)
    with pytest.MonkeyPatch.context() as patch:  # the triangles as they are before any is peeled
        patch.setattr(
            "terrain.triangles.peel_slivers", lambda points, triangles, neighbours: (triangles, neighbours)
        )
        triangles, neighbours = triangulate(points)
    assert len(triangles) > 1800
    left_over, beside = peel_slivers(points, triangles, neighbours)
    assert sorted(tuple(row) for row in left_over.tolist()) == peeled_round_by_round(points, triangles)
    assert len(left_over) == 1800  # two in each cell of the grid
    for corner in range(3):
        rows = np.flatnonzero(beside[:, corner] >= 0)
        assert ((beside[beside[rows, corner]] == rows[:, None]).sum(axis=1) == 1).all()


def test_of_slivers_alone_the_last_stay() -> None:
    points = np.array([[0.0, 0.0], [1.0, 1e-12], [2.0, 0.0], [1.0, -1e-12]])
    triangles = np.array([[0, 2, 1], [0, 3, 2]], dtype=np.int32)
    neighbours = np.array([[-1, -1, 1], [-1, 0, -1]], dtype=np.int32)
    assert len(peel_slivers(points, triangles, neighbours)[0]) == 2
