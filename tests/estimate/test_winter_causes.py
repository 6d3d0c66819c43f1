"""What holds the water in winter is named by the basin that really does, and drains stand where they work."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
import pytest

from estimate.profile.line import design_line
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
from terrain.synthetic import ground_of

TWO_INCH = pipe("PVC Schedule 40", "2")
BORE = TWO_INCH.bore_m
DOWN = 0.5 + TWO_INCH.outside_m - TWO_INCH.wall_m  # from the ground to the invert where the cover rules


def strip(station: Sequence[float], height: Sequence[float]) -> Ground:
    rows = [(at, side, up) for at, up in zip(station, height, strict=True) for side in (-5.0, 5.0)]
    return replace(ground_of(np.array(rows)), accuracy=0.01)


def level(height: float | None) -> Elevation | Literal["empty"]:
    return "empty" if height is None else Elevation(height)


def yard(length: float, lower: float | None, upper: float | None) -> SiteFile:
    """Return a site on a strip with these winter levels; None is empty."""
    return SiteFile(
        title="strip",
        units="US",
        survey=SurveyPart(file="none.csv"),
        route=RoutePart(points=((0.0, 0.0), (length, 0.0))),
        lower=StructurePart(name="pond", water_level=Elevation(10.0), winter_level=level(lower)),
        upper=StructurePart(name="fall", water_level=Elevation(12.0), winter_level=level(upper)),
        pipe=PipePart(kind="PVC Schedule 40", size="2"),
        trench=TrenchPart(cover=0.5, least_fall=0.01),
    )


def run(file: SiteFile, ground: Ground) -> Winter:
    route = lay_route(file, ground)
    line = design_line(file, ground, route, TWO_INCH)
    return what_stays_full(file, ground, route, line, TWO_INCH)


RISING = strip((0.0, 40.0), (10.0, 12.0))
SAG = strip((0.0, 10.0, 20.0, 40.0), (10.0, 11.0, 10.5, 12.0))


def test_a_basin_that_runs_through_does_not_hold_the_water_that_another_holds() -> None:
    """The stretch ends where the invert meets the pond's level, so the pond holds it, not the fall."""
    winter = run(yard(40.0, 10.0, 13.0), RISING)
    (stretch,) = winter.stretches
    assert stretch.to_m == pytest.approx(DOWN / 0.05)
    assert stretch.cause == "below the winter level of pond"
    held, running = winter.findings
    assert (held.code, running.code) == ("below a winter level", "basin runs back")
    assert "pond, 10.00 m" in held.reason
    assert "fall" not in held.reason + held.remedy
    assert held.remedy.startswith("empty pond for the winter")


def test_what_is_told_to_empty_ends_the_stretch() -> None:
    assert run(yard(40.0, None, 13.0), RISING).stretches == ()
    assert run(yard(40.0, 10.0, None), RISING).stretches != ()


def test_the_drain_that_cannot_drain_names_the_same_basin() -> None:
    file = replace(yard(40.0, 10.0, 13.0), drain=(DrainPart(station=4.0),))
    finding = next(one for one in run(file, RISING).findings if one.code == "drain that cannot drain")
    assert "the water of pond keeps coming: its winter level, 10.00 m" in finding.reason
    assert "fall" not in finding.reason + finding.remedy


@pytest.mark.parametrize(("lower", "told"), [(10.3, False), (10.8 - DOWN, False), (11.2 - DOWN, True)])
def test_a_level_that_does_not_reach_the_sag_is_not_told_of_it(lower: float, told: bool) -> None:
    """The sag lies behind a hump of 11 m less the cover; only a level above that reaches it."""
    sag = run(yard(40.0, lower, None), SAG).stretches[-1]
    assert ("winter level" in sag.cause) == told
    assert sag.to_m > 20.0


def test_a_sag_behind_a_hump_is_kept_full_by_the_basin_above_it() -> None:
    low, sag = run(yard(40.0, 10.0, 13.0), SAG).stretches
    assert (low.cause, sag.cause) == ("below the winter level of pond", "below the winter level of fall")


@pytest.mark.parametrize("kind", ["check", "shut"])
def test_the_drain_of_a_compartment_stands_just_above_the_valve(kind: Literal["check", "shut"]) -> None:
    """The user's own drain far below does not help, nor does one at the top end."""
    file = replace(yard(40.0, None, None), valve=(ValvePart(station=25.0, kind=kind),))
    file = replace(file, drain=(DrainPart(station=10.0),))
    winter = run(file, RISING)
    wet, dry = sorted(winter.drains, key=lambda one: one.held_l, reverse=True)
    assert (wet.station_m, dry.station_m) == pytest.approx((25.0, 10.0))
    assert [one.left_l for one in winter.stretches] == [0.0]
    (finding,) = winter.findings
    assert finding.remedy == "move it to station 25.00 m, where water stands, or leave it out"


def test_below_a_shut_valve_the_drain_stands_on_the_other_side() -> None:
    """The line falls from a hump at 10 m to a shut valve at 15 m: its water lies below the valve, not above it."""
    file = replace(yard(40.0, None, None), valve=(ValvePart(station=15.0, kind="shut"),))
    winter = run(file, SAG)
    assert [one.left_l for one in winter.stretches] == pytest.approx([0.0] * len(winter.stretches))
    assert [one.station_m for one in winter.drains] == pytest.approx([15.0, 20.0])
    assert winter.findings == ()


@pytest.mark.parametrize("port", [-0.4, 0.3, 1.5])
@pytest.mark.parametrize("end", [-0.5, 0.4])
@pytest.mark.parametrize("own", [False, True])
def test_vertical_pipe_at_the_foot_is_emptied_on_both_sides_of_the_port(port: float, end: float, own: bool) -> None:
    """Above a check valve every low of pipe end, port and line gets a drain; none is asked for where one stands."""
    file = yard(40.0, None, None)
    foot = 10.0 - DOWN
    lower = replace(file.lower, port_elevation=Elevation(foot + port), end_elevation=Elevation(foot + port + end))
    file = replace(file, lower=replace(lower, check_valve=True), drain=(DrainPart(station=0.0),) if own else ())
    winter = run(file, RISING)
    assert winter.findings == ()
    assert [one.left_l for one in winter.stretches] == pytest.approx([0.0], abs=1e-9)
    places = [foot + port + end, foot + port, foot]
    lows = [one for n, one in enumerate(places) if one < min([*places[:n][-1:], *places[n + 1 :][:1]])]
    assert sorted(one.invert_m for one in winter.drains) == pytest.approx(sorted(lows))
    assert [one.chosen_by for one in winter.drains].count("you") == own


def test_shares_at_one_station_are_the_same_from_either_end() -> None:
    file = yard(40.0, None, None)
    foot = 10.0 - DOWN
    lower = replace(file.lower, port_elevation=Elevation(foot + 1.0), end_elevation=Elevation(foot + 0.5))
    file = replace(file, lower=replace(lower, check_valve=True))
    turned = replace(file, route=RoutePart(points=file.route.points[::-1], starts_at="upper"))
    forth, back = ({one.invert_m: one.held_l for one in run(each, RISING).drains} for each in (file, turned))
    assert {round(key, 9) for key in forth} == {round(key, 9) for key in back}
    assert sorted(forth.values()) == pytest.approx(sorted(back.values()))
    assert forth[min(forth)] > forth[max(forth)]


def test_a_drain_moved_beside_is_told_in_the_units_of_the_site() -> None:
    file = replace(yard(40.0, None, None), drain=(DrainPart(station=20.3048),))
    assert any("1.00 ft away" in text for text in run(file, SAG).assumptions)
