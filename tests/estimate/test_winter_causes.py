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
