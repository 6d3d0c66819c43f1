"""Shots and stations as tables: any order the header tells, units from header or user, all faults at once."""

import contextlib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import sample_scans
from terrain.build import build_ground
from terrain.errors import InputError, SurveyError, UnitsError
from terrain.ground import elevation
from terrain.points import SurveyPoints
from terrain.readers import ReadOptions, read_survey
from terrain.units import FT, FTUS, M

FEET = ReadOptions(horizontal_unit=FT)
YARD = "1,0,0,100,corner\n2,0,40,101,corner\n3,30,40,102,corner\n4,30,0,103,corner\n"


def read(folder: Path, text: str, options: ReadOptions = FEET, name: str = "yard.csv") -> SurveyPoints:
    path = folder / name
    path.write_bytes(text.encode("utf-8"))
    return read_survey(path, options)


def survey(points: SurveyPoints) -> list[list[float]]:
    """Return the coordinates in the survey's own units."""
    metres = np.array([points.horizontal.metres, points.horizontal.metres, points.vertical.metres])
    rows: list[list[float]] = (points.coordinates / metres + np.array(points.origin)).round(6).tolist()
    return rows


WANTED = [[10.5, 20.25, 3.0], [1.0, 2.0, 4.0], [5.0, 9.0, 5.5]]


@pytest.mark.parametrize(
    "text",
    [
        "point,northing,easting,elevation,description\n1,20.25,10.5,3,a\n2,2,1,4,b\n3,9,5,5.5,c\n",
        "Elev,E,N\n3,10.5,20.25\n4,1,2\n5.5,5,9\n",
        "\ufeffPT;Y;X;Z;Code\r\n1;20,25;10,5;3;a\r\n2;2;1;4;b\r\n3;9;5;5,5;c\r\n",
        "# shot with the laser\n\nNorthing\tEasting\tHeight\n20.25\t10.5\t3\n# a note\n2\t1\t4\n9\t5\t5.5\n",
        'p,"Easting (ft)","Northing (ft)",elev_ft\n1,"10.5",20.25,3\n2,1,2,4\n3,5,9,5.5\n',
        "x y z\n10.5 20.25 3\n1 2 4\n5 9 5.5\n",
    ],
)
def test_columns_in_any_order_and_dress(text: str, tmp_path: Path) -> None:
    points = read(tmp_path, text)
    assert survey(points) == WANTED
    assert points.kind == "shots"


def test_encodings_of_spreadsheets(tmp_path: Path) -> None:
    text = "point,northing,easting,elevation,description\n1,0,0,1,Böschung\n2,9,0,1,b\n3,0,9,2,c\n"
    for encoding in ("utf-8", "utf-8-sig", "utf-16", "cp1252"):
        path = tmp_path / "a.csv"
        path.write_bytes(text.encode(encoding))
        assert read_survey(path, FEET).codes[0] == "Böschung"


def test_units_from_the_header_and_the_users_word_over_it(tmp_path: Path) -> None:
    text = "northing (ftUS),easting (ftUS),elevation [m]\n0,0,1\n9,0,1\n0,9,2\n"
    points = read(tmp_path, text, ReadOptions())
    assert (points.horizontal, points.vertical) == (FTUS, M)
    told = read(tmp_path, text, ReadOptions(horizontal_unit=M))
    assert (told.horizontal, told.vertical) == (M, M)
    assert any("not in ftUS as the header says" in note for note in told.notes)


def test_units_tied_to_the_name_by_other_signs(tmp_path: Path) -> None:
    points = read(tmp_path, "northing us-ft,easting_ftUS,elev_US_survey_feet\n0,0,1\n9,0,1\n0,9,2\n", ReadOptions())
    assert (points.horizontal, points.vertical) == (FTUS, FTUS)


def test_elevations_without_a_unit_take_that_of_the_coordinates(tmp_path: Path) -> None:
    points = read(tmp_path, "n,e,z\n0,0,1\n9,0,1\n0,9,2\n")
    assert points.vertical == FT
    assert "taken in ft" in points.assumptions[0]


