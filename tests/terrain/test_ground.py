"""Ground: elevation and slope against planes and another interpolator, doubles, breaklines, coordinates."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import LinearNDInterpolator

from terrain.arrays import Floats
from terrain.build import build_ground
from terrain.errors import Cancelled, GeometryError, SurveyError
from terrain.ground import (
    Ground,
    elevation,
    hull_edges,
    plan_area,
    slope,
    to_local,
    to_survey,
    triangle_areas,
    triangle_at,
)
from terrain.order import spatial_order
from terrain.points import SurveyPoints, local_origin, survey_points
from terrain.synthetic import ground_of, hilly_ground, on_shape, plane_ground, random_points
from terrain.units import FT, FTUS, M


def shots(rows: list[list[float]]) -> SurveyPoints:
    return survey_points(np.array(rows), M, M, "yard.csv", "shots")


@given(st.floats(-2.0, 2.0), st.floats(-2.0, 2.0), st.floats(-100.0, 100.0), st.integers(0, 1000))
@settings(max_examples=40, deadline=None)
def test_a_plane_is_read_exactly(east: float, north: float, level: float, seed: int) -> None:
    points = on_shape(random_points(60, 80.0, seed), lambda e, n: level + east * e + north * n)
    ground = ground_of(points)
    wanted = np.random.default_rng(seed + 1).uniform(-40.0, 40.0, (50, 2))
    np.testing.assert_allclose(
        elevation(ground, wanted), level + wanted @ np.array([east, north]), rtol=0.0, atol=1e-10
    )
    np.testing.assert_allclose(slope(ground, wanted), np.tile([east, north], (50, 1)), rtol=0.0, atol=1e-8)


def test_elevation_agrees_with_another_interpolator() -> None:
    ground = hilly_ground(3000)
    wanted = np.random.default_rng(4).uniform(-110.0, 110.0, (5000, 2))
    other = LinearNDInterpolator(ground.vertices[:, :2], ground.vertices[:, 2])(wanted)
    np.testing.assert_allclose(elevation(ground, wanted), other, rtol=0.0, atol=1e-9)


def test_vertices_and_hull_count_as_inside_and_outside_is_nan() -> None:
    ground = hilly_ground(800)
    np.testing.assert_array_equal(elevation(ground, ground.vertices[:, :2]), ground.vertices[:, 2])
    edges = ground.vertices[hull_edges(ground)]
    np.testing.assert_allclose(
        elevation(ground, edges.mean(axis=1)[:, :2]), edges.mean(axis=1)[:, 2], rtol=0.0, atol=1e-9
    )
    outside = np.array([[100.001, 0.0], [0.0, -100.001], [1e9, 0.0], [np.nan, 0.0], [np.inf, 0.0]])
    assert np.isnan(elevation(ground, outside)).all()
    assert (triangle_at(ground, outside) == -1).all()


def test_no_points_asked_no_points_given() -> None:
    assert elevation(hilly_ground(50), np.zeros((0, 2))).shape == (0,)
    with pytest.raises(GeometryError):
        elevation(hilly_ground(50), np.zeros(2))


def test_area_is_that_of_the_square() -> None:
    assert plan_area(hilly_ground(500, side=40.0)) == pytest.approx(1600.0, rel=1e-12)


def test_the_extent_is_told_once_and_for_all() -> None:
    ground = hilly_ground(500, side=40.0)
    height = ground.vertices[:, 2]
    assert (ground.lowest, ground.highest) == (height.min(), height.max())
    assert ground.area == triangle_areas(ground).sum()
    given = Ground(ground.vertices, ground.triangles, ground.neighbours, area=5.0, lowest=1.0, highest=2.0)
    assert (given.area, given.lowest, given.highest) == (5.0, 1.0, 2.0)


def test_the_arrays_of_a_ground_and_of_points_cannot_be_written() -> None:
    rows = np.array([[0.0, 0.0, 1.0], [9.0, 0.0, 2.0], [0.0, 9.0, 3.0]])
    points = SurveyPoints(rows, (0.0, 0.0, 0.0), M, M, "a", "shots")
    ground = build_ground(points)
    arrays = (points.coordinates, ground.vertices, ground.triangles, ground.neighbours, ground.point, *ground.tree)
    for one in arrays:
        with pytest.raises(ValueError, match="read-only"):
            one[0] = 0
    rows[0, 2] = 5.0  # what the caller made stays his own


def test_the_order_of_the_points_changes_nothing() -> None:
    points = on_shape(random_points(300, 50.0, 8), lambda e, n: e * n)
    one = ground_of(points)
    other = ground_of(points[np.random.default_rng(1).permutation(len(points))])
    wanted = np.random.default_rng(2).uniform(-25.0, 25.0, (200, 2))
    np.testing.assert_array_equal(elevation(one, wanted), elevation(other, wanted))
    np.testing.assert_array_equal(points[one.point], one.vertices)


def test_points_of_one_cell_of_the_order_follow_by_place_and_not_by_file() -> None:
    plan = np.concatenate([np.random.default_rng(3).uniform(0.0, 0.01, (40, 2)), [[1e5, 1e5]]])
    mixed = np.random.default_rng(4).permutation(plan)
    np.testing.assert_array_equal(plan[spatial_order(plan)], mixed[spatial_order(mixed)])


def test_doubles_that_agree_are_averaged_and_others_take_the_lowest() -> None:
    ground = build_ground(shots([[0, 0, 1], [9, 0, 1], [0, 9, 1], [0, 9, 1.02], [9, 0, 3], [9, 0.00005, 2]]))
    assert sorted((ground.vertices[:, 2] + ground.origin[2]).round(9).tolist()) == [1.0, 1.0, 1.01]
    assert "3 double points removed" in ground.notes[-1]
    assert "2.00 m" in ground.notes[-1]


@pytest.mark.parametrize(
    "rows",
    [
        [[0, 0, 1], [1, 0, 1]],
        [[0, 0, 1], [1, 0, 1], [0, 0, 1]],
        [[0, 0, 1], [1, 1, 1], [2, 2, 5], [7, 7, 5]],
    ],
)
def test_too_few_points_or_one_line_are_refused(rows: list[list[float]]) -> None:
    with pytest.raises(SurveyError) as caught:
        build_ground(shots(rows))
    assert caught.value.remedy


def test_a_breakline_is_followed_by_the_ground() -> None:
    points = SurveyPoints(
        on_shape(random_points(400, 40.0, 2), lambda e, n: 0.0 * e), (0, 0, 0), M, M, "a", "shots"
    )
    ridge = np.array([[-15.0, -10.0, 1.0], [0.0, 0.0, 2.0], [15.0, 4.0, 1.0]])
    cross = np.array([[-10.0, 12.0, 1.0], [5.0, -12.0, 1.0]])
    ground = build_ground(points, [ridge, cross])
    share = np.linspace(0.0, 1.0, 41)[:, None]
    along = ridge[1] + share * (ridge[2] - ridge[1])
    np.testing.assert_allclose(elevation(ground, along[:, :2]), along[:, 2], rtol=0.0, atol=2e-3)
    with pytest.raises(GeometryError):
        build_ground(points, [np.array([[0.0, 0.0, 1.0]])])


def test_crossing_random_breaklines_never_fail() -> None:
    rng = np.random.default_rng(17)
    for _ in range(25):
        points = np.column_stack([random_points(200, 30.0, int(rng.integers(1_000_000))), np.zeros(200)])
        lines = [rng.uniform(-15.0, 15.0, (int(rng.integers(2, 6)), 3)) for _ in range(4)]
        ground = build_ground(SurveyPoints(points, (0, 0, 0), M, M, "a", "shots"), lines)
        assert plan_area(ground) == pytest.approx(900.0, rel=1e-9)


def test_the_origin_is_taken_off_before_the_feet_are_turned() -> None:
    far = np.array([2_400_000.25, 1_200_000.5, 900.125])
    rows = np.array([[0.0, 0, 0], [10, 0, 1], [0, 10, 2], [10, 10, 3]]) + far
    ground = build_ground(survey_points(rows, FTUS, FT, "a.csv", "shots"))
    np.testing.assert_allclose(to_survey(ground, ground.vertices), rows[ground.point], rtol=0.0, atol=1e-9)
    local = to_local(ground, rows)
    np.testing.assert_allclose(local[1] - local[0], [10 * FTUS.metres, 0.0, FT.metres], rtol=0.0, atol=1e-9)
    assert to_local(ground, rows[:, :2]).shape == (4, 2)


def test_points_without_a_number_are_refused() -> None:
    for rows in (np.zeros((0, 3)), np.array([[0.0, np.nan, 1.0]])):
        with pytest.raises(SurveyError):
            survey_points(rows, M, M, "a.csv", "shots")
    assert local_origin(np.array([[1e6, 2.0, 3.0]])) == (1e6, 2.0, 3.0)


class Stopper:
    """A watch that cancels at the first step."""

    def step(self, name: str, done: float, total: float) -> None:
        raise Cancelled(name)


def test_building_can_be_cancelled() -> None:
    rows: Floats = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]])
    with pytest.raises(Cancelled):
        build_ground(survey_points(rows, M, M, "a", "shots"), watch=Stopper())
    with pytest.raises(Cancelled):
        elevation(plane_ground(0.0, 0.0, 0.0), np.zeros((100_001, 2)), Stopper())
