"""Findings on the ends and the shape of the designed line, on plain strips, and the lift to a free outfall."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from estimate.profile.grade import turns_of
from estimate.profile.line import LaidLine, design_line
from estimate.profile.structures import static_lift
from estimate.record import Finding
from estimate.route.bends import vertical_elbows
from estimate.route.line import lay_route
from estimate.site_records import (
    Elevation,
    PipePart,
    PitPart,
    RoutePart,
    SiteFile,
    StructurePart,
    SurveyPart,
    TrenchPart,
)
from estimate.water.pipe import pipe
from terrain.ground import Ground
from terrain.synthetic import ground_of, hilly_ground

TWO_INCH = pipe("PVC Schedule 40", "2")
DOWN = 0.5 + TWO_INCH.outside_m - TWO_INCH.wall_m  # from the ground to the invert where the cover rules


def strip(station: Sequence[float], height: Sequence[float]) -> Ground:
    rows = [(at, side, up) for at, up in zip(station, height, strict=True) for side in (-5.0, 5.0)]
    return replace(ground_of(np.array(rows)), accuracy=0.01)


def yard(length: float = 40.0) -> SiteFile:
    return SiteFile(
        title="strip",
        units="SI",
        survey=SurveyPart(file="none.csv"),
        route=RoutePart(points=((0.0, 0.0), (length, 0.0))),
        lower=StructurePart(name="pond", water_level=Elevation(9.8)),
        upper=StructurePart(name="fall", water_level=Elevation(12.1)),
        pipe=PipePart(kind="PVC Schedule 40", size="2"),
        trench=TrenchPart(cover=0.5, least_fall=0.01),
    )


def run(file: SiteFile, ground: Ground) -> LaidLine:
    return design_line(file, ground, lay_route(file, ground), TWO_INCH)


def told(file: SiteFile, ground: Ground, code: str) -> list[Finding]:
    return [one for one in run(file, ground).findings if one.code == code]


RISING = strip((0.0, 40.0), (10.0, 12.0))


def test_a_plain_line_has_nothing_to_tell() -> None:
    assert run(yard(), RISING).findings == ()


@pytest.mark.parametrize(("off", "elbows"), [(0.024, 0), (-0.024, 0), (0.026, 2), (-0.2, 2)])
def test_a_port_off_the_line_is_told_with_its_elbows(off: float, elbows: int) -> None:
    file = replace(yard(), lower=replace(yard().lower, port_elevation=Elevation(10.0 - DOWN + off)))
    found = told(file, RISING, "vertical pipe")
    assert vertical_elbows(run(file, RISING).structures[0]) == elbows
    assert len(found) == elbows // 2
    for one in found:
        assert one.level == "note"
        assert f"{abs(off):.2f} m {'above' if off > 0.0 else 'below'} the line's invert" in one.reason


@pytest.mark.parametrize(
    ("port", "code"),
    [(10.25, ""), (10.35, "port above the ground"), (9.2, ""), (9.0, "port below the line")],
)
def test_a_port_in_the_air_or_below_all_that_is_dug_is_warned_of(port: float, code: str) -> None:
    """The trench floor at the foot is at about 9.44 m."""
    file = replace(yard(), lower=replace(yard().lower, port_elevation=Elevation(port)))
    warned = [one.code for one in run(file, RISING).findings if one.code.startswith("port ")]
    assert warned == [code] * bool(code)


def test_a_pit_makes_room_for_a_deeper_port() -> None:
    pit = PitPart(length=1.0, width=1.0, floor=Elevation(8.8))
    file = replace(yard(), lower=replace(yard().lower, port_elevation=Elevation(9.0), pit=pit))
    assert told(file, RISING, "port below the line") == []


def test_levels_far_from_the_ground_are_told_and_exchanged_ends_are_thought_of() -> None:
    ground = strip((0.0, 40.0), (10.0, 14.0))
    right = replace(yard(), upper=replace(yard().upper, water_level=Elevation(14.2)))
    assert told(right, ground, "level far from the ground") == []
    wrong = replace(right, route=replace(right.route, starts_at="upper"))
    found = told(wrong, ground, "level far from the ground")
    assert [one.where for one in found] == ["upper, fall", "lower, pond"]
    assert "14.20 m, is 4.20 m above the ground at that end of the route, 10.00 m" in found[0].reason
    assert all('(route.starts_at = "lower") both levels would lie within 0.20 m' in one.remedy for one in found)


def test_one_level_off_is_told_without_a_word_of_exchange() -> None:
    file = replace(yard(), upper=replace(yard().upper, water_level=Elevation(10.4)))
    (found,) = told(file, RISING, "level far from the ground")
    assert "1.60 m below the ground" in found.reason
    assert "exchanged" not in found.remedy


@pytest.mark.parametrize(("given", "above"), [(None, 0.0), (12.0, 0.0), (12.5, 0.4)])
def test_the_lift_counts_to_the_end_of_a_pipe_above_the_water(given: float | None, above: float) -> None:
    end = None if given is None else Elevation(given)
    upper = replace(yard().upper, end_elevation=end)
    file = replace(yard(), upper=upper, lower=replace(yard().lower, low_level=Elevation(9.5)))
    line = run(file, RISING)
    assert static_lift(line.structures) == pytest.approx((2.3 + above, 2.6 + above))
    assert [one.code for one in line.findings if one.code == "free outfall"] == ["free outfall"] * bool(above)


def test_a_designed_end_above_the_water_is_a_free_outfall_too() -> None:
    file = replace(yard(), upper=replace(yard().upper, water_level=Elevation(11.0)))
    assert static_lift(run(file, RISING).structures)[0] == pytest.approx(12.0 - DOWN - 9.8)
    (found,) = told(file, RISING, "free outfall")
    assert f"{12.0 - DOWN - 11.0:.2f} m above the water" in found.reason


def test_a_side_that_comes_down_at_once_before_a_low_is_told() -> None:
    """From 0 the line falls to 20 m by 3 m; from 40 m the ground stays level until it drops 2.9 m in 0.3 m."""
    ground = strip((0.0, 20.0, 20.3, 40.0), (12.0, 9.0, 11.9, 12.0))
    (found,) = told(yard(), ground, "steep drop")
    assert found.level == "warning"
    assert "before the low point at station 20.00 m" in found.reason
    assert (found.from_m, found.to_m) == pytest.approx((20.0, 20.3), abs=0.05)


def test_a_slope_up_to_one_in_one_is_no_drop() -> None:
    ground = strip((0.0, 20.0, 23.0, 40.0), (10.0, 10.5, 13.4, 14.0))
    assert (
        told(replace(yard(), upper=replace(yard().upper, water_level=Elevation(14.0))), ground, "steep drop") == []
    )


def test_turns_of_the_profile_are_found_where_they_are_and_noise_makes_none() -> None:
    """At a break of grade from 0 to 0.3 the line turns by arctan 0.3, 16.7 degrees, and by a fifth less at 0.2."""
    station = np.linspace(0.0, 30.0, 301)
    at, by = turns_of(station, np.maximum(0.3 * (station - 15.0), 0.0))
    assert at.tolist() == pytest.approx([15.0])
    assert by.tolist() == pytest.approx([np.degrees(np.arctan(0.3))])
    assert len(turns_of(station, np.maximum(0.19 * (station - 15.0), 0.0))[0]) == 0
    noise = np.random.default_rng(5).normal(0.0, 0.01, 301)
    assert len(turns_of(station, 0.02 * station + noise)[0]) == 0
    line = run(yard(), strip((0.0, 15.0, 40.0), (9.0, 9.0, 19.0)))
    (found,) = [one for one in line.findings if one.code == "sharp turn of the profile"]
    assert found.where == "station 15.00 m (21°)"


@pytest.mark.parametrize(("rise", "level"), [(0.0, True), (0.02, True), (0.05, False)])
def test_ground_without_fall_is_told(rise: float, level: bool) -> None:
    """Two shots of 0.01 m differ by up to 0.028 m from noise alone."""
    file = replace(yard(), upper=replace(yard().upper, water_level=Elevation(10.0)))
    assert len(told(file, strip((0.0, 40.0), (10.0, 10.0 + rise)), "level line")) == level


def test_what_bends_are_taken_to_be_is_said() -> None:
    points = ((0.0, 0.0), (20.0, 0.0), (40.0, 14.0))
    ground = replace(
        ground_of(np.array([(-9.0, -9.0, 10.0), (90.0, -9.0, 12.0), (-9.0, 90.0, 10.0)])), accuracy=0.01
    )
    said = run(replace(yard(), route=RoutePart(points=points)), ground).assumptions
    off = 45.0 - np.degrees(np.arctan2(14.0, 20.0))
    assert any(f"here at most {off:.1f} degrees off" in text for text in said)
    assert any("bends of the profile are taken by bending the pipe" in text for text in said)


@pytest.mark.parametrize("seed", range(6))
def test_the_same_is_told_of_the_route_given_from_its_other_end(seed: int) -> None:
    """Stations are mirrored; codes, reasons of the ends and the number of sharp turns are the same."""
    ground = hilly_ground(400, seed=seed)
    points = ((-70.0, -60.0), (0.0, 10.0 * seed - 25.0), (80.0, 70.0))
    lower = StructurePart(name="pond", water_level=Elevation(97.0), port_elevation=Elevation(99.5))
    upper = StructurePart(name="fall", water_level=Elevation(102.0), end_elevation=Elevation(103.0))
    file = replace(yard(), route=RoutePart(points=points), lower=lower, upper=upper)
    forth = run(file, ground).findings
    back = run(replace(file, route=RoutePart(points=points[::-1], starts_at="upper")), ground).findings
    assert sorted(one.code for one in forth) == sorted(one.code for one in back)
    ends = {"vertical pipe", "free outfall", "port above the ground", "port below the line"}
    assert {one.reason for one in forth if one.code in ends} == {one.reason for one in back if one.code in ends}
    turns = [one.where.count("°") for told in (forth, back) for one in told if one.code.startswith("sharp")]
    assert len(set(turns)) <= 1
