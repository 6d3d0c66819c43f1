"""Levels of the structures: units, the survey's own foot, defaults, contradictions, vertical pipe and lift."""

import math
from dataclasses import replace

import pytest

from estimate.profile.structures import (
    elevation_text,
    end_levels,
    local_elevation,
    static_lift,
    structure_of,
    unit_of,
)
from estimate.site_records import Elevation, StructurePart
from terrain.errors import InputError, UnitsError
from terrain.ground import Ground
from terrain.synthetic import plane_ground
from terrain.units import FT, FTUS, LengthUnit, M


def ground_in(unit: LengthUnit, origin: float) -> Ground:
    return replace(plane_ground(0.0, 0.0, 0.0), vertical=unit, horizontal=unit, origin=(0.0, 0.0, origin))


def part(**levels: Elevation) -> StructurePart:
    return StructurePart(name="pond", **{"water_level": Elevation(100.0), **levels})  # type: ignore[arg-type]  # names by key


def test_a_bare_number_is_in_the_survey_s_unit_and_the_origin_is_taken_off_first() -> None:
    ground = ground_in(FTUS, 7_000.0)
    assert local_elevation(ground, Elevation(7_010.0)) == pytest.approx(10.0 * 1200.0 / 3937.0, rel=1e-15)
    assert elevation_text(ground, local_elevation(ground, Elevation(7_010.25))) == "7010.25 ftUS"


@pytest.mark.parametrize(("own", "written", "read"), [(FTUS, "ft", FTUS), (FT, "ft", FT), (M, "ft", FT)])
def test_a_foot_is_the_survey_s_own_where_it_is_in_feet(own: LengthUnit, written: str, read: LengthUnit) -> None:
    assert unit_of(ground_in(own, 0.0), Elevation(1.0, written)) == read


def test_another_unit_is_converted() -> None:
    ground = ground_in(FTUS, 100.0)
    assert local_elevation(ground, Elevation(40.0, "m")) == pytest.approx(40.0 - 100.0 * 1200.0 / 3937.0)
    with pytest.raises(UnitsError):
        local_elevation(ground, Elevation(1.0, "cubits"))


def test_levels_left_out_take_the_normal_one_and_say_so() -> None:
    levels = end_levels("lower", part(), ground_in(M, 90.0), 9.0)
    assert (levels.water, levels.low, levels.winter) == (10.0, 10.0, 10.0)
    assert math.isnan(levels.port)
    assert [text.split(":")[0] for text in levels.assumptions] == [
        "lower.low_level",
        "lower.winter_level",
        "lower.port_elevation",
        "lower.end_elevation",
    ]


def test_an_emptied_basin_has_no_winter_level() -> None:
    empty = StructurePart(name="pond", water_level=Elevation(100.0), winter_level="empty")
    assert math.isnan(end_levels("lower", empty, ground_in(M, 90.0), 9.0).winter)


def test_a_low_level_above_the_normal_one_is_refused_by_name() -> None:
    with pytest.raises(InputError, match=r"lower\.low_level"):
        end_levels("lower", part(low_level=Elevation(100.5)), ground_in(M, 90.0), 9.0)


def test_a_level_that_cannot_be_of_this_datum_is_refused_by_name() -> None:
    with pytest.raises(InputError, match=r"upper\.port_elevation"):
        end_levels("upper", part(port_elevation=Elevation(9.0)), ground_in(M, 90.0), 9.0)


def test_vertical_pipe_goes_from_the_line_by_the_port_to_the_end() -> None:
    levels = end_levels(
        "lower", part(port_elevation=Elevation(98.0), end_elevation=Elevation(99.5)), ground_in(M, 90.0), 9.0
    )
    structure = structure_of(levels, 0.0, 8.75, 90.0)
    assert structure.vertical_pipe_m == pytest.approx(0.75 + 1.5)
    assert (structure.invert_m, structure.port_m, structure.end_m) == (98.75, 98.0, 99.5)
    assert structure_of(replace(levels, port=math.nan, end=math.nan), 0.0, 8.75, 90.0).vertical_pipe_m == 0.0


def test_static_lift_is_surface_to_surface_and_may_be_negative() -> None:
    ground = ground_in(M, 90.0)
    lower = structure_of(end_levels("lower", part(low_level=Elevation(99.0)), ground, 9.0), 0.0, 9.0, 90.0)
    upper = structure_of(end_levels("upper", part(water_level=Elevation(98.0)), ground, 9.0), 9.0, 9.0, 90.0)
    assert upper.end_m == 99.0  # the designed invert, above the water: a free outfall
    assert static_lift((upper, lower)) == pytest.approx((-1.0, 0.0))
    assert static_lift((replace(upper, end_m=97.5), lower)) == pytest.approx((-2.0, -1.0))