@pytest.mark.parametrize(
    ("text", "options"),
    [
        ("n,e,z\n0,0,1\n9,0,1\n0,9,2\n", ReadOptions()),
        ("northing (m),easting (ft),elevation\n0,0,1\n9,0,1\n0,9,2\n", ReadOptions(vertical_unit=FT)),
        ("northing (cubits),easting (ft),elevation\n0,0,1\n9,0,1\n0,9,2\n", ReadOptions()),
    ],
)
def test_units_missing_contradicting_or_unknown(text: str, options: ReadOptions, tmp_path: Path) -> None:
    with pytest.raises(UnitsError) as caught:
        read(tmp_path, text, options)
    assert caught.value.remedy


def test_all_faults_are_told_at_once_with_line_and_column(tmp_path: Path) -> None:
    text = "point,northing,easting,elevation\n1,0,abc,1\n2,9,0,\n\n3,0,9 ft,nan\n4,1,1,inf\n5,2,2,1e999\n"
    with pytest.raises(SurveyError) as caught:
        read(tmp_path, text)
    first = caught.value
    assert first.where == "yard.csv line 2, column easting"
    assert "'abc'" in first.found
    wheres = [other.where for other in first.others]
    assert wheres == [
        "yard.csv line 3, column elevation",
        "yard.csv line 5, column easting",
        "yard.csv line 5, column elevation",
        "yard.csv line 6, column elevation",
        "yard.csv line 7, column elevation",
    ]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "   \n\n",
        "# only a note\n",
        "point,northing,easting,elevation\n",
        "1,2,3,4\n5,6,7,8\n",
        "northing,easting\n1,2\n",
        "n,e,z,elevation\n1,2,3,4\n",
        "lat,lon,elevation\n35.1,-106.2,5000\n",
        "n,e,z\n35.123456,-106.123456,10\n35.123556,-106.123556,11\n35.1235,-106.1236,12\n",
        "point,n,e,z\nA,0,0,1\nA,9,0,1\nB,0,9,2\n",
        "n;e;z\n0,5;1.5;1\n9;0;1\n0;9;2\n",
        "n,e,z\n\0\0\0",
        "n,e,z\n1,2,3\n4,5,6\n",
    ],
)
def test_tables_that_cannot_be_read_right(text: str, tmp_path: Path) -> None:
    with pytest.raises(SurveyError) as caught:
        read(tmp_path, text)
    assert caught.value.expected


def test_a_small_yard_near_zero_is_no_degrees(tmp_path: Path) -> None:
    assert len(read(tmp_path, "n,e,z\n0,0,1\n60.12345,0,1\n0,45.54321,2\n").coordinates) == 3


@pytest.mark.parametrize("name", ["yard.csv", "yard.pdf", "yard.las"])
def test_missing_and_unknown_files(name: str, tmp_path: Path) -> None:
    with pytest.raises(SurveyError):
        read_survey(tmp_path / name)
    (tmp_path / "folder.csv").mkdir()
    with pytest.raises(SurveyError):
        read_survey(tmp_path / "folder.csv")
    (tmp_path / "yard.pdf").write_bytes(b"%PDF")
    with pytest.raises(SurveyError):
        read_survey(tmp_path / "yard.pdf")


@pytest.mark.parametrize(
    "options",
    [{"keep": "some"}, {"ribbon_half_width": 0.0}, {"accuracy": -1.0}],
    ids=lambda options: next(iter(options)),
)
def test_options_without_meaning(options: dict[str, object]) -> None:
    with pytest.raises(SurveyError):
        ReadOptions(**options)  # type: ignore[arg-type]  # wrong on purpose


def test_one_line_of_stations_becomes_a_level_ribbon(tmp_path: Path) -> None:
    points = read(tmp_path, "station,elevation\n0+00,100\n0+50,104\n1+00,103\n")
    assert points.kind == "stations"
    assert "level across it" in points.assumptions[-1]
    ground = build_ground(points)
    places = np.array([[25 * 0.3048, 2.0], [75 * 0.3048, -2.9], [10.0, 3.1]])
    levels = elevation(ground, places) / 0.3048 + ground.origin[2]
    np.testing.assert_allclose(levels[:2], [102.0, 103.5], rtol=0.0, atol=1e-9)
    assert np.isnan(levels[2])


