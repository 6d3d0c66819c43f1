"""The route on the ground: lengths by closed form, nodes, units, and the errors that name a station."""

import math
from dataclasses import replace

import numpy as np
import pytest

from estimate.route.line import LaidRoute, lay_route, station_in_metres, station_text
from estimate.route.nodes import with_nodes
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
from terrain.errors import GeometryError, InputError
from terrain.ground import Ground, elevation
from terrain.synthetic import hilly_ground, plane_ground
from terrain.units import FTUS


def site(*points: tuple[float, float]) -> SiteFile:
    return SiteFile(
        title="yard",
        units="SI",
        survey=SurveyPart(file="none.csv"),
        route=RoutePart(points=points),
        lower=StructurePart(name="pond", water_level=Elevation(0.0)),
        upper=StructurePart(name="fall", water_level=Elevation(1.0)),
        pipe=PipePart(kind="PVC Schedule 40", size="2"),
        trench=TrenchPart(cover=0.5, interval=3.0),
    )


def test_lengths_on_a_plane_are_those_of_the_triangle() -> None:
    route = lay_route(site((0.0, 0.0), (30.0, 0.0), (30.0, 40.0)), plane_ground(0.75, 0.0, 0.0))
    assert route.plan_length_m == pytest.approx(70.0, rel=1e-12)
    assert route.ground_length_m == pytest.approx(30.0 * 1.25 + 40.0, rel=1e-12)
    assert [one.station_m for one in route.bends] == pytest.approx([30.0])
    assert [one.turn_deg for one in route.bends] == pytest.approx([90.0])


def test_every_interval_drain_and_valve_is_a_node_and_lies_on_the_ground() -> None:
    ground = hilly_ground(500)
    file = replace(site((-60.0, -50.0), (10.0, 5.0), (50.0, 70.0)), drain=(DrainPart(station=17.3),))
    file = replace(file, valve=(ValvePart(station=41.7, kind="check"),))
    route = lay_route(file, ground)
    wanted = [*np.arange(3.0, route.plan_length_m, 3.0), 17.3, 41.7, math.hypot(70.0, 55.0)]
    assert np.abs(route.station[:, None] - np.array(wanted)).min(axis=0).max() < 1e-9
    assert (np.diff(route.station) > 0.0).all()
    plan = np.column_stack([route.easting, route.northing])
    np.testing.assert_allclose(route.ground, elevation(ground, plan), atol=1e-9)


def test_the_ground_is_straight_between_the_natural_nodes() -> None:
    ground = hilly_ground(500)
    route = lay_route(site((-60.0, -50.0), (10.0, 5.0), (50.0, 70.0)), ground)
    own = route.natural
    read = np.interp(route.station, route.station[own], route.ground[own])
    np.testing.assert_allclose(route.ground, read, atol=1e-9)
    fine = np.linspace(0.0, route.plan_length_m, 4001)
    plan = np.column_stack([np.interp(fine, route.station, values) for values in (route.easting, route.northing)])
    np.testing.assert_allclose(np.interp(fine, route.station, route.ground), elevation(ground, plan), atol=1e-8)


def in_survey_feet(ground: Ground) -> Ground:
    return replace(ground, horizontal=FTUS, vertical=FTUS, origin=(2_000_000.0, 700_000.0, 100.0))


def test_way_points_and_stations_are_in_the_survey_s_own_foot() -> None:
    ground = in_survey_feet(plane_ground(0.0, 0.0, 0.0))
    file = site((2_000_000.0, 700_000.0), (2_000_050.0, 700_000.0))
    route = lay_route(replace(file, drain=(DrainPart(station=20.0),)), ground)
    assert route.plan_length_m == pytest.approx(50.0 * 1200.0 / 3937.0, rel=1e-12)
    assert np.abs(route.station - 20.0 * 1200.0 / 3937.0).min() < 1e-12
    assert station_text(ground, route.plan_length_m) == "50.00 ftUS"


def test_a_centre_line_off_the_ground_names_the_stations() -> None:
    ground = in_survey_feet(plane_ground(0.0, 0.0, 0.0, side=2.0 * 60.0 * 1200.0 / 3937.0))
    with pytest.raises(GeometryError) as raised:
        lay_route(site((2_000_000.0, 700_000.0), (2_000_100.0, 700_000.0)), ground)
    assert "60.00 to 100.00 ftUS (18.29 to 30.48 m)" in raised.value.found
    assert raised.value.remedy


@pytest.mark.parametrize("points", [(), ((1.0, 1.0),), ((1.0, 1.0), (1.0, 1.0))])
def test_fewer_than_two_distinct_way_points_are_refused(points: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(GeometryError, match="distinct"):
        lay_route(site(*points), plane_ground(0.0, 0.0, 0.0))


def test_a_way_point_given_twice_counts_once() -> None:
    route = lay_route(site((0.0, 0.0), (10.0, 0.0), (10.0, 0.0), (20.0, 0.0)), plane_ground(0.0, 0.0, 0.0))
    assert route.points_m.shape == (3, 2)
    assert route.bends == ()


@pytest.mark.parametrize("station", [-0.5, 20.01])
def test_a_drain_or_valve_beyond_the_route_is_refused(station: float) -> None:
    ground, file = plane_ground(0.0, 0.0, 0.0), site((0.0, 0.0), (20.0, 0.0))
    with pytest.raises(InputError, match="drain 1"):
        lay_route(replace(file, drain=(DrainPart(station=station),)), ground)
    with pytest.raises(InputError, match="valve 1"):
        lay_route(replace(file, valve=(ValvePart(station=station, kind="shut"),)), ground)
    assert station_in_metres(ground, 20.0, 20.0, "drain 1") == 20.0


def test_extra_nodes_do_not_move_the_line() -> None:
    rng = np.random.default_rng(3)
    station = np.cumsum(rng.uniform(0.1, 1.0, 30))
    values = rng.normal(size=(30, 2))
    extra = rng.uniform(station[0] - 1.0, station[-1] + 1.0, 100)
    denser, read = with_nodes(station, values, np.concatenate([extra, extra, station]))
    inside = (extra > station[0]) & (extra < station[-1])
    assert len(denser) == 30 + inside.sum()
    for column in (0, 1):
        np.testing.assert_allclose(read[:, column], np.interp(denser, station, values[:, column]), atol=1e-12)


def test_the_other_direction_has_the_same_lengths_and_opposite_bends() -> None:
    ground = hilly_ground(300)
    points = ((-60.0, -50.0), (10.0, 5.0), (50.0, 70.0))

    def turns(route: LaidRoute) -> list[float]:
        return [one.turn_deg for one in route.bends]

    forth, back = lay_route(site(*points), ground), lay_route(site(*points[::-1]), ground)
    assert back.plan_length_m == pytest.approx(forth.plan_length_m, rel=1e-12)
    assert back.ground_length_m == pytest.approx(forth.ground_length_m, rel=1e-12)
    assert turns(back) == pytest.approx([-turn for turn in reversed(turns(forth))])
