"""The designed line on ground of plain shape: inverts, lengths and depths by hand, and the findings on depth."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from estimate.profile.depth import stretches_above
from estimate.profile.line import LaidLine, design_line
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
from terrain.synthetic import ground_of, hilly_ground

TWO_INCH = pipe("PVC Schedule 40", "2")
COVER, FALL, BEDDING = 0.5, 0.02, 0.1
DOWN = COVER + TWO_INCH.outside_m - TWO_INCH.wall_m


def strip(station: Sequence[float], height: Sequence[float]) -> Ground:
    rows = [(at, side, up) for at, up in zip(station, height, strict=True) for side in (-5.0, 5.0)]
    return replace(ground_of(np.array(rows)), accuracy=0.01)


def yard(*points: tuple[float, float], level: float = 10.0) -> SiteFile:
    return SiteFile(
        title="strip",
        units="SI",
        survey=SurveyPart(file="none.csv"),
        route=RoutePart(points=points),
        lower=StructurePart(name="pond", water_level=Elevation(level - 1.0)),
        upper=StructurePart(name="fall", water_level=Elevation(level + 1.0)),
        pipe=PipePart(kind="PVC Schedule 40", size="2"),
        trench=TrenchPart(cover=COVER, least_fall=FALL, bedding=BEDDING, interval=1.0),
    )


def design(file: SiteFile, ground: Ground) -> LaidLine:
    return design_line(file, ground, lay_route(file, ground), TWO_INCH)


def test_on_steep_ground_the_line_follows_the_cover() -> None:
    line = design(yard((0.0, 0.0), (40.0, 0.0)), strip((0.0, 20.0, 40.0), (10.0, 9.0, 10.5)))
    np.testing.assert_allclose(line.ground - line.top, COVER, atol=1e-12)
    np.testing.assert_allclose(line.ground - line.invert, DOWN, atol=1e-12)
    np.testing.assert_allclose(line.invert - line.floor, TWO_INCH.wall_m + BEDDING, atol=1e-12)
    assert line.pipe_length_m == pytest.approx(np.hypot(20.0, 1.0) + np.hypot(20.0, 1.5), rel=1e-12)
    (low,) = line.low_points
    assert [low.station_m, low.prominence_m] == pytest.approx([20.0, 1.0])
    assert line.high_points == ()
    assert line.findings == ()


def test_on_level_ground_the_line_falls_to_the_lower_structure_either_way_round() -> None:
    ground = strip((0.0, 30.0), (10.0, 10.0))
    forth = design(yard((0.0, 0.0), (30.0, 0.0)), ground)
    assert forth.invert[0] == pytest.approx(10.0 - DOWN - FALL * 30.0)
    assert forth.invert[-1] == pytest.approx(10.0 - DOWN)
    file = yard((30.0, 0.0), (0.0, 0.0))
    back = design(replace(file, route=replace(file.route, starts_at="upper")), ground)
    np.testing.assert_allclose(back.invert[::-1], forth.invert, atol=1e-12)


def test_the_wished_threshold_decides_which_lows_count_and_an_assumption_tells_the_other() -> None:
    ground = strip((0.0, 10.0, 20.0, 40.0), (10.0, 9.9, 10.0, 9.0))
    file = yard((0.0, 0.0), (40.0, 0.0))
    line = design(file, ground)
    assert len(line.low_points) == 1
    assert line.assumptions[0].startswith("trench.low_point_threshold")
    coarse = design(replace(file, trench=replace(file.trench, low_point_threshold=0.2)), ground)
    assert coarse.low_points == ()
    assert not any(text.startswith("trench.low_point_threshold") for text in coarse.assumptions)
    unknown = design(file, replace(ground, accuracy=float("nan")))
    assert "not known" in unknown.assumptions[0]


def test_too_deep_a_trench_is_a_finding_with_the_fall_that_would_fit() -> None:
    """Level for 30 m at a fall of 2 %: 0.6 m deeper at the low end; 0.3 m more is allowed: half the fall fits."""
    file = yard((0.0, 0.0), (30.0, 0.0))
    limit = DOWN + TWO_INCH.wall_m + BEDDING + 0.3
    file = replace(file, trench=replace(file.trench, greatest_depth=limit))
    line = design(file, strip((0.0, 30.0), (10.0, 10.0)))
    (finding,) = [one for one in line.findings if one.code == "deeper than allowed"]
    assert [finding.from_m, finding.to_m] == pytest.approx([0.0, 15.0], abs=1e-9)
    assert "1.00 %" in finding.remedy
    fits = replace(file, trench=replace(file.trench, least_fall=0.01))
    fitting = design(fits, strip((0.0, 30.0), (10.0, 10.0))).findings
    assert [one.code for one in fitting if one.code == "deeper than allowed"] == []


def test_stretches_above_zero_begin_and_end_where_the_line_crosses() -> None:
    station = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    assert stretches_above(station, np.array([1.0, -1.0, -1.0, 1.0, 3.0])) == [(0.0, 0.5), (2.5, 4.0)]
    assert stretches_above(station, -np.ones(5)) == []


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_nodes_that_the_user_asks_for_do_not_change_the_line(seed: int) -> None:
    ground = hilly_ground(800, seed=seed)
    file = yard((-70.0, -60.0), (0.0, -10.0), (20.0, 40.0), (80.0, 70.0), level=100.0)
    plain = design(replace(file, trench=replace(file.trench, interval=1000.0)), ground)
    asked = design(replace(file, drain=(DrainPart(station=33.3), DrainPart(station=77.0))), ground)
    np.testing.assert_allclose(np.interp(plain.station, asked.station, asked.invert), plain.invert, atol=1e-9)
    assert asked.pipe_length_m == pytest.approx(plain.pipe_length_m, rel=1e-12)
    assert len(asked.station) > len(plain.station)


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_route_given_from_its_other_end_has_the_same_line(seed: int) -> None:
    ground = hilly_ground(800, seed=seed)
    file = yard((-70.0, -60.0), (0.0, -10.0), (20.0, 40.0), (80.0, 70.0), level=100.0)
    forth = design(file, ground)
    turned = replace(file.route, points=file.route.points[::-1], starts_at="upper")
    back = design(replace(file, route=turned), ground)
    length = float(forth.station[-1])
    read = np.interp(length - back.station, forth.station, forth.invert)
    np.testing.assert_allclose(back.invert, read, atol=1e-9)
    assert back.pipe_length_m == pytest.approx(forth.pipe_length_m, rel=1e-12)
    assert [one.station_m for one in back.low_points] == pytest.approx(
        [length - one.station_m for one in reversed(forth.low_points)]
    )
    assert [one.end for one in back.structures] == ["upper", "lower"]
