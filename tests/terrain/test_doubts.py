"""Doubts: doubles that disagree and single spikes are told with their point numbers; honest ground is not."""

from pathlib import Path

import numpy as np
import pytest

from sample_scans import folder
from terrain.arrays import Floats
from terrain.build import build_ground
from terrain.ground import Ground
from terrain.readers import ReadOptions, read_survey
from terrain.spikes import MOST, spikes
from terrain.synthetic import grid_points, ground_of, hills, on_shape, random_points
from terrain.units import FT

HEADER = "point,northing (ft),easting (ft),elevation (ft),description\n"


def surveyed(place: Path, rows: list[str], header: str = HEADER) -> Ground:
    """Return the ground of a file with `rows`."""
    (place / "points.csv").write_text(header + "\n".join(rows) + "\n", encoding="utf-8")
    return build_ground(read_survey(place / "points.csv"))


def slope_rows(changed: dict[int, str]) -> list[str]:
    """Return a grid of shots 20 ft apart on a slope, some elevations `changed` by point number."""
    rows = []
    for number, (east, north) in enumerate(grid_points(100.0, 20.0).tolist(), 1):
        level = changed.get(number, f"{104.0 + 0.05 * east + 0.03 * north + 0.1 * np.sin(number):.2f}")
        rows.append(f"{number},{north},{east},{level},GS")
    return rows


def test_doubles_that_disagree_are_a_warning_with_their_numbers(tmp_path: Path) -> None:
    ground = surveyed(tmp_path, [*slope_rows({}), "98,7,5,104.10,GS", "stump,7,5,107.30,GS"])
    (warning,) = ground.warnings
    for words in ("point 98 and point stump", "104.10 and 107.30 ft", "lowest"):
        assert words in warning


def test_doubles_without_numbers_are_named_by_their_place_in_the_file(tmp_path: Path) -> None:
    header = "northing (m),easting (m),elevation (m)\n"
    ground = surveyed(tmp_path, ["0,0,10", "0,9,10", "9,0,10.2", "9,9,10", "9,0,11.5"], header)
    (warning,) = ground.warnings
    assert "shot 3 of the file and shot 5 of the file" in warning
    assert "10.20 and 11.50 m" in warning


def test_doubles_that_agree_are_only_a_note(tmp_path: Path) -> None:
    ground = surveyed(tmp_path, [*slope_rows({}), "98,7,5,104.10,GS", "99,7,5,104.14,GS"])
    assert ground.warnings == ()
    assert "averaged" in ground.notes[-1]


def test_many_doubles_that_disagree_are_cut_short(tmp_path: Path) -> None:
    rows = slope_rows({})
    again = [f"{row.split(',')[0]}b,{','.join(row.split(',')[1:3])},104.9,GS" for row in rows[:20]]
    ground = surveyed(tmp_path, [*rows, *again])
    assert len(ground.warnings) == 7
    assert ground.warnings[-1].startswith("and 13 more places")


def test_doubles_on_one_straight_line_are_told_once(tmp_path: Path) -> None:
    ground = surveyed(tmp_path, ["1,0,0,10,a", "2,0,20,10,a", "3,0,40,11,a", "4,0,20,14,a"])
    assert ground.kind == "stations"
    (warning,) = ground.warnings
    assert "point 2 and point 4" in warning


@pytest.mark.parametrize(
    ("number", "booked", "words"),
    [
        (15, "113.83", ("point 15 stands", "above", "booked 113.83", "a slip of 10?")),
        (22, "94.9", ("point 22 stands", "below", "a slip of 10?")),
        (21, "10429", ("point 21", "a decimal point")),
        (1, "117.0", ("point 1 ", "above", "check the booking")),
    ],
)
def test_a_slip_in_booking_is_told(tmp_path: Path, number: int, booked: str, words: tuple[str, ...]) -> None:
    ground = surveyed(tmp_path, slope_rows({number: booked}))
    (warning,) = ground.warnings
    for word in words:
        assert word in warning, warning


def test_two_slips_are_both_told(tmp_path: Path) -> None:
    ground = surveyed(tmp_path, slope_rows({15: "113.83", 10: "93.6"}))
    assert {warning.partition(" stands")[0] for warning in ground.warnings} == {"point 15", "point 10"}


def found(coordinates: Floats) -> int:
    """Return how many spikes the ground through `coordinates` (n, 3) metres has."""
    ground = ground_of(coordinates)
    return len(spikes(ground.vertices, ground.triangles, 0.015))


@pytest.mark.parametrize("count", [12, 35, 120, 600])
@pytest.mark.parametrize("side", [20.0, 60.0, 200.0])
def test_hilly_ground_has_no_spikes(count: int, side: float) -> None:
    for seed in range(3):
        assert found(on_shape(random_points(count, side, seed), hills)) == 0


@pytest.mark.parametrize("count", [12, 35, 120, 600])
def test_a_wall_and_a_bank_of_a_metre_are_no_spikes(count: int) -> None:
    for seed in range(4):
        plan = random_points(count, 40.0, seed)
        wall = np.where(plan[:, 0] > 3.0, 1.0, 0.0) + 0.03 * plan[:, 1]
        bank = np.clip(plan[:, 0] - plan[:, 1], 0.0, 1.0) + 0.05 * plan[:, 0]
        bed = np.where(np.hypot(plan[:, 0], plan[:, 1]) < 6.0, 1.0, 0.0)
        for levels in (wall, bank, bed):
            assert found(np.column_stack([plan, levels])) == 0


def test_rough_ground_and_scans_are_not_doubted() -> None:
    plan = random_points(300, 40.0, 5)
    levels = np.where(np.arange(300) % 25 == 0, 9.0, 0.0)
    assert found(np.column_stack([plan, levels])) <= MOST
    single = np.column_stack([plan, np.where(np.arange(300) == 150, 9.0, 0.0)])
    assert ground_of(single, "lidar").warnings == ()
    assert len(ground_of(single, "shots").warnings) == 1


def test_the_shipped_shots_are_not_doubted() -> None:
    feet = ReadOptions(horizontal_unit=FT, vertical_unit=FT)
    assert build_ground(read_survey(folder("steep-yard") / "survey" / "shots.csv", feet)).warnings == ()
