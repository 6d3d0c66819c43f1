"""Cases of what stays full in winter, on lines whose water can be told by hand or by quadrature."""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
import pytest
from scipy.integrate import quad

from estimate.profile.line import LaidLine, design_line
from estimate.profile.winter import Winter, what_stays_full
from estimate.route.line import lay_route
from estimate.site_records import (
    DrainPart,
    Elevation,
    PipePart,
    RoutePart,
    SiteFile,
    StructurePart,
    SurveyPart,
    TrenchPart,
    ValvePart,
)
from estimate.water.pipe import pipe
from terrain.ground import Ground
from terrain.synthetic import ground_of, hilly_ground

FOOT = 0.3048
GALLON = 3.785411784
TWO_INCH = pipe("PVC Schedule 40", "2")
BORE = TWO_INCH.bore_m
COVER = 0.5
DOWN = COVER + TWO_INCH.outside_m - TWO_INCH.wall_m  # from the ground to the invert where the cover rules

Change = Callable[[SiteFile], SiteFile]


def strip(station: Sequence[float], height: Sequence[float]) -> Ground:
    """Return ground that is level across a strip 10 m wide and has `height` at `station` along it."""
    rows = [(at, side, up) for at, up in zip(station, height, strict=True) for side in (-5.0, 5.0)]
    return replace(ground_of(np.array(rows)), accuracy=0.01)


def yard(length: float, lower: float, upper: float) -> SiteFile:
    """Return a site on a strip: both basins empty in winter, ends of the pipe wherever the line comes out."""
    return SiteFile(
        title="strip",
        units="US",
        survey=SurveyPart(file="none.csv"),
        route=RoutePart(points=((0.0, 0.0), (length, 0.0))),
        lower=StructurePart(name="pond", water_level=Elevation(lower), winter_level="empty"),
        upper=StructurePart(name="fall", water_level=Elevation(upper), winter_level="empty"),
        pipe=PipePart(kind="PVC Schedule 40", size="2"),
        trench=TrenchPart(cover=COVER, least_fall=0.01),
    )


def run(file: SiteFile, ground: Ground) -> tuple[LaidLine, Winter]:
    route = lay_route(file, ground)
    line = design_line(file, ground, route, TWO_INCH)
    return line, what_stays_full(file, ground, route, line, TWO_INCH)


def turned_round(file: SiteFile, length: float) -> SiteFile:
    """Return the same yard with the route given from its other end."""
    starts: Literal["upper"] = "upper"
    return replace(
        file,
        route=RoutePart(points=file.route.points[::-1], starts_at=starts),
        drain=tuple(replace(one, station=length - one.station) for one in file.drain),
        valve=tuple(replace(one, station=length - one.station) for one in file.valve),
    )


def wedge_l(slope: float, level: float, length: float) -> float:
    """Return the litres below `level` in a pipe that starts at 0 and rises by `slope`, by quadrature."""

    def area(along: float) -> float:
        depth = min(max((level - slope * along) * math.hypot(1.0, slope), 0.0), BORE)
        angle = 2.0 * math.acos(1.0 - 2.0 * depth / BORE)
        return BORE**2 / 8.0 * (angle - math.sin(angle))

    breaks = [max((level - BORE / math.hypot(1.0, slope)) / slope, 0.0), min(level / slope, length)]
    value = quad(area, 0.0, length, points=breaks, limit=200, epsabs=1e-13)[0]
    return 1000.0 * math.hypot(1.0, slope) * float(value)


LENGTH = 50.0 * FOOT
RISING = strip((0.0, LENGTH), (10.0, 10.0 + 0.02 * LENGTH))
FULL_L = 1000.0 * TWO_INCH.inside_m3_per_m * LENGTH * math.hypot(1.0, 0.02)


def with_winter_level(above_port: float) -> SiteFile:
    port = 10.0 - DOWN
    file = yard(LENGTH, 10.0, 10.5)
    return replace(file, lower=replace(file.lower, winter_level=Elevation(port + above_port)))


