"""Ground, route, pipe and its water in summer and winter in the bent yard of conftest, worked out by hand.

Elevations are absolute metres.
"""

import itertools
import math
from collections.abc import Callable

import pytest

from estimate.record import Estimate

INCH, FOOT, GRAVITY = 0.0254, 0.3048, 9.80665
PSI = 0.45359237 * GRAVITY / INCH**2
ROUGHNESS = 0.0015e-3  # roughness.csv, PVC [m]

# ---- The bent yard: ground 50 + 0.03 east + 0.05 north, legs of 7.5, 8 root 2 and 9 root 2 m from (12, 6) --------
OUTSIDE, WALL = 2.375 * INCH, 0.154 * INCH  # pipes.csv, PVC Schedule 40, 2 in
BORE = OUTSIDE - 2.0 * WALL
BELOW = 0.5 + OUTSIDE - WALL  # ground to invert where the cover of 0.5 m rules
LOWER_INVERT = 50.0 + 0.03 * 12.0 + 0.05 * 6.0 - BELOW
UPPER_INVERT = 50.0 + 0.03 * 11.0 + 0.05 * 30.5 - BELOW
LEG_2, LEG_3 = 8.0 * math.sqrt(2.0), 9.0 * math.sqrt(2.0)
SLOPE_2, SLOPE_3 = 0.08 / math.sqrt(2.0), 0.02 / math.sqrt(2.0)
# Leg 3 falls 0.02, more than its ground does, so the line comes to bend 2 too deep; 0.02 goes on down leg 2 until
# its steeper ground is met, `FLAT` metres in plan below the upper end.
FLAT = LEG_3 + (0.02 - SLOPE_3) * LEG_3 / (SLOPE_2 - 0.02)
LENGTH = 7.5 + LEG_2 + LEG_3
TO_VALVE = 7.5 * math.hypot(1.0, 0.05) + 4.5 * math.hypot(1.0, SLOPE_2)  # station 12, 4.5 m up leg 2
FROM_VALVE = (LENGTH - 12.0 - FLAT) * math.hypot(1.0, SLOPE_2) + FLAT * math.hypot(1.0, 0.02)
RISER, DROP = 50.30 - LOWER_INVERT, 50.30 - 50.00  # lower end: line up to the port, port down to the pump
TOP_RISER, TOP_DROP = 51.55 - UPPER_INVERT, 51.55 - 51.45
PIPE = TO_VALVE + FROM_VALVE + RISER + DROP + TOP_RISER + TOP_DROP
FITTINGS = {
    "90 elbow": 8,  # bend 2; two at each port, one at each drop inside; one given
    "45 elbow": 1,  # bend 1
    "swing check": 2,  # the vault's and the valve at station 12
    "ball valve": 2,
    "union": 1,
    "sharp entrance": 1,
    "exit": 1,
}


def near(value: float, *, rel: float = 1e-9) -> object:
    return pytest.approx(value, rel=rel, abs=1e-9)


def crane(bore: float) -> float:
    """fT of Crane Technical Paper 410: 0.25 / log10(e / 3.7 D)^2, e 0.0018 in of clean steel."""
    return float(0.25 / math.log10(0.0018 * INCH / (3.7 * bore)) ** 2)


def viscosity(celsius: float, density: float) -> float:
    """Kestin, Sokolov and Wakeham 1978: log10(mu / 1.002 mPa s) = (20 - t) / (t + 96) (1.2364 - 1.37e-3 (20 - t)
    + 5.7e-6 (20 - t)^2); over the density [kg/m3] it is kinematic [m2/s]."""
    cold = 20.0 - celsius
    power = cold / (celsius + 96.0) * (1.2364 - 1.37e-3 * cold + 5.7e-6 * cold**2)
    return 1.002e-3 * math.pow(10.0, power) / density


COLD = viscosity(4.0, 999.972)  # density of Kell 1975


def friction(flow: float, length: float, bore: float, thickness: float) -> float:
    """Darcy-Weisbach h = f L / D V^2 / 2g with Colebrook 1 / root f = -2 log10(e / 3.7 D + 2.51 / (Re root f))."""
    speed = flow / (math.pi / 4.0 * bore**2)
    number = speed * bore / thickness
    assert number > 4000.0  # turbulent
    inverse = 7.0
    for _ in range(60):
        inverse = -2.0 * math.log10(ROUGHNESS / (3.7 * bore) + 2.51 * inverse / number)
    return length / inverse**2 / bore * speed**2 / (2.0 * GRAVITY)


