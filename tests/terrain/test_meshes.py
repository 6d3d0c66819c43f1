"""Mesh scans: vertices as survey points in the user's unit."""

from pathlib import Path

import numpy as np
import pytest
import trimesh

from terrain.build import build_ground
from terrain.errors import SurveyError, UnitsError
from terrain.ground import elevation
from terrain.readers import ReadOptions, read_survey
from terrain.units import FT, M

CORNERS = np.array([[0.0, 0.0, 1.0], [10.0, 0.0, 2.0], [0.0, 10.0, 3.0], [10.0, 10.0, 4.0]])
FACES = np.array([[0, 1, 2], [1, 3, 2]])


@pytest.mark.parametrize("suffix", ["ply", "obj", "stl", "glb"])
def test_a_mesh_is_the_ground_it_was(suffix: str, tmp_path: Path) -> None:
    corners = CORNERS[:, [0, 2, 1]] * np.array([1.0, 1.0, -1.0]) if suffix == "glb" else CORNERS
    path = tmp_path / f"yard.{suffix}"
    path.write_bytes(_bytes(trimesh.Trimesh(corners, FACES, process=False).export(file_type=suffix)))
    ground = build_ground(read_survey(path, ReadOptions(horizontal_unit=FT)))
    middle = (np.array([[5.0, 5.0]]) - np.array(ground.origin[:2])) * 0.3048
    assert elevation(ground, middle)[0] / 0.3048 + ground.origin[2] == pytest.approx(2.5, abs=1e-6)
    with pytest.raises(UnitsError):
        read_survey(path)


def _bytes(written: "str | bytes") -> bytes:
    return written.encode() if isinstance(written, str) else written


@pytest.mark.parametrize("suffix", ["ply", "stl", "glb", "obj"])
def test_a_damaged_mesh_is_refused(suffix: str, tmp_path: Path) -> None:
    path = tmp_path / f"yard.{suffix}"
    path.write_bytes(b"\x01\x02 nothing of the kind")
    with pytest.raises(SurveyError):
        read_survey(path, ReadOptions(horizontal_unit=M))