def test_fifty_feet_of_two_inch_hold_8_72_gallons() -> None:
    """[D] 50 ft of 2 in Schedule 40 (ASTM D1785, bore 2.067 in): 8.72 US gal."""
    assert FULL_L / math.hypot(1.0, 0.02) / GALLON == pytest.approx(8.72, abs=0.005)


def test_a_line_without_a_sag_stays_full_below_a_winter_level() -> None:
    """[CP] 50 ft of 2 in rising 2 % from a port 1.0 ft below the winter level is wet from end to end.

    The trade counts the whole pipe, 8.7 gal; to the last drop the upper end is only wetted at its bottom.
    """
    line, winter = run(with_winter_level(1.0 * FOOT), RISING)
    assert not line.low_points
    (stretch,) = winter.stretches
    assert (stretch.from_m, stretch.to_m) == pytest.approx((0.0, LENGTH), abs=1e-9)
    assert stretch.held_l == pytest.approx(wedge_l(0.02, 1.0 * FOOT, LENGTH), rel=1e-7)
    assert 7.9 < stretch.held_l / GALLON < 8.72
    assert stretch.grade == "full-bore plug"
    assert stretch.cause == "below the winter level of pond"
    assert stretch.left_l == stretch.held_l
    assert winter.drains == ()
    assert [one.code for one in winter.findings] == ["below a winter level"]


def test_a_winter_level_above_the_crown_of_the_far_end_fills_the_whole_pipe() -> None:
    file = with_winter_level(1.0 * FOOT + BORE + 0.01)
    file = replace(file, upper=replace(file.upper, end_elevation=Elevation(12.0)))
    _, winter = run(file, RISING)
    (stretch,) = winter.stretches
    riser = 1000.0 * TWO_INCH.inside_m3_per_m * (BORE + 0.01)
    assert stretch.held_l == pytest.approx(FULL_L + riser, rel=1e-9)
    assert round(FULL_L / GALLON, 1) == 8.7


@pytest.mark.parametrize("round_about", [False, True])
def test_a_check_valve_at_the_foot_holds_the_line_and_one_drain_empties_it(round_about: bool) -> None:
    """[CP] so does one above a check valve at its foot: 8.7 gal with a spout above the line."""
    file = yard(LENGTH, 10.0, 10.5)
    port = 10.0 - DOWN
    lower = replace(file.lower, check_valve=True, end_elevation=Elevation(port - 0.4))
    upper = replace(file.upper, end_elevation=Elevation(port + 0.02 * LENGTH + 0.3))
    file = replace(file, lower=lower, upper=upper)
    _, winter = run(turned_round(file, LENGTH) if round_about else file, RISING)
    (stretch,) = winter.stretches
    held = FULL_L + 1000.0 * TWO_INCH.inside_m3_per_m * 0.7
    assert stretch.held_l == pytest.approx(held, rel=1e-9)
    assert stretch.cause == "above the check valve at pond"
    assert stretch.left_l == pytest.approx(0.0, abs=1e-9)
    (drain,) = winter.drains
    assert drain.held_l == pytest.approx(held, rel=1e-9)
    assert drain.invert_m == pytest.approx(port - 0.4)
    assert drain.station_m == pytest.approx(LENGTH if round_about else 0.0)
    assert drain.depth_m == pytest.approx(DOWN + 0.4)
    assert drain.chosen_by == "low point"
    assert stretch.drains == (0,)
    assert winter.findings == ()


def test_the_same_line_open_at_its_foot_holds_nothing_and_needs_no_drain() -> None:
    _, winter = run(yard(LENGTH, 10.0, 10.5), RISING)
    assert winter.stretches == ()
    assert winter.drains == ()
    assert winter.findings == ()


SAG = strip((0.0, 20.0, 40.0), (10.0, 9.0, 10.5))


