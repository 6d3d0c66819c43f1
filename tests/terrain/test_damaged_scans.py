"""Damaged scans: cut off anywhere, or with a bit turned over, they are refused and nothing foreign leaks."""

from pathlib import Path

import numpy as np
import pytest

import sample_scans
from terrain.errors import MattockError, SurveyError
from terrain.readers import ReadOptions, read_survey
from terrain.readers.las_header import LasHeader, read_header
from terrain.units import FT

HERE = Path(__file__).resolve().parents[1] / "data"
COURT = next(sample_scans.folder("juniper-court").rglob("*.las"))
SCANS = [COURT, HERE / "startinpy_small.laz", HERE / "1.2-with-color.copc.laz"]
OPTIONS = ReadOptions(horizontal_unit=FT)


@pytest.mark.parametrize("path", SCANS, ids=lambda path: path.name)
def test_a_scan_cut_off_anywhere_is_refused(path: Path, tmp_path: Path) -> None:
    raw = path.read_bytes()
    part = tmp_path / path.name
    cuts = {0, 3, 4, 100, 226, 227, 374, 375, 600, len(raw) - 1, len(raw) - 30, len(raw) - 61}
    for cut in sorted(cuts | set(np.linspace(700, len(raw) - 2, 12).astype(int).tolist())):
        part.write_bytes(raw[:cut])
        with pytest.raises(SurveyError) as caught:
            read_survey(part, OPTIONS)
        assert caught.value.remedy, cut


@pytest.mark.parametrize("path", SCANS, ids=lambda path: path.name)
def test_a_bit_turned_over_raises_only_our_errors(path: Path, tmp_path: Path) -> None:
    raw = path.read_bytes()
    rng = np.random.default_rng(23)
    part = tmp_path / path.name
    places = np.concatenate([rng.integers(0, 375, 40), rng.integers(375, 2500, 20), rng.integers(0, len(raw), 20)])
    refused = 0
    for place in places.tolist():
        broken = bytearray(raw)
        broken[place] ^= 1 << int(rng.integers(0, 8))
        part.write_bytes(broken)
        try:
            points = read_survey(part, OPTIONS)
        except MattockError:
            refused += 1
        else:
            assert np.isfinite(points.coordinates).all()
    assert refused > 0


def test_a_count_made_smaller_draws_a_warning(tmp_path: Path) -> None:
    raw = bytearray(COURT.read_bytes())
    raw[107:111] = (20_000).to_bytes(4, "little")
    part = tmp_path / "short.las"
    part.write_bytes(raw)
    assert "more points than its header counts" in read_survey(part).warnings[0]
    assert read_header(part).trailing == 3875


def test_what_is_no_scan_at_all(tmp_path: Path) -> None:
    part = tmp_path / "letter.las"
    part.write_bytes(b"Dear sir, " * 100)
    with pytest.raises(SurveyError, match="does not begin as LAS"):
        read_survey(part)


def test_the_header_of_a_sound_scan() -> None:
    header = read_header(COURT)
    assert isinstance(header, LasHeader)
    assert (header.count, header.point_format, header.compressed, header.trailing) == (23875, 3, False, 0)
    assert read_header(HERE / "startinpy_small.laz").compressed
