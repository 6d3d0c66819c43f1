"""Scans: counts, units and extents as their sources state them; traps refused with what to do about them."""

import struct
from pathlib import Path

import laspy
import numpy as np
import pytest

import sample_scans
from terrain.build import build_ground
from terrain.errors import InputError, SurveyError, UnitsError
from terrain.points import SurveyPoints
from terrain.readers import ReadOptions, read_survey
from terrain.readers.las_units import Said, choose_units, merge, plausibility, said_by_keys, said_by_wkt
from terrain.units import FT, FTUS, LengthUnit, M

HERE = Path(__file__).resolve().parents[1] / "data"
COURT = next(sample_scans.folder("juniper-court").rglob("*.las"))


def elevations(points: SurveyPoints) -> tuple[float, float]:
    """Return the least and greatest elevation in the file's own unit."""
    levels = points.coordinates[:, 2] / points.vertical.metres + points.origin[2]
    return float(levels.min()), float(levels.max())


def test_survey_feet_by_geotiff_keys() -> None:
    # figures of the scan's own description: 9,003 ground points, 7,077.92 to 7,093.86 ft, US survey feet
    points = read_survey(COURT)
    assert len(points.coordinates) == 9003
    assert (points.horizontal, points.vertical) == (FTUS, FTUS)
    assert elevations(points) == pytest.approx((7077.92, 7093.86), abs=1e-6)
    ground = build_ground(points)
    assert len(ground.vertices) == 9003
    assert np.abs(points.coordinates).max() < 100.0


def test_wkt_and_the_unit_key_win_over_the_code_of_the_system() -> None:
    points = read_survey(HERE / "file_with_both_wkt_and_geotiff_vlrs.las")
    assert len(points.coordinates) == 9808
    assert (points.horizontal, points.vertical) == (FTUS, FTUS)
    assert elevations(points) == pytest.approx((1353.72, 1355.14), abs=1e-6)
    assert any("EPSG:32104" in note for note in points.notes)
    assert np.ptp(points.coordinates[:, 0]) == pytest.approx(60 * FTUS.metres, abs=0.1)


def test_a_compressed_scan_in_metres_below_sea_level() -> None:
    points = read_survey(HERE / "startinpy_small.laz")
    assert len(points.coordinates) == 18392
    assert (points.horizontal, points.vertical) == (M, M)
    assert elevations(points) == pytest.approx((-0.574, 0.952), abs=1e-9)
    assert points.assumptions == ()


def test_every_point_but_noise_where_the_user_says_so() -> None:
    points = read_survey(HERE / "file_with_both_wkt_and_geotiff_vlrs.las", ReadOptions(keep="all"))
    assert len(points.coordinates) == 25408 - 25
    assert "25 withheld or noise left out" in points.notes[0]


def test_feet_called_metres_draw_a_warning_and_the_users_word_wins() -> None:
    path = HERE / "1.2-with-color.copc.laz"
    points = read_survey(path)
    assert len(points.coordinates) == 276
    assert "check the horizontal unit" in points.warnings[0]
    told = read_survey(path, ReadOptions(horizontal_unit=FT))
    assert told.horizontal == FT
    assert told.warnings == ()
    assert "horizontal unit ft by the user's word, not m as the file says" in told.notes


@pytest.mark.parametrize("options", [ReadOptions(), ReadOptions(horizontal_unit=M, keep="all")])
def test_degrees_are_refused_with_a_remedy(options: ReadOptions) -> None:
    with pytest.raises(SurveyError) as caught:
        read_survey(HERE / "epsg_4326.las", options)
    assert "degrees" in caught.value.found
    assert "project" in caught.value.remedy


def scan(path: Path, points: list[list[float]], classes: list[int], wkt: str = "", withheld: bool = False) -> Path:
    """Write a small scan whose coordinate system is `wkt`."""
    header = laspy.LasHeader(point_format=6, version="1.4")
    header.scales, header.offsets = np.full(3, 0.001), np.array(points[0])
    if wkt:
        header.vlrs.append(laspy.vlrs.known.WktCoordinateSystemVlr(wkt))
    las = laspy.LasData(header)
    las.x, las.y, las.z = np.array(points).T
    las.classification = np.array(classes, dtype=np.uint8)
    las.withheld = np.array([withheld] + [False] * (len(points) - 1))
    las.write(str(path))
    return path


GEOCENTRIC = (
    'GEOCCS["unnamed",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],'
    'UNIT["metre",1],AXIS["Geocentric X",OTHER],AXIS["Geocentric Y",OTHER],AXIS["Geocentric Z",NORTH]]'
)
DEGREES = (
    'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],PRIMEM["Greenwich",0],'
    'UNIT["degree",0.0174532925199433]]'
)
FAR = [[515368.6, 4918340.3, 2322.9], [515380.0, 4918340.0, 2323.5], [515370.0, 4918380.0, 2325.0]]