@pytest.mark.parametrize("round_about", [False, True])
def test_a_sag_is_held_between_its_rims_and_its_drain_lets_all_out(round_about: bool) -> None:
    file = yard(40.0, 9.0, 11.0)
    line, winter = run(turned_round(file, 40.0) if round_about else file, SAG)
    (stretch,) = winter.stretches
    (drain,) = winter.drains
    assert len(line.low_points) == 1
    wanted = wedge_l(0.05, 1.0, 20.0) + wedge_l(0.075, 1.0, 20.0)
    assert stretch.held_l == pytest.approx(wanted, rel=1e-7)
    assert drain.held_l == pytest.approx(wanted, rel=1e-7)
    assert stretch.left_l == 0.0
    assert stretch.grade == "full-bore plug"
    assert stretch.cause.startswith("sag between stations")
    assert sorted((stretch.from_m, stretch.to_m)) == pytest.approx(
        [40.0 - 1.0 / 0.075 - 20.0, 40.0] if round_about else [0.0, 20.0 + 1.0 / 0.075]
    )
    assert drain.station_m == pytest.approx(20.0)
    assert drain.invert_m == pytest.approx(9.0 - DOWN)


def test_a_drain_that_the_user_wants_on_the_slope_lets_out_what_stands_above_it() -> None:
    file = replace(yard(40.0, 9.0, 11.0), drain=(DrainPart(station=10.0, name="by the path"),))
    _, winter = run(file, SAG)
    own, low = winter.drains
    assert (own.name, own.chosen_by) == ("by the path", "you")
    assert own.station_m == pytest.approx(10.0)
    above = wedge_l(0.05, 1.0, 20.0) - wedge_l(0.05, 1.0, 10.0)
    assert own.held_l == pytest.approx(above, rel=1e-6)
    (stretch,) = winter.stretches
    assert own.held_l + low.held_l == pytest.approx(stretch.held_l, rel=1e-12)
    assert stretch.drains == (0, 1)


def test_a_drain_beside_the_low_point_is_one_with_it() -> None:
    file = replace(yard(40.0, 9.0, 11.0), drain=(DrainPart(station=20.3),))
    _, winter = run(file, SAG)
    (drain,) = winter.drains
    assert drain.chosen_by == "you"
    assert drain.station_m == pytest.approx(20.0)
    assert any("stand at the low point" in text for text in winter.assumptions)


def test_a_drain_where_no_water_stands_is_a_finding_that_names_the_low_point() -> None:
    file = replace(yard(40.0, 9.0, 11.0), drain=(DrainPart(station=38.0),))
    _, winter = run(file, SAG)
    assert [one.held_l > 0.0 for one in winter.drains] == [True, False]
    (finding,) = winter.findings
    assert finding.code == "drain that cannot drain"
    assert "20.00 m" in finding.remedy


def test_a_drain_below_a_winter_level_that_reaches_it_is_a_finding() -> None:
    file = yard(40.0, 9.0, 11.0)
    file = replace(file, lower=replace(file.lower, winter_level=Elevation(10.2 - DOWN)))
    _, winter = run(file, SAG)
    codes = [one.code for one in winter.findings]
    assert codes == ["drain that cannot drain"]
    assert "pond keeps coming" in winter.findings[0].reason
    (stretch,) = winter.stretches
    assert stretch.left_l == pytest.approx(stretch.held_l)


@pytest.mark.parametrize("kind", ["check", "shut"])
def test_a_valve_in_the_line_holds_what_stands_above_it(kind: Literal["check", "shut"]) -> None:
    file = replace(yard(LENGTH, 10.0, 10.5), valve=(ValvePart(station=5.0, kind=kind),))
    _, winter = run(file, RISING)
    (stretch,) = winter.stretches
    assert stretch.from_m == pytest.approx(5.0)
    assert stretch.held_l == pytest.approx(wedge_l(0.02, 0.02 * (LENGTH - 5.0), LENGTH - 5.0), rel=1e-7)
    assert stretch.cause.startswith(f"above the {'check' if kind == 'check' else 'shut'} valve")
    (drain,) = winter.drains
    assert drain.station_m == pytest.approx(5.0)
    assert drain.chosen_by == "low point"
    assert drain.held_l == pytest.approx(stretch.held_l, rel=1e-9)
    assert (stretch.left_l, winter.findings) == (0.0, ())


