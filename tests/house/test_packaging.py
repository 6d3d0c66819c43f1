"""What is shipped: exactly our packages and their files, each dependency bounded, used and declared."""

import re
import shutil
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Mapping
from pathlib import Path

import pytest

PACKAGES = ("terrain", "estimate", "viewer", "sample_scans")


@pytest.fixture(scope="module")
def project(root: Path) -> dict[str, object]:
    """Return the project's own table of pyproject.toml."""
    table: dict[str, object] = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["project"]
    return table


def requirements(project: Mapping[str, object]) -> dict[str, list[str]]:
    """Return the requirements by group; the program's own are `run`."""
    run, extras = project["dependencies"], project["optional-dependencies"]
    assert isinstance(run, list)
    assert isinstance(extras, dict)
    return {"run": run, **extras}


def bare(requirement: str) -> str:
    """Return the name of a requirement as it is imported."""
    name = re.split(r"[\[<>=!~; ]", requirement)[0].lower().replace("-", "_")
    return {"pillow": "pil"}.get(name, name)


def test_every_dependency_is_bounded_from_below(project: dict[str, object]) -> None:
    every = [line for lines in requirements(project).values() for line in lines]
    assert [line for line in every if not re.search(r">=\d", line)] == []


def foreign(names: list[str]) -> set[str]:
    """Return the libraries among imported names."""
    tops = {name.partition(".")[0] for name in names}
    return {top.lower() for top in tops if top not in sys.stdlib_module_names and top not in PACKAGES}


def test_the_program_imports_what_it_declares_and_nothing_else(
    project: dict[str, object], imports: Mapping[str, list[str]]
) -> None:
    used = {library for names in imports.values() for library in foreign(names)}
    declared = {bare(line) for line in requirements(project)["run"]}
    assert used - declared == set()
    assert declared - used == set()


def test_python_and_licence_are_stated(root: Path, project: dict[str, object]) -> None:
    assert project["requires-python"] == ">=3.11"
    assert project["license"] == "MIT"
    assert (root / "LICENSE").read_text("utf-8").startswith("MIT License")
    assert project["scripts"] == {"mattock": "viewer.command:main"}


def test_every_test_folder_is_collected_with_the_house_first(root: Path) -> None:
    table = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["tool"]["pytest"]["ini_options"]
    tops = {path.relative_to(root / "tests").parts[0] for path in root.glob("tests/*/**/test_*.py")}
    assert table["testpaths"][0] == "tests/house"
    assert {f"tests/{name}" for name in tops} | {"terrain", "estimate", "viewer"} <= set(table["testpaths"])
    assert not list((root / "tests").rglob("__init__.py"))


def test_no_leftover_of_a_build_stands_in_the_tree(root: Path) -> None:
    assert not (root / "build").exists(), "a stale build folder would put old files into the next wheel; delete it"


@pytest.fixture(scope="module")
def wheel(root: Path, tracked: list[Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Build a wheel from a copy of the tracked tree, so that nothing is left behind in the tree itself."""
    folder = tmp_path_factory.mktemp("wheel")
    for path in tracked:
        target = folder / "tree" / path
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(root / path, target)
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(folder), "."]
    done = subprocess.run(command, cwd=folder / "tree", capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    (built,) = folder.glob("mattock-*.whl")
    return built


def test_the_wheel_holds_the_tracked_files_of_four_packages(wheel: Path, tracked: list[Path]) -> None:
    names = [Path(name) for name in zipfile.ZipFile(wheel).namelist() if not name.endswith("/")]
    shipped = {path for path in names if ".dist-info" not in path.parts[0]}
    assert {path.parts[0] for path in shipped} == set(PACKAGES)
    own = {path for path in tracked if path.parts[0] in PACKAGES}
    assert sorted(map(str, own - shipped)) == []
    assert sorted(map(str, shipped - own)) == []


def test_the_wheel_says_that_it_is_typed_and_licensed(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    assert {f"{package}/py.typed" for package in PACKAGES} <= set(names)
    assert [name for name in names if name.endswith("licenses/LICENSE")]


def test_the_samples_are_small(root: Path, tracked: list[Path]) -> None:
    sizes = [(root / path).stat().st_size for path in tracked if path.parts[0] == "sample_scans"]
    assert sum(sizes) <= 3 * 1024 * 1024
