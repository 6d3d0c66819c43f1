"""The cut sheet's rows and head: straight between rows, plan coordinates, walls, ports, pits and the benchmark."""

import csv
import dataclasses
import io

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimate.record import Bend, Estimate, Pit, Wall
from viewer.sheets.cut_head import benchmark_of
from viewer.sheets.cut_rows import cut_rows
from viewer.sheets.cut_sheet import cut_sheet_csv

HALF_INCH = 0.0127


def dug(estimate: Estimate, **changes: object) -> Estimate:
    return dataclasses.replace(estimate, dig=dataclasses.replace(estimate.dig, **changes))  # type: ignore[arg-type]  # fields of the dig


@pytest.fixture
def pitted(estimate: Estimate) -> Estimate:
    corners = np.array([[-21.6, -9.6], [-20.4, -9.6], [-20.4, -8.4], [-21.6, -8.4]])
    floor = float(estimate.profile.floor_m[0]) - 0.5
    pit = Pit(
        name="Pump vault",
        corners_m=corners,
        floor_m=floor,
        deepest_m=1.3,
        bank_m3=0.7,
        wall=Wall(slope=0.5, rise_m=0.3048),
        end="lower",
    )
    return dug(
        estimate,
        pits=(pit,),
        bedding_depth_m=0.0762,
        left_wall=Wall(slope=0.75, rise_m=0.3048),
        right_wall=Wall(slope=0.0, rise_m=0.0),
    )


def read(one: Estimate) -> tuple[dict[str, list[str]], list[dict[str, str]]]:
    rows = list(csv.reader(io.StringIO(cut_sheet_csv(one))))
    blank = rows.index([])
    head = {row[0]: row[1:] for row in rows[:blank]}
    return head, [dict(zip(rows[blank + 1], row, strict=True)) for row in rows[blank + 2 :]]


def farthest(one: Estimate, stations: np.ndarray, floors: np.ndarray, line: np.ndarray) -> float:
    fine = np.union1d(one.profile.station_m, np.linspace(stations[0], stations[-1], 5000))
    design = np.interp(fine, one.profile.station_m, line)
    return float(np.abs(np.interp(fine, stations, floors) - design).max())


@given(steps=st.lists(st.floats(-0.3, 0.3), min_size=8, max_size=60))
@settings(max_examples=60, deadline=None)
def test_digging_straight_between_rows_keeps_to_the_design(estimate: Estimate, steps: list[float]) -> None:
    profile = estimate.profile
    chance = np.interp(profile.station_m, np.linspace(0.0, profile.station_m[-1], len(steps)), np.cumsum(steps))
    bumpy = dataclasses.replace(
        profile,
        floor_m=profile.floor_m + chance,
        top_m=profile.top_m + chance[::-1],
        ground_m=profile.ground_m + 9.0,
    )
    one = dataclasses.replace(estimate, profile=bumpy)
    rows = cut_rows(one)
    stations = np.array([row.station for row in rows])
    assert (np.diff(stations) > 0.0).all()
    assert farthest(one, stations, np.array([row.floor for row in rows]), bumpy.floor_m) <= HALF_INCH
    assert farthest(one, stations, np.array([row.top for row in rows]), bumpy.top_m) <= HALF_INCH


def test_the_numbers_as_printed_keep_to_the_design(estimate: Estimate) -> None:
    head, rows = read(estimate)
    stations = np.array([float(row["station ft"]) for row in rows]) * 0.3048
    floors = np.array([float(row["trench bottom ft"]) for row in rows]) * 0.3048
    stations[[0, -1]] = estimate.profile.station_m[[0, -1]]
    assert farthest(estimate, stations, floors, estimate.profile.floor_m) <= HALF_INCH
    assert "within 1/2 in (13 mm) of the design" in head["Between rows"][0]


def test_a_straight_run_gets_no_rows_of_its_own(estimate: Estimate) -> None:
    profile = estimate.profile
    down = -0.02 * profile.station_m
    plane = dataclasses.replace(profile, floor_m=down, top_m=down + 0.2, ground_m=down + 1.0)
    rows = cut_rows(dataclasses.replace(estimate, profile=plane))
    assert not [row for row in rows if "grade break" in row.remarks]


