"""From survey points to ground: doubles removed, lines noded, points triangulated."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from terrain.arrays import Floats
from terrain.doubles import AGREE, Thinned, remove_doubles
from terrain.doubts import double_warnings, spike_warnings
from terrain.errors import SurveyError
from terrain.ground import Ground
from terrain.lines import node_lines
from terrain.order import inverse, spatial_order
from terrain.points import SurveyPoints
from terrain.triangles import triangulate
from terrain.watch import SILENT, Watch

THINNEST = 1e-3
"""Least width [m] a survey may have in plan to make a ground."""
STEP = "building the ground"
"""Name of the stages that a watch is told."""


def build_ground(points: SurveyPoints, breaklines: Sequence[Floats] | None = None, watch: Watch = SILENT) -> Ground:
    """Return the ground through `points`, with every breakline (k, 3) metres around the same origin as edges.

    Raises:
        SurveyError: fewer than three points at different places, or all on one straight line.
        GeometryError: lines that cannot be noded or points that cannot be triangulated.
        Cancelled: by `watch`.

    >>> from terrain.points import survey_points
    >>> from terrain.units import M
    >>> shots = np.array([[0.0, 0.0, 1.0], [9.0, 0.0, 2.0], [0.0, 9.0, 3.0], [0.0, 9.0, 3.01]])
    >>> ground = build_ground(survey_points(shots, M, M, "yard.csv", "shots"))
    >>> len(ground.triangles), ground.notes
    (1, ('1 double point removed: doubles agree and were averaged',))
    """
    watch.step(STEP, 0, 5)
    thinned = remove_doubles(points.coordinates)
    _check_spread(thinned.coordinates, points.source)
    watch.step(STEP, 1, 5)
    vertices, constraints, kept = thinned.coordinates, np.zeros((0, 2), dtype=np.int64), thinned.kept
    if breaklines:
        vertices, constraints, origin = node_lines(vertices, breaklines)
        kept = np.where(origin < 0, -1, kept[origin])
    watch.step(STEP, 2, 5)
    order = spatial_order(vertices[:, :2])
    vertices = np.ascontiguousarray(vertices[order])
    triangles, neighbours = triangulate(vertices[:, :2], inverse(order)[constraints], watch)
    watch.step(STEP, 3, 5)
    warnings = points.warnings + double_warnings(points, thinned)
    told = (points.notes + _told(thinned, points), points.assumptions, warnings)
    ground = Ground(
        *(vertices, triangles, neighbours, points.origin, points.horizontal, points.vertical),
        *(points.source, points.kind, points.accuracy, *told),
        point=np.ascontiguousarray(kept[order]),
    )
    watch.step(STEP, 4, 5)
    warnings += spike_warnings(points, ground)
    watch.step(STEP, 5, 5)
    return replace(ground, warnings=warnings) if warnings else ground


def _told(thinned: Thinned, points: SurveyPoints) -> tuple[str, ...]:
    """Return what to tell of doubles removed."""
    if thinned.removed == 0:
        return ()
    noun = "double point" if thinned.removed == 1 else "double points"
    if thinned.lowered == 0:
        return (f"{thinned.removed} {noun} removed: doubles agree and were averaged",)
    worst = thinned.worst / points.vertical.metres
    limit = AGREE / points.vertical.metres
    return (
        f"{thinned.removed} {noun} removed; at {thinned.lowered} of the places they differ by more than"
        f" {limit:.2f} {points.vertical.name}, up to {worst:.2f} {points.vertical.name}: the lowest was kept there",
    )


def _check_spread(coordinates: Floats, source: str) -> None:
    """Raise where the points (n, 3) metres cannot make a surface."""
    if len(coordinates) < 3:
        found = f"{len(coordinates)} point{'' if len(coordinates) == 1 else 's'} at different places"
        raise SurveyError(source, found, "at least three points", "survey more points or check the file")
    if width_of(coordinates) < THINNEST:
        raise SurveyError(
            source,
            "all points lie on one straight line in plan",
            "points with some width, or one line of stations",
            "add shots to the left and right, or give the line as stations with elevations",
        )


def width_of(coordinates: Floats) -> float:
    """Return how wide [m] the points (n, 2 or 3) metres spread across their own main direction in plan.

    >>> width_of(np.array([[0.0, 0.0], [3.0, 4.0], [6.0, 8.0]])) < 1e-9
    True
    """
    plan = coordinates[:, :2] - coordinates[:, :2].mean(axis=0)
    across = np.linalg.eigh(plan.T @ plan)[1][:, 0]
    offsets: Floats = plan @ across
    return float(offsets.max() - offsets.min())
