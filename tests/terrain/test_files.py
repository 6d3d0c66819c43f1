"""Files whole or not at all: folders swapped in, crashes finished or undone, one run at a time."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from terrain.errors import StorageError
from terrain.files import MARKER, locked, new_folder, places_of, recover, settle, write_bytes, write_text
from terrain.processes import is_alive, this_process

HOME = Path(__file__).resolve().parents[2]


def fill(folder: Path, word: str) -> None:
    """Put the marker and a second file, both saying `word`, into `folder`."""
    (folder / "sheets").mkdir(exist_ok=True)
    write_text(folder / MARKER, word)
    write_text(folder / "sheets" / "one.csv", word)


def word_in(folder: Path) -> str:
    words = {(folder / MARKER).read_text(), (folder / "sheets" / "one.csv").read_text()}
    assert len(words) == 1, "mixed runs"
    return words.pop()


def remains(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir() if path.name.startswith("."))


def test_text_is_written_with_plain_line_ends_and_replaced_whole(tmp_path: Path) -> None:
    path = tmp_path / "a.csv"
    write_text(path, "length\nm²\n")
    write_text(path, "länge\n")
    assert path.read_bytes() == "länge\n".encode()
    assert remains(tmp_path) == []


def test_a_file_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    with pytest.raises(StorageError) as caught:
        write_bytes(tmp_path / "absent" / "a.csv", b"x")
    assert caught.value.remedy
    (tmp_path / "folder").mkdir()
    with pytest.raises(StorageError):
        write_bytes(tmp_path / "folder", b"x")
    assert remains(tmp_path) == []


def test_a_new_folder_takes_the_place_of_the_old(tmp_path: Path) -> None:
    target = tmp_path / "results"
    for word in ("one", "two", "three"):
        with new_folder(target) as folder:
            fill(folder, word)
            assert not (target / MARKER).exists() or word_in(target) != word
        assert word_in(target) == word
        assert remains(tmp_path) == []


def interrupted(target: Path, fault: type[BaseException]) -> None:
    """Begin a new folder and be interrupted by `fault`."""
    with new_folder(target) as folder:
        fill(folder, "new")
        raise fault


@pytest.mark.parametrize("fault", [ValueError, KeyboardInterrupt, SystemExit])
@pytest.mark.parametrize("before", [False, True])
def test_an_interrupted_run_leaves_things_as_they_were(
    fault: type[BaseException], before: bool, tmp_path: Path
) -> None:
    target = tmp_path / "results"
    if before:
        with new_folder(target) as folder:
            fill(folder, "old")
    with pytest.raises(fault):
        interrupted(target, fault)
    assert target.exists() == before
    assert not before or word_in(target) == "old"
    assert remains(tmp_path) == []


def test_folders_of_others_are_never_replaced(tmp_path: Path) -> None:
    target = tmp_path / "photos"
    target.mkdir()
    (target / "garden.jpg").write_bytes(b"x")
    with pytest.raises(StorageError, match="other files"), new_folder(target):
        pass
    assert (target / "garden.jpg").exists()
    (tmp_path / "file").write_bytes(b"x")
    with pytest.raises(StorageError), new_folder(tmp_path / "file"):
        pass
    assert remains(tmp_path) == []
    (tmp_path / "empty").mkdir()
    with new_folder(tmp_path / "empty") as folder:
        fill(folder, "new")
    assert word_in(tmp_path / "empty") == "new"


def state(target: Path, *, here: str, building: str, aside: str) -> None:
    """Make the three folders of a swap, those with a word, as a crash may leave them."""
    places = places_of(target)
    for path, word in ((places.target, here), (places.building, building), (places.aside, aside)):
        if word:
            path.mkdir()
            fill(path, word)


@pytest.mark.parametrize(
    ("here", "building", "aside", "after"),
    [
        ("old", "new", "", "old"),  # while it was being built
        ("", "new", "", ""),  # the same, the first time
        ("", "new", "old", "new"),  # between the two renames
        ("new", "", "old", "new"),  # before the old one was removed
        ("", "", "old", "old"),  # between them, the new one lost
    ],
)
def test_recovery_from_every_moment_of_a_swap(
    here: str, building: str, aside: str, after: str, tmp_path: Path
) -> None:
    target = tmp_path / "results"
    state(target, here=here, building=building, aside=aside)
    assert recover(target)
    assert target.exists() == bool(after)
    assert not after or word_in(target) == after
    assert remains(tmp_path) == []
    assert not recover(target)


def test_a_run_after_a_crash_goes_on_as_usual(tmp_path: Path) -> None:
    target = tmp_path / "results"
    state(target, here="", building="new", aside="old")
    with new_folder(target) as folder:
        assert word_in(target) == "new"
        fill(folder, "newer")
    assert word_in(target) == "newer"
    settle(places_of(target))
    assert word_in(target) == "newer"


def test_two_runs_do_not_mix(tmp_path: Path) -> None:
    target = tmp_path / "results"
    with new_folder(target) as folder:
        fill(folder, "first")
        with pytest.raises(StorageError, match="another run"), new_folder(target):
            pass
        with pytest.raises(StorageError), locked(target):
            pass
        with pytest.raises(StorageError):
            recover(target)
        assert folder.exists()
    assert word_in(target) == "first"


def test_the_lock_of_a_process_that_ended_is_taken_over(tmp_path: Path) -> None:
    target = tmp_path / "results"
    ended = subprocess.run([sys.executable, "-c", "import os; print(os.getpid())"], capture_output=True, check=True)
    node = this_process().rsplit(" ", 2)[0]
    for line in (f"{node} {int(ended.stdout)} -\n", f"{node} {os.getpid()} of-an-earlier-start\n", "", "torn"):
        lock = places_of(target).lock
        lock.write_text(line, encoding="utf-8")
        if not line.endswith("\n"):
            with pytest.raises(StorageError), locked(target):  # it may be just being written
                pass
            os.utime(lock, (1e9, 1e9))
        with new_folder(target) as folder:
            fill(folder, "mine")
        assert remains(tmp_path) == []


def test_processes_known_by_number_and_start() -> None:
    assert is_alive(this_process())
    assert is_alive("another-machine 1 -")
    assert not is_alive(f"{this_process().rsplit(' ', 1)[0]} another-start")


MANY = """
import sys
from pathlib import Path
from terrain.errors import StorageError
from terrain.files import MARKER, new_folder
for _ in range(15):
    try:
        with new_folder(Path(sys.argv[1])) as folder:
            (folder / "sheets").mkdir()
            (folder / MARKER).write_text(sys.argv[2])
            (folder / "sheets" / "one.csv").write_text(sys.argv[2])
    except StorageError:
        continue
