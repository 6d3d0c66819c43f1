"""Laws of low and high points: prominence by definition, direction, and the published test of two sags."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from estimate.profile.extremes import TurningPoint, turning_points
from terrain.arrays import Floats


def prominent_lows(height: Floats, threshold: float) -> dict[int, float]:
    """Return node and prominence of each inner low by definition: look both ways for lower ground or the end."""
    found = {}
    for node in range(1, len(height) - 1):
        walls = []
        for side in (range(node, -1, -1), range(node, len(height))):
            highest = height[node]
            for other in side:
                highest = max(highest, height[other])
                if height[other] < height[node]:
                    break
            walls.append(highest)
        if min(walls) - height[node] >= threshold:
            found[node] = float(min(walls) - height[node])
    return found


def inner(pattern: tuple[TurningPoint, ...], low: bool) -> dict[int, float]:
    return {round(one.station): one.prominence for one in pattern if one.low == low and not one.end}


@pytest.mark.parametrize("seed", range(150))
def test_the_pattern_has_exactly_the_prominent_lows_and_highs(seed: int) -> None:
    rng = np.random.default_rng(seed)
    height = np.cumsum(rng.normal(size=int(rng.integers(2, 60))))
    threshold = float(rng.uniform(0.1, 3.0))
    pattern = turning_points(np.arange(len(height), dtype=np.float64), height, threshold)
    for low, values in ((True, height), (False, -height)):
        wanted = prominent_lows(values, threshold)
        found = inner(pattern, low)
        assert found.keys() == wanted.keys()
        assert found == pytest.approx(wanted)


@given(some.lists(some.integers(-20, 20), min_size=2, max_size=40), some.floats(0.0, 8.0), some.booleans())
def test_lows_and_highs_alternate_and_both_ends_take_part(
    heights: list[int], threshold: float, low_first: bool
) -> None:
    height = np.array(heights, dtype=np.float64)
    station = np.arange(len(height), dtype=np.float64)
    pattern = turning_points(station, height, max(threshold, 1e-6), low_first)
    assert pattern[0].station == 0.0
    assert pattern[-1].station == station[-1]
    assert pattern[0].end
    assert pattern[-1].end
    assert all(one.low != other.low for one, other in itertools.pairwise(pattern))
    assert all(one.station < other.station for one, other in itertools.pairwise(pattern))


@given(some.integers(0, 100_000), some.integers(2, 50), some.floats(0.05, 3.0))
def test_direction_does_not_matter(seed: int, count: int, threshold: float) -> None:
    rng = np.random.default_rng(seed)
    station = np.cumsum(rng.uniform(0.5, 2.0, count))
    station -= station[0]
    height = np.cumsum(rng.normal(size=count))
    forth = turning_points(station, height, threshold, True)
    back = turning_points(station[-1] - station[::-1], height[::-1], threshold, False)
    assert [(one.low, one.end) for one in forth] == [(one.low, one.end) for one in reversed(back)]
    assert [one.station for one in forth] == pytest.approx([station[-1] - one.station for one in reversed(back)])


@given(some.integers(0, 100_000))
def test_noise_below_half_the_threshold_leaves_the_turns_of_a_plain_shape(seed: int) -> None:
    """Noise of a quarter of the threshold either way leaves the turns of a wave that is far above it."""
    rng = np.random.default_rng(seed)
    station: Floats = np.arange(200, dtype=np.float64) * 0.1
    wave = np.sin(station / 20.0 * 3.0 * np.pi) + rng.uniform(-0.05, 0.05, 200)
    height = np.asarray(wave, dtype=np.float64)
    pattern = turning_points(station, height, 0.2)
    assert [one.low for one in pattern] == [True, False, True, False, True]


def test_inverts_of_the_trade_case_have_two_lows() -> None:
    """[CP] inverts 100.0, 99.5, 99.7, 99.2, 99.4 at 10 ft steps: two inner lows, each 0.2 ft deep."""
    station = np.array([0.0, 10.0, 20.0, 30.0, 40.0])
    pattern = turning_points(station, np.array([100.0, 99.5, 99.7, 99.2, 99.4]), 0.15)
    assert {round(one.station): round(one.prominence, 9) for one in pattern if one.low and not one.end} == {
        10: 0.2,
        30: 0.2,
    }


def test_a_level_bottom_has_its_low_in_the_middle() -> None:
    station = np.array([0.0, 4.0, 5.0, 9.0, 20.0])
    pattern = turning_points(station, np.array([1.0, 0.0, 1e-12, 0.0, 1.0]), 0.1)
    assert [one.station for one in pattern] == [0.0, 6.5, 20.0]


def test_a_level_line_falls_to_the_end_that_is_asked_for() -> None:
    station, height = np.array([0.0, 5.0, 9.0]), np.array([2.0, 2.01, 2.0])
    assert [one.low for one in turning_points(station, height, 0.1, True)] == [True, False]
    assert [one.low for one in turning_points(station, height, 0.1, False)] == [False, True]


def test_a_dip_beside_the_end_that_is_noise_makes_the_end_the_low() -> None:
    station, height = np.array([0.0, 1.0, 9.0]), np.array([2.00, 1.98, 5.0])
    assert [(one.station, one.low) for one in turning_points(station, height, 0.1)] == [(0.0, True), (9.0, False)]


def test_fewer_than_two_nodes_have_no_pattern() -> None:
    assert turning_points(np.zeros(0), np.zeros(0), 0.1) == ()
    assert turning_points(np.zeros(1), np.zeros(1), 0.1) == ()