def test_two_shut_valves_close_the_pipe_between_them() -> None:
    valves = (ValvePart(station=5.0, kind="shut", name="A"), ValvePart(station=9.0, kind="shut", name="B"))
    _, winter = run(replace(yard(LENGTH, 10.0, 10.5), valve=valves), RISING)
    grades = [one.grade for one in winter.stretches]
    assert grades == ["closed and full", "full-bore plug"]
    shut = winter.stretches[0]
    assert shut.held_l == pytest.approx(FULL_L * 4.0 / LENGTH, rel=1e-9)
    assert shut.cause == "shut in between the shut valve A at station 5.00 m and the shut valve B at station 9.00 m"


def test_a_small_sag_is_a_puddle_with_air() -> None:
    ground = strip((0.0, 20.0, 22.0, 42.0), (10.0, 9.0, 9.04, 8.5))
    _, winter = run(yard(42.0, 9.0, 11.0), replace(ground, accuracy=0.001))
    (stretch,) = winter.stretches
    assert stretch.grade == "puddle with air"
    assert stretch.left_l == 0.0


def test_a_full_basin_above_an_open_line_runs_back() -> None:
    file = yard(LENGTH, 10.0, 10.5)
    file = replace(file, upper=replace(file.upper, winter_level=Elevation(11.0)))
    _, winter = run(file, RISING)
    assert "basin runs back" in [one.code for one in winter.findings]
    checked = replace(file, lower=replace(file.lower, check_valve=True))
    assert "basin runs back" not in [one.code for one in run(checked, RISING)[1].findings]


@pytest.mark.parametrize("seed", range(12))
def test_on_hills_drains_and_rest_add_up_to_what_is_held_either_way_round(seed: int) -> None:
    ground = hilly_ground(400, seed=seed)
    rng = np.random.default_rng(seed)
    points = ((-70.0, -60.0), (0.0, float(rng.uniform(-40.0, 40.0))), (80.0, 70.0))
    length = float(np.hypot(*np.diff(np.array(points), axis=0).T).sum())
    file = yard(length, 97.0, 103.0)
    file = replace(
        file,
        route=RoutePart(points=points),
        lower=replace(
            file.lower, check_valve=bool(seed % 2), winter_level=Elevation(float(rng.uniform(95.0, 100.0)))
        ),
        drain=(DrainPart(station=float(rng.uniform(0.0, length))),),
        valve=(ValvePart(station=float(rng.uniform(0.0, length)), kind="check" if seed % 3 else "shut"),),
    )
    line, forth = run(file, ground)
    _, back = run(turned_round(file, length), ground)
    for winter in (forth, back):
        held = sum(one.held_l for one in winter.stretches)
        left = sum(one.left_l for one in winter.stretches)
        assert held == pytest.approx(left + sum(one.held_l for one in winter.drains), rel=1e-9, abs=1e-6)
        assert all(one.from_m < other.from_m for one, other in itertools.pairwise(winter.stretches))
        assert all(one.station_m <= other.station_m for one, other in itertools.pairwise(winter.drains))
    assert len(forth.drains) >= len(line.low_points)
    assert [one.held_l for one in back.drains] == pytest.approx(
        [one.held_l for one in reversed(forth.drains)], abs=1e-9
    )
    assert [one.grade for one in back.stretches] == [one.grade for one in reversed(forth.stretches)]
    assert sorted(one.code for one in back.findings) == sorted(one.code for one in forth.findings)
