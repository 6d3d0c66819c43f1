"""Laws of the highest invert: a linear programme, a search on a grid, and what must not matter."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some
from scipy.optimize import linprog

from estimate.profile.extremes import TurningPoint, turning_points
from estimate.profile.invert import highest_invert
from estimate.route.nodes import with_nodes
from terrain.arrays import Floats

THRESHOLD = 0.1


def random_ground(seed: int, count: int = 40) -> tuple[Floats, Floats]:
    rng = np.random.default_rng(seed)
    station = np.concatenate([[0.0], np.cumsum(rng.uniform(0.1, 3.0, count - 1))])
    height = np.cumsum(rng.normal(0.0, 0.12, count)) + 0.5 * np.sin(station / 7.0)
    return station, height


def flow_signs(station: Floats, pattern: tuple[TurningPoint, ...]) -> Floats:
    """Return (n - 1,) +1 where the pipe must fall along a piece, -1 where it must rise."""
    turns = np.array([one.station for one in pattern])
    which = np.searchsorted(turns, 0.5 * (station[:-1] + station[1:])) - 1
    return np.array([-1.0 if pattern[one].low else 1.0 for one in which])


def by_linear_programme(station: Floats, ceiling: Floats, pattern: tuple[TurningPoint, ...], fall: float) -> Floats:
    """Return the invert of greatest sum under the same rules, from the HiGHS solver."""
    count, signs = len(station), flow_signs(station, pattern)
    rows = np.zeros((count - 1, count))
    rows[np.arange(count - 1), np.arange(count - 1)] = -signs
    rows[np.arange(count - 1), np.arange(1, count)] = signs
    solved = linprog(
        -np.ones(count),
        A_ub=rows,
        b_ub=-fall * np.diff(station),
        bounds=[(None, top) for top in ceiling.tolist()],
        method="highs",
    )
    assert solved.status == 0
    return np.asarray(solved.x, dtype=np.float64)


@pytest.mark.parametrize("seed", range(60))
def test_no_feasible_invert_has_a_greater_sum(seed: int) -> None:
    station, ceiling = random_ground(seed)
    fall = float(np.random.default_rng(seed).uniform(0.0, 0.15))
    pattern = turning_points(station, ceiling, THRESHOLD)
    found, invert = highest_invert(station, ceiling, pattern, fall)
    at_nodes = np.interp(station, found, invert)
    np.testing.assert_allclose(at_nodes, by_linear_programme(station, ceiling, pattern, fall), atol=1e-9)


@pytest.mark.parametrize("seed", range(30))
def test_cover_and_fall_are_kept_at_nodes_and_between(seed: int) -> None:
    station, ceiling = random_ground(seed)
    pattern = turning_points(station, ceiling, THRESHOLD)
    found, invert = highest_invert(station, ceiling, pattern, 0.03)
    fine = np.unique(np.concatenate([found, np.linspace(0.0, station[-1], 3000)]))
    heights = np.interp(fine, found, invert)
    assert (heights <= np.interp(fine, station, ceiling) + 1e-9).all()
    fall = flow_signs(fine, pattern) * -np.diff(heights)
    assert (fall >= 0.03 * np.diff(fine) - 1e-9).all()


def test_every_higher_choice_on_a_grid_breaks_a_rule() -> None:
    """Five nodes, every combination of heights a tenth apart: none that keeps the rules is anywhere above."""
    station = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    ceiling = np.array([1.0, 0.6, 0.8, 0.2, 0.5])
    pattern = turning_points(station, ceiling, 0.3)
    found, invert = highest_invert(station, ceiling, pattern, 0.2)
    best = np.interp(station, found, invert)
    levels = np.arange(-0.5, 1.01, 0.1)
    heights = np.stack(np.meshgrid(*[levels] * 5, indexing="ij"), axis=-1).reshape(-1, 5)
    kept = (heights <= ceiling + 1e-9).all(axis=1)
    kept &= (flow_signs(station, pattern) * -np.diff(heights, axis=1) >= 0.2 - 1e-9).all(axis=1)
    assert kept.sum() > 100
    assert (heights[kept] <= best + 1e-9).all()
    np.testing.assert_allclose(heights[kept].max(axis=0), best, atol=1e-9)


@given(some.integers(0, 10_000), some.floats(0.0, 0.1))
def test_the_other_direction_gives_the_same_invert(seed: int, fall: float) -> None:
    station, ceiling = random_ground(seed)
    last = float(station[-1])
    pattern = turning_points(station, ceiling, THRESHOLD)
    mirrored = tuple(replace(one, station=last - one.station) for one in reversed(pattern))
    found, invert = highest_invert(station, ceiling, pattern, fall)
    back, other = highest_invert(last - station[::-1], ceiling[::-1], mirrored, fall)
    np.testing.assert_allclose(np.interp(last - found, back, other), invert, atol=1e-9)


@given(some.integers(0, 10_000), some.floats(0.0, 0.05), some.floats(0.0, 0.05))
def test_more_fall_or_more_cover_never_lifts_it(seed: int, fall: float, more: float) -> None:
    station, ceiling = random_ground(seed)
    pattern = turning_points(station, ceiling, THRESHOLD)
    found, invert = highest_invert(station, ceiling, pattern, fall)
    steeper = highest_invert(station, ceiling, pattern, fall + more)
    deeper = highest_invert(station, ceiling - more, pattern, fall)
    assert (np.interp(station, *steeper) <= np.interp(station, found, invert) + 1e-9).all()
    np.testing.assert_allclose(np.interp(station, *deeper), np.interp(station, found, invert) - more, atol=1e-9)


@given(some.integers(0, 10_000))
def test_more_nodes_on_a_straight_ceiling_change_nothing_but_the_drop_into_a_low(seed: int) -> None:
    """Where the two sides of a low differ, the higher side comes down in the last piece before it."""
    station, ceiling = random_ground(seed)
    pattern = turning_points(station, ceiling, THRESHOLD)
    extra = np.random.default_rng(seed).uniform(0.0, station[-1], 25)
    denser = with_nodes(station, ceiling, extra)
    found, invert = highest_invert(station, ceiling, pattern, 0.04)
    other = highest_invert(*denser, pattern, 0.04)
    away = np.ones(len(found), dtype=np.bool_)
    for one in pattern:
        node = int(np.argmin(np.abs(station - one.station)))
        before, after = station[max(node - 1, 0)], station[min(node + 1, len(station) - 1)]
        away &= ~((found > before) & (found < after) & (found != one.station)) if one.low else True
    np.testing.assert_allclose(np.interp(found, *other)[away], invert[away], atol=1e-9)


def test_the_low_takes_the_lower_of_its_two_sides() -> None:
    station = np.array([0.0, 10.0, 11.0])
    ceiling = np.array([1.0, 0.8, 1.0])
    pattern = turning_points(station, ceiling, THRESHOLD)
    _, invert = highest_invert(station, ceiling, pattern, 0.05)
    np.testing.assert_allclose(invert, [1.0, 0.5, 1.0])
