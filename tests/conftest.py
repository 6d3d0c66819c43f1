"""Runs the command line as a user's shell would: a process of its own that knows only the installed packages."""

import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

Typed = Callable[..., subprocess.CompletedProcess[str]]
"""What `typed` gives: call it with a folder and the words of a command line."""

HOME = Path(__file__).resolve().parents[1]
SCRIPT = "import sys; sys.argv[0] = 'mattock'; from viewer.command import main; sys.exit(main())"


@pytest.fixture(scope="session")
def mattock_words() -> list[str]:
    """The first words of a command line that starts the console script."""
    return [sys.executable, "-P", "-c", SCRIPT]


@pytest.fixture(scope="session")
def mattock_environment() -> dict[str, str]:
    """The environment of a process that finds this program wherever it runs."""
    return {**os.environ, "PYTHONPATH": str(HOME)}


@pytest.fixture(scope="session")
def typed(mattock_words: list[str], mattock_environment: dict[str, str]) -> Typed:
    """Return a function that runs `mattock` in a folder with the given words, and more environment by name."""

    def run(folder: Path, *words: str | Path, **more: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [*mattock_words, *map(str, words)],
            cwd=folder,
            env={**mattock_environment, **more},
            capture_output=True,
            text=True,
            encoding="utf-8",
            timeout=300,
            check=False,
        )

    return run
