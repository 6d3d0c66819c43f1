"""Friction, fittings and head against published tables and worked examples."""

import pytest

from estimate.tables.measures import FOOT, GALLON_PER_MINUTE, GRAVITY, INCH, PSI
from estimate.water.fittings import fitting_loss, k_range, k_sum
from estimate.water.friction import friction_head, hazen_williams_head, velocity
from estimate.water.liquid import density, kinematic_viscosity
from estimate.water.operating import at_flow
from estimate.water.pipe import pipe
from estimate.water.system import Reach, System

TWO_INCH = pipe("Schedule 40", "2")

# Illinois Administrative Code title 77 part 906 appendix A exhibit I, 2 in Schedule 40, ft per 100 ft, C = 150;
# then Darcy-Weisbach with Colebrook, roughness 0.0015 mm, at 1.12e-6 and 1.55e-6 m2/s (second computation).
TABLE = {
    10: (0.21, 0.235, 0.256),
    15: (0.44, 0.479, 0.519),
    20: (0.74, 0.794, 0.859),
    25: (1.10, 1.179, 1.272),
    30: (1.54, 1.629, 1.754),
    35: (2.05, 2.142, 2.304),
    40: (2.62, 2.717, 2.920),
    45: (3.27, 3.353, 3.599),
    50: (3.98, 4.048, 4.341),
}


@pytest.mark.parametrize("gpm", list(TABLE))
def test_illinois_friction_table(gpm: int) -> None:
    head = hazen_williams_head(gpm * GALLON_PER_MINUTE, 100.0, TWO_INCH.bore_m, 150.0)
    assert float(head) == pytest.approx(TABLE[gpm][0], rel=0.01 if gpm >= 25 else 0.05)


@pytest.mark.parametrize("gpm", list(TABLE))
def test_darcy_weisbach_column(gpm: int) -> None:
    for column, viscosity in ((1, 1.12e-6), (2, 1.55e-6)):
        head = friction_head(gpm * GALLON_PER_MINUTE, 100.0, TWO_INCH.bore_m, 1.5e-6, viscosity)
        assert float(head) == pytest.approx(TABLE[gpm][column], abs=0.0016)


# The same Illinois exhibit, other sizes: size, gpm, ft per 100 ft; printed to 0.01, older exponents.
@pytest.mark.parametrize(
    ("size", "gpm", "head"),
    [
        ("1-1/2", 20, 2.46),
        ("1-1/2", 30, 5.22),
        ("3", 50, 0.58),
        ("3", 100, 2.09),
        ("4", 100, 0.55),
        ("4", 150, 1.17),
    ],
)
def test_illinois_other_sizes(size: str, gpm: float, head: float) -> None:
    found = hazen_williams_head(gpm * GALLON_PER_MINUTE, 100.0, pipe("Schedule 40", size).bore_m, 150.0)
    assert float(found) == pytest.approx(head, abs=0.0151)


# A university irrigation table of Class 160 (SDR 26) 2 in pipe, psi per 100 ft; within 2.5 percent.
@pytest.mark.parametrize(("gpm", "psi"), [(20, 0.242), (40, 0.86), (55, 1.56), (80, 3.12), (100, 4.72)])
def test_class_160_friction_table(gpm: float, psi: float) -> None:
    head = hazen_williams_head(gpm * GALLON_PER_MINUTE, 100.0 * FOOT, pipe("SDR 26", "2").bore_m, 150.0)
    assert float(head) * density(15.6) * GRAVITY / PSI == pytest.approx(psi, rel=0.025)


# V = 0.4085 Q / d^2 in ft/s, gpm and inches (handbook form).
@pytest.mark.parametrize("gpm", [10.0, 52.3, 80.0])
def test_velocity_in_us_units(gpm: float) -> None:
    speed = float(velocity(gpm * GALLON_PER_MINUTE, TWO_INCH.bore_m)) / FOOT
    assert speed == pytest.approx(0.4085 * gpm / (TWO_INCH.bore_m / INCH) ** 2, rel=2e-4)


# Flow at the usual 5 ft/s limit for plastic pipe, gpm by size (closed form).
@pytest.mark.parametrize(("size", "gpm"), [("1-1/2", 31.7), ("2", 52.3), ("3", 115.0), ("4", 198.0)])
def test_five_feet_a_second(size: str, gpm: float) -> None:
    assert float(velocity(gpm * GALLON_PER_MINUTE, pipe("Schedule 40", size).bore_m)) / FOOT == pytest.approx(
        5.0, rel=5e-3
    )


