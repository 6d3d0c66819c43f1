"""The cut at its edges: nothing to dig, the end of the survey, full buffers, watch, faces, and bad input."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial import Delaunay

from estimate.dig import cut as cut_module
from estimate.dig.accuracy import volume_sigma
from estimate.dig.cut import cut
from estimate.dig.excavate import excavate, layer_volumes
from estimate.dig.facets import facets_of
from estimate.dig.lines import Line, Pit
from estimate.dig.outline import leaving, ring_area, rings
from estimate.dig.scene import UPRIGHT, scene_of, work_of
from estimate.dig.section import Section, Wall
from terrain.errors import Cancelled, GeometryError

FloatArray = NDArray[np.float64]
SQUARE = np.array([[-30, -30, 0], [30, -30, 0], [30, 30, 0], [-30, 30, 0]], float)
HALVES = np.array([[0, 1, 2], [0, 2, 3]], np.int32)
SLOPED = Section(0.6, Wall(1.0), Wall(1.0))


def straight(depth: float, section: Section = SLOPED, length: float = 20.0, north: float = 0.0) -> Line:
    return Line(np.array([[-length / 2, north, -depth], [length / 2, north, -depth]]), section)


def rough(count: int, seed: int = 3) -> tuple[FloatArray, NDArray[np.int32], NDArray[np.int32]]:
    rng = np.random.default_rng(seed)
    plan = np.concatenate([SQUARE[:, :2], rng.uniform(-30, 30, (count, 2))])
    made = Delaunay(plan)
    return np.column_stack([plan, rng.normal(0, 0.1, len(plan))]), made.simplices.astype(np.int32), made.neighbors


def test_nothing_to_dig_is_nought() -> None:
    for lines in ([], [straight(-3.0)], [Line(np.zeros((0, 3)), SLOPED)], [Line(np.zeros((2, 3)), SLOPED)]):
        dug, _ = excavate(SQUARE, HALVES, lines)
        assert (dug.volume_m3, dug.area_m2, dug.tallest_face_m) == (0.0, 0.0, 0.0)
        assert rings(dug) == []
        assert np.isnan(dug.tallest.easting)


def test_a_repeated_node_adds_nothing() -> None:
    once, twice = straight(1.0), Line(np.repeat(straight(1.0).floor, 2, axis=0), SLOPED)
    assert excavate(SQUARE, HALVES, [twice])[0].volume_m3 == excavate(SQUARE, HALVES, [once])[0].volume_m3
    assert excavate(SQUARE, HALVES, [twice])[0].run_volumes(0, 3).tolist()[::2] == [0.0, 0.0]


def test_the_same_line_twice_counts_once() -> None:
    vertices, triangles, _ = rough(300)
    one, _ = excavate(vertices, triangles, [straight(1.0)])
    two, _ = excavate(vertices, triangles, [straight(1.0), straight(1.0).split_at(np.array([3.0, 7.7]))])
    assert two.volume_m3 == pytest.approx(one.volume_m3, rel=1e-11)
    assert two.area_m2 == pytest.approx(one.area_m2, rel=1e-11)


def test_full_buffers_grow_and_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    vertices, triangles, beside = rough(200)
    rng = np.random.default_rng(5)
    lines = [Line(np.column_stack([rng.uniform(-9, 9, (4, 2)), rng.uniform(-2, -1, 4)]), SLOPED) for _ in range(4)]
    facets = facets_of(lines, [], 1.0)
    wide = cut(vertices, triangles, facets, neighbours=beside, surface=True)
    monkeypatch.setattr(cut_module, "POLYGONS", 1)
    monkeypatch.setattr(cut_module, "CORNERS", 1)
    monkeypatch.setattr(cut_module, "ROOM", 1)
    monkeypatch.setattr(cut_module, "EFFORT", 10)
    narrow = cut(vertices, triangles, facets, neighbours=beside, surface=True)
    assert narrow.facet_volume.tolist() == wide.facet_volume.tolist()
    assert narrow.weights.tolist() == wide.weights.tolist()
    assert narrow.outline.tolist() == wide.outline.tolist()
    assert narrow.surface.tolist() == wide.surface.tolist()


def test_the_watch_can_stop_the_cut() -> None:
    class Impatient:
        def step(self, name: str, done: float, total: float) -> None:
            if done > 0:
                raise Cancelled(name)

    vertices, triangles, _ = rough(300)
    with pytest.raises(Cancelled):
        cut(vertices, triangles, facets_of([straight(1.0)], [], 1.0), Impatient())


def test_the_trench_leaves_the_survey() -> None:
    """Side walls 1 m high at 1:1 with the survey ending 0.5 m beyond the floor: 0.5 m by 20 m are missing."""
    vertices, triangles, beside = rough(200)
    line = straight(1.0, north=29.2)
    flat = vertices * np.array([1, 1, 0])
    dug, facets = excavate(flat, triangles, [line], neighbours=beside)
    (gap,) = leaving(dug, facets, [line])
    assert (gap.line, gap.pit, gap.from_station_m, gap.to_station_m) == (0, -1, 0.0, 20.0)
    assert gap.length_m == pytest.approx(20.0)
    assert gap.missing_m2 == pytest.approx(10.0)
    assert (gap.easting, gap.northing) == pytest.approx((0.0, 30.0))
    assert dug.area_m2 == pytest.approx(20 * 2.1)
    assert sum(ring_area(ring) for ring in rings(dug)) == pytest.approx(dug.area_m2)
    assert leaving(*excavate(flat, triangles, [straight(1.0)], neighbours=beside), [line]) == []


def test_a_pit_that_leaves_the_survey_has_no_station() -> None:
    vertices, triangles, beside = rough(200)
    ring = np.array([(29.0, 0.0), (33.0, 0.0), (33.0, 2.0), (29.0, 2.0)])
    dug, facets = excavate(vertices, triangles, [], [Pit(ring, -1.0)], neighbours=beside)
    (gap,) = leaving(dug, facets, [])
    assert (gap.line, gap.pit) == (-1, 0)
    assert np.isnan(gap.from_station_m)
    assert gap.missing_m2 == pytest.approx(6.0)


def test_an_island_is_a_ring_of_its_own() -> None:
    square = np.array([(-5, -5), (5, -5), (5, 5), (-5, 5), (-5, -5)], float)
    line = Line(np.column_stack([square, np.full(5, -1.0)]), Section(1.0))
    areas = sorted(ring_area(ring) for ring in rings(excavate(SQUARE, HALVES, [line])[0]))
    assert areas[0] == pytest.approx(-81.0)
    assert areas[-1] == pytest.approx(11 * 11 - 0.25)  # the route's start and end are cut flat


def test_a_deeper_crossing_takes_the_face_away() -> None:
    """A knoll makes the shallow trench's wall tallest just where a wide deep trench crosses: that face is gone."""
    plan = np.array([(e, n) for e in np.linspace(-30, 30, 41) for n in np.linspace(-30, 30, 41)])
    knoll = np.column_stack([plan, np.where((abs(plan) < 0.8).all(axis=1), 1.0, 0.0)])
    triangles = Delaunay(plan).simplices.astype(np.int32)
    shallow = straight(1.0, Section(0.5))
    assert excavate(knoll, triangles, [shallow])[0].tallest_face_m > 1.5
    deep = Line(np.array([[0, -20, -1.2], [0, 20, -1.2]], float), Section(8.0))
    dug, _ = excavate(knoll, triangles, [shallow, deep])
    assert dug.tallest_face_m == pytest.approx(1.2, abs=1e-9)


