"""Earthwork volumes with published answers, and the closed forms beside them."""

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray

from estimate.dig.endarea import average_end_area
from estimate.dig.excavate import excavate
from estimate.dig.lines import Line, Pit
from estimate.dig.section import Section, Wall

YARD3 = 27.0
Land = tuple[NDArray[np.float64], NDArray[np.int32]]


def flat(height: float, reach: float = 400.0) -> Land:
    """Return a level ground of two triangles."""
    corners = np.array([[-reach, -reach], [reach, -reach], [reach, reach], [-reach, reach]])
    return np.column_stack([corners, np.full(4, height)]), np.array([[0, 1, 2], [0, 2, 3]], dtype=np.int32)


def dug(stations: Sequence[float], depths: Sequence[float], section: Section) -> float:
    """Return the exact cut of a level floor under ground that rises and falls along the line only."""
    across = np.array([-60.0, 60.0])
    vertices = np.array(
        [[station, side, depth] for station, depth in zip(stations, depths, strict=True) for side in across]
    )
    strips = [[2 * k, 2 * k + 2, 2 * k + 1] for k in range(len(stations) - 1)]
    strips += [[2 * k + 1, 2 * k + 2, 2 * k + 3] for k in range(len(stations) - 1)]
    line = Line(np.array([[stations[0], 0.0, 0.0], [stations[-1], 0.0, 0.0]]), section)
    return excavate(vertices, np.array(strips, dtype=np.int32), [line])[0].volume_m3


def triangle_dug(heights: tuple[float, float, float]) -> float:
    """Return the exact cut down to level under one triangle of 30 x 40 ft with these heights above it."""
    plan = np.array([[0.0, 0.0], [30.0, 0.0], [0.0, 40.0]])
    floor = Pit(np.array([[-1.0, -1.0], [99.0, -1.0], [-1.0, 99.0]]), 0.0)
    cut, _ = excavate(np.column_stack([plan, heights]), np.array([[0, 1, 2]], dtype=np.int32), [], [floor])
    return cut.volume_m3


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
VOSE = Section(20.0, Wall(1.5), Wall(1.5))


def test_vose_end_areas_are_the_trapezoid() -> None:
    areas = [VOSE.area(depth) for depth in VOSE_DEPTHS]
    assert areas == pytest.approx([0.0, 137.0, 350.0, 637.0, 0.0], abs=0.6)  # printed in whole feet


def test_vose_average_end_area_and_exact_cut() -> None:
    areas = [VOSE.area(depth) for depth in VOSE_DEPTHS]
    assert average_end_area(VOSE_STATIONS, areas) == pytest.approx(56_250.0, abs=0.01)
    assert average_end_area(VOSE_STATIONS, areas) == pytest.approx(56_200.0, rel=2e-3)  # printed
    assert dug(VOSE_STATIONS, VOSE_DEPTHS, VOSE) == pytest.approx(52_500.0, rel=1e-12)  # prismoidal, exact


# Closed form: average end area exceeds the prism by L z (d1 - d2)^2 / 6.
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
    section = Section(width, Wall(slope), Wall(slope))
    assert average_end_area([0.0, 100.0], [section.area(depth) for depth in depths]) == pytest.approx(average)
    assert dug([0.0, 100.0], depths, section) == pytest.approx(exact, rel=1e-12)
    assert average - exact == pytest.approx(100.0 * slope * (depths[0] - depths[1]) ** 2 / 6.0, rel=1e-12)


# OSHA 29 CFR 1926 Subpart P slopes; closed form for a 4 ft trench of 2 ft floor, 100 ft long, in bank yd3.
@pytest.mark.parametrize(("slope", "yards"), [(0.0, 29.63), (0.75, 74.07), (1.0, 88.89), (1.5, 118.52)])
def test_four_foot_trench_by_soil_type(slope: float, yards: float) -> None:
    section = Section(2.0, Wall(slope), Wall(slope))
    assert dug([0.0, 100.0], [4.0, 4.0], section) / YARD3 == pytest.approx(yards, abs=0.005)
    assert section.area(4.0) * 100.0 / YARD3 == pytest.approx(yards, abs=0.005)


# Closed form: a frustum of 20 x 12 and 14 x 6 ft, 3 ft deep, by the prismoidal formula; end areas give 486.
def test_pond_frustum() -> None:
    floor = np.array([[-7.0, -3.0], [7.0, -3.0], [7.0, 3.0], [-7.0, 3.0]])
    cut, _ = excavate(*flat(3.0), [], [Pit(floor, 0.0, Wall(1.0))])
    assert cut.volume_m3 == pytest.approx(468.0, rel=1e-12)
    assert average_end_area([0.0, 3.0], [240.0, 84.0]) == pytest.approx(486.0, rel=1e-12)


# Navy training manual Engine Mechanics (NAVEDTRA 14081): yd3 = 1.85 (A1 + A2) x L / 100.
def test_navy_yardage_factor() -> None:
    assert average_end_area([0.0, 100.0], [1.0, 1.0]) / YARD3 / 2.0 == pytest.approx(1.85, abs=0.005)


# Closed form: plan area times the mean of three heights, in ft3.
def test_prism_under_a_triangle() -> None:
    assert triangle_dug((3.0, 4.5, 6.0)) == pytest.approx(2700.0, rel=1e-12)


# Closed form: heights of both signs, split at the zero line.
def test_prism_across_the_zero_line() -> None:
    assert triangle_dug((3.0, 3.0, -3.0)) == pytest.approx(750.0, rel=1e-12)
    assert triangle_dug((-3.0, 3.0, -3.0)) == pytest.approx(150.0, rel=1e-12)
