"""The trench ends where its walls first meet daylight: a bank beyond, or the far side of a ditch, stays."""

import os

import numpy as np
import pytest
from numpy.typing import NDArray

from estimate.dig.cut import Cut, cut
from estimate.dig.excavate import excavate, layer_volumes
from estimate.dig.facets import facets_to
from estimate.dig.lines import Line, Pit
from estimate.dig.outline import ring_area, rings
from estimate.dig.section import Section, Wall

FloatArray = NDArray[np.float64]
WIDTH, DEPTH, LENGTH = 0.3, 0.72, 20.0
ALONE = LENGTH * (WIDTH * DEPTH + DEPTH**2)
"""A trench in a level yard: the floor's rectangle and two triangles of 1:1 walls."""
DAYLIGHT = 0.5 * WIDTH + DEPTH
"""Offset at which the walls meet the level yard."""
INTERPRETED = os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0")
HEADINGS = [0.3] if INTERPRETED else [0.0, 0.3, 0.7, 1.1, 2.9]
EAST = np.arange(-4.3, 27.0, 3.0)


def yard(offsets: list[float], heights: list[float], heading: float) -> tuple[FloatArray, NDArray[np.int32]]:
    """Return ground with one height at each offset northward of the centre line, level along it, then turned."""
    north, up = np.array([-10.0, *offsets, 30.0]), np.array([0.0, *heights, heights[-1]])
    east, rows = len(EAST), len(north)
    plan = np.column_stack([np.tile(EAST, rows), np.repeat(north, east)])
    corner = (np.arange(rows - 1)[:, None] * east + np.arange(east - 1)).ravel()
    one = np.column_stack([corner, corner + 1, corner + east])
    two = np.column_stack([corner + 1, corner + east + 1, corner + east])
    vertices = np.column_stack([plan @ turn(heading), np.repeat(up, east)])
    return vertices, np.concatenate([one, two]).astype(np.int32)


def turn(heading: float) -> FloatArray:
    c, s = np.cos(heading), np.sin(heading)
    return np.array([[c, s], [-s, c]])


def straight(heading: float, offset: float = 0.0, ground: float = 0.0) -> Line:
    plan = np.array([[0.0, offset], [LENGTH, offset]]) @ turn(heading)
    return Line(np.column_stack([plan, np.full(2, ground - DEPTH)]), Section(WIDTH, Wall(1.0), Wall(1.0)))


def at_any_reach(offsets: list[float], heights: list[float], heading: float, least: float) -> list[Cut]:
    """Return the cut as it comes, and with walls that reach at least to daylight or further."""
    land, line = yard(offsets, heights, heading), straight(heading)
    further = [facets_to([line], [], [np.array([reach])], []) for reach in (least + 0.01, least + 0.7, 4.0, 9.0)]
    return [excavate(*land, [line])[0], *(cut(*land, facets) for facets in further)]


@pytest.mark.parametrize("heading", HEADINGS)
@pytest.mark.parametrize("foot", [1.0, 1.5, 1.6, 1.9, 2.0])
@pytest.mark.parametrize("rise", [0.05, 2.0])
def test_bank_beyond_daylight_is_not_dug(foot: float, rise: float, heading: float) -> None:
    for dug in at_any_reach([foot, foot + rise / 40.0], [0.0, rise], heading, DEPTH):
        assert dug.volume_m3 == pytest.approx(ALONE, rel=1e-12)
        assert dug.area_m2 == pytest.approx(2.0 * LENGTH * DAYLIGHT, rel=1e-12)
        assert dug.weights.sum() == pytest.approx(dug.area_m2, rel=1e-12)
        assert dug.tallest_face_m == pytest.approx(DEPTH, rel=1e-9)
        assert dug.deepest.value_m == pytest.approx(DEPTH, rel=1e-9)
        assert [ring_area(ring) for ring in rings(dug)] == [pytest.approx(dug.area_m2, rel=1e-9)]


@pytest.mark.parametrize("heading", HEADINGS)
def test_bank_on_the_far_side_of_a_ditch_is_not_dug(heading: float) -> None:
    for dug in at_any_reach([1.2, 1.7, 2.2, 2.7], [0.0, -2.0, 0.0, 3.0], heading, DEPTH):
        assert dug.volume_m3 == pytest.approx(ALONE, rel=1e-12)
        assert len(rings(dug)) == 1