@pytest.mark.parametrize(
    "text",
    [
        "station,elevation,offset\n0,100,\n0,101,10\n0,98,-10\n50,100,0\n100,100,\n100,103,10\n100,98,-10\n",
        "station,elevation,left_offset,left_elevation,right_offset,right_elevation\n"
        "0,100,10,101,10,98\n50,100,,,,\n100,100,10,103,10,98\n",
    ],
)
def test_side_shots_give_the_cross_slope_and_it_is_carried_between(text: str, tmp_path: Path) -> None:
    points = read(tmp_path, text)
    assert any("carried" in line for line in points.assumptions)
    ground = build_ground(points)
    places = np.array([[50.0, 10.0], [50.0, -10.0], [50.0, 5.0]]) * 0.3048
    levels = elevation(ground, places) / 0.3048 + ground.origin[2]
    np.testing.assert_allclose(levels, [102.0, 98.0, 101.0], rtol=0.0, atol=1e-9)


def test_the_right_side_may_be_booked_positive(tmp_path: Path) -> None:
    rows = "0,100,\n0,101,{left}\n0,98,{right}\n50,100,0\n"
    left = read(tmp_path, "station,elevation,offset\n" + rows.format(left="10", right="-10"))
    for heading in ("offset_right_positive", "Offset right positive (ft)"):
        right = read(tmp_path, f"station,elevation,{heading}\n" + rows.format(left="-10", right="10"))
        np.testing.assert_array_equal(right.coordinates, left.coordinates)
    with pytest.raises(SurveyError, match="one column of offsets"):
        read(tmp_path, "station,elevation,offset,offset_right_positive\n0,100,0,0\n50,100,0,0\n")


def test_the_width_of_a_ribbon_is_told_in_both_units_and_its_sides_by_the_way_walked(tmp_path: Path) -> None:
    (told,) = (line for line in read(tmp_path, "station,elevation\n0,100\n50,104\n").assumptions if "level" in line)
    assert "3.048 m (10 ft) to each side" in told
    assert "left and right are seen walking along rising stations" in told


@pytest.mark.parametrize(
    "text",
    [
        "station,elevation\n0,100\n",
        "station,height2\n0,100\n1,100\n",
        "station,elevation\n0,100\n0,101\n5,100\n",
        "station,elevation,left_offset,left_elevation\n0,100,3,\n9,100,,\n",
        "station,elevation\n0,100\nten,101\n",
    ],
)
def test_stations_that_cannot_be_right(text: str, tmp_path: Path) -> None:
    with pytest.raises(InputError):
        read(tmp_path, text)


@given(st.floats(0.0, 6.28), st.integers(0, 100))
@settings(max_examples=20, deadline=None)
def test_shots_on_a_straight_line_become_a_ribbon_in_place(
    tmp_path_factory: pytest.TempPathFactory, angle: float, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    along = np.sort(rng.uniform(0.0, 100.0, 8))
    along[0], along[-1] = 0.0, 100.0
    rows = np.column_stack([along * np.cos(angle), along * np.sin(angle), rng.uniform(0.0, 9.0, 8)])
    text = "easting,northing,elevation\n" + "".join(f"{e:.9f},{n:.9f},{z:.9f}\n" for e, n, z in rows.tolist())
    points = read(tmp_path_factory.mktemp("line"), text)
    assert points.kind == "stations"
    ground = build_ground(points)
    local = (rows[:, :2] - np.array(points.origin[:2])) * 0.3048
    levels = elevation(ground, local) / 0.3048 + points.origin[2]
    np.testing.assert_allclose(levels[1:-1], rows[1:-1, 2], rtol=0.0, atol=1e-5)


def test_the_sample_yard_reads() -> None:
    path = next(sample_scans.folder("steep-yard").rglob("*.csv"))
    assert len(build_ground(read_survey(path, FEET)).triangles) > 10


@given(st.binary(max_size=200))
@settings(max_examples=150, deadline=None)
def test_any_bytes_raise_only_our_errors(tmp_path_factory: pytest.TempPathFactory, raw: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_bytes(b"n,e,z\n" + raw)
    with contextlib.suppress(InputError):
        build_ground(read_survey(path, FEET))
