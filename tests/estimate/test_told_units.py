"""Mix-ups of units and coordinates are told with both values, both keys, and the likely cause."""

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from estimate.dig.findings import place_text
from estimate.plan import load_ground, make_estimate
from estimate.profile.structures import end_levels
from estimate.route.line import nearest_station
from estimate.site import open_site
from estimate.site_records import Elevation, StructurePart
from terrain.errors import InputError
from terrain.synthetic import plane_ground

Change = Callable[..., Path]


def refused(folder: Path) -> InputError:
    """Return the one mistake of a site folder."""
    with pytest.raises(InputError) as caught:
        open_site(folder)
    (only,) = caught.value.others
    return only


def test_a_level_far_from_the_ground_names_the_units_of_the_survey() -> None:
    with pytest.raises(InputError) as caught:
        end_levels(
            "lower", StructurePart(name="vault", water_level=Elevation(101.5, "")), plane_ground(0.0, 0.0, 0.0), 0.0
        )
    assert "survey.vertical_unit" in caught.value.remedy
    assert "survey.horizontal_unit" in caught.value.remedy
    assert "not in m" in caught.value.remedy


def test_a_greatest_depth_within_the_cover_is_told_with_both_numbers(changed: Change) -> None:
    wrong = refused(
        changed(('cover = "18 in"', 'cover = "24 in"'), ('#greatest_depth = "5 ft"', "greatest_depth = '4 in'"))
    )
    assert wrong.found == 'greatest_depth "4 in" (0.102 m), where cover is "24 in" (0.61 m)'
    for key in ("[trench] greatest_depth", "[trench] cover", "unit"):
        assert key in wrong.remedy


def test_way_points_in_degrees_are_known_before_the_survey_is_read(changed: Change) -> None:
    wrong = refused(
        changed(
            ("[560, 1020]", "[-105.1, 39.7]"),
            ("[556, 1060]", "[-105.1001, 39.7001]"),
            ("[560, 1100]", "[-105.1002, 39.7]"),
        )
    )
    assert "degrees of longitude and latitude" in wrong.found
    assert "easting" in wrong.expected


def test_way_points_that_look_like_degrees_and_are_far_from_the_survey(changed: Change) -> None:
    folder = changed(
        ("[560, 1020]", "[-105.1, 39.7]"), ("[556, 1060]", "[-105.4, 39.9]"), ("[560, 1100]", "[-105.1, 40.3]")
    )
    site = open_site(folder)
    with pytest.raises(InputError, match="they look like degrees"):
        make_estimate(site, load_ground(site))


def test_way_points_beside_the_survey_are_not_taken_for_degrees(changed: Change) -> None:
    site = open_site(changed(("[560, 1020]", "[760, 1020]")))
    with pytest.raises(InputError) as caught:
        make_estimate(site, load_ground(site))
    assert "degrees" not in str(caught.value)


def test_a_short_route_in_a_local_grid_is_no_degrees(changed: Change) -> None:
    folder = changed(("[560, 1020]", "[10.0, 20.0]"), ("[556, 1060]", "[10.5, 20.0]"), ("[560, 1100]", "[11, 21]"))
    assert open_site(folder).file.route.points[0] == (10.0, 20.0)


@pytest.mark.parametrize("written", ["cover = true", 'cover = "18 psi"'])
def test_the_unit_of_a_bare_number_is_quoted(changed: Change, written: str) -> None:
    wrong = refused(changed(('cover = "18 in"', written)))
    assert wrong.expected == 'a length; a bare number has the unit "in"'


def test_the_nearest_station_of_a_bent_line() -> None:
    plan = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 20.0]])
    station = np.array([0.0, 10.0, 30.0])
    assert nearest_station(station, plan, 9.0, 8.0) == pytest.approx(18.0)
    assert nearest_station(station, plan, -5.0, -5.0) == pytest.approx(0.0)
    assert nearest_station(station, plan, 11.0, 99.0) == pytest.approx(30.0)


def test_face_findings_name_the_nearest_station(changed: Change) -> None:
    site = open_site(changed(('cover = "18 in"', 'cover = "6 ft"')))
    ground = load_ground(site)
    answer = make_estimate(site, ground)
    found = {one.code: one for one in answer.findings}
    east, north = answer.dig.tallest_face_at_m
    assert math.isfinite(east)
    where = found["ladder"].where
    assert where.startswith(place_text(ground, east, north) + ", nearest station ")
    station = float(where.rpartition("station ")[2].removesuffix(" ft"))
    length = answer.route.plan_length_m / ground.horizontal.metres
    assert 0.0 <= station <= length + 0.01
    line = np.column_stack([answer.profile.easting_m, answer.profile.northing_m])
    least = float(np.hypot(*(line - np.array([east, north])).T).min())
    metres = station * ground.horizontal.metres
    at = [np.interp(metres, answer.profile.station_m, column) for column in line.T]
    assert math.hypot(at[0] - east, at[1] - north) <= least + 0.01
