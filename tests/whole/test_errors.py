"""Bad input through the whole program: four parts, exit 2, nothing written; and wishes that are only findings."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

import sample_scans
from viewer import command

Change = Callable[[Path], None]
SHOTS = "survey/shots.csv"


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A copy of the invented yard, to be broken."""
    return Path(shutil.copytree(sample_scans.folder("steep-yard"), tmp_path / "yard"))


@pytest.fixture
def court(tmp_path: Path) -> Path:
    """A copy of the scanned site, to be broken."""
    return Path(shutil.copytree(sample_scans.folder("juniper-court"), tmp_path / "court"))


def swap(path: Path, old: str, new: str) -> None:
    """Replace `old` in a file, which must be there."""
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new), encoding="utf-8")


def told_of(folder: Path, capsys: pytest.CaptureFixture[str]) -> str:
    """Return what `mattock estimate` says on stderr to bad input, after checking its manners."""
    before = sorted(folder.rglob("*"))
    assert command.main(["estimate", str(folder), "--no-pictures"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "Traceback" not in told.err
    for part in ("mattock: ", "\n  found:    ", "\n  expected: ", "\n  do:       "):
        assert part in told.err
    assert sorted(folder.rglob("*")) == before
    return told.err


def missing(yard: Path) -> None:
    (yard / SHOTS).unlink()


def empty(yard: Path) -> None:
    (yard / SHOTS).write_text("", encoding="utf-8")


def word(yard: Path) -> None:
    swap(yard / SHOTS, ",101.63,", ",lol.63,")


def degrees(yard: Path) -> None:
    rows = [f"{n},{35.6 + 0.00001 * n:.7f},{-105.9 - 0.000013 * (n % 7):.7f},{100 + n}" for n in range(1, 40)]
    (yard / SHOTS).write_text("point,northing,easting,elevation\n" + "\n".join(rows) + "\n", encoding="utf-8")


def off_the_ground(yard: Path) -> None:
    swap(yard / "site.toml", "[1080.0, 5046.0]", "[1180.0, 5046.0]")


def shots_kept(yard: Path, count: int) -> None:
    lines = (yard / SHOTS).read_text(encoding="utf-8").splitlines()[: count + 1]
    (yard / SHOTS).write_text("\n".join(lines) + "\n", encoding="utf-8")


def one_point(yard: Path) -> None:
    shots_kept(yard, 1)


def two_points(yard: Path) -> None:
    shots_kept(yard, 2)


def contradicting(yard: Path) -> None:
    swap(yard / SHOTS, "northing,easting,", "northing (ft),easting (m),")
    swap(yard / "site.toml", 'horizontal_unit = "ft"', "")


def unknown_key(yard: Path) -> None:
    swap(yard / "site.toml", "least_fall", "least_fal")


def wrong_kind(yard: Path) -> None:
    swap(yard / "site.toml", 'cover = "18 in"', 'cover = "18 psi"')


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (missing, "shots.csv"),
        (empty, "empty"),
        (word, "lol.63"),
        (degrees, "degrees"),
        (off_the_ground, "station"),
        (one_point, "three"),
        (two_points, "\n  do:"),
        (contradicting, "ft"),
        (unknown_key, "least_fall"),
        (wrong_kind, "psi"),
    ],
)
def test_bad_input(change: Change, says: str, yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    change(yard)
    assert says in told_of(yard, capsys)


def test_a_scan_cut_off_in_the_middle(court: Path, capsys: pytest.CaptureFixture[str]) -> None:
    scan = court / "survey" / "4_6_crop.las"
    scan.write_bytes(scan.read_bytes()[:400_000])
    assert "4_6_crop.las" in told_of(court, capsys)


def test_all_mistakes_are_told_at_once(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    unknown_key(yard)
    wrong_kind(yard)
    told = told_of(yard, capsys)
    assert "least_fal" in told
    assert "18 psi" in told


def test_a_folder_that_is_no_site(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for words in (["check"], ["estimate"], ["ground"]):
        assert command.main([*words, str(tmp_path / "nowhere")]) == 2
        assert "nowhere" in capsys.readouterr().err


def test_old_results_outlive_bad_input(yard: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["estimate", str(yard), "--no-pictures"]) == 0
    kept = {path: path.read_bytes() for path in (yard / "results").iterdir()}
    capsys.readouterr()
    word(yard)
    told_of(yard, capsys)
    assert {path: path.read_bytes() for path in (yard / "results").iterdir()} == kept


def findings(yard: Path) -> dict[str, dict[str, object]]:
    """Return the findings of a site by their code, after an estimate that must be done."""
    assert command.main(["estimate", str(yard), "--no-pictures"]) == 0
    tree = json.loads((yard / "results" / "estimate.json").read_text(encoding="utf-8"))
    return {one["code"]: one for one in tree["findings"]}


def test_a_drain_that_cannot_drain_is_a_finding(yard: Path) -> None:
    swap(yard / "site.toml", "station = 21.0 ", "station = 60.0 ")  # on a steady rise: nothing stands there
    found = findings(yard)["drain that cannot drain"]
    assert "first swale" in str(found["where"])
    assert found["reason"]
    assert found["remedy"]


def test_walls_that_leave_the_survey_are_a_finding(yard: Path) -> None:
    swap(yard / "site.toml", "[1010.0, 5008.0]", "[1001.0, 5008.0]")
    swap(yard / "site.toml", "wall = { slope = 0.75 }", "wall = { slope = 2.0 }")
    found = findings(yard)
    code = next(code for code in found if "survey" in code)
    assert found[code]["reason"]
    assert found[code]["remedy"]
    tree = json.loads((yard / "results" / "estimate.json").read_text(encoding="utf-8"))
    assert tree["dig"]["complete"] is False
    assert tree["dig"]["missing_area_m2"] > 0.0
    assert "at least" in (yard / "results" / "summary.txt").read_text(encoding="utf-8")
