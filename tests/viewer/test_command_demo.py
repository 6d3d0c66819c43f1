"""The demo folder: copied once, refreshed where the user changed nothing, and never overwritten."""

import hashlib
from pathlib import Path

import pytest

import sample_scans
from terrain.errors import InputError
from viewer import command
from viewer.demo import MANIFEST, copy_demo


def test_a_first_copy_is_the_shipped_site(tmp_path: Path) -> None:
    target = tmp_path / "été jardin"
    copied = copy_demo("steep-yard", target)
    source = sample_scans.folder("steep-yard")
    assert set(copied.written) == {"site.toml", "ORIGIN.md", "survey/shots.csv"}
    assert copied.kept == ()
    for name in copied.written:
        assert (target / name).read_bytes() == (source / name).read_bytes()


def test_a_second_copy_changes_nothing(tmp_path: Path) -> None:
    copy_demo("steep-yard", tmp_path)
    before = {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")}
    again = copy_demo("steep-yard", tmp_path)
    assert (again.written, again.kept) == ((), ())
    assert {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")} == before


def test_what_the_user_changed_is_kept(tmp_path: Path) -> None:
    copy_demo("steep-yard", tmp_path)
    site = tmp_path / "site.toml"
    site.write_text(site.read_text(encoding="utf-8").replace("18 in", "24 in"), encoding="utf-8")
    (tmp_path / "ORIGIN.md").unlink()
    again = copy_demo("steep-yard", tmp_path)
    assert again.kept == ("site.toml",)
    assert again.written == ("ORIGIN.md",)
    assert "24 in" in site.read_text(encoding="utf-8")
    assert copy_demo("steep-yard", tmp_path).kept == ("site.toml",)


def test_a_file_of_an_older_version_is_refreshed(tmp_path: Path) -> None:
    copy_demo("steep-yard", tmp_path)
    origin, manifest = tmp_path / "ORIGIN.md", tmp_path / MANIFEST
    new = origin.read_bytes()
    origin.write_bytes(b"older words")
    current, older = (hashlib.sha256(content).hexdigest() for content in (new, b"older words"))
    manifest.write_text(manifest.read_text(encoding="utf-8").replace(current, older), encoding="utf-8")
    assert copy_demo("steep-yard", tmp_path).written == ("ORIGIN.md",)
    assert origin.read_bytes() == new


def test_a_copy_that_was_cut_off_goes_on(tmp_path: Path) -> None:
    site = (sample_scans.folder("steep-yard") / "site.toml").read_bytes()
    (tmp_path / "site.toml").write_bytes(site)
    assert set(copy_demo("steep-yard", tmp_path).written) == {"ORIGIN.md", "survey/shots.csv"}


@pytest.mark.parametrize("name", ["notes.txt", "site.toml"])
def test_a_foreign_folder_is_refused(name: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / name).write_text("mine\n", encoding="utf-8")
    assert command.main(["demo", str(tmp_path)]) == 2
    assert "did not put there" in capsys.readouterr().err
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_another_site_and_an_unknown_one_are_refused(tmp_path: Path) -> None:
    copy_demo("steep-yard", tmp_path)
    with pytest.raises(InputError, match="steep-yard"):
        copy_demo("juniper-court", tmp_path)
    with pytest.raises(InputError, match="juniper-court, steep-yard"):
        copy_demo("nowhere", tmp_path / "new")


def test_the_sites_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["demo", "--list"]) == 0
    told = capsys.readouterr().out
    assert all(name in told for name in sample_scans.names())
    assert "Juniper Court" in told


def test_the_samples_are_small_and_say_where_they_come_from() -> None:
    sites = [sample_scans.folder(name) for name in sample_scans.names()]
    size = sum(path.stat().st_size for site in sites for path in site.rglob("*") if path.is_file())
    assert size <= 3_000_000
    for site in sites:
        words = (site / "ORIGIN.md").read_text(encoding="utf-8")
        assert "nvented" in words
        assert "licen" in words.lower()
        assert "**Expected" in words
    with pytest.raises(KeyError):
        sample_scans.folder("nowhere")
