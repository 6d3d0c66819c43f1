"""Drape: nodes at every triangle edge, exact lengths on planes, the same from both ends, NaN off the ground."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from terrain.arrays import Floats
from terrain.drape import drape, elevation_along, ground_length, off_ground
from terrain.errors import GeometryError
from terrain.ground import Ground, elevation
from terrain.synthetic import grid_points, ground_of, hilly_ground, on_shape, plane_ground, random_points

HILLS = hilly_ground(1500, side=100.0)


def lines(limit: float, most: int = 5) -> st.SearchStrategy[Floats]:
    pair = st.tuples(st.floats(-limit, limit), st.floats(-limit, limit))
    return st.lists(pair, min_size=2, max_size=most, unique=True).map(lambda rows: np.array(rows))


def plan_length(line: Floats) -> float:
    return float(np.hypot(*np.diff(line, axis=0).T).sum())


@given(lines(49.0), st.floats(-1.0, 1.0), st.floats(-1.0, 1.0))
@settings(max_examples=60, deadline=None)
def test_the_length_on_a_plane_is_the_closed_form(line: Floats, east: float, north: float) -> None:
    ground = plane_ground(east, north, 3.0, side=100.0, step=7.0)
    steps = np.diff(line, axis=0)
    rise = steps @ np.array([east, north])
    truth = float(np.sqrt((steps**2).sum(axis=1) + rise**2).sum())
    assert ground_length(drape(ground, line)) == pytest.approx(truth, rel=1e-11, abs=1e-9)


@given(lines(60.0))
@settings(max_examples=60, deadline=None)
def test_nodes_stand_on_the_ground_and_between_them_it_is_straight(line: Floats) -> None:
    laid = drape(HILLS, line)
    assert (np.diff(laid.stations) > 0.0).all()
    assert laid.stations[-1] == pytest.approx(plan_length(line), rel=1e-12, abs=1e-8)
    found = elevation(HILLS, laid.points[:, :2])
    both = np.isfinite(found) & np.isfinite(laid.points[:, 2])
    np.testing.assert_allclose(found[both], laid.points[both, 2], rtol=0.0, atol=1e-8)
    middles = 0.5 * (laid.points[1:] + laid.points[:-1])
    long = np.diff(laid.stations) > 1e-5
    under = elevation(HILLS, middles[:, :2])[long]
    np.testing.assert_allclose(under, middles[long, 2], rtol=0.0, atol=1e-8)


@given(lines(60.0))
@settings(max_examples=60, deadline=None)
def test_the_line_reversed_has_the_same_nodes(line: Floats) -> None:
    laid, back = drape(HILLS, line), drape(HILLS, line[::-1])
    assert len(laid.stations) == len(back.stations)
    np.testing.assert_allclose(back.points[::-1], laid.points, rtol=0.0, atol=1e-8)


def crossings_another_way(ground: Ground, line: Floats) -> Floats:
    """Return the stations (n,) metres of all crossings, found with a tree of edges."""
    pairs = np.concatenate([ground.triangles[:, [0, 1]], ground.triangles[:, [1, 2]], ground.triangles[:, [2, 0]]])
    pairs = np.unique(np.sort(pairs, axis=1), axis=0)
    edges = shapely.linestrings(ground.vertices[pairs][:, :, :2])
    path = shapely.LineString(line)
    near = shapely.STRtree(edges).query(path, predicate="intersects")
    places = shapely.intersection(edges[near], path)
    return np.sort(shapely.line_locate_point(path, places[shapely.get_type_id(places) == 0]))


def test_the_crossings_are_those_of_another_library() -> None:
    rng = np.random.default_rng(6)
    for _ in range(20):
        line = rng.uniform(-49.0, 49.0, (2, 2))
        laid = drape(HILLS, line)
        np.testing.assert_allclose(laid.stations[1:-1], crossings_another_way(HILLS, line), rtol=0.0, atol=1e-7)


def test_along_edges_and_through_vertices() -> None:
    ground = ground_of(on_shape(grid_points(20.0, 5.0), lambda e, n: np.abs(e) + 0.1 * n))
    for north in (-10.0, 0.0, 5.0, 10.0):  # along rows of edges, two of them the hull
        for line in ([[-10.0, north], [10.0, north]], [[10.0, north], [-10.0, north]]):
            laid = drape(ground, np.array(line))
            assert {-10.0, -5.0, 0.0, 5.0, 10.0} <= set(laid.points[:, 0].round(9).tolist())
            assert ground_length(laid) == pytest.approx(20.0 * np.sqrt(2.0), rel=1e-12)
            assert len(off_ground(laid)) == 0
    diagonal = drape(ground, np.array([[-10.0, -10.0], [10.0, 10.0]]))
    np.testing.assert_allclose(
        diagonal.points[:, 2], np.abs(diagonal.points[:, 0]) + 0.1 * diagonal.points[:, 1], atol=1e-12
    )


@pytest.mark.parametrize("angle", [0.0, 0.3, 1.1, 2.9])
def test_along_the_hull_of_a_turned_grid_the_line_stays_on_the_ground(angle: float) -> None:
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    ground = ground_of(on_shape(grid_points(20.0, 2.5) @ turn, lambda e, n: 0.0 * e))
    side = np.array([[-10.0, -10.0], [10.0, -10.0], [10.0, 10.0], [-10.0, 10.0], [-10.0, -10.0]]) @ turn
    assert ground_length(drape(ground, side)) == pytest.approx(80.0, rel=1e-9)


def test_leaving_the_ground_is_told_by_station() -> None:
    ground = plane_ground(0.1, 0.0, 0.0, side=20.0, step=5.0)
    laid = drape(ground, np.array([[-15.0, 1.0], [5.0, 1.0], [5.0, 15.0], [-5.0, 15.0], [-5.0, 1.0]]))
    np.testing.assert_allclose(off_ground(laid), [[0.0, 5.0], [29.0, 49.0]], rtol=0.0, atol=1e-9)
    assert np.isnan(ground_length(laid))
    assert np.isnan(elevation_along(laid, np.array([2.0, 40.0, -1.0, 1e3]))).all()
    np.testing.assert_allclose(elevation_along(laid, np.array([6.0, 20.0])), [-0.9, 0.5], rtol=0.0, atol=1e-12)


def test_a_notch_in_the_ground_is_seen() -> None:
    corners = np.array([[0.0, 0, 0], [10, 0, 0], [5, 3, 0], [10, 10, 0], [0, 10, 0]])
    ground = ground_of(corners)
    keep = np.flatnonzero(~np.isin(ground.triangles, np.flatnonzero(ground.point == 4)).any(axis=1))
    notched = Ground(ground.vertices, ground.triangles[keep], np.full((len(keep), 3), -1, dtype=np.int32))
    laid = drape(notched, np.array([[0.0, 2.9], [10.0, 2.9]]))
    assert np.isfinite(laid.points[[0, -1], 2]).any()


def test_empty_and_single_lines() -> None:
    ground = plane_ground(0.0, 0.0, 1.0)
    empty = drape(ground, np.zeros((0, 2)))
    assert len(empty.stations) == 0
    assert ground_length(empty) == 0.0
    assert np.isnan(elevation_along(empty, np.zeros(1))).all()
    assert len(off_ground(empty)) == 0
    single = drape(ground, np.array([[1.0, 2.0]]))
    assert single.points.tolist() == [[1.0, 2.0, 1.0]]
    stand = drape(ground, np.array([[1.0, 2.0], [1.0, 2.0]]))
    assert ground_length(stand) == 0.0
    stutter = drape(ground, np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 4.0], [6.0, 8.0]]))
    assert ground_length(stutter) == pytest.approx(10.0, rel=1e-14)
    assert (np.diff(stutter.stations) > 0.0).all()


@pytest.mark.parametrize("line", [np.zeros((2, 3)), np.array([[0.0, np.nan], [1.0, 1.0]]), np.zeros(4)])
def test_lines_without_meaning_are_refused(line: Floats) -> None:
    with pytest.raises(GeometryError):
        drape(HILLS, line)


def test_the_segment_of_each_node() -> None:
    laid = drape(HILLS, np.array([[0.0, 0.0], [20.0, 0.0], [20.0, 20.0]]))
    assert laid.segment[0] == 0
    assert laid.segment[-1] == 1
    assert laid.stations[laid.segment == 1][0] == pytest.approx(20.0, abs=1e-12)
    assert (np.diff(laid.segment) >= 0).all()


def test_random_points_hold_their_corners() -> None:
    assert np.abs(random_points(10, 8.0, 1)[:4]).tolist() == [[4.0, 4.0]] * 4