def test_plan_is_in_the_surveys_own_coordinates(estimate: Estimate) -> None:
    _, rows = read(estimate)
    first, second, _ = estimate.ground.origin
    for row, exact in zip(rows, cut_rows(estimate), strict=True):
        east = np.interp(exact.station, estimate.profile.station_m, estimate.profile.easting_m)
        assert float(row["easting ft"]) == pytest.approx(first + east / 0.3048, abs=0.0051)
        assert float(row["northing ft"]) == pytest.approx(second + exact.northing / 0.3048, abs=0.0051)
    survey = dataclasses.replace(estimate.ground, horizontal_unit="ftUS")
    assert "easting US survey ft" in read(dataclasses.replace(estimate, ground=survey))[1][0]


def test_top_width_by_hand(pitted: Estimate, estimate: Estimate) -> None:
    for row, exact in zip(read(pitted)[1], cut_rows(pitted), strict=True):
        wide = 0.3048 + 0.75 * max(exact.depth - 0.3048, 0.0)  # the right wall is vertical
        assert float(row["top width ft"]) == pytest.approx(wide / 0.3048, abs=0.0051)
    assert "level across" in read(pitted)[0]["Top width"][0]
    assert "top width ft" not in read(estimate)[1][0]


def test_head_tells_pipe_bedding_and_walls(pitted: Estimate, estimate: Estimate) -> None:
    head = {name: row[0] for name, row in read(pitted)[0].items()}
    assert head["Pipe"] == "PVC 2 in Schedule 40, outside diameter 2.374 in"
    assert head["Trench floor"] == "12.0 in wide"
    assert head["Wall on the left"].startswith("slopes 0.75:1 (H:V) above a vertical rise of 12.0 in")
    assert head["Wall on the right"].startswith("vertical")
    assert head["Bedding"].startswith("3.0 in thick")
    assert '"trench bottom" is under the bedding' in head["Bedding"]
    assert read(estimate)[0]["Bedding"][0].startswith("none")


def test_head_tells_ports_and_pits(pitted: Estimate) -> None:
    head = {name: row[0] for name, row in read(pitted)[0].items()}
    lower, level = pitted.structures[0], benchmark_of(pitted)
    port = head["Port, Pump vault at the koi pond"]
    assert f"elevation {lower.port_m / 0.3048:.2f} ft" in port
    assert f"{(level - lower.port_m) / 0.3048:.2f} ft (" in port
    assert f"vertical pipe there {lower.vertical_pipe_m / 0.3048:.2f} ft (1' 1-3/4\")" in port
    assert "Port, Waterfall filter" in head
    pit = head["Pit, Pump vault"]
    assert "floor 3.94 ft (3' 11-1/4\") by 3.94 ft (3' 11-1/4\")" in pit
    assert "walls: slopes 0.5:1 (H:V) above a vertical rise of 12.0 in" in pit
    assert "4.27 ft (4' 3-1/8\") deep" in pit


def test_row_at_a_pit_tells_its_floor(pitted: Estimate) -> None:
    rows = read(pitted)[1]
    assert "pit floor 1.64 ft (1' 7-5/8\") below this bottom" in rows[0]["remarks"]
    assert not any("pit floor" in row["remarks"] for row in rows[1:])
    assert "pit floor 0.500 m below" in cut_sheet_csv(dataclasses.replace(pitted, units="SI"))


def test_the_sites_own_benchmark(estimate: Estimate) -> None:
    ground = dataclasses.replace(estimate.ground, benchmark_m=317.5 * 0.3048)
    head, rows = read(dataclasses.replace(estimate, ground=ground))
    assert head["Benchmark"] == ["317.5", "as given"]
    down = float(rows[0]["trench bottom below benchmark ft"])
    assert down == pytest.approx(317.5 - estimate.profile.floor_m[0] / 0.3048, abs=0.0051)


def test_one_degree_is_singular_and_less_is_silent(estimate: Estimate) -> None:
    bends = (Bend(station_m=5.0, turn_deg=1.3), Bend(station_m=11.0, turn_deg=-0.6))
    rows = cut_rows(dataclasses.replace(estimate, route=dataclasses.replace(estimate.route, bends=bends)))
    told = [row.remarks for row in rows if "bend" in row.remarks]
    assert told == ["bend 1 degree left"]
    assert any(abs(row.station - 11.0) < 0.006 for row in rows)
