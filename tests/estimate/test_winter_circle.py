"""Water in straight pieces of round pipe, against quadrature and against planes of geometry."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some
from scipy.integrate import quad

from estimate.profile.circle import filled_area, filled_area_integral, water_in_pieces

BORE = 0.0525


@given(some.floats(0.0, 2.5))
def test_the_integral_is_that_of_the_area(share: float) -> None:
    depth = share * BORE
    value = quad(
        lambda t: float(filled_area(np.array(t), BORE)), 0.0, depth, points=[min(depth, BORE)], epsabs=1e-15
    )
    assert float(filled_area_integral(np.array(depth), BORE)) == pytest.approx(value[0], rel=1e-7, abs=1e-13)


@given(some.floats(0.0, 6.0), some.floats(-1.0, 1.0), some.floats(-0.3, 1.3))
def test_a_piece_equals_quadrature_over_cuts_square_to_the_pipe(run: float, rise: float, level: float) -> None:
    length = math.hypot(run, rise)
    found = float(water_in_pieces(np.array([0.0, run]), np.array([0.0, rise]), np.array([level]), BORE)[0])
    if run < 1e-6:
        return
    places = (np.arange(20_000) + 0.5) / 20_000
    cuts = filled_area((level - places * rise) * length / run, BORE)
    assert found == pytest.approx(float(cuts.mean()) * length, abs=2e-4 * BORE**2 * max(length, 1e-9))


def test_upright_level_and_full_pieces() -> None:
    area = math.pi * BORE**2 / 4.0
    upright = water_in_pieces(np.zeros(3), np.array([1.0, 0.0, 2.0]), np.array([0.4, 0.4]), BORE)
    np.testing.assert_allclose(upright, [area * 0.4, area * 0.4])
    level = water_in_pieces(np.array([0.0, 3.0]), np.zeros(2), np.array([BORE / 2.0]), BORE)
    np.testing.assert_allclose(level, [area * 1.5])
    full = water_in_pieces(np.array([0.0, 3.0]), np.array([0.0, 4.0]), np.array([np.inf]), BORE)
    np.testing.assert_allclose(full, [area * 5.0])
    dry = water_in_pieces(np.array([0.0, 3.0]), np.array([0.0, 4.0]), np.array([-np.inf]), BORE)
    np.testing.assert_allclose(dry, [0.0])


def test_a_steep_piece_tends_to_the_upright_one() -> None:
    nearly = water_in_pieces(np.array([0.0, 1e-7]), np.array([0.0, 2.0]), np.array([0.7]), BORE)
    upright = water_in_pieces(np.zeros(2), np.array([0.0, 2.0]), np.array([0.7]), BORE)
    np.testing.assert_allclose(nearly, upright, rtol=1e-6)


@given(some.integers(0, 10_000))
def test_cutting_a_piece_in_two_keeps_its_water(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rise, level, share = rng.normal(0.0, 0.2), rng.uniform(-0.1, 0.3), rng.uniform(0.01, 0.99)
    whole = water_in_pieces(np.array([0.0, 2.0]), np.array([0.0, rise]), np.array([level]), BORE)
    nodes, heights = np.array([0.0, 2.0 * share, 2.0]), np.array([0.0, rise * share, rise])
    parts = water_in_pieces(nodes, heights, np.array([level, level]), BORE)
    assert parts.sum() == pytest.approx(float(whole[0]), rel=1e-9, abs=1e-15)
