"""The command line's own manners: help, wrong words, exit codes, and nothing heavy before it is needed."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import sample_scans
from terrain import compiled
from terrain.errors import Cancelled, GeometryError, InputError, MattockError
from viewer import command, command_line
from viewer.command_tell import tell_error, tell_unexpected

Typed = Callable[..., subprocess.CompletedProcess[str]]
HEAVY = ("numpy", "scipy", "pyvista", "matplotlib", "pint", "pydantic", "numba", "tomlkit", "shapely", "rich")


def test_help_loads_nothing_heavy(mattock_environment: dict[str, str], tmp_path: Path) -> None:
    script = (
        "import sys; from viewer.command import main; code = main(['--help']); "
        f"print(sorted(set({HEAVY!r}) & set(sys.modules)), code)"
    )
    ran = subprocess.run(
        [sys.executable, "-P", "-c", script],
        cwd=tmp_path,
        env=mattock_environment,
        capture_output=True,
        text=True,
        check=True,
    )
    assert ran.stdout.splitlines()[-1] == "[] 0"


@pytest.mark.parametrize("name", sorted(command_line.program.commands))
def test_each_command_has_help(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main([name, "--help"]) == 0
    told = capsys.readouterr().out
    assert told.startswith(f"Usage: mattock {name}")
    assert command_line.program.commands[name].get_short_help_str(80).endswith((".", "job"))


@pytest.mark.parametrize(
    "words",
    [["estimat", "yard"], ["estimate"], ["estimate", "yard", "--colour"], ["new", "yard", "--units", "chain"]],
)
def test_wrong_words_are_told_in_four_parts(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(words) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "mattock: command line, mattock" in told.err
    for part in ("  found:    ", "  expected: ", "  do:       see `mattock"):
        assert part in told.err


def test_no_words_give_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main([]) == 0
    assert "Commands:" in capsys.readouterr().out


def test_the_version_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert command.main(["--version"]) == 0
    assert capsys.readouterr().out.startswith("mattock")


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (InputError("a", "b", "c", "d"), 2),
        (GeometryError("a", "b"), 2),
        (MattockError("a", "b"), 3),
        (Cancelled("drawing"), 130),
    ],
)
def test_exit_codes(error: InputError, code: int, capsys: pytest.CaptureFixture[str]) -> None:
    assert tell_error(error) == code
    assert "mattock: " in capsys.readouterr().err


def test_all_that_is_wrong_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    more = (InputError("site.toml line 4", "second"), InputError("site.toml line 9", "third"))
    tell_error(InputError("site.toml line 3", "first", others=more))
    told = capsys.readouterr().err
    assert all(word in told for word in ("first", "second", "third"))


def test_faults_of_one_kind_are_cut_short(capsys: pytest.CaptureFixture[str]) -> None:
    many = [InputError(f"points.csv line {line}", "'-'", "a number", "correct the cell") for line in range(2, 40)]
    other = InputError("points.csv line 41", "two columns", "one", "rename it")
    tell_error(InputError(many[0].where, many[0].found, "a number", "correct the cell", [*many[1:], other]))
    told = capsys.readouterr().err
    assert told.count("  found:    '-'") == 12
    assert "two columns" in told
    assert "and 26 more of this kind, the last at points.csv line 39" in told


def test_a_mistake_of_the_program_is_one_plain_line_and_a_log(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("MATTOCK_DEBUG", raising=False)
    assert tell_unexpected(ZeroDivisionError("a slip")) == 3
    told = capsys.readouterr().err
    assert "Traceback" not in told
    assert len(told.strip().splitlines()) == 1
    log = Path(told.strip().rsplit("the log is in ", 1)[1])
    assert "a slip" in log.read_text(encoding="utf-8")
    log.unlink()


def test_the_traceback_is_shown_where_asked(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("MATTOCK_DEBUG", "1")
    tell_error(InputError("yard.csv", "nothing"))
    assert "InputError" in capsys.readouterr().err


def test_modules_in_the_current_folder_never_run(typed: Typed, tmp_path: Path) -> None:
    for name in ("numpy", "click", "tomlkit", "pydantic", "matplotlib", "pyvista", "scipy"):
        (tmp_path / f"{name}.py").write_text(
            "open('ran', 'w').close()\nraise SystemExit('ran')\n", encoding="utf-8"
        )
    assert typed(tmp_path, "schema").returncode == 0
    assert not (tmp_path / "ran").exists()


def test_the_guard_alone_keeps_them_from_running(tmp_path: Path, mattock_environment: dict[str, str]) -> None:
    (tmp_path / "click.py").write_text("open('ran', 'w').close()\n", encoding="utf-8")
    script = "from viewer.command import main; raise SystemExit(main(['schema']))"
    ran = subprocess.run([sys.executable, "-c", script], cwd=tmp_path, env=mattock_environment, check=False)
    assert ran.returncode == 0
    assert not (tmp_path / "ran").exists()


def test_a_mixed_installation_is_refused(mattock_words: list[str], tmp_path: Path) -> None:
    package = tmp_path / "estimate"
    package.mkdir()
    (package / "__init__.py").write_text("", encoding="utf-8")
    home = Path(command.__file__).resolve().parents[1]
    ran = subprocess.run(
        [*mattock_words, "schema"],
        cwd=home,
        env={"PYTHONPATH": f"{tmp_path}{os.pathsep}{home}"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 3
    assert "package estimate" in ran.stderr


def test_modules_beside_a_site_do_not_run_in_the_picture_either(
    tmp_path: Path, typed: Typed, mattock_environment: dict[str, str]
) -> None:
    shutil.copytree(sample_scans.folder("steep-yard"), tmp_path, dirs_exist_ok=True)
    for name in ("numpy", "matplotlib", "pyvista", "scipy", "numba"):
        (tmp_path / f"{name}.py").write_text(
            "open('ran', 'w').close()\nraise SystemExit('ran')\n", encoding="utf-8"
        )
    path = os.pathsep.join((mattock_environment["PYTHONPATH"], ""))  # an empty place is the current folder
    ran = typed(tmp_path, "estimate", ".", PYTHONPATH=path)
    assert ran.returncode == 0, ran.stderr
    assert not (tmp_path / "ran").exists()
    assert (tmp_path / "results" / "picture.png").is_file()


def test_the_first_run_says_that_it_compiles(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if compiled.state():
        pytest.skip("kernels are not compiled or not kept here")
    monkeypatch.setattr(compiled, "HOME", tmp_path)
    assert compiled.first_run(tmp_path)


@pytest.mark.parametrize("words", [["schema"], ["--help"], ["estimate", "--help"], ["nonsense"]])
@pytest.mark.parametrize("read", [0, 1])
def test_a_closed_pipe_ends_quietly(
    words: list[str], read: int, mattock_words: list[str], mattock_environment: dict[str, str], tmp_path: Path
) -> None:
    started = subprocess.Popen(
        [*mattock_words, *words],
        cwd=tmp_path,
        env=mattock_environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert started.stdout is not None
    assert started.stderr is not None
    started.stdout.read(read)
    started.stdout.close()
    told = started.stderr.read().decode()
    started.stderr.close()
    assert started.wait(timeout=60) == (2 if words == ["nonsense"] else 0), told
    assert "Traceback" not in told
    assert "Exception ignored" not in told


def test_a_closed_pipe_behind_an_estimate_keeps_the_results(
    mattock_words: list[str], mattock_environment: dict[str, str], tmp_path: Path
) -> None:
    shutil.copytree(sample_scans.folder("steep-yard"), tmp_path / "yard")
    started = subprocess.Popen(
        [*mattock_words, "estimate", "yard", "--no-pictures"],
        cwd=tmp_path,
        env=mattock_environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
    assert started.stdout is not None
    assert started.stderr is not None
    started.stdout.close()
    told = started.stderr.read().decode()
    started.stderr.close()
    assert started.wait(timeout=120) == 0, told
    assert "Traceback" not in told
    assert "BrokenPipe" not in told
    assert (tmp_path / "yard" / "results" / "estimate.json").is_file()
