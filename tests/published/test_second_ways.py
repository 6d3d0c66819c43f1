"""Second ways: friction and fittings against the fluids library, operating points against a plain root search."""

import math
from itertools import product

import fluids
import numpy as np
import pytest
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq

from estimate.tables.measures import INCH
from estimate.water.fittings import fitting_loss, rough_turbulent_factor
from estimate.water.friction import friction_factor, friction_head
from estimate.water.operating import operating_flows, operating_point
from estimate.water.pump import PumpCurve, pump_curve
from estimate.water.system import Reach, System

GRAVITY = 9.80665


@pytest.mark.parametrize(
    ("number", "rough"), list(product([4000.0, 1e4, 1e5, 1e6, 1e8], [0.0, 1e-7, 3e-5, 1e-3, 0.05]))
)
def test_colebrook_equals_the_fluids_library(number: float, rough: float) -> None:
    other = fluids.friction_factor(Re=number, eD=rough, Method="Colebrook")
    assert float(friction_factor(number, rough)) == pytest.approx(other, rel=1e-13)


@pytest.mark.parametrize(("number", "rough"), list(product([4000.0, 1e5, 1e8], [0.0, 1e-4, 0.05])))
def test_the_root_solves_the_colebrook_equation(number: float, rough: float) -> None:
    inverse = 1.0 / math.sqrt(float(friction_factor(number, rough)))
    assert inverse == pytest.approx(-2.0 * math.log10(rough / 3.7 + 2.51 * inverse / number), rel=1e-13)


def test_laminar_head_is_that_of_hagen_and_poiseuille() -> None:
    flow, length, bore, viscosity = 2e-5, 10.0, 0.02, 1.3e-6
    speed = flow / (math.pi / 4.0 * bore**2)
    assert speed * bore / viscosity < 2000.0
    exact = 32.0 * viscosity * length * speed / (GRAVITY * bore**2)
    assert float(friction_head(flow, length, bore, 1.5e-6, viscosity)) == pytest.approx(exact, rel=1e-13)


@pytest.mark.parametrize("inches", [0.622, 1.049, 2.067, 4.026, 6.065])
def test_crane_factor_is_that_of_the_fluids_library(inches: float) -> None:
    other = fluids.fittings.ft_Crane(inches * INCH)  # a fit of the same tables
    assert rough_turbulent_factor(inches * INCH) == pytest.approx(other, rel=0.015)


def test_crane_fittings_of_the_fluids_library() -> None:
    bore = 2.067 * INCH
    swing = fluids.fittings.K_swing_check_valve_Crane(D=bore, angled=True)
    gate = fluids.fittings.K_gate_valve_Crane(D1=bore, D2=bore, angle=0.0)
    ball = fluids.fittings.K_ball_valve_Crane(D1=bore, D2=bore, angle=0.0)
    found = [fitting_loss(name, bore).k for name in ("swing check", "gate valve", "ball valve")]
    assert found == pytest.approx([swing, gate, ball], rel=0.015)
    assert fitting_loss("exit", bore).k == fluids.fittings.exit_normal()


def random_pump(random: np.random.Generator) -> PumpCurve:
    """Return a pump of three to seven points, shut-off 1.5 to 12 m."""
    count = int(random.integers(3, 8))
    flows = np.concatenate([[0.0], np.cumsum(random.uniform(5e-4, 2e-3, count - 1))])
    falls = np.concatenate([[0.0], np.cumsum(random.uniform(0.05, 1.0, count - 1))])
    heads = random.uniform(1.5, 12.0) * (1.0 - falls / falls[-1] * random.uniform(0.6, 1.0))
    return pump_curve(zip(flows.tolist(), heads.tolist(), strict=True))


def random_system(random: np.random.Generator) -> System:
    """Return a line of one to three reaches."""
    reaches = tuple(
        Reach(
            length_m=float(random.uniform(0.0, 60.0)),
            bore_m=float(random.uniform(0.02, 0.11)),
            roughness_m=float(10.0 ** random.uniform(-6.0, -3.5)),
            k_sum=float(random.uniform(0.0, 15.0)),
        )
        for _ in range(int(random.integers(1, 4)))
    )
    lift, viscosity = float(random.uniform(-2.0, 6.0)), float(random.uniform(0.9e-6, 1.8e-6))
    return System(static_lift_m=lift, reaches=reaches, viscosity_m2s=viscosity)


def plain_flow(curve: PumpCurve, system: System) -> float:
    """Return the flow by a search written from the formulas alone, with the fluids library's friction factor."""
    pump = PchipInterpolator(curve.flows_m3s, curve.heads_m)

    def spare(flow: float) -> float:
        head = system.static_lift_m
        for reach in system.reaches:
            speed = flow / (math.pi / 4.0 * reach.bore_m**2)
            number = speed * reach.bore_m / system.viscosity_m2s
            if number > 0.0:
                rough = reach.roughness_m / reach.bore_m
                share = min(max((number - 2000.0) / 2000.0, 0.0), 1.0)
                full = fluids.friction_factor(Re=max(number, 4000.0), eD=rough, Method="Colebrook")
                factor = 64.0 / number if number <= 2000.0 else (1.0 - share) * 0.032 + share * full
                head += (factor * reach.length_m / reach.bore_m + reach.k_sum) * speed**2 / (2.0 * GRAVITY)
        return float(pump(flow)) - head

    if spare(0.0) <= 0.0:
        return 0.0
    last = curve.last_flow_m3s
    return last if spare(last) >= 0.0 else float(brentq(spare, 0.0, last, xtol=1e-18, rtol=1e-14))


def test_operating_points_equal_a_plain_root_search() -> None:
    random = np.random.default_rng(7)
    states = set()
    for _ in range(30):
        curve = random_pump(random)
        systems = [random_system(random) for _ in range(10)]
        wanted = np.array([plain_flow(curve, system) for system in systems])
        points = [operating_point(curve, system) for system in systems]
        states |= {point.state for point in points}
        assert [point.flow_m3s for point in points] == pytest.approx(wanted, rel=1e-9, abs=1e-15)
        assert operating_flows(curve, systems) == pytest.approx(wanted, rel=1e-9, abs=1e-15)
    assert states == {"found", "too weak", "beyond curve"}