"""


def test_many_processes_at_once_leave_one_whole_folder(tmp_path: Path) -> None:
    target = tmp_path / "results"
    works = [
        subprocess.Popen([sys.executable, "-c", MANY, str(target), word], cwd=HOME) for word in ("a", "b", "c")
    ]
    assert [work.wait(60) for work in works] == [0, 0, 0]
    assert word_in(target) in ("a", "b", "c")
    assert remains(tmp_path) == []


KILLED = """
import os, sys
from pathlib import Path
import terrain.files as files
count = int(sys.argv[2])
real = os.rename
def counted(path, to):
    global count
    count -= 1
    if count < 0:
        os._exit(9)
    real(path, to)
Path.rename = lambda self, to: counted(self, to)
with files.new_folder(Path(sys.argv[1])) as folder:
    (folder / "sheets").mkdir()
    (folder / files.MARKER).write_text("new")
    (folder / "sheets" / "one.csv").write_text("new")
"""


@pytest.mark.parametrize("renames", [0, 1])
def test_a_killed_run_is_finished_or_undone_by_the_next(renames: int, tmp_path: Path) -> None:
    target = tmp_path / "results"
    with new_folder(target) as folder:
        fill(folder, "old")
    words = [sys.executable, "-c", KILLED, str(target), str(renames)]
    done = subprocess.run(words, cwd=HOME, check=False, capture_output=True)
    assert done.returncode == 9
    assert recover(target)
    assert word_in(target) == ("old" if renames == 0 else "new")
    assert remains(tmp_path) == []
