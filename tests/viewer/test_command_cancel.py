"""Ctrl-C in the middle of the work: exit 130, the older results as they were, nothing left beside them."""

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

import sample_scans

Typed = Callable[..., subprocess.CompletedProcess[str]]


def contents(folder: Path) -> dict[str, bytes]:
    """Return every file below a folder by its relative name."""
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.skipif(sys.platform == "win32", reason="a process group cannot be sent SIGINT there")
def test_control_c_leaves_the_old_results(
    tmp_path: Path, typed: Typed, mattock_words: list[str], mattock_environment: dict[str, str]
) -> None:
    yard = Path(shutil.copytree(sample_scans.folder("steep-yard"), tmp_path / "yard"))
    assert typed(tmp_path, "estimate", "yard", "--no-pictures").returncode == 0
    before = contents(yard)
    with subprocess.Popen(
        [*mattock_words, "estimate", "yard"],
        cwd=tmp_path,
        env=mattock_environment,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as working:
        assert working.stderr is not None
        said = []
        for line in working.stderr:
            said.append(line)
            if line.startswith("drawing"):
                break
        os.killpg(working.pid, signal.SIGINT)
        out, rest = working.communicate(timeout=120)
    assert working.returncode == 130, (said, rest)
    assert out == ""
    assert "Traceback" not in rest
    assert "stopped by the user" in rest
    assert contents(yard) == before
    assert sorted(path.name for path in yard.parent.iterdir()) == ["yard"]