def test_a_step_inside_a_pit_is_a_face() -> None:
    """A sump 1.5 m below the floor of a pit 0.5 m deep: the face above the floor of the sump is 1.5 m."""
    outer = np.array([(-4, -4), (4, -4), (4, 4), (-4, 4)], float)
    dug, _ = excavate(SQUARE, HALVES, [], [Pit(outer, -0.5), Pit(0.25 * outer, -2.0)])
    assert dug.tallest_face_m == pytest.approx(1.5, rel=1e-12)
    assert dug.deepest.value_m == pytest.approx(2.0, rel=1e-12)
    assert dug.volume_m3 == pytest.approx(64 * 0.5 + 4 * 1.5, rel=1e-12)


def test_upright_ends_and_sides_are_told_from_daylight() -> None:
    dug, _ = excavate(SQUARE, HALVES, [straight(1.0)])
    lengths = np.hypot(*(dug.outline[:, 1, :2] - dug.outline[:, 0, :2]).T)
    upright = dug.outline_kind[:, 1] == UPRIGHT
    assert lengths[upright].sum() == pytest.approx(2 * 2.6)
    assert lengths[~upright].sum() == pytest.approx(40.0)


def test_clockwise_triangles_give_the_same() -> None:
    vertices, triangles, _ = rough(200)
    one, _ = excavate(vertices, triangles, [straight(1.0)])
    two, _ = excavate(vertices, np.ascontiguousarray(triangles[:, ::-1]), [straight(1.0)])
    assert two.volume_m3 == pytest.approx(one.volume_m3, rel=1e-12)
    assert sum(map(ring_area, rings(two))) == pytest.approx(two.area_m2)