@pytest.mark.parametrize("heading", HEADINGS)
def test_wall_ends_at_the_near_side_of_a_ditch(heading: float) -> None:
    # The ditch falls 10:1 from 0.5 to 0.6 m off and rises again to the yard at 0.7 m, above the prolonged wall.
    above = DAYLIGHT - 0.5  # the yard above the wall at the ditch, closed at the rate of 10 + 1
    kept = ALONE / LENGTH - 0.5 * above**2 + 0.5 * above * above / 11.0
    for dug in at_any_reach([0.5, 0.6, 0.7], [0.0, -1.0, 0.0], heading, DEPTH):
        assert dug.volume_m3 == pytest.approx(LENGTH * kept, rel=1e-12)
        assert len(rings(dug)) == 1


@pytest.mark.parametrize("heading", HEADINGS)
def test_bank_with_its_foot_in_the_trench_is_dug(heading: float) -> None:
    # The bank rises 2 m from 0.5 to 0.55 m off: a ramp, then a layer of 2 m to where the wall comes out 2 m later.
    ramp = 0.5 * 2.0 * 0.05
    level = 0.5 * (DAYLIGHT + 2.0 - 0.55) ** 2 - 0.5 * (DAYLIGHT - 0.55) ** 2
    for dug in at_any_reach([0.5, 0.55], [0.0, 2.0], heading, DEPTH + 2.0):
        assert dug.volume_m3 == pytest.approx(ALONE + LENGTH * (ramp + level), rel=1e-12)
        assert dug.tallest_face_m == pytest.approx(DEPTH + 2.0, rel=1e-9)


@pytest.mark.parametrize("heading", HEADINGS)
def test_another_trench_does_not_hold_a_prolonged_wall(heading: float) -> None:
    land = yard([1.6, 1.65], [0.0, 4.0], heading)
    low, high = straight(heading), straight(heading, 3.5, 4.0)
    assert excavate(*land, [low, high])[0].volume_m3 == pytest.approx(2.0 * ALONE, rel=1e-12)


@pytest.mark.parametrize("heading", HEADINGS)
def test_what_is_left_out_stays_left_out_of_layers(heading: float) -> None:
    land, line = yard([1.0, 1.05], [0.0, 2.0], heading), straight(heading)
    dug, facets = excavate(*land, [line])
    lower = DEPTH - 0.1
    beneath = LENGTH * (WIDTH * lower + lower**2)
    assert layer_volumes(*land, facets, dug, [0.1]) == pytest.approx([ALONE - beneath, beneath], rel=1e-12)


@pytest.mark.parametrize("heading", HEADINGS)
def test_bank_near_a_pit_is_not_dug(heading: float) -> None:
    # A square pit of side 2 a with 1:1 walls and mitred corners: a pyramid stump.
    ring = np.array([(9.0, -1.0), (11.0, -1.0), (11.0, 1.0), (9.0, 1.0)]) @ turn(heading)
    stump = 4.0 * DEPTH + 4.0 * DEPTH**2 + 4.0 / 3.0 * DEPTH**3
    dug, _ = excavate(*yard([2.0, 2.05], [0.0, 3.0], heading), [], [Pit(ring, -DEPTH, Wall(1.0))])
    assert dug.volume_m3 == pytest.approx(stump, rel=1e-12)


@pytest.mark.parametrize("heading", HEADINGS)
def test_wall_over_which_the_floor_hangs_in_the_air_is_not_dug(heading: float) -> None:
    # The yard falls to 1 m below the floor at its edge and comes up above the prolonged wall: no floor, no trench.
    offsets, heights = [-0.3, 0.3, 1.0], [-DEPTH - 1.0, -DEPTH - 1.0, 2.0]
    land = yard([-9.0, *offsets], [-DEPTH - 1.0, *heights], heading)
    land[0][:, 2] = np.where(land[0][:, 2] == 0.0, -DEPTH - 1.0, land[0][:, 2])
    dug, _ = excavate(*land, [straight(heading)])
    assert dug.volume_m3 == 0.0
    assert not dug.touched.any()
