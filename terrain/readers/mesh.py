"""Reader of mesh scans (PLY, OBJ, STL, GLB); the only file of this package that knows the mesh library."""

from pathlib import Path

import numpy as np

from terrain.errors import SurveyError, UnitsError
from terrain.points import SurveyPoints, survey_points
from terrain.readers.options import ReadOptions


def read_mesh(path: Path, options: ReadOptions) -> SurveyPoints:
    """Return the vertices of a mesh file as survey points; the unit is the user's word, for meshes name none.

    Elevation is the third axis, in GLB the second as that format has it.

    Raises:
        UnitsError: the user did not say the unit.
        SurveyError: the file is damaged or holds no vertices.
    """
    if options.horizontal_unit is None:
        remedy = "set the survey's horizontal unit, such as m or ft"
        raise UnitsError(path.name, "a mesh, whose format names no unit", "the unit of the coordinates", remedy)
    import trimesh

    try:
        mesh = trimesh.load(path, force="mesh", process=False)
        vertices = np.asarray(mesh.vertices, dtype=np.float64).reshape(-1, 3)
    except Exception as broken:  # the library raises errors of every kind on damaged files
        remedy = "export the mesh again"
        raise SurveyError(path.name, f"a mesh that cannot be read: {broken}", "a whole mesh", remedy) from broken
    axis = "third"
    if path.suffix.lower() == ".glb":
        vertices = vertices[:, [0, 2, 1]] * np.array([1.0, -1.0, 1.0])
        axis = "second"
    vertical = options.vertical_unit or options.horizontal_unit
    notes = (
        f"{len(vertices)} vertices read from {path.name}; unit {options.horizontal_unit.name} by the user's word",
    )
    assumptions: tuple[str, ...] = (f"elevation is the {axis} axis of the mesh and every vertex is ground",)
    if options.vertical_unit is None:
        assumptions += (f"elevations taken in {vertical.name} like the coordinates",)
    unit = options.horizontal_unit
    return survey_points(vertices, unit, vertical, path.name, "mesh", options.accuracy, notes, assumptions)
