"""What is said of the water of one line: in the site's units, over high points, and with the valves in the line."""

import re
from dataclasses import replace
from typing import Literal

import numpy as np
import pytest

from estimate.parts import lift_part, pipe_line, summit_of
from estimate.profile.line import design_line
from estimate.record import Finding, PipeLine, Water
from estimate.route.line import lay_route
from estimate.site_records import (
    Elevation,
    PipePart,
    PumpPart,
    RoutePart,
    SiteFile,
    StructurePart,
    SurveyPart,
    TrenchPart,
    ValvePart,
    WaterPart,
)
from estimate.water.line import system_of, water_of
from estimate.water.pipe import pipe
from terrain.synthetic import ground_of

FOOT = 0.3048
TWO_INCH = pipe("PVC Schedule 40", "2")
DOWN = 0.5 + TWO_INCH.outside_m - TWO_INCH.wall_m
Units = Literal["US", "SI"]


def yard(units: Units, shut_off: float, last_lps: float = 5.0) -> SiteFile:
    curve = ((0.0, shut_off), (last_lps / 1000.0, 0.5 * shut_off))
    return SiteFile(
        title="strip",
        units=units,
        survey=SurveyPart(file="none.csv"),
        route=RoutePart(points=((0.0, 0.0), (40.0, 0.0))),
        lower=StructurePart(name="pond", water_level=Elevation(9.8)),
        upper=StructurePart(name="fall", water_level=Elevation(12.0)),
        pipe=PipePart(kind="PVC Schedule 40", size="2"),
        trench=TrenchPart(cover=0.5, least_fall=0.01),
        pump=PumpPart(curve=curve),
    )


def run(file: SiteFile, middle: float = 11.0) -> tuple[PipeLine, Water, tuple[Finding, ...]]:
    """Return pipe and water on ground that goes from 10 m by `middle` to 12 m."""
    rows = [(at, side, up) for at, up in ((0.0, 10.0), (20.0, middle), (40.0, 12.0)) for side in (-5.0, 5.0)]
    ground = replace(ground_of(np.array(rows)), accuracy=0.01)
    route = lay_route(file, ground)
    line = design_line(file, ground, route, TWO_INCH)
    pipeline, lift = pipe_line(file, TWO_INCH, route, line), lift_part(line)
    system = system_of(file, lift.static_m, TWO_INCH, pipeline)
    return pipeline, *water_of(file, system, TWO_INCH, summit_of(line, ground, lift))


@pytest.mark.parametrize(
    ("shut_off", "last", "code"),
    [
        (2.0, 5.0, "pump too weak"),
        (9.0, 0.5, "pump beyond curve"),
        (300.0, 9.0, "over the rating"),
        (30.0, 9.0, "fast water"),
    ],
)
def test_every_sentence_is_in_the_units_of_the_site(shut_off: float, last: float, code: str) -> None:
    """A US site reads no metres, litres or kilopascals, one in SI no feet, gallons or psi."""
    for units, foreign in (("US", r"\d (m|m/s|L/s|kPa|mm)\b"), ("SI", r"\d (ft|ft/s|gpm|psi|in)\b")):
        said: Units = "US" if units == "US" else "SI"
        _, water, found = run(yard(said, shut_off, last))
        assert code in [one.code for one in found]
        for text in (water.why, *(f"{one.where} {one.reason} {one.remedy}" for one in found if one.code == code)):
            assert not re.search(foreign, text), text


def test_a_too_weak_pump_is_told_with_both_heads() -> None:
    _, water, found = run(yard("US", 2.0))
    wanted = f"the pump's shut-off head of {2.0 / FOOT:.2f} ft does not exceed the {2.2 / FOOT:.2f} ft needed"
    assert water.why == wanted
    assert [one.reason for one in found] == [wanted]


@pytest.mark.parametrize(
    ("middle", "shut_off", "code"),
    [
        (11.0, 9.0, ""),
        (12.6, 9.0, ""),  # the invert is about 0.05 m above the upper water
        (13.5, 9.0, "siphon"),
        (13.5, 3.0, "cannot start over the high point"),
        (12.7, 2.3, "cannot start over the high point"),
    ],
)
def test_a_hump_above_the_upper_water_must_be_lifted_over_first(middle: float, shut_off: float, code: str) -> None:
    _, _, found = run(yard("SI", shut_off), middle)
    about = [one for one in found if one.code in ("siphon", "cannot start over the high point")]
    assert [one.code for one in about] == [code] * bool(code)
    for one in about:
        assert one.where == "station 20.00 m"
        assert f"{middle - DOWN - 9.8:.2f} m above the lower water" in one.reason
        assert one.level == ("note" if code == "siphon" else "act")


def test_a_free_outfall_is_the_lift_and_no_hump() -> None:
    file = yard("SI", 2.5)
    file = replace(file, upper=replace(file.upper, water_level=Elevation(11.0), end_elevation=Elevation(12.4)))
    _, water, found = run(file)
    assert water.total_head_m == pytest.approx(12.4 - 9.8)
    assert [one.code for one in found] == ["pump too weak"]


def test_each_valve_in_the_line_is_a_fitting_and_loses_head() -> None:
    plain, water, _ = run(yard("SI", 9.0))
    valves = (ValvePart(station=10.0, kind="check"), ValvePart(station=20.0, kind="shut"))
    file = replace(yard("SI", 9.0), valve=valves, water=WaterPart(fittings={"swing check": 1, "ball valve": 2}))
    fitted, less, _ = run(file)
    assert (fitted.fittings["swing check"], fitted.fittings["ball valve"]) == (2, 3)
    assert "swing check" not in plain.fittings
    assert less.k_sum > water.k_sum
    assert less.flow_lps < water.flow_lps


def test_the_rating_counts_the_water_above_the_lowest_pipe() -> None:
    """A line that dips 6 m below the lower water has that much more pressure there: g (shut-off + dip)."""
    shut_off, dip = 9.0, 9.8 - (4.0 - 0.5 - TWO_INCH.outside_m + TWO_INCH.wall_m)
    between = 9.81 * (shut_off + 0.5 * dip) * 1000.0
    weak = replace(TWO_INCH, rating_pa=between)
    file = yard("SI", shut_off)
    rows = [(at, side, up) for at, up in ((0.0, 10.0), (20.0, 4.0), (40.0, 12.0)) for side in (-5.0, 5.0)]
    ground = replace(ground_of(np.array(rows)), accuracy=0.01)
    route = lay_route(file, ground)
    line = design_line(file, ground, route, weak)
    pipeline, lift = pipe_line(file, weak, route, line), lift_part(line)
    system = system_of(file, lift.static_m, weak, pipeline)
    _, found = water_of(file, system, weak, summit_of(line, ground, lift))
    assert "over the rating" in [one.code for one in found]
    _, alone = water_of(file, system, weak)
    assert "over the rating" not in [one.code for one in alone]
