"""The sloped yard of conftest by hand: one straight line of 40 m from the upper end, walls 0.5 and 1.0, own pipe.

Places are metres east and north of easting 500 and northing 800; elevations are absolute.
"""

import itertools
import math
from collections.abc import Callable

import pytest

from estimate.record import Estimate

INCH, FOOT, GRAVITY, YARD3 = 0.0254, 0.3048, 9.80665, 0.9144**3
LEFT, RIGHT, HALF, LONG = 0.5, 1.0, 0.25, 40.0
CROSS = 0.05 * -0.8 - 0.06 * 0.6  # rise of the ground towards the left of the direction (0.6, 0.8)
GROUND_FALL = -(0.05 * 0.6 - 0.06 * 0.8)
DENSITY = 998.206  # of water at 20 degrees C, Kell 1975
TOP_DEPTH = 0.6 + 0.06 + 0.1  # cover, pipe, bedding at the upper end; then it falls 0.025, the ground 0.018


def near(value: float, *, rel: float = 1e-9) -> object:
    return pytest.approx(value, rel=rel, abs=1e-9)


def sloped_depth(station: float) -> float:
    return TOP_DEPTH + (0.025 - GROUND_FALL) * station


def face(depth: float, slope: float, cross: float) -> float:
    """Height above the floor at which a wall of `slope` meets ground that rises by `cross` to its side:
    y = depth + cross (half + slope y)."""
    return (depth + cross * HALF) / (1.0 - cross * slope)


def section(depth: float) -> float:
    """Area [m2]: the floor's strip, whose mean height is the depth, and a triangle over each wall."""
    left = (depth + CROSS * HALF) * LEFT * face(depth, LEFT, CROSS) / 2.0
    right = (depth - CROSS * HALF) * RIGHT * face(depth, RIGHT, -CROSS) / 2.0
    return 2.0 * HALF * depth + left + right


def surface_width(depth: float) -> float:
    return 2.0 * HALF + LEFT * face(depth, LEFT, CROSS) + RIGHT * face(depth, RIGHT, -CROSS)


def prismoid(area: Callable[[float], float], start: float = 0.0, stop: float = LONG) -> float:
    """L (A1 + 4 Am + A2) / 6, exact for areas of second degree in the depth."""
    first, middle, last = (area(sloped_depth(station)) for station in (start, (start + stop) / 2.0, stop))
    return (stop - start) * (first + 4.0 * middle + last) / 6.0


def test_sloped_walls(sloped: Estimate) -> None:
    dig = sloped.dig
    bank, beneath = prismoid(section), prismoid(lambda depth: section(depth - 0.2))
    assert (dig.bank_m3, dig.area_m2) == (near(bank), near(prismoid(surface_width)))
    assert (dig.layers_m3.topsoil, dig.layers_m3.earth) == (near(bank - beneath), near(beneath))
    assert dig.deepest_m == near(sloped_depth(LONG))
    assert dig.tallest_face_m == near(face(sloped_depth(LONG), RIGHT, -CROSS))
    assert ((dig.left_wall.slope, dig.right_wall.slope)) == (LEFT, RIGHT)
    for one, start in zip(dig.intervals, (0.0, 10.0, 20.0, 30.0), strict=True):
        assert one.bank_m3 == near(prismoid(section, start, start + 10.0))
        assert one.deepest_m == near(sloped_depth(start + 10.0))
    level = [
        2.0 * HALF * depth + (LEFT + RIGHT) * depth**2 / 2.0 for depth in map(sloped_depth, (0, 10, 20, 30, 40))
    ]
    assert dig.end_area_m3 == near(math.fsum(5.0 * (a + b) for a, b in itertools.pairwise(level)))
    assert (dig.pits_m3, dig.structures_m3, dig.bank_common_error_m3) == (0.0, 0.0, 0.0)


def test_sloped_spoil(sloped: Estimate) -> None:
    dig = sloped.dig
    bank, topsoil = prismoid(section), prismoid(section) - prismoid(lambda depth: section(depth - 0.2))
    # The lowest 0.1 m, with its wedges up the walls; rods of 60 mm in space at a fall of 0.025.
    bedding = LONG * (2.0 * HALF * 0.1 + (LEFT + RIGHT) * 0.1**2 / 2.0)
    pipe = math.pi / 4.0 * 0.06**2 * LONG * math.hypot(1.0, 0.025)
    fill = bank - bedding - pipe
    left = bank - topsoil - (fill - 0.9 * topsoil) / 1.3  # soils.csv: topsoil 0.9, rock 1.3 compacted, 1.5 loose
    assert (dig.bedding_m3, dig.pipe_m3, dig.backfill_m3) == (near(bedding), near(pipe), near(fill))
    assert (dig.surplus_bank_m3, dig.surplus_loose_m3) == (near(left), near(1.5 * left))
    # trucks.csv: wheelbarrow 0.15 yd3, 350 lb; rock 150 lb/ft3 in the bank: the weight rules.
    by_weight = math.ceil(left * 150.0 / FOOT**3 / 350.0)
    assert by_weight > 1.5 * left / (0.15 * YARD3)
    assert (dig.loads, dig.loads_rule) == (by_weight, "weight")


