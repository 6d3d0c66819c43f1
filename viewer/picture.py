"""The 3D picture: the only file that knows the 3D library, run as a child process because it can kill its process.

`python -P -m viewer.picture SCENE.npz VIEWS.npz` draws off screen and leaves raw pictures and the places of the
labels on them; `draw_picture` starts that child and puts its views on a sheet.
"""

import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pyvista

    from terrain.arrays import Floats
    from viewer.scene import Look, Scene
    from viewer.scene_file import View

SIZE = (1470, 966)
"""Width and height of the whole view [pixels]."""
CLOSE_SIZE = (400, 300)
"""Width and height of the close view [pixels]."""
PATIENCE = 180.0
"""How long the child may take [s]."""


def draw_picture(scene: "Scene", path: Path, command: Sequence[str] = ()) -> str:
    """Draw `scene` as a PNG at `path`; return one line on how it was drawn, empty where all went as usual.

    `command` starts another child than the usual one. Where the child fails, a plain picture is drawn instead.

    Raises:
        StorageError: the file cannot be written.
    """
    from viewer.picture_sheet import picture_sheet, plain_sheet
    from viewer.scene_file import load_views, save_scene

    start = tuple(command) or (sys.executable, "-P", "-m", "viewer.picture")
    with tempfile.TemporaryDirectory(prefix="picture-") as folder:
        given, drawn = Path(folder) / "scene.npz", Path(folder) / "views.npz"
        save_scene(scene, given)
        failure = _run([*start, str(given), str(drawn)])
        if not failure:
            views = load_views(drawn)
            if not isinstance(views, str):
                picture_sheet(scene, views, path)
                return ""
            failure = views
    plain_sheet(scene, path)
    return f"3D picture drawn plainly, because the 3D library cannot run here ({failure})."


def _run(command: Sequence[str]) -> str:
    """Run the child and return why it failed, in one line; empty when it did not."""
    try:
        done = subprocess.run(command, capture_output=True, timeout=PATIENCE, check=False, env=_environment())
    except (OSError, subprocess.TimeoutExpired) as error:
        return type(error).__name__
    if done.returncode == 0:
        return ""
    if done.returncode < 0:
        return f"stopped by signal {-done.returncode}"
    lines = done.stderr.decode("utf-8", "replace").strip().splitlines()
    return lines[-1][:160] if lines else f"exit code {done.returncode}"


def _environment() -> dict[str, str]:
    """Return the child's environment, in which it finds these packages though they are not installed."""
    import os
    import site

    root = str(Path(__file__).resolve().parent.parent)
    found = {**os.environ, "PYVISTA_OFF_SCREEN": "true"}
    if root not in site.getsitepackages():
        found["PYTHONPATH"] = os.pathsep.join(part for part in (root, found.get("PYTHONPATH", "")) if part)
    return found


def draw_views(given: Path, drawn: Path) -> None:
    """Draw the scene file `given` and write its views to `drawn`; needs the 3D library (no unit)."""
    from viewer.scene_file import load_scene, save_views

    scene = load_scene(given)
    whole = _view(scene, scene.whole, SIZE, close=False)
    close = _view(scene, scene.close, CLOSE_SIZE, close=True)
    save_views(whole, close, drawn)


def _view(scene: "Scene", look: "Look", size: tuple[int, int], close: bool) -> "View":
    """Return the picture of one look and the pixels of labels, north marks and pipe.

    Close up, heights are not exaggerated, pipes have their true thickness, and no water covers them.
    """
    import numpy as np
    import pyvista

    from viewer.scene_file import View, marks_of

    plotter = pyvista.Plotter(off_screen=True, window_size=list(size), lighting="none")
    plotter.set_background("white")
    plotter.enable_anti_aliasing("msaa", multi_samples=8)
    stretch = np.array([1.0, 1.0, 1.0 if close else scene.exaggeration])
    for mesh in scene.meshes:
        if close and mesh.name.startswith("water"):
            continue
        faces = np.column_stack([np.full(len(mesh.triangles), 3), mesh.triangles]).ravel()
        surface = pyvista.PolyData(mesh.vertices * stretch, faces)
        surface.point_data["colours"] = mesh.colours
        plotter.add_mesh(surface, scalars="colours", rgb=True, lighting=False, opacity=mesh.opacity)
    _add_tubes(plotter, scene, stretch, close)
    _aim(plotter, look, float(stretch[2]), size)
    picture = np.asarray(plotter.screenshot(None, return_img=True))
    pixels = np.array([_pixel(plotter, mark) for mark in marks_of(scene) * stretch])
    plotter.close()
    return View(picture, pixels)


def _add_tubes(plotter: "pyvista.Plotter", scene: "Scene", stretch: "Floats", close: bool) -> None:
    """Add pipe and posts with a light from above; close up, the pipe has its true thickness."""
    import pyvista

    plotter.add_light(pyvista.Light(position=(-1.0, 1.0, 2.5), light_type="scene light", intensity=0.8))
    for tube in scene.tubes:
        line = pyvista.lines_from_points(tube.points * stretch)
        radius = tube.true_radius if close else tube.radius
        bar = line.tube(radius=radius, n_sides=20, capping=True)
        plotter.add_mesh(bar, color=tube.colour, ambient=0.6, diffuse=0.5, lighting=tube.name.startswith("pipe"))


def _aim(plotter: "pyvista.Plotter", look: "Look", exaggeration: float, size: tuple[int, int]) -> None:
    """Set a parallel camera: where it looks, from where, how wide."""
    away = look.axes[2]
    focus = (look.at[0], look.at[1], look.at[2] * exaggeration)
    camera = plotter.camera
    camera.focal_point = focus
    camera.position = tuple(focus[k] - 4.0 * look.width * float(away[k]) for k in range(3))
    camera.up = (0.0, 0.0, 1.0)
    camera.enable_parallel_projection()
    camera.parallel_scale = 0.5 * look.width * size[1] / size[0]
    plotter.renderer.ResetCameraClippingRange()


def _pixel(plotter: "pyvista.Plotter", mark: "Floats") -> tuple[float, float]:
    """Return the pixel, from the left and the bottom, of a point in the scene."""
    renderer = plotter.renderer
    renderer.SetWorldPoint(float(mark[0]), float(mark[1]), float(mark[2]), 1.0)
    renderer.WorldToDisplay()
    across, up, _ = renderer.GetDisplayPoint()
    return float(across), float(up)


if __name__ == "__main__":
    draw_views(Path(sys.argv[1]), Path(sys.argv[2]))
