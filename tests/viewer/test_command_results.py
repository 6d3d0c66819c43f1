"""The result folder: complete or not there, hashes that hold, users' files kept, half-done swaps put right."""

import hashlib
import json
import shutil
from pathlib import Path

import pytest

import sample_scans
from estimate.record import Estimate
from estimate.record_json import from_json
from terrain.errors import Cancelled, InputError
from terrain.files import places_of
from terrain.ground import Ground
from terrain.watch import SILENT
from viewer import command
from viewer.results import ESTIMATE, refuse_foreign, write_results

SHEETS = {"summary.txt", "quantities.csv", "cut_sheet.csv"}


class Stopper:
    """A watch on which the user presses Ctrl-C at a step of that name."""

    def __init__(self, at: str) -> None:
        self.at = at

    def step(self, name: str, done: float, total: float) -> None:
        """Raise Cancelled at the step."""
        if name == self.at:
            raise Cancelled(name)


def names(folder: Path) -> set[str]:
    """Return the names in a folder."""
    return {path.name for path in folder.iterdir()}


def test_the_estimate_names_every_other_file(estimate: Estimate, ground: Ground, tmp_path: Path) -> None:
    folder = tmp_path / "results"
    written = write_results(estimate, ground, folder, SILENT, pictures=False)
    assert names(folder) == {ESTIMATE, *SHEETS} == set(written.names)
    again = from_json((folder / ESTIMATE).read_text(encoding="utf-8"))
    assert set(again.files) == SHEETS
    for name, digest in again.files.items():
        assert hashlib.sha256((folder / name).read_bytes()).hexdigest() == digest
    assert names(tmp_path) == {"results"}


def test_the_same_estimate_gives_the_same_bytes(estimate: Estimate, ground: Ground, tmp_path: Path) -> None:
    for name in ("one", "two"):
        write_results(estimate, ground, tmp_path / name, SILENT, pictures=False)
    for name in names(tmp_path / "one"):
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "two" / name).read_bytes()


def test_what_the_user_put_or_changed_there_is_kept(estimate: Estimate, ground: Ground, tmp_path: Path) -> None:
    folder = tmp_path / "results"
    write_results(estimate, ground, folder, SILENT, pictures=False)
    (folder / "notes.txt").write_text("call first", encoding="utf-8")
    (folder / "photos").mkdir()
    (folder / "photos" / "one.jpg").write_bytes(b"1")
    (folder / "cut_sheet.csv").write_text("mine", encoding="utf-8")
    for told in (1, 0):
        written = write_results(estimate, ground, folder, SILENT, pictures=False)
        assert len(written.notes) == told
        assert names(folder) == {ESTIMATE, *SHEETS, "notes.txt", "photos", "yours-cut_sheet.csv"}
        assert (folder / "yours-cut_sheet.csv").read_text(encoding="utf-8") == "mine"
        assert (folder / "photos" / "one.jpg").read_bytes() == b"1"


@pytest.mark.parametrize("step", ["writing the sheets", "writing the results"])
def test_a_stop_leaves_the_older_results(step: str, estimate: Estimate, ground: Ground, tmp_path: Path) -> None:
    folder = tmp_path / "results"
    write_results(estimate, ground, folder, SILENT, pictures=False)
    before = {name: (folder / name).stat().st_mtime_ns for name in names(folder)}
    with pytest.raises(Cancelled):
        write_results(estimate, ground, folder, Stopper(step), pictures=False)
    assert {name: (folder / name).stat().st_mtime_ns for name in names(folder)} == before
    assert names(tmp_path) == {"results"}


def test_a_stop_at_the_first_run_leaves_nothing(estimate: Estimate, ground: Ground, tmp_path: Path) -> None:
    with pytest.raises(Cancelled):
        write_results(estimate, ground, tmp_path / "results", Stopper("writing the results"), pictures=False)
    assert names(tmp_path) == set()


@pytest.mark.parametrize("half", ["new one not in place", "only the old one aside", "new one not complete"])
@pytest.mark.parametrize("words", [["check"], ["ground"]])
def test_the_next_command_puts_a_half_done_swap_right(
    half: str, words: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    yard = Path(shutil.copytree(sample_scans.folder("steep-yard"), tmp_path / "yard"))
    places = places_of(yard / "results")
    old = places.target if half == "new one not complete" else places.aside
    old.mkdir()
    (old / ESTIMATE).write_text("old", encoding="utf-8")
    if half != "only the old one aside":
        places.building.mkdir()
        (places.building / ESTIMATE).write_text("new", encoding="utf-8")
    assert command.main([*words, str(yard)]) == 0
    expected = "new" if half == "new one not in place" else "old"
    assert (places.target / ESTIMATE).read_text(encoding="utf-8") == expected
    assert not places.building.exists()
    assert not places.aside.exists()
    assert "Nothing wrong" in capsys.readouterr().out or words == ["ground"]


def test_other_folders_are_not_replaced(tmp_path: Path) -> None:
    refuse_foreign(tmp_path / "new")
    refuse_foreign(tmp_path)
    (tmp_path / "file").write_text("x", encoding="utf-8")
    for folder in (tmp_path, tmp_path / "file"):
        with pytest.raises(InputError):
            refuse_foreign(folder)


def test_a_manifest_that_cannot_be_read_loses_no_file(estimate: Estimate, ground: Ground, tmp_path: Path) -> None:
    folder = tmp_path / "results"
    write_results(estimate, ground, folder, SILENT, pictures=False)
    (folder / ESTIMATE).write_text(json.dumps(["not", "ours"]), encoding="utf-8")
    write_results(estimate, ground, folder, SILENT, pictures=False)
    assert {f"yours-{name}" for name in SHEETS} <= names(folder)
