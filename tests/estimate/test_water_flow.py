"""Friction, system, pump and operating point: laws, ends and errors."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as some

from estimate.water.friction import (
    friction_factor,
    friction_head,
    hazen_williams_head,
    regime,
    roughness,
    velocity,
)
from estimate.water.liquid import density, kinematic_viscosity
from estimate.water.operating import at_flow, operating_flows, operating_point
from estimate.water.pump import PumpCurve, head_at, pump_curve
from estimate.water.system import Reach, System, friction_of, total_head
from terrain.errors import InputError

CURVE = pump_curve([(0.0, 4.0), (0.001, 3.8), (0.002, 3.2), (0.004, 1.5), (0.005, 0.2)])
REACH = Reach(length_m=15.0, bore_m=0.0525, roughness_m=1.5e-6, k_sum=4.0)


def line(
    length: float = 15.0, bore: float = 0.0525, rough: float = 1.5e-6, k: float = 4.0, lift: float = 0.6
) -> System:
    """Return a line of one reach at 10 degrees."""
    reach = Reach(length_m=length, bore_m=bore, roughness_m=rough, k_sum=k)
    return System(static_lift_m=lift, reaches=(reach,), viscosity_m2s=1.31e-6)


def flow(system: System) -> float:
    """Return the flow [m3/s] of the example pump in `system`."""
    return operating_point(CURVE, system).flow_m3s


LENGTHS = some.floats(0.0, 300.0)
BORES = some.floats(0.02, 0.15)
ROUGHS = some.floats(0.0, 1e-3)
SUMS = some.floats(0.0, 60.0)
LIFTS = some.floats(-3.0, 5.0)
MORE = some.floats(0.0, 2.0)


@settings(max_examples=60)
@given(LENGTHS, BORES, ROUGHS, SUMS, LIFTS, MORE)
def test_what_hinders_never_raises_the_flow(
    length: float, bore: float, rough: float, k: float, lift: float, more: float
) -> None:
    before = flow(line(length, bore, rough, k, lift)) * (1.0 + 1e-12)
    assert flow(line(length * (1.0 + more) + more, bore, rough, k, lift)) <= before
    assert flow(line(length, bore, min(rough * (1.0 + more), 1e-3), k, lift)) <= before
    assert flow(line(length, bore, rough, k + more, lift)) <= before
    assert flow(line(length, bore, rough, k, lift + more)) <= before


@settings(max_examples=60)
@given(LENGTHS, BORES, ROUGHS, SUMS, LIFTS, some.floats(1.0, 3.0))
def test_a_larger_bore_never_lowers_the_flow(
    length: float, bore: float, rough: float, k: float, lift: float, times: float
) -> None:
    before = flow(line(length, bore, rough, k, lift))
    assert flow(line(length, bore * times, rough, k, lift)) >= before * (1.0 - 1e-9)


@settings(max_examples=40)
@given(LENGTHS, BORES, ROUGHS, SUMS, LIFTS)
def test_the_operating_point_lies_on_both_curves(
    length: float, bore: float, rough: float, k: float, lift: float
) -> None:
    system = line(length, bore, rough, k, lift)
    point = operating_point(CURVE, system)
    if point.state == "found":
        assert float(head_at(CURVE, point.flow_m3s)) == pytest.approx(point.total_head_m, abs=1e-9)
    else:
        assert point.flow_m3s == (0.0 if point.state == "too weak" else CURVE.last_flow_m3s)
    parts = point.friction_m + point.fittings_m + system.static_lift_m
    assert point.total_head_m == pytest.approx(parts, abs=1e-12)


def test_splitting_a_reach_changes_nothing() -> None:
    half = Reach(length_m=7.5, bore_m=0.0525, roughness_m=1.5e-6, k_sum=2.0)
    split = System(static_lift_m=0.6, reaches=(half, half), viscosity_m2s=1.31e-6)
    assert flow(split) == pytest.approx(flow(line()), rel=1e-12)
    assert operating_flows(CURVE, [split, line()]) == pytest.approx([flow(line())] * 2, rel=1e-12)


def test_a_too_weak_pump_gives_no_flow() -> None:
    point = operating_point(CURVE, line(lift=4.0))
    assert (point.flow_m3s, point.velocity_mps, point.state) == (0.0, 0.0, "too weak")
    assert point.regime == "at rest"


def test_a_flow_beyond_the_curve_is_not_extrapolated() -> None:
    point = operating_point(CURVE, line(length=0.1, k=0.0, lift=-1.0))
    assert (point.flow_m3s, point.state) == (0.005, "beyond curve")


def test_the_last_point_itself_is_found() -> None:
    system = line(length=0.0, k=0.0, lift=0.2)
    assert operating_point(CURVE, system).state == "found"
    assert operating_flows(CURVE, [system]).tolist() == [0.005]


def test_head_wanted_at_the_end_counts_as_lift() -> None:
    filtered = System(static_lift_m=0.2, residual_m=0.4, reaches=(REACH,), viscosity_m2s=1.31e-6)
    assert flow(filtered) == pytest.approx(flow(line(lift=0.6)), rel=1e-12)


def test_no_reach_is_all_lift() -> None:
    bare = System(static_lift_m=1.5, reaches=(), viscosity_m2s=1.31e-6)
    assert flow(bare) == pytest.approx(0.004, rel=1e-9)
    assert at_flow(bare, 0.004).velocity_mps == 0.0


def test_velocity_is_that_of_the_narrowest_reach() -> None:
    narrow = Reach(length_m=1.0, bore_m=0.04, roughness_m=0.0)
    both = System(static_lift_m=0.0, reaches=(REACH, narrow), viscosity_m2s=1.31e-6)
    assert at_flow(both, 0.002).velocity_mps == float(velocity(0.002, 0.04))


@pytest.mark.parametrize(("speed", "level"), [(1.0, ""), (1.53, "note"), (2.43, "note"), (2.44, "warning")])
def test_velocity_levels(speed: float, level: str) -> None:
    point = at_flow(line(), speed * math.pi / 4.0 * 0.0525**2)
    assert point.velocity_level == level
    assert point.state == "given"


def test_friction_is_continuous_and_rises_through_the_gap() -> None:
    numbers = np.linspace(100.0, 8000.0, 20_001)
    for rough in (0.0, 1e-4, 0.05):
        head = friction_factor(numbers, rough) * numbers**2
        assert np.all(np.diff(head) > 0.0)
        assert np.max(np.diff(friction_factor(numbers[numbers > 1900.0], rough))) < 1e-4


def test_regimes_are_said() -> None:
    assert [regime(number) for number in (0.0, 1500.0, 4000.0)] == ["at rest", "laminar", "turbulent"]
    assert "interpolated" in regime(2500.0)
    slow = at_flow(line(), 3000.0 * 1.31e-6 * math.pi / 4.0 * 0.0525)
    assert "interpolated" in slow.regime


def test_friction_works_on_arrays_and_backwards() -> None:
    heads = friction_head(np.array([-0.002, 0.0, 0.002]), 10.0, 0.05, 1.5e-6, 1.3e-6)
    assert heads[0] == -heads[2]
    assert heads[1] == 0.0
    assert friction_of(line(), np.ones((2, 3)) * 0.001).shape == (2, 3)
    assert math.isinf(float(friction_factor(0.0, 0.0)))


def test_friction_limits_are_checked() -> None:
    with pytest.raises(InputError, match="range of the Colebrook equation"):
        friction_factor(1e5, 0.06)
    with pytest.raises(InputError, match="60 to 160"):
        hazen_williams_head(0.001, 1.0, 0.05, 30.0)
    with pytest.raises(InputError, match="unknown surface"):
        roughness("velvet")


@pytest.mark.parametrize("celsius", [-0.1, 100.1, math.nan])
def test_water_is_liquid(celsius: float) -> None:
    with pytest.raises(InputError, match="Fahrenheit"):
        density(celsius)
    with pytest.raises(InputError):
        kinematic_viscosity(celsius)


@pytest.mark.parametrize(
    ("points", "words"),
    [
        ([], "at least two"),
        ([(0.0, 4.0)], "at least two"),
        ([(0.001, 4.0), (0.002, 3.0)], "shut-off head at flow 0"),
        ([(0.0, 4.0), (0.002, 3.0), (0.002, 2.0)], "flows that increase"),
        ([(0.0, 4.0), (0.002, 4.1)], "do not rise"),
        ([(0.0, 4.0), (0.002, -1.0)], "head 0 or more"),
        ([(0.0, math.nan), (0.002, 1.0)], "point 1"),
        ([(0.0, 4.0), (math.inf, 1.0)], "point 2"),
    ],
)
def test_a_wrong_pump_curve_is_refused(points: list[tuple[float, float]], words: str) -> None:
    with pytest.raises(InputError, match=words):
        pump_curve(points)


@settings(max_examples=40)
@given(some.lists(some.floats(0.0, 1.0), min_size=2, max_size=8), some.integers(0, 2**32 - 1))
def test_the_curve_makes_no_waves(falls: list[float], seed: int) -> None:
    heads = sorted((5.0 - fall for fall in falls), reverse=True)
    flows = np.cumsum(np.random.default_rng(seed).uniform(1e-4, 2e-3, len(heads)))
    curve: PumpCurve = pump_curve(zip((flows - flows[0]).tolist(), heads, strict=True))
    read = head_at(curve, np.linspace(0.0, curve.last_flow_m3s, 301))
    assert np.all(np.diff(read) <= 1e-12)
    assert head_at(curve, curve.flows_m3s) == pytest.approx(heads, abs=1e-12)
    assert np.isnan(head_at(curve, [-1e-9, curve.last_flow_m3s * (1.0 + 1e-9)])).all()


@pytest.mark.parametrize("wrong", [{"length_m": -1.0}, {"bore_m": 0.0}, {"roughness_m": math.nan}, {"k_sum": -0.1}])
def test_a_reach_that_cannot_be_is_refused(wrong: dict[str, float]) -> None:
    figures = {"length_m": 1.0, "bore_m": 0.05, "roughness_m": 0.0, "k_sum": 0.0} | wrong
    with pytest.raises(InputError, match="pipe reach"):
        Reach(**figures)


@pytest.mark.parametrize(
    "wrong", [{"static_lift_m": math.nan}, {"viscosity_m2s": 0.0}, {"density_kgm3": -1.0}, {"residual_m": -1.0}]
)
def test_a_system_that_cannot_be_is_refused(wrong: dict[str, float]) -> None:
    figures = {"static_lift_m": 1.0, "viscosity_m2s": 1e-6, "density_kgm3": 999.0, "residual_m": 0.0} | wrong
    with pytest.raises(InputError, match="water system"):
        System(reaches=(REACH,), **figures)


def test_total_head_at_rest_is_the_lift() -> None:
    assert float(total_head(line(lift=-0.7), 0.0)) == -0.7