def test_a_geocentric_system_on_plane_coordinates_asks_for_the_unit(tmp_path: Path) -> None:
    path = scan(tmp_path / "mound.las", FAR, [0, 0, 0], GEOCENTRIC)
    with pytest.raises(UnitsError) as caught:
        read_survey(path)
    assert "geocentric" in caught.value.found
    assert [type(other) for other in caught.value.others] == [SurveyError]
    points = read_survey(path, ReadOptions(horizontal_unit=M, keep="all"))
    assert np.ptp(points.coordinates[:, 1]) == pytest.approx(40.0, abs=1e-6)


def test_degrees_said_of_plane_coordinates_contradict(tmp_path: Path) -> None:
    path = scan(tmp_path / "a.las", FAR, [2, 2, 2], DEGREES)
    with pytest.raises(UnitsError) as caught:
        read_survey(path)
    assert "contradicts" in caught.value.found
    assert read_survey(path, ReadOptions(horizontal_unit=FT)).vertical == FT


def test_a_scan_without_units_asks_and_without_ground_says_how_to_go_on(tmp_path: Path) -> None:
    with pytest.raises(UnitsError):
        read_survey(scan(tmp_path / "a.las", FAR, [2, 2, 2]))
    with pytest.raises(SurveyError) as caught:
        read_survey(scan(tmp_path / "b.las", FAR, [1, 7, 5]), ReadOptions(horizontal_unit=M))
    assert 'keep = "all"' in caught.value.remedy
    with pytest.raises(SurveyError):
        read_survey(scan(tmp_path / "c.las", FAR, [7, 7, 18]), ReadOptions(horizontal_unit=M, keep="all"))


def test_withheld_points_are_left_out(tmp_path: Path) -> None:
    path = scan(tmp_path / "a.las", [*FAR, FAR[0]], [2, 2, 2, 2], withheld=True)
    points = read_survey(path, ReadOptions(horizontal_unit=M))
    assert len(points.coordinates) == 3
    assert "1 withheld" in points.notes[0]


def test_a_scan_without_points_is_refused(tmp_path: Path) -> None:
    path = scan(tmp_path / "a.las", FAR, [2, 2, 2])
    raw = bytearray(path.read_bytes())
    struct.pack_into("<I", raw, 107, 0)
    struct.pack_into("<Q", raw, 247, 0)
    path.write_bytes(raw)
    with pytest.raises(SurveyError, match="without points"):
        read_survey(path, ReadOptions(horizontal_unit=M))


def test_wkt_wins_over_keys_and_keys_fill_what_it_leaves_open() -> None:
    wkt = Said(horizontal=FTUS)
    both = merge(wkt, said_by_keys({1024: 1, 3076: 9001, 4099: 9002}, {}))
    assert (both.horizontal, both.vertical) == (FTUS, FT)
    assert any("WKT was followed" in note for note in both.notes)


def test_keys_alone_in_all_their_ways() -> None:
    assert said_by_keys({3072: 2903}, {}).horizontal == FTUS  # EPSG:2903, New Mexico Central (ftUS)
    assert said_by_keys({3072: 26913}, {}).horizontal == M  # EPSG:26913, UTM zone 13N
    assert said_by_keys({4096: 6360}, {}).vertical == FTUS  # EPSG:6360, NAVD88 height (ftUS)
    assert said_by_keys({3076: 32767}, {3077: 0.3048}).horizontal == FT
    assert said_by_keys({1024: 2}, {}).geographic
    assert said_by_keys({3072: 1}, {}).horizontal is None


def test_wkt_of_other_kinds() -> None:
    assert said_by_wkt("no such thing") is None
    yard = said_by_wkt('LOCAL_CS["yard",UNIT["link",0.201168402336805],AXIS["E",EAST],AXIS["N",NORTH]]')
    assert yard is not None
    assert yard.horizontal == LengthUnit("link", 0.201168402336805)
    said = merge(said_by_wkt(DEGREES), None)
    assert said.geographic
    box = (0.0, 0.0, 0.0, 30.0, 40.0, 5.0)  # a phone's own frame under a system in degrees
    assert choose_units(said, box, ReadOptions(horizontal_unit=M), "a").horizontal == M
    with pytest.raises(InputError):
        choose_units(said, box, ReadOptions(), "a")


def test_extents_that_cannot_be_meant() -> None:
    assert plausibility((40.0, 30.0, 3.0), 900) == ()
    assert "very small" in plausibility((0.04, 0.03, 0.001), 900)[0]
    assert "elevations differ" in plausibility((40.0, 30.0, 90.0), 900)[0]