def fittings(flow: float, k: float, bore: float) -> float:
    """h = K V^2 / 2g."""
    return k * (flow / (math.pi / 4.0 * bore**2)) ** 2 / (2.0 * GRAVITY)


def meeting(spare: Callable[[float], float], last: float) -> float:
    """Where the head left over is nothing, by halving."""
    low, high = 0.2 * last, last
    assert spare(low) > 0.0 > spare(high)
    for _ in range(100):
        middle = (low + high) / 2.0
        low, high = (middle, high) if spare(middle) > 0.0 else (low, middle)
    return low


# fittings.csv, Crane: 30, 16, 100 and 3 fT; sharp entrance 0.5, exit 1; union 0.08 from any table.
K = (8 * 30.0 + 1 * 16.0 + 2 * 100.0 + 2 * 3.0) * crane(BORE) + 0.08 + 0.5 + 1.0
LIFT = 51.45 - 50.30  # the pipe ends above the upper water at 51.40: to its end


def losses(flow: float) -> float:
    return friction(flow, PIPE, BORE, COLD) + fittings(flow, K, BORE)


def pump(flow: float) -> float:
    return 8.0 - 6.0 * flow / 0.004  # from 8 m at rest to 2 m at 4 L/s


# ---- Ground, route, structures, lengths, fittings --------------------------------------------------------------


def test_ground(bent: Estimate) -> None:
    part = bent.ground
    # The hull of the eleven shots, counter-clockwise, by shoelace; the other five lie inside it.
    hull = [(2, 1), (19, 0.5), (34, 3), (34, 37), (3, 38), (1, 17)]
    area = math.fsum(a * d - b * c for (a, b), (c, d) in itertools.pairwise([*hull, hull[0]])) / 2.0
    assert part.area_m2 == near(area)
    assert (part.points, part.triangles) == (11, 2 * 11 - 2 - len(hull))  # Euler's rule for a triangulation
    assert (part.lowest_m, part.highest_m) == (near(50.0 + 0.06 + 0.05), near(50.0 + 1.02 + 1.85))
    assert part.steepest_along_route == near(SLOPE_2)
    assert (part.accuracy_m, part.benchmark_m) == (near(0.03), near(51.25))


def test_route(bent: Estimate) -> None:
    route = bent.route
    legs = ((7.5, 0.05), (LEG_2, SLOPE_2), (LEG_3, SLOPE_3))
    assert route.plan_length_m == near(LENGTH)
    assert route.ground_length_m == near(math.fsum(plan * math.hypot(1.0, slope) for plan, slope in legs))
    assert [one.station_m for one in route.bends] == [near(7.5), near(7.5 + LEG_2)]
    assert [one.turn_deg for one in route.bends] == [near(-45.0), near(90.0)]
    assert (bent.low_points, bent.high_points) == ((), ())


def test_structures(bent: Estimate) -> None:
    lower, upper = bent.structures
    assert (lower.end, lower.name, upper.end, upper.name) == ("lower", "vault", "upper", "spout")
    assert (lower.station_m, upper.station_m) == (0.0, near(LENGTH))
    assert (lower.water_level_m, lower.low_level_m) == (near(50.30), near(50.10))
    assert (upper.water_level_m, upper.low_level_m) == (near(51.40), near(51.40))
    assert math.isnan(lower.winter_level_m)
    assert math.isnan(upper.winter_level_m)
    assert (lower.port_m, lower.end_m, lower.invert_m) == (near(50.30), near(50.00), near(LOWER_INVERT))
    assert (upper.port_m, upper.end_m, upper.invert_m) == (near(51.55), near(51.45), near(UPPER_INVERT))
    assert (lower.vertical_pipe_m, upper.vertical_pipe_m) == (near(RISER + DROP), near(TOP_RISER + TOP_DROP))
    assert (lower.check_valve, upper.check_valve) == (True, False)


def test_lift(bent: Estimate) -> None:
    assert (bent.lift.static_m, bent.lift.static_low_m) == (near(LIFT), near(51.45 - 50.10))
    assert "free outfall" in {one.code for one in bent.findings}


def test_pipe(bent: Estimate) -> None:
    pipe = bent.pipe
    assert pipe.name == "2 in PVC Schedule 40"
    assert (pipe.bore_m, pipe.outside_m, pipe.rating_pa) == (near(BORE), near(OUTSIDE), near(280.0 * PSI))
    assert (pipe.length_m, bent.route.pipe_length_m) == (near(PIPE), near(PIPE))
    assert pipe.inside_l == near(1000.0 * math.pi / 4.0 * BORE**2 * PIPE)
    assert (pipe.stick_m, pipe.sticks) == (near(20.0 * FOOT), math.ceil(PIPE / (20.0 * FOOT)))
    assert dict(pipe.fittings) == FITTINGS


