"""Gaps of the survey under the line: told where the line is far from any shot, and only there."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial import cKDTree

import sample_scans
from estimate.plan import load_ground, make_estimate
from estimate.record import Finding
from estimate.route.gaps import FAR, MOST_TOLD, gap_findings, usual_spacing
from estimate.route.line import LaidRoute, lay_route
from estimate.site import open_site
from estimate.site_records import Elevation, PipePart, RoutePart, SiteFile, StructurePart, SurveyPart, TrenchPart
from estimate.site_template import new_site
from terrain.arrays import Floats
from terrain.build import build_ground
from terrain.ground import Ground, elevation, far_from_shots
from terrain.points import SurveyPoints
from terrain.synthetic import grid_points, ground_of, hills, on_shape, random_points
from terrain.units import FT

SHIPPED = Path(sample_scans.__path__[0])


def laid(ground: Ground, *points: tuple[float, float]) -> LaidRoute:
    file = SiteFile(
        title="yard",
        units="SI",
        survey=SurveyPart(file="none.csv"),
        route=RoutePart(points=points),
        lower=StructurePart(name="pond", water_level=Elevation(0.0)),
        upper=StructurePart(name="fall", water_level=Elevation(1.0)),
        pipe=PipePart(kind="PVC Schedule 40", size="2"),
        trench=TrenchPart(cover=0.5),
    )
    return lay_route(file, ground)


def found(ground: Ground, *points: tuple[float, float]) -> tuple[Finding, ...]:
    return gap_findings(ground, laid(ground, *points), "SI")


def bay() -> Ground:
    """Return an L of shots 1 m apart: the square of 40 m without its north-east quarter."""
    points = grid_points(40.0, 1.0)
    return ground_of(on_shape(points[(points <= 0.0).any(axis=1)], hills))


def test_a_line_across_the_bay_of_an_l_is_told_with_its_stations_and_distance() -> None:
    ground = bay()
    (one,) = found(ground, (15.0, -5.0), (-5.0, 15.0))  # inside the bay from (10, 0) to (0, 10)
    assert (one.code, one.level, one.remedy) == ("far from any shot", "warning", "take shots there")
    limit = FAR * usual_spacing(ground)
    assert usual_spacing(ground) == pytest.approx((1400.0 / 1281.0) ** 0.5, rel=1e-9)
    step, root = limit / 8.0, np.sqrt(2.0)
    assert 5.0 * root <= one.from_m <= (5.0 + limit) * root + step
    assert (15.0 - limit) * root - step <= one.to_m <= 15.0 * root
    assert one.where == f"station {one.from_m:.2f} m to {one.to_m:.2f} m"
    assert 5.0 <= float(one.reason.split("up to ")[1].split(" m away")[0]) <= 10.0  # (5, 5) is 5 m from the shots
    assert "shots stand about 1.0" in one.reason


def test_a_line_on_the_l_itself_is_not_told() -> None:
    assert found(bay(), (15.0, -5.0), (-5.0, -5.0), (-5.0, 15.0)) == ()


def test_distances_are_told_in_the_sites_units_and_stations_in_the_surveys() -> None:
    ground = replace(bay(), horizontal=FT, vertical=FT)
    route = laid(bay(), (15.0, -5.0), (-5.0, 15.0))
    (one,) = gap_findings(ground, route, "US")
    assert f"{one.from_m / 0.3048:.2f} ft" in one.where
    assert " ft away" in one.reason
    assert " m " not in one.reason


def without(points: Floats, west: float, south: float, east: float, north: float) -> Floats:
    inside = ((points > [west, south]) & (points < [east, north])).all(axis=1)
    return points[~inside]


def test_a_hole_under_a_building_is_told() -> None:
    points = random_points(3600, 60.0, 9)
    line = ((-25.0, 0.0), (25.0, 2.0))
    assert found(ground_of(on_shape(points, hills), "lidar"), *line) == ()
    (one,) = found(ground_of(on_shape(without(points, -6.0, -5.0, 6.0, 7.0), hills), "lidar"), *line)
    assert 19.0 < one.from_m < one.to_m < 31.1


def test_of_many_gaps_the_widest_are_told_and_the_others_counted() -> None:
    rows = np.concatenate([22.0 * number + np.arange(3.0) for number in range(9)])
    plan = np.array([(east, north) for north in rows for east in np.arange(-10.0, 10.5)])
    told = found(ground_of(on_shape(plan, hills)), (0.3, 1.0), (0.3, 177.0))
    assert len(told) == MOST_TOLD + 1
    assert "3 more stretches" in told[-1].reason
    assert all(one.to_m < other.from_m for one, other in pairwise(told[:-1]))


def test_the_distance_is_no_less_than_that_to_the_nearest_shot_of_all() -> None:
    ground = ground_of(on_shape(random_points(300, 50.0, 2), hills))
    places = np.random.default_rng(3).uniform(-25.0, 25.0, (500, 2))
    away = far_from_shots(ground, places)
    nearest = cKDTree(ground.vertices[:, :2]).query(places)[0]
    assert (away >= nearest - 1e-12).all()
    assert np.isclose(away, nearest).mean() > 0.9
    np.testing.assert_array_equal(far_from_shots(ground, ground.vertices), np.zeros(len(ground.vertices)))
    assert np.isnan(far_from_shots(ground, np.array([[99.0, 0.0]]))).all()


@pytest.mark.parametrize("name", ["juniper-court", "steep-yard"])
def test_the_shipped_sites_have_no_gap(name: str) -> None:
    site = open_site(SHIPPED / name)
    ground = load_ground(site)
    assert gap_findings(ground, lay_route(site.file, ground), site.file.units) == ()


def test_the_whole_trip_tells_a_hole_and_nothing_without_one(tmp_path: Path) -> None:
    new_site(tmp_path, "US")
    site = open_site(tmp_path)
    sparse = load_ground(site)
    low, high = sparse.vertices.min(axis=0), sparse.vertices.max(axis=0)
    axes = [np.arange(low[axis], high[axis] + 1.0) for axis in (0, 1)]
    plan = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, 2)
    plan = plan[np.isfinite(elevation(sparse, plan))]
    middle = lay_route(site.file, sparse).points_m[:2].mean(axis=0)
    for hole in (0.0, 6.0):
        left = plan[np.hypot(*(plan - middle).T) >= hole]
        rows = np.column_stack([left, elevation(sparse, left)])
        points = SurveyPoints(rows, sparse.origin, sparse.horizontal, sparse.vertical, "a.csv", "lidar", 0.02)
        codes = [one.code for one in make_estimate(site, build_ground(points)).findings]
        assert codes.count("far from any shot") == (hole > 0.0)
