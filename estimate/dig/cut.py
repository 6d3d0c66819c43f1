"""The exact cut: what is dug from a ground above the lower envelope of a trench's facets."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimate.dig.belongs import foreign
from estimate.dig.facets import ON_LINE, ON_PIT, Facets
from estimate.dig.kernel import cut_range
from estimate.dig.lines import FloatArray, IntArray, TriangleArray
from estimate.dig.scene import (
    BUDGET,
    CENTRE,
    CODE,
    DONE,
    POLYGONS_FULL,
    SEGMENTS,
    SEGMENTS_FULL,
    SURFACE,
    Out,
    Scene,
    Work,
    out_of,
    scene_of,
    work_of,
)
from terrain.watch import SILENT, Watch

SLICE = 1 << 17
"""Triangles looked at before the watch is asked again."""
EFFORT = 50_000
"""Facets cut, each weighted by the facets beside it, before the watch is asked again."""
POLYGONS, CORNERS, ROOM = 64, 24, 4096
"""First room for fragments of one facet in one triangle, for their corners, and for outline edges or surface."""


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """A greatest value [m] and where it stands: easting, northing [m], facet (-1 where there is none)."""

    value_m: float = 0.0
    easting: float = float("nan")
    northing: float = float("nan")
    facet: int = -1


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """What is dug, each place counted once.

    facet_volume (m,) m3 and facet_area (m,) m2 by facet; owner (m,  3) as in `Facets`; weights (n,) m2, the
    derivative of the volume with respect to the elevation of each ground vertex; touched (t,) whether a triangle
    is cut; outline (s, 2, 3) metres: easting, northing and ground elevation of both ends of each edge of the
    disturbed area, which lies to their left, with facet and kind (s, 2); surface (f, 3, 3) metres, the open
    trench as triangles, and their facet; left_out (k, 2) = triangle and facet where a wall, prolonged beyond
    daylight, may run below the ground again, which is no part of the trench. The tallest face and the deepest cut
    (ground to trench surface) have their places.
    """

    facet_volume: FloatArray
    facet_area: FloatArray
    owner: IntArray
    weights: FloatArray
    touched: NDArray[np.bool_]
    tallest: Place
    deepest: Place
    outline: FloatArray
    outline_kind: IntArray
    surface: FloatArray
    surface_facet: IntArray
    left_out: IntArray

    @property
    def volume_m3(self) -> float:
        """Bank volume [m3] of all lines and pits together."""
        return float(self.facet_volume.sum())

    @property
    def area_m2(self) -> float:
        """Disturbed plan area [m2]."""
        return float(self.facet_area.sum())

    @property
    def tallest_face_m(self) -> float:
        """Height [m] of the tallest wall face above the floor at its foot, 0 where nothing is dug."""
        return self.tallest.value_m

    def run_volumes(self, line: int, runs: int) -> FloatArray:
        """Return the volume of each run of a line, (runs,) m3; what lies under several runs is the deeper one's."""
        own = (self.owner[:, 0] == ON_LINE) & (self.owner[:, 1] == line)
        return np.bincount(self.owner[own, 2], self.facet_volume[own], runs).astype(np.float64)

    def pit_volume(self, pit: int) -> float:
        """Return the volume of one pit [m3], without what a trench takes deeper."""
        return float(self.facet_volume[(self.owner[:, 0] == ON_PIT) & (self.owner[:, 1] == pit)].sum())


def _no_cut(vertices: FloatArray, triangles: TriangleArray, facets: Facets) -> Cut:
    return Cut(
        np.zeros(len(facets.counts)),
        np.zeros(len(facets.counts)),
        facets.owner,
        np.zeros(len(vertices)),
        np.zeros(len(triangles), np.bool_),
        Place(),
        Place(),
        np.zeros((0, 2, 3)),
        np.zeros((0, 2), np.int64),
        np.zeros((0, 3, 3)),
        np.zeros(0, np.int64),
        np.zeros((0, 2), np.int64),
    )