# ---- Winter ----------------------------------------------------------------------------------------------------


def test_what_stays_full(bent: Estimate) -> None:
    # The vault's check valve keeps all below it in; the one at station 12 parts it. Both basins are empty, and the
    # spout gives air: what lies beyond its port runs out, so the last drop of 0.10 m is dry.
    first, second = bent.full_stretches
    section = 1000.0 * math.pi / 4.0 * BORE**2  # litres in a metre
    assert (first.from_m, first.to_m, second.from_m, second.to_m) == (0.0, near(12.0), near(12.0), near(LENGTH))
    assert (first.held_l, first.left_l) == (near(section * (DROP + RISER + TO_VALVE)), near(0.0))
    assert (second.held_l, second.left_l) == (near(section * (FROM_VALVE + TOP_RISER)), near(0.0))
    assert (first.grade, second.grade) == ("closed and full", "full-bore plug")
    assert (first.drains, second.drains) == ((0, 1), (2,))


def test_drains(bent: Estimate) -> None:
    # The riser to the vault's port is a hump: one drain at the pump, one at the line's foot; your own at the valve.
    section = 1000.0 * math.pi / 4.0 * BORE**2
    at_valve = 50.0 + 0.03 * 12.0 + 0.05 * 13.5 + SLOPE_2 * 4.5
    lower = LOWER_INVERT + BELOW
    want = [
        (0.0, 50.00, lower - 50.00, section * DROP, "low point"),
        (0.0, LOWER_INVERT, BELOW, section * (RISER + TO_VALVE), "low point"),
        (12.0, at_valve - BELOW, BELOW, section * (FROM_VALVE + TOP_RISER), "you"),
    ]
    assert len(bent.drains) == 3
    for one, (station, invert, depth, held, by) in zip(bent.drains, want, strict=True):
        assert (one.station_m, one.invert_m, one.depth_m) == (near(station), near(invert), near(depth))
        assert (one.held_l, one.chosen_by) == (near(held), by)
    gate = bent.drains[2]
    place = (gate.easting_m + bent.ground.origin[0], gate.northing_m + bent.ground.origin[1])
    assert place == (near(512.0 + 4.5 / math.sqrt(2.0)), near(813.5 + 4.5 / math.sqrt(2.0)))
    assert gate.name == "gate"


# ---- Summer ----------------------------------------------------------------------------------------------------


def test_viscosity_of_cold_water_is_the_published_one() -> None:
    assert pytest.approx(1.567e-6, rel=2e-3) == COLD  # IAPWS table, 4 degrees C


def test_operating_point(bent: Estimate) -> None:
    water = bent.water
    flow = meeting(lambda q: pump(q) - LIFT - losses(q), 0.004)
    assert water.k_sum == near(K)
    assert water.flow_lps == near(1000.0 * flow, rel=1e-6)  # the density above has six digits
    assert water.total_head_m == near(pump(flow), rel=1e-6)
    assert water.friction_m == near(friction(flow, PIPE, BORE, COLD), rel=1e-6)
    assert water.fittings_m == near(fittings(flow, K, BORE), rel=1e-6)
    assert water.velocity_mps == near(flow / (math.pi / 4.0 * BORE**2), rel=1e-6)
    assert (water.flow_wanted_lps, water.head_at_wanted_m) == (near(2.5), near(LIFT + losses(0.0025), rel=1e-6))
    assert water.pump == "two points"


def test_curves(bent: Estimate) -> None:
    first, last = bent.water.curve[0], bent.water.curve[-1]
    assert (first.flow_lps, first.system_m, first.pump_m) == (0.0, near(LIFT), near(8.0))
    assert (last.flow_lps, last.pump_m) == (near(4.0), near(2.0))
    for one in bent.water.curve:
        assert one.pump_m == near(pump(one.flow_lps / 1000.0))
        if one.flow_lps > 0.5:  # turbulent
            assert one.system_m == near(LIFT + losses(one.flow_lps / 1000.0), rel=1e-6)


def test_a_pipe_that_bears_the_pump_has_no_finding(bent: Estimate) -> None:
    assert "over the rating" not in {one.code for one in bent.findings}  # 280 psi against 8 m