def test_sigma_of_the_volume_is_what_shaken_points_show() -> None:
    vertices, triangles, _ = rough(500)
    dug, facets = excavate(vertices, triangles, [straight(1.2)])
    sure = volume_sigma(dug.weights, 0.01, 0.02)
    rng = np.random.default_rng(1)
    shaken = [
        cut(vertices + np.column_stack([np.zeros((504, 2)), rng.normal(0, 0.01, 504)]), triangles, facets).volume_m3
        for _ in range(200)
    ]
    assert np.std(shaken) == pytest.approx(sure.independent_m3, rel=0.2)
    assert sure.common_m3 == pytest.approx(0.02 * dug.area_m2)
    assert volume_sigma(dug.weights, 0.01, 0.02, "floor follows the ground").common_m3 == 0.0


def test_many_facets_in_one_triangle() -> None:
    """A route of 60 short runs on two triangles."""
    rng = np.random.default_rng(2)
    east = np.linspace(-20, 20, 61)
    floor = np.column_stack([east, 3 * np.sin(east / 4), -1 + 0.02 * rng.normal(size=61)])
    dug, _ = excavate(SQUARE, HALVES, [Line(floor, SLOPED)])
    assert 1.4 < dug.volume_m3 / np.hypot(*np.diff(floor[:, :2], axis=0).T).sum() < 1.9


def test_bad_input_speaks() -> None:
    ring = np.array([(0, 0), (1, 0), (1, 1), (0, 1)], float)
    for make in (
        lambda: Wall(-1.0),
        lambda: Wall(1.0, float("nan")),
        lambda: Section(0.0),
        lambda: Line(np.array([[0, 0, np.nan], [1, 0, 0]]), SLOPED),
        lambda: Pit(ring[::-1], 0.0),
        lambda: Pit(ring[[0, 2, 1, 3]], 0.0),
        lambda: Pit(ring[:2], 0.0),
        lambda: Pit(ring, float("inf")),
        lambda: volume_sigma(np.ones(3), -1.0),
    ):
        with pytest.raises(GeometryError):
            make()
    dug, facets = excavate(SQUARE, HALVES, [straight(1.0)])
    with pytest.raises(GeometryError):
        layer_volumes(SQUARE, HALVES, facets, dug, [-0.1])


def test_scratch_has_room_for_every_facet() -> None:
    facets = facets_of([straight(1.0)], [], 1.0)
    work = work_of(scene_of(SQUARE, HALVES, None, facets), 4, 12)
    assert work.lines.shape == (3, 5, 3)


@pytest.mark.parametrize("slope", [0.9, 1.0, 1.5])
def test_ground_as_steep_as_the_wall_ends_the_dig_at_the_survey(slope: float) -> None:
    """The uphill wall never comes to daylight where the ground is as steep: the cut then goes on to the hull."""
    vertices = SQUARE + np.column_stack([np.zeros((4, 2)), slope * SQUARE[:, 1]])
    beside = np.array([[-1, 1, -1], [-1, -1, 0]], np.int32)
    dug, facets = excavate(vertices, HALVES, [straight(1.0)], neighbours=beside)
    uphill, downhill = 1.3 / (1 - slope) if slope < 1 else 30.0, 1.3 / (1 + slope)
    assert dug.area_m2 == pytest.approx(20.0 * (uphill + downhill), rel=1e-9)
    assert bool(leaving(dug, facets, [straight(1.0)])) == (slope >= 1.0)


def test_ground_and_trench_on_one_grid_of_lines() -> None:
    """Floor edges, wall feet, daylight and ends all fall on edges of the ground's triangles."""
    axis = np.linspace(-8.0, 8.0, 33)
    plan = np.array([(e, n) for e in axis for n in axis])
    cells = np.array([33 * i + j for i in range(32) for j in range(32)])
    triangles = np.concatenate(
        [np.column_stack([cells, cells + 33, cells + 34]), np.column_stack([cells, cells + 34, cells + 1])]
    ).astype(np.int32)
    vertices = np.column_stack([plan, np.zeros(len(plan))])
    for section, area, volume in ((Section(1.0), 10.0, 10.0), (Section(1.0, Wall(1.0), Wall(1.0)), 30.0, 20.0)):
        dug, _ = excavate(vertices, triangles, [straight(1.0, section, 10.0)])
        assert (dug.volume_m3, dug.area_m2) == pytest.approx((volume, area), rel=1e-12)
        assert dug.tallest_face_m == pytest.approx(1.0, rel=1e-12)
        assert [ring_area(ring) for ring in rings(dug)] == pytest.approx([area], rel=1e-9)
    cross = Line(straight(1.0, Section(1.0), 10.0).floor[:, [1, 0, 2]], Section(1.0))
    dug, _ = excavate(vertices, triangles, [straight(1.0, Section(1.0), 10.0), cross])
    assert (dug.volume_m3, dug.area_m2) == pytest.approx((19.0, 19.0), rel=1e-12)
    assert [ring_area(ring) for ring in rings(dug)] == pytest.approx([19.0], rel=1e-9)
