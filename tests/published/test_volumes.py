"""Earthwork volumes with published answers, and the closed forms beside them."""

from itertools import pairwise

import pytest

from estimate.dig.endarea import average_end_area, prismoidal
from estimate.dig.prisms import cell_volume, triangle_volumes
from estimate.dig.spoil import zone_area

YARD3 = 27.0

# Fundamentals of Transportation (open textbook), chapter Earthwork, worked solution; metres.
FILL = ([0.0, 50.0, 75.0, 100.0, 115.0, 150.0], [60.0, 50.0, 25.0, 5.0, 0.0, 0.0])
CUT = ([0.0, 50.0, 75.0, 100.0, 115.0, 150.0], [0.0, 0.0, 0.0, 10.0, 15.0, 30.0])


def test_earthwork_with_pyramid_ends() -> None:
    fill, cut = average_end_area(*FILL, pyramid_ends=True), average_end_area(*CUT, pyramid_ends=True)
    assert (fill, cut) == pytest.approx((4087.5, 1058.3), abs=0.1)
    assert fill - cut == pytest.approx(3029.2, abs=0.1)


def test_earthwork_with_plain_average_ends() -> None:
    assert (average_end_area(*FILL), average_end_area(*CUT)) == pytest.approx((4100.0, 1100.0), abs=1e-9)


# G. L. Vose, Handbook of Railroad Construction, section 108: base 20 ft, slopes 1.5:1, cuts 0 5 10 15 0 ft.
VOSE_STATIONS = [0.0, 50.0, 100.0, 150.0, 200.0]
VOSE_DEPTHS = [0.0, 5.0, 10.0, 15.0, 0.0]


def test_vose_end_areas_are_the_trapezoid() -> None:
    areas = [zone_area(20.0, depth, 1.5, 1.5) for depth in VOSE_DEPTHS]
    assert areas == pytest.approx([0.0, 137.0, 350.0, 637.0, 0.0], abs=0.6)  # printed in whole feet


def test_vose_average_end_area_and_prismoidal() -> None:
    areas = [zone_area(20.0, depth, 1.5, 1.5) for depth in VOSE_DEPTHS]
    halves = [(a + b) / 2.0 for a, b in pairwise(VOSE_DEPTHS)]
    middle = [zone_area(20.0, depth, 1.5, 1.5) for depth in halves]
    assert average_end_area(VOSE_STATIONS, areas) == pytest.approx(56_250.0, abs=0.01)
    assert average_end_area(VOSE_STATIONS, areas) == pytest.approx(56_200.0, rel=2e-3)  # printed
    assert prismoidal(VOSE_STATIONS, areas, middle) == pytest.approx(52_500.0, abs=0.01)


# Closed form: average end area exceeds the prismoid by L z (d1 - d2)^2 / 6.
@pytest.mark.parametrize(
    ("width", "slope", "depths", "average", "exact"),
    [
        (2.0, 1.0, (2.0, 6.0), 2800.0, 7600.0 / 3.0),
        (1.5, 1.5, (3.0, 5.0), 3150.0, 3050.0),
        (2.0, 0.0, (2.0, 6.0), 800.0, 800.0),
    ],
)
def test_trench_of_changing_depth(
    width: float, slope: float, depths: tuple[float, float], average: float, exact: float
) -> None:
    ends = [zone_area(width, depth, slope, slope) for depth in depths]
    middle = zone_area(width, sum(depths) / 2.0, slope, slope)
    assert average_end_area([0.0, 100.0], ends) == pytest.approx(average, rel=1e-12)
    assert prismoidal([0.0, 100.0], ends, [middle]) == pytest.approx(exact, rel=1e-12)
    assert average - exact == pytest.approx(100.0 * slope * (depths[0] - depths[1]) ** 2 / 6.0, rel=1e-12)


# OSHA 29 CFR 1926 Subpart P slopes; closed form for a 4 ft trench of 2 ft floor, 100 ft long, in bank yd3.
@pytest.mark.parametrize(("slope", "yards"), [(0.0, 29.63), (0.75, 74.07), (1.0, 88.89), (1.5, 118.52)])
def test_four_foot_trench_by_soil_type(slope: float, yards: float) -> None:
    assert zone_area(2.0, 4.0, slope, slope) * 100.0 / YARD3 == pytest.approx(yards, abs=0.005)


def test_pond_frustum_by_the_prismoidal_formula() -> None:  # closed form
    top, middle, bottom = 20.0 * 12.0, 17.0 * 9.0, 14.0 * 6.0
    assert prismoidal([0.0, 3.0], [top, bottom], [middle]) == pytest.approx(468.0, rel=1e-12)
    assert average_end_area([0.0, 3.0], [top, bottom]) == pytest.approx(486.0, rel=1e-12)


# Navy training manual Engine Mechanics (NAVEDTRA 14081): yd3 = 1.85 (A1 + A2) x L / 100.
def test_navy_yardage_factor() -> None:
    assert average_end_area([0.0, 100.0], [1.0, 1.0]) / YARD3 / 2.0 == pytest.approx(1.85, abs=0.005)


# A published borrow-pit exercise: one cell 50 x 50 ft, corners 87.6 87.6 87.6 88.6, fill to 90: 199 yd3.
def test_grid_cell_of_the_borrow_pit() -> None:
    heights = [90.0 - ground for ground in (87.6, 87.6, 87.6, 88.6)]
    assert cell_volume(2500.0, heights) / YARD3 == pytest.approx(199.0, abs=0.1)


def test_prism_under_a_triangle() -> None:  # closed form: plan area x mean of three heights
    assert triangle_volumes(600.0, (3.0, 4.5, 6.0)) == pytest.approx((2700.0, 0.0), rel=1e-12)


def test_prism_across_the_zero_line() -> None:  # closed form: split, 150 one way and 750 the other
    assert triangle_volumes(600.0, (3.0, 3.0, -3.0)) == pytest.approx((750.0, 150.0), rel=1e-12)
    assert triangle_volumes(600.0, (-3.0, 3.0, -3.0)) == pytest.approx((150.0, 750.0), rel=1e-12)
