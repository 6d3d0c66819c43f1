"""Kernels give the same interpreted and with bounds checked as they give compiled."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

HOME = Path(__file__).resolve().parents[2]
CODE = """
import numpy as np
from terrain.drape import drape
from terrain.ground import elevation
from terrain.synthetic import hilly_ground
ground = hilly_ground(400, side=60.0)
line = np.array([[-35.0, -20.0], [10.0, 12.0], [10.0, 12.5], [29.0, -29.0], [30.0, 30.0]])
laid = drape(ground, line)
points = np.random.default_rng(3).uniform(-32.0, 32.0, (300, 2))
print(np.float64(np.nansum(laid.points)).hex(), len(laid.stations))
print(np.float64(np.nansum(elevation(ground, points))).hex())
"""


def outcome(folder: Path, **more: str) -> str:
    """Return what the code prints with more environment, its compiled code kept in a folder of its own."""
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(folder), **more}
    done = subprocess.run(
        [sys.executable, "-c", CODE], cwd=HOME, env=environment, capture_output=True, text=True, check=True
    )
    return done.stdout


@pytest.mark.parametrize("name", ["NUMBA_DISABLE_JIT", "NUMBA_BOUNDSCHECK"])
def test_the_same_in_every_mode(name: str, tmp_path: Path) -> None:
    plain = outcome(tmp_path / "plain").split()
    other = outcome(tmp_path / "other", **{name: "1"}).split()
    assert plain[1] == other[1]
    for one, two in ((plain[0], other[0]), (plain[2], other[2])):
        assert float.fromhex(one) == pytest.approx(float.fromhex(two), rel=1e-13)