def test_below_a_winter_level(sloped: Estimate) -> None:
    # The line comes down to 58.245 at 0.025; the pond stands at 58.60 in winter, above the pipe's end at 58.10, and
    # fills it. Where its surface cuts the sloping pipe, the wedge of 2 r / tan a along the pipe is half full, as a
    # circle's segments of depth t and 2 r - t make up the whole: r / tan a is missing from its length.
    lower_invert = 60.0 + 0.05 * 34.0 - 0.06 * 42.0 - 0.6 - 0.06 + 0.005 - (0.025 - 0.018) * 40.0
    covered = (58.60 - lower_invert) / 0.025
    length = (lower_invert - 58.10) + covered * math.hypot(1.0, 0.025) - 0.025 / 0.025
    (one,) = sloped.full_stretches
    assert (one.from_m, one.to_m) == (near(40.0 - covered), near(40.0))
    assert one.held_l == near(1000.0 * math.pi / 4.0 * 0.05**2 * length, rel=1e-7)
    assert (one.left_l, one.grade, sloped.drains) == (near(one.held_l), "full-bore plug", ())


def test_own_pipe_with_another_table_of_fittings(sloped: Estimate) -> None:
    # Two 90 elbows, since the pipe ends 0.145 m below and 0.155 m above the line. fittings.csv: IRC 0.9; it has no
    # tee run (Crane's 20 fT), entrance and exit (Crane's 0.5 and 1); coupling 0.15 from any table.
    count = {"90 elbow": 2, "tee run": 1, "coupling": 3, "sharp entrance": 1, "exit": 1}
    k = 2 * 0.9 + 20.0 * 0.25 / math.log10(0.0018 * INCH / (3.7 * 0.05)) ** 2 + 3 * 0.15 + 0.5 + 1.0
    length = 40.0 * math.hypot(1.0, 0.025) + 0.145 + 0.155
    thick = 1.002e-3 / DENSITY  # kinematic viscosity; 1.002 mPa s at 20 degrees C, Kestin and others 1978

    def spare(flow: float) -> float:
        """Head left by the pump: 8 m at rest, 2 m at 6 L/s; Colebrook solved by repetition, e 0.0015 mm."""
        speed = flow / (math.pi / 4.0 * 0.05**2)
        inverse = 7.0
        for _ in range(60):
            inverse = -2.0 * math.log10(1.5e-6 / (3.7 * 0.05) + 2.51 * inverse * thick / (speed * 0.05))
        lost = (length / 0.05 / inverse**2 + k) * speed**2 / (2.0 * GRAVITY)
        return 8.0 - 6.0 * flow / 0.006 - 0.7 - lost

    low, flow = 0.001, 0.006
    for _ in range(60):
        middle = (low + flow) / 2.0
        low, flow = (middle, flow) if spare(middle) > 0.0 else (low, middle)
    pipe = sloped.pipe
    assert (pipe.length_m, pipe.sticks, dict(pipe.fittings)) == (near(length), 9, count)  # of 5 m
    assert (pipe.bore_m, pipe.outside_m, pipe.rating_pa) == (near(0.05), near(0.06), near(60e3))
    assert (sloped.water.k_sum, sloped.water.flow_lps) == (near(k), near(1000.0 * flow, rel=1e-6))


@pytest.mark.parametrize(("rating", "over"), [("60 kPa", True), ("85.5 kPa", True), ("86.5 kPa", False)])
def test_rating(rated: Callable[[str], Estimate], rating: str, over: bool) -> None:
    # At no flow the pump adds 8 m to the lower water at 58.90; the pipe's lowest place is its end at 58.10.
    pressure = DENSITY * GRAVITY * (8.0 + 58.90 - 58.10)
    assert 85.5e3 < pressure < 86.5e3
    assert ("over the rating" in {one.code for one in rated(rating).findings}) == over


def test_what_the_book_does_not_know_is_told(sloped: Estimate, bent: Estimate) -> None:
    assert "not priced" in {one.code for one in sloped.findings}
    assert len(sloped.price.unpriced) == 1  # its pipe
    assert "not priced" not in {one.code for one in bent.findings}


def test_lift_to_the_upper_water(sloped: Estimate) -> None:
    # The pipe ends below the upper water: from surface to surface.
    assert (sloped.lift.static_m, sloped.lift.static_low_m) == (near(59.60 - 58.90), near(59.60 - 58.90))
    assert "free outfall" not in {one.code for one in sloped.findings}
    assert [one.end for one in sloped.structures] == ["upper", "lower"]
