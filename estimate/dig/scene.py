"""The arrays that the kernels of the cut read, work in and fill; one record for each of the three.

The records are kept small on purpose: every array handed from kernel to kernel costs compile and running time.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from estimate.dig.facets import Facets
from estimate.dig.lines import FloatArray, IntArray, TriangleArray
from estimate.dig.near import boxes_of, grid_of, pairs_of

DONE, POLYGONS_FULL, SEGMENTS_FULL, SURFACE_FULL = 0, 1, 2, 3
CODE, RESUME, BUDGET, SEGMENTS, SURFACE, TURN = 0, 1, 2, 3, 4, 5
"""Places in `Work.state`: why the kernel stopped, the facet to go on with, effort left, counts, running number."""
STAMP, ROW, ACTIVE = 0, 1, 2
"""Columns of `Work.met`."""
DAYLIGHT, UPRIGHT, LEAVES = 0, 1, 2
"""Kinds of outline segment: ground meets a wall; a face stands upright; the survey ends inside the trench."""
WEST, SOUTH, PER_CELL, COLUMNS, ROWS, CENTRE = 0, 1, 2, 3, 4, 5
"""Places in `Scene.frame`; the centre takes two."""


class Scene(NamedTuple):
    """What is read: the ground, the facets, a grid of cells that name the facets over them, and who meets whom.

    vertices (n, 3) metres; triangles (t, 3); neighbours (t or 0, 3); frame (7,): see the places above, in metres,
    west and south on the map; edges (m, k, 4) = a point and the inward normal of each facet edge, metres from the
    centre; plane (m, 5), foot (m, 5), counts (m,), face (m, k) as in `Facets`; cell_facets[cell_first[c] :
    cell_first[c + 1]] are over cell c; pair_other in the same manner the facets that meet a facet, written -1 - f
    where they only touch; left_out (k,) = triangle times m plus facet, in order, of the pieces not to be dug.
    """

    vertices: FloatArray
    triangles: TriangleArray
    neighbours: TriangleArray
    frame: FloatArray
    edges: FloatArray
    plane: FloatArray
    foot: FloatArray
    counts: IntArray
    face: NDArray[np.bool_]
    cell_first: IntArray
    cell_facets: IntArray
    pair_first: IntArray
    pair_other: IntArray
    left_out: IntArray


class Work(NamedTuple):
    """Scratch for one triangle: its corners (3, 3) metres from the centre; met (m, 3) = number of the triangle that
    last met a facet, its row or -1, and the facet of each row; lines (m, k + 1, 3) = ground above facet [m], then
    its edge functions [m], by values at the corners; difference (3,); values (k,); polygons (p + 2, k, 3) with
    corners (p + 2,), the last two places being scratch; cover (m, 3) of one edge, ends (3, 2) of it
    and of a stretch; state (6,).
    """

    corner: FloatArray
    met: IntArray
    lines: FloatArray
    difference: FloatArray
    values: FloatArray
    polygons: FloatArray
    corners: IntArray
    cover: FloatArray
    ends: FloatArray
    state: IntArray


class Out(NamedTuple):
    """What is filled: totals (m, 2) = volume [m3] and area [m2] by facet; weights (n,) m2 by vertex; touched (t,);
    extremes (2, 4) = tallest face and deepest cut as metres, easting, northing, facet; segments (s, 8) = outline
    from easting, northing, elevation of the ground to the same [m], facet, kind;
    surface (f, 10) = three corners [m], facet.
    """

    totals: FloatArray
    weights: FloatArray
    touched: NDArray[np.bool_]
    extremes: FloatArray
    segments: FloatArray
    surface: FloatArray


def shifted(facets: Facets, centre: FloatArray) -> Facets:
    """Return the facets relative to `centre`, (2,) metres."""
    plane, foot = facets.plane.copy(), facets.foot.copy()
    plane[:, :2] -= centre
    foot[:, :2] -= centre
    return facets._replace(corners=facets.corners - centre, plane=plane, foot=foot)


def scene_of(
    vertices: FloatArray, triangles: TriangleArray, neighbours: TriangleArray | None, facets: Facets
) -> Scene:
    """Return the scene of a ground, vertices (n, 3) metres and triangles (t, 3), with at least one facet.

    `neighbours` (t, 3), -1 at the hull, may be left out; then the outline misses the edges of the survey.
    """
    boxes = boxes_of(facets)
    centre = np.round(0.5 * (boxes[:, :2].min(axis=0) + boxes[:, 2:].max(axis=0)))
    moved = shifted(facets, centre)
    boxes = boxes_of(moved)
    grid, pairs = grid_of(moved, boxes), pairs_of(moved, boxes)
    frame = np.array([*(grid.box[:2] + centre), 1.0 / grid.cell[0], *grid.shape, *centre])
    none = np.zeros((0, 3), np.int32)
    return Scene(
        np.ascontiguousarray(vertices, dtype=np.float64),
        np.ascontiguousarray(triangles, dtype=np.int32),
        none if neighbours is None else np.ascontiguousarray(neighbours, dtype=np.int32),
        frame,
        np.concatenate([moved.corners, moved.normals], axis=2),
        moved.plane,
        moved.foot,
        moved.counts,
        moved.face,
        grid.first,
        grid.facets,
        pairs.first,
        np.where(pairs.overlap, pairs.other, -1 - pairs.other),
        np.zeros(0, np.int64),
    )


def work_of(scene: Scene, polygons: int, corners: int) -> Work:
    """Return scratch with room for a number of polygons of so many corners each."""
    count, most = scene.edges.shape[:2]
    return Work(
        np.zeros((3, 3)),
        np.full((count, 3), -1, np.int64),
        np.zeros((count, most + 1, 3)),
        np.zeros(3),
        np.zeros(corners),
        np.zeros((polygons + 2, corners, 3)),
        np.zeros(polygons + 2, np.int64),
        np.zeros((count, 3)),
        np.zeros((3, 2)),
        np.zeros(6, np.int64),
    )


def out_of(scene: Scene, segments: int, surface: int) -> Out:
    """Return empty results with room for so many outline segments and surface triangles (0: not wanted)."""
    return Out(
        np.zeros((len(scene.counts), 2)),
        np.zeros(len(scene.vertices)),
        np.zeros(len(scene.triangles), np.bool_),
        np.zeros((2, 4)),
        np.zeros((segments, 8)),
        np.zeros((surface, 10)),
    )
