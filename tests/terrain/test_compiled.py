"""Compiled kernels are kept by the text of their package: after an update nothing older runs."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import terrain

HOME = Path(terrain.__path__[0]).resolve().parent
CODE = """
from pathlib import Path
import terrain.compiled as compiled
import terrain.order
first = compiled.first_run(Path(compiled.__file__).parent)
import double_of
print(first, double_of.double(2.0), compiled.CACHED)
"""
KERNEL = """
from terrain.compiled import kernel
from terrain.order import BITS
@kernel
def double(value: float) -> float:
    return value * BITS
"""


def run(folder: Path, code: str = CODE) -> list[str]:
    environment = {**os.environ, "NUMBA_CACHE_DIR": str(folder / "kept"), "PYTHONPATH": str(folder)}
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=folder, env=environment, capture_output=True, text=True, check=True
    )
    return done.stdout.split()


def test_a_changed_constant_of_another_file_is_seen(tmp_path: Path) -> None:
    shutil.copytree(HOME / "terrain", tmp_path / "terrain", ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / "double_of.py").write_text(KERNEL)
    assert run(tmp_path) == ["True", "32.0", "True"]
    order = tmp_path / "terrain" / "order.py"
    order.write_text(order.read_text().replace("BITS = 16", "BITS = 17"))
    assert run(tmp_path)[1] == "34.0"
    assert len(list((tmp_path / "kept").glob("mattock-*"))) == 2


def test_without_the_compiler_the_kernels_run_and_say_so(tmp_path: Path) -> None:
    shutil.copytree(HOME / "terrain", tmp_path / "terrain", ignore=shutil.ignore_patterns("__pycache__"))
    (tmp_path / "numba.py").write_text("raise RuntimeError('incompatible')")
    code = (
        "import numpy as np\nfrom terrain.compiled import state\nfrom terrain.ground import elevation\n"
        "from terrain.synthetic import plane_ground\n"
        "print(elevation(plane_ground(0.5, 0.0, 1.0), np.array([[2.0, 0.0]]))[0], state())"
    )
    words = run(tmp_path, code)
    assert words[0] == "2.0"
    assert "interpreted" in words