# Crane Technical Paper 410 (from memory): fT = 0.019 at 2 in; K of fittings there.
@pytest.mark.parametrize(
    ("fitting", "k"),
    [
        ("90 elbow", 0.57),
        ("45 elbow", 0.30),
        ("tee run", 0.38),
        ("tee branch", 1.14),
        ("ball valve", 0.06),
        ("gate valve", 0.15),
        ("swing check", 1.9),
        ("sharp entrance", 0.5),
        ("projecting entrance", 0.78),
        ("exit", 1.0),
    ],
)
def test_crane_fittings_at_two_inches(fitting: str, k: float) -> None:
    assert fitting_loss(fitting, TWO_INCH.bore_m, "Crane").k == pytest.approx(k, abs=0.0051)


# IRC 2018 Table A.2.2 (International Residential Code): K by fitting.
@pytest.mark.parametrize(
    ("fitting", "k"), [("45 elbow", 0.42), ("90 elbow", 0.90), ("close return", 2.0), ("tee branch", 1.8)]
)
def test_irc_fittings(fitting: str, k: float) -> None:
    assert fitting_loss(fitting, TWO_INCH.bore_m, "IRC").k == k


def test_one_elbow_has_no_one_k() -> (
    None
):  # published K of a 2 in 90 degree elbow: 0.57 to 1.5 in the tables carried
    low, high = k_range("90 elbow", TWO_INCH.bore_m)
    assert (low, high) == pytest.approx((0.57, 1.5), abs=0.005)


# Worked from the tables: 120 ft of 2 in Schedule 40, 50 gpm, lift 6 ft, four elbows, ball valve, swing check, exit.
def test_total_head_worked_example() -> None:
    flow = 50.0 * GALLON_PER_MINUTE
    k = k_sum({"90 elbow": 4, "ball valve": 1, "swing check": 1, "exit": 1}, TWO_INCH.bore_m)
    friction = float(hazen_williams_head(flow, 120.0, TWO_INCH.bore_m))
    assert k == pytest.approx(5.24, abs=0.01)
    assert friction == pytest.approx(4.77, abs=0.005)
    reach = Reach(length_m=0.0, bore_m=TWO_INCH.bore_m, roughness_m=0.0, k_sum=k)
    system = System(static_lift_m=6.0 * FOOT, reaches=(reach,), viscosity_m2s=1.12e-6)
    without_friction = at_flow(system, flow).total_head_m / FOOT
    assert without_friction - 6.0 == pytest.approx(1.86, abs=0.005)
    assert without_friction + friction == pytest.approx(12.63, abs=0.01)
    assert (without_friction + friction) * FOOT * density(15.6) * GRAVITY / PSI == pytest.approx(5.47, abs=0.01)


# The trade's own case, 2 ft lift, 50 ft of 2 in, two joints, 63.3 gpm at 50 F: total dynamic head 5.93 ft (second
# computation); [common practice, no published source] for the flow itself.
def test_flexible_line_of_fifty_feet() -> None:
    k = k_sum({"coupling": 2, "exit": 1}, TWO_INCH.bore_m)
    reach = Reach(length_m=50.0 * FOOT, bore_m=TWO_INCH.bore_m, roughness_m=1.5e-6, k_sum=k)
    system = System(static_lift_m=2.0 * FOOT, reaches=(reach,), viscosity_m2s=1.31e-6)
    point = at_flow(system, 63.3 * GALLON_PER_MINUTE)
    assert point.total_head_m / FOOT == pytest.approx(5.93, abs=0.01)
    assert point.velocity_mps / FOOT == pytest.approx(6.06, abs=0.01)
    assert point.reynolds == pytest.approx(73_970, rel=2e-3)
    assert point.velocity_level == "note"


# Water power hp = Q H / 3960: 60 gpm x 10 ft = 0.1515 hp (handbook form).
def test_water_power() -> None:
    reach = Reach(length_m=0.0, bore_m=TWO_INCH.bore_m, roughness_m=0.0)
    system = System(static_lift_m=10.0 * FOOT, reaches=(reach,), viscosity_m2s=1.1e-6, density_kgm3=density(15.6))
    assert at_flow(system, 60.0 * GALLON_PER_MINUTE).water_power_w / 745.7 == pytest.approx(0.1515, abs=2e-4)


# Handbook viscosities of water: 60 F 1.12e-6, 50 F 1.31e-6, 40 F 1.55e-6 m2/s.
@pytest.mark.parametrize(("fahrenheit", "viscosity"), [(60.0, 1.12e-6), (50.0, 1.31e-6), (40.0, 1.55e-6)])
def test_viscosity_of_water(fahrenheit: float, viscosity: float) -> None:
    assert kinematic_viscosity((fahrenheit - 32.0) / 1.8) == pytest.approx(viscosity, rel=5e-3)


# Density of water at 0 degrees C 999.84 kg/m3; 1 psi = 2.307 ft of water at 60 F (handbook).
def test_density_of_water() -> None:
    assert density(0.0) == pytest.approx(999.84, abs=0.005)
    assert PSI / (density(15.556) * GRAVITY) / FOOT == pytest.approx(2.307, abs=2.5e-3)
