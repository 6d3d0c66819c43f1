"""The ground for drawings, against closed forms."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from estimate.record import Estimate
from terrain.ground import Ground
from terrain.synthetic import plane_ground
from viewer.relief import (
    Box,
    Surface,
    contour_levels,
    crop,
    hillshade,
    inside_rings,
    round_step,
    vertex_normals,
    work_box,
)


def test_crop_keeps_all_that_touches_the_box(ground: Ground) -> None:
    box = Box(-5.0, -4.0, 6.0, 7.0)
    piece = crop(ground, box)
    corners = ground.vertices[ground.triangles]
    middle = corners[:, :, :2].mean(axis=1)
    within = ((middle > (box.west, box.south)) & (middle < (box.east, box.north))).all(axis=1)
    kept = {tuple(sorted(map(tuple, one))) for one in piece.vertices[piece.triangles].round(9).tolist()}
    assert all(tuple(sorted(map(tuple, one))) in kept for one in corners[within].round(9).tolist())
    assert len(piece.triangles) < len(ground.triangles)
    assert len(np.unique(piece.triangles)) == len(piece.vertices)


def test_crop_far_away_is_empty(ground: Ground) -> None:
    assert len(crop(ground, Box(1e4, 1e4, 2e4, 2e4)).triangles) == 0


@pytest.mark.parametrize(("east", "north"), [(0.0, 0.0), (0.3, -0.1), (-1.0, 2.0)])
def test_normals_of_a_plane(east: float, north: float) -> None:
    plane = plane_ground(east, north, 5.0, side=20.0, step=5.0)
    normals = vertex_normals(Surface(plane.vertices, plane.triangles))
    exact = np.array([-east, -north, 1.0]) / math.sqrt(1.0 + east**2 + north**2)
    assert normals == pytest.approx(np.broadcast_to(exact, normals.shape), abs=1e-12)


def test_light_from_the_north_west_by_lamberts_law() -> None:
    # Lambert's cosine law: full light where the face looks at the sun, none beyond a right angle
    sun = np.array([[-0.5, 0.5, math.sqrt(0.5)]])
    assert hillshade(sun)[0] == pytest.approx(1.0)
    assert hillshade(-sun)[0] == 0.0
    assert hillshade(np.array([[0.0, 0.0, 1.0]]))[0] == pytest.approx(math.sin(math.radians(45.0)))


@given(st.floats(-1e4, 1e4), st.floats(1e-3, 1e3), st.integers(2, 40))
def test_levels_are_round_inside_and_about_as_many_as_wanted(low: float, span: float, wanted: int) -> None:
    levels = contour_levels(low, low + span, wanted)
    assert len(levels) <= wanted + 1
    assert len(levels) >= wanted / 2.5 - 1
    rounding = 1e-9 * max(abs(low), span)
    assert ((levels >= low - rounding) & (levels <= low + span + rounding)).all()
    if len(levels) > 1:
        step = round_step(span / wanted)
        assert np.diff(levels) == pytest.approx(np.full(len(levels) - 1, step), rel=1e-6, abs=1e-9 * abs(low))


def test_level_ground_has_no_contours() -> None:
    assert len(contour_levels(5.0, 5.0)) == 0


def test_inside_rings_even_odd() -> None:
    square = np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 4.0], [0.0, 4.0]])
    hole = np.array([[1.0, 1.0], [2.0, 1.0], [2.0, 2.0], [1.0, 2.0]])
    points = np.array([[0.5, 0.5], [1.5, 1.5], [3.0, 3.0], [5.0, 5.0]])
    assert inside_rings(points, (square, hole)).tolist() == [True, False, True, False]


def test_work_box_holds_the_work(estimate: Estimate) -> None:
    box = work_box(estimate)
    work = np.concatenate([estimate.route.points_m, *estimate.dig.outline_m])
    assert (work > (box.west, box.south)).all()
    assert (work < (box.east, box.north)).all()
