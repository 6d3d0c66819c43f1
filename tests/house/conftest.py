"""What all house tests look at: the tree's files, its modules as syntax trees, and who imports whom."""

import ast
import json
import subprocess
import sys
from collections.abc import Mapping
from pathlib import Path

import pytest

PACKAGES = ("terrain", "estimate", "viewer", "sample_scans")
LEFT_OUT = {".git", ".venv", "__pycache__", "build", "dist", "results", "node_modules"}


@pytest.fixture(scope="session")
def root() -> Path:
    """Return the top folder of the tree."""
    return Path(__file__).resolve().parents[2]


def _on_disk(top: Path) -> list[Path]:
    found = (path.relative_to(top) for path in top.rglob("*") if path.is_file())
    kept = (path for path in found if not any(part in LEFT_OUT or part.endswith("_cache") for part in path.parts))
    return [path for path in kept if ".egg-info" not in str(path) and ".hypothesis" not in path.parts]


@pytest.fixture(scope="session")
def tracked(root: Path) -> list[Path]:
    """Return the files of the tree, relative to its top: those that git tracks, or all where git is absent."""
    try:
        listed = subprocess.run(["git", "ls-files", "-z"], cwd=root, capture_output=True, check=True).stdout
    except (OSError, subprocess.CalledProcessError):
        return sorted(_on_disk(root))
    names = (Path(name) for name in listed.decode("utf-8").split("\0") if name)
    return sorted(name for name in names if (root / name).is_file()) or sorted(_on_disk(root))


@pytest.fixture(scope="session")
def imports(root: Path) -> Mapping[str, list[str]]:
    """Return for each module of the packages the names that it imports anywhere in its file."""
    command = [sys.executable, str(root / "tests" / "house" / "imports.py")]
    done = subprocess.run(command, capture_output=True, check=True)
    found: dict[str, list[str]] = json.loads(done.stdout)
    return found


@pytest.fixture(scope="session")
def python_files(root: Path) -> Mapping[str, ast.Module]:
    """Return the syntax tree of every Python file, tests and benchmarks too, by its path in the tree."""
    tops = (*PACKAGES, "tests", "benchmarks")
    paths = (path for top in tops for path in sorted((root / top).rglob("*.py")))
    return {str(path.relative_to(root)): ast.parse(path.read_text("utf-8"), str(path)) for path in paths}


@pytest.fixture(scope="session")
def package_files(python_files: Mapping[str, ast.Module]) -> Mapping[str, ast.Module]:
    """Return the syntax trees of the packages alone."""
    return {name: tree for name, tree in python_files.items() if Path(name).parts[0] in PACKAGES}
