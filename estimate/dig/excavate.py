"""From lines, pits and a ground to what is dug: reach of the walls, facets and cut in one call; layers by depth."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from estimate.dig.cut import Cut, cut
from estimate.dig.facets import Facets, facets_to
from estimate.dig.lines import FloatArray, Line, Pit, TriangleArray
from estimate.dig.reach import wall_heights
from terrain.errors import GeometryError
from terrain.watch import SILENT, Watch


def excavate(
    vertices: FloatArray,
    triangles: TriangleArray,
    lines: Sequence[Line],
    pits: Sequence[Pit] = (),
    watch: Watch = SILENT,
    neighbours: TriangleArray | None = None,
    *,
    outline: bool = True,
    surface: bool = False,
) -> tuple[Cut, Facets]:
    """Return what is dug for lines and pits, each place once, and the facets that bound it.

    `vertices` (n, 3) metres and `triangles` (t, 3) are the ground, `neighbours` (t, 3) as for `cut`. The walls
    reach past daylight; where they leave the survey, the cut ends with it. No lines and no pits: an empty cut.

    Raises:
        Cancelled: the watch was asked to stop.

    >>> from estimate.dig.section import Section, Wall
    >>> ground = np.array([[-9, -9, 1], [29, -9, 1], [29, 9, 1], [-9, 9, 1]], float)
    >>> triangles = np.array([[0, 1, 2], [0, 2, 3]], np.int32)
    >>> line = Line(np.array([[0, 0, 0], [20, 0, 0]], float), Section(0.6, Wall(1.0), Wall(1.0)))
    >>> dug, _ = excavate(ground, triangles, [line])
    >>> round(dug.volume_m3, 9), round(dug.area_m2, 9), round(dug.tallest_face_m, 9)
    (32.0, 52.0, 1.0)
    """
    heights, near = wall_heights(vertices, triangles, lines, pits, watch)
    facets = facets_to(lines, pits, heights.lines, heights.pits)
    beside = None if neighbours is None else neighbours[near]
    dug = cut(vertices, triangles[near], facets, watch, beside, outline=outline, surface=surface)
    touched = np.zeros(len(triangles), np.bool_)
    touched[near[dug.touched]] = True
    left_out = np.column_stack([near[dug.left_out[:, 0]], dug.left_out[:, 1]])
    return replace(dug, touched=touched, left_out=left_out), facets


def layer_volumes(
    vertices: FloatArray,
    triangles: TriangleArray,
    facets: Facets,
    dug: Cut,
    thicknesses: Sequence[float],
    watch: Watch = SILENT,
) -> FloatArray:
    """Return the volumes (k + 1,) m3 of layers of given thicknesses [m] from the ground down, and of all beneath.

    Thickness is measured vertically: a layer is what is dug from the ground at its top less what is dug from the
    ground at its bottom. `vertices` (n, 3) metres and `triangles` (t, 3) are the ground that `dug` was cut from.
    What was left out of that cut stays left out. The volumes sum to the whole.

    Raises:
        GeometryError: a thickness is negative or not finite.
        Cancelled: the watch was asked to stop.

    >>> from estimate.dig.section import Section
    >>> ground = np.array([[-9, -9, 1], [29, -9, 1], [29, 9, 1], [-9, 9, 1]], float)
    >>> triangles = np.array([[0, 1, 2], [0, 2, 3]], np.int32)
    >>> dug, facets = excavate(ground, triangles, [Line(np.array([[0, 0, 0], [20, 0, 0]], float), Section(0.6))])
    >>> layer_volumes(ground, triangles, facets, dug, [0.25]).round(9).tolist()
    [3.0, 9.0]
    """
    if any(not (np.isfinite(thickness) and thickness >= 0.0) for thickness in thicknesses):
        raise GeometryError("layers", f"thicknesses {list(thicknesses)}", "numbers that are not negative")
    beneath = [dug.volume_m3]
    touched = triangles[dug.touched]
    left_out = dug.left_out[dug.touched[dug.left_out[:, 0]]]
    left_out = np.column_stack([np.cumsum(dug.touched)[left_out[:, 0]] - 1, left_out[:, 1]])
    for depth in np.cumsum(np.asarray(thicknesses, dtype=np.float64)):
        lowered = vertices - np.array([0.0, 0.0, depth])
        beneath.append(cut(lowered, touched, facets, watch, outline=False, left_out=left_out).volume_m3)
    return np.append(-np.diff(beneath), beneath[-1])