def _larger(work: Work, out: Out, scene: Scene, code: int) -> tuple[Work, Out]:
    """Return scratch or results with twice the room where the kernel ran out of it."""
    if code == POLYGONS_FULL:
        more = work_of(scene, 2 * len(work.corners), 2 * len(work.values))
        more.state[:] = work.state
        return more, out
    if code == SEGMENTS_FULL:
        return work, out._replace(segments=np.concatenate([out.segments, np.zeros_like(out.segments)]))
    return work, out._replace(surface=np.concatenate([out.surface, np.zeros_like(out.surface)]))


def _run(scene: Scene, outline: bool, surface: bool, watch: Watch) -> tuple[Work, Out]:
    """Drive the kernel in slices, enlarging what is too small."""
    work = work_of(scene, POLYGONS, 2 * scene.edges.shape[1] + CORNERS)
    out = out_of(scene, ROOM if outline else 0, ROOM if surface else 0)
    start, total = 0, len(scene.triangles)
    while start < total:
        watch.step("cutting the trench", start, total)
        work.state[BUDGET] = EFFORT
        start = cut_range(scene, work, out, start, min(total, start + SLICE))
        if work.state[CODE] != DONE:
            work, out = _larger(work, out, scene, int(work.state[CODE]))
    watch.step("cutting the trench", total, total)
    return work, out


def _place(row: FloatArray, centre: FloatArray) -> Place:
    if row[0] <= 0.0:
        return Place()
    return Place(float(row[0]), float(row[1] + centre[0]), float(row[2] + centre[1]), int(row[3]))


def _result(scene: Scene, facets: Facets, work: Work, out: Out) -> Cut:
    segments, shown = out.segments[: work.state[SEGMENTS]], out.surface[: work.state[SURFACE]]
    centre = scene.frame[CENTRE : CENTRE + 2]
    return Cut(
        out.totals[:, 0].copy(),
        out.totals[:, 1].copy(),
        facets.owner,
        out.weights,
        out.touched,
        _place(out.extremes[0], centre),
        _place(out.extremes[1], centre),
        segments[:, :6].reshape(-1, 2, 3),
        segments[:, 6:].astype(np.int64),
        shown[:, :9].reshape(-1, 3, 3),
        shown[:, 9].astype(np.int64),
        np.column_stack(np.divmod(scene.left_out, len(scene.counts))),
    )


def cut(
    vertices: FloatArray,
    triangles: TriangleArray,
    facets: Facets,
    watch: Watch = SILENT,
    neighbours: TriangleArray | None = None,
    *,
    outline: bool = True,
    surface: bool = False,
    left_out: IntArray | None = None,
) -> Cut:
    """Return what is dug from a ground down to the lower envelope of the facets, as far as it hangs with a floor.

    `vertices` (n, 3) metres, `triangles` (t, 3) vertex numbers, best in spatial order; `neighbours` (t, 3), -1 at
    the hull, is needed for outline edges where the trench leaves the survey. Ground beyond daylight which rises
    above a prolonged wall is left out, see `estimate.dig.belongs`, unless `left_out` (k, 2) = triangle and facet
    tells where not to dig. Exact up to rounding: every triangle is clipped by every
    facet over it and the linear remainder integrated in closed form.

    Raises:
        Cancelled: the watch was asked to stop.

    >>> from estimate.dig.facets import facets_of
    >>> from estimate.dig.lines import Line
    >>> from estimate.dig.section import Section
    >>> ground = np.array([[-9, -9, 1], [29, -9, 1], [29, 9, 1], [-9, 9, 1]], float)
    >>> line = Line(np.array([[0, 0, 0], [20, 0, 0]], float), Section(0.6))
    >>> round(cut(ground, np.array([[0, 1, 2], [0, 2, 3]], np.int32), facets_of([line], [], 1.0)).volume_m3, 12)
    12.0
    """
    if len(facets.counts) == 0 or len(triangles) == 0:
        return _no_cut(vertices, triangles, facets)
    scene = scene_of(vertices, triangles, neighbours, facets)
    if left_out is None:
        left_out = foreign(scene, facets, watch)
    scene = scene._replace(left_out=np.sort(left_out[:, 0] * len(facets.counts) + left_out[:, 1]))
    work, out = _run(scene, outline, surface, watch)
    return _result(scene, facets, work, out)
