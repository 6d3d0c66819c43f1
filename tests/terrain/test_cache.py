"""Cache of grounds: the same ground back, a miss where anything changed or is damaged, no error of its own."""

import os
from pathlib import Path

import numpy as np
import pytest

from terrain.cache import TEXTS, cache_folder, cached_ground, pack, trim, unpack
from terrain.compiled import text_digest
from terrain.errors import SurveyError
from terrain.ground import Ground
from terrain.readers import ReadOptions
from terrain.synthetic import hilly_ground
from terrain.units import FT, M

HERE = Path(__file__).resolve().parents[1] / "data"
SCAN = HERE / "startinpy_small.laz"


class Names:
    """A watch that keeps the names of the steps."""

    def __init__(self) -> None:
        self.seen: set[str] = set()

    def step(self, name: str, done: float, total: float) -> None:
        self.seen.add(name)


def same(one: Ground, other: Ground) -> bool:
    arrays = all(
        np.array_equal(getattr(one, name), getattr(other, name))
        for name in ("vertices", "triangles", "neighbours", "point")
    )
    texts = all(
        getattr(one, name) == getattr(other, name)
        for name in ("origin", "horizontal", "vertical", "source", "kind", *TEXTS, "area", "lowest", "highest")
    )
    return arrays and texts and np.array_equal(one.tree.boxes, other.tree.boxes)


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("MATTOCK_CACHE", str(tmp_path / "cache"))
    return cache_folder()


def test_the_second_time_nothing_is_read(folder: Path) -> None:
    first, second = Names(), Names()
    one = cached_ground(SCAN, watch=first)
    other = cached_ground(SCAN, watch=second)
    assert same(one, other)
    assert "reading the scan" in first.seen
    assert second.seen == set()
    assert len(list(folder.iterdir())) == 1


def test_another_word_of_the_user_is_another_entry(folder: Path) -> None:
    cached_ground(SCAN)
    told = cached_ground(SCAN, ReadOptions(horizontal_unit=FT))
    assert told.horizontal == FT
    assert len(list(folder.glob("*.npz"))) == 2


def test_a_changed_file_is_another_entry(folder: Path, tmp_path: Path) -> None:
    path = tmp_path / "yard.csv"
    for level in ("1", "2"):
        path.write_text(f"n,e,z\n0,0,{level}\n9,0,1\n0,9,1\n")
        ground = cached_ground(path, ReadOptions(horizontal_unit=M))
        assert ground.vertices[:, 2].max() + ground.origin[2] == float(level)
    assert len(list(folder.glob("*.npz"))) == 2


def test_a_changed_reader_never_serves_an_older_ground(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    one = cached_ground(SCAN)
    older = pack(one)
    monkeypatch.setattr("terrain.cache.text_digest", lambda package: "another version")
    with pytest.raises(ValueError, match="do not fit"):
        unpack(older)
    again = Names()
    assert same(cached_ground(SCAN, watch=again), one)
    assert "reading the scan" in again.seen
    assert len(list(folder.glob("*.npz"))) == 2


def test_the_digest_follows_every_module_of_the_package(tmp_path: Path) -> None:
    digests: set[str] = set()
    for text in ("ONE = 1", "ONE = 2", "ONE = 2 "):
        package = tmp_path / f"v{len(digests)}"
        (package / "readers").mkdir(parents=True)
        (package / "readers" / "csv.py").write_text(text)
        digests.add(text_digest(package))
    assert len(digests) == 3


def test_a_damaged_entry_is_only_slower(folder: Path) -> None:
    one = cached_ground(SCAN)
    entry = next(folder.glob("*.npz"))
    whole = entry.read_bytes()
    for raw in (b"", whole[:100], whole[:-40], whole[:5000] + b"\xff" + whole[5001:], b"PK" + os.urandom(300)):
        entry.write_bytes(raw)
        assert same(cached_ground(SCAN), one)
        assert entry.read_bytes() == whole


def test_entries_that_do_not_fit_together_are_refused() -> None:
    ground = hilly_ground(60)
    assert same(unpack(pack(ground)), ground)
    wrong = Ground(ground.vertices[:-1], ground.triangles, ground.neighbours, tree=ground.tree, area=1.0)
    with pytest.raises(ValueError, match="do not fit"):
        unpack(pack(wrong))


def test_a_cache_that_cannot_be_written_is_passed_over(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "file").write_bytes(b"")
    monkeypatch.setenv("MATTOCK_CACHE", str(tmp_path / "file" / "below"))
    assert len(cached_ground(SCAN).vertices) > 18_000


def test_the_longest_unused_goes_first(tmp_path: Path) -> None:
    for age, name in enumerate("abcd"):
        path = tmp_path / f"{name}.npz"
        path.write_bytes(b"x" * 100)
        os.utime(path, (1e9 - age, 1e9 - age))
    trim(tmp_path, 250)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.npz", "b.npz"]


def test_a_missing_survey_is_told_and_nothing_kept(folder: Path) -> None:
    with pytest.raises(SurveyError):
        cached_ground(HERE / "absent.laz")
    assert not folder.exists()


def test_the_systems_own_place_where_nothing_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("MATTOCK_CACHE", raising=False)
    assert cache_folder().name == "mattock"
