"""The arrays that the kernels of the cut read, work in and fill; one record for each of the three."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from estimate.dig.clip import ByteArray
from estimate.dig.facets import Facets
from estimate.dig.lines import FloatArray, IntArray, TriangleArray
from estimate.dig.near import Grid, Pairs, boxes_of, grid_of, pairs_of

DONE, POLYGONS_FULL, SEGMENTS_FULL, SURFACE_FULL = 0, 1, 2, 3
CODE, RESUME, BUDGET, SEGMENTS, SURFACE, TURN = 0, 1, 2, 3, 4, 5
"""Places in `Work.state`: why the kernel stopped, the facet to go on with, effort left, counts, running number."""
DAYLIGHT, UPRIGHT, LEAVES = 0, 1, 2
"""Kinds of outline segment: ground meets a wall; a face stands upright; the survey ends inside the trench."""


class Scene(NamedTuple):
    """What is read: vertices (n, 3) metres, triangles (t, 3), neighbours (t or 0, 3), facets and their index.

    `centre` (2,) metres is subtracted from the ground's plan coordinates; the facets are already relative to it.
    """

    vertices: FloatArray
    triangles: TriangleArray
    neighbours: TriangleArray
    centre: FloatArray
    facets: Facets
    boxes: FloatArray
    grid: Grid
    pairs: Pairs


class Work(NamedTuple):
    """Scratch for one triangle: its corners (3, 3) metres, the active facets with their edge and height functions
    by values at the corners, a pool of polygons with two scratch places at its end, and covers of one edge.

    stamp and row (m,) tell whether a facet was met by the triangle and its row among the active; active (m,).
    """

    corner: FloatArray
    stamp: IntArray
    row: IntArray
    active: IntArray
    edges: FloatArray
    heights: FloatArray
    difference: FloatArray
    values: FloatArray
    polygons: FloatArray
    tags: ByteArray
    counts: IntArray
    cover: FloatArray
    state: NDArray[np.int64]


class Out(NamedTuple):
    """What is filled: volume [m3] and area [m2] by facet (m,), weight [m2] by vertex (n,), touched (t,), extremes
    (2, 4) = tallest face and deepest cut as metres, easting, northing, facet; outline segments (s, 4) metres with
    facet and kind (s, 2); surface triangles (f, 3, 3) metres with their facet (f,).
    """

    volume: FloatArray
    area: FloatArray
    weights: FloatArray
    touched: NDArray[np.bool_]
    extremes: FloatArray
    segments: FloatArray
    segment_kinds: IntArray
    surface: FloatArray
    surface_facets: IntArray


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
    return Scene(
        np.ascontiguousarray(vertices, dtype=np.float64),
        np.ascontiguousarray(triangles, dtype=np.int32),
        np.zeros((0, 3), np.int32) if neighbours is None else np.ascontiguousarray(neighbours, dtype=np.int32),
        centre,
        moved,
        boxes,
        grid_of(moved, boxes),
        pairs_of(moved, boxes),
    )


def work_of(scene: Scene, polygons: int, corners: int) -> Work:
    """Return scratch with room for a number of polygons of so many corners each."""
    count, most = scene.facets.normals.shape[:2]
    return Work(
        np.zeros((3, 3)),
        np.full(count, -1, np.int64),
        np.full(count, -1, np.int64),
        np.zeros(count, np.int64),
        np.zeros((count, most, 3)),
        np.zeros((count, 3)),
        np.zeros(3),
        np.zeros(corners),
        np.zeros((polygons + 2, corners, 2)),
        np.zeros((polygons + 2, corners), np.int16),
        np.zeros(polygons + 2, np.int64),
        np.zeros((count, 3)),
        np.zeros(6, np.int64),
    )


def out_of(scene: Scene, segments: int, surface: int) -> Out:
    """Return empty results with room for so many outline segments and surface triangles (0: not wanted)."""
    count = len(scene.facets.counts)
    return Out(
        np.zeros(count),
        np.zeros(count),
        np.zeros(len(scene.vertices)),
        np.zeros(len(scene.triangles), np.bool_),
        np.zeros((2, 4)),
        np.zeros((segments, 4)),
        np.zeros((segments, 2), np.int64),
        np.zeros((surface, 3, 3)),
        np.zeros(surface, np.int64),
    )
