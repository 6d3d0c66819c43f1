"""Triangulation: convex hull kept, neighbours right, sorted, the same as the plain Delaunay of another library."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import ConvexHull, Delaunay

from terrain.arrays import Floats, Indices
from terrain.errors import GeometryError
from terrain.synthetic import grid_points, random_points
from terrain.triangles import triangulate


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
