"""How far walls must reach to be surely past daylight, and which ground triangles can then matter.

The ground near the floors is put into a coarse raster of highest elevations. For each floor the wall height grows
until the wall's outer edge stands above all ground within its reach; beyond that edge the trench cannot go on.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from estimate.dig.facets import ON_LINE, Facets, facets_to
from estimate.dig.lines import FloatArray, IntArray, Line, Pit, TriangleArray
from terrain.compiled import inner_kernel, lean_kernel
from terrain.watch import SILENT, Watch

SLICE = 1 << 18
"""Triangles looked at before the watch is asked again."""
CELL = 0.5
"""Side of a raster cell [m], larger where there would be more than `MOST_CELLS`."""
MOST_CELLS = 300_000
"""Most cells of a raster, about."""
FIRST_HEIGHT = 3.0
"""Wall height [m] for which the first search round the floors is wide enough."""
MITRE = 1.5
"""How much further than the wall's width a mitred corner may reach (1.42 at a right angle)."""
MARGIN = 0.01
"""Height [m] added to every wall."""
GROWTH = 1.25
"""Least factor by which a wall that is too low is raised, so that ground steeper than the walls is soon passed."""
TOGETHER = 16
"""Floors whose walls are raised before the watch is asked again."""


class Heights(NamedTuple):
    """Wall heights that are past daylight: for each line (runs,) metres, and for each pit one [m]."""

    lines: list[FloatArray]
    pits: list[float]


class Raster(NamedTuple):
    """A raster of cells near the floors: frame (5,) = west, south, cell [m], columns, rows; near (rows, columns);
    highest (rows, columns) metres, -inf where there is no ground."""

    frame: FloatArray
    near: NDArray[np.bool_]
    highest: FloatArray


@inner_kernel
def _distance(floors: Facets, f: int, e: float, n: float) -> float:
    """Return a lower bound of the plan distance [m] from a floor to a point; negative inside."""
    furthest = -np.inf
    for i in range(floors.counts[f]):
        p, q = floors.normals[f, i, 0], floors.normals[f, i, 1]
        furthest = max(furthest, -p * (e - floors.corners[f, i, 0]) - q * (n - floors.corners[f, i, 1]))
    return furthest


@inner_kernel
def _cells(floors: Facets, f: int, raster: Raster, distance: float) -> tuple[int, int, int, int]:
    """Return the first and last column and row of the cells within a distance [m] of a floor."""
    west, south, east, north = np.inf, np.inf, -np.inf, -np.inf
    for i in range(floors.counts[f]):
        west, east = min(west, floors.corners[f, i, 0]), max(east, floors.corners[f, i, 0])
        south, north = min(south, floors.corners[f, i, 1]), max(north, floors.corners[f, i, 1])
    frame = raster.frame
    left = int(max(0.0, (west - distance - frame[0]) / frame[2]))
    low = int(max(0.0, (south - distance - frame[1]) / frame[2]))
    right = int(min(frame[3] - 1.0, (east + distance - frame[0]) / frame[2]))
    high = int(min(frame[4] - 1.0, (north + distance - frame[1]) / frame[2]))
    return left, right, low, high


@lean_kernel
def _mark(floors: Facets, raster: Raster, distances: FloatArray) -> None:
    """Mark the cells within `distances` (m,) metres of each floor."""
    frame = raster.frame
    for f in range(floors.counts.shape[0]):
        left, right, low, high = _cells(floors, f, raster, distances[f])
        for row in range(low, high + 1):
            for column in range(left, right + 1):
                e, n = frame[0] + (column + 0.5) * frame[2], frame[1] + (row + 0.5) * frame[2]
                if _distance(floors, f, e, n) <= distances[f] + 0.75 * frame[2]:
                    raster.near[row, column] = True


@lean_kernel
def _select(
    vertices: FloatArray,
    triangles: TriangleArray,
    raster: Raster,
    start: int,
    stop: int,
    out: IntArray,
    count: int,
) -> int:
    """Append the triangles start..stop over marked cells, and raise the cells to them; return how many."""
    west, south, inverse = raster.frame[0], raster.frame[1], 1.0 / raster.frame[2]
    columns, rows = raster.near.shape[1], raster.near.shape[0]
    for t in range(start, stop):
        i, j, k = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        e0, e1, e2 = vertices[i, 0], vertices[j, 0], vertices[k, 0]
        n0, n1, n2 = vertices[i, 1], vertices[j, 1], vertices[k, 1]
        first, last = (min(e0, e1, e2) - west) * inverse, (max(e0, e1, e2) - west) * inverse
        low, high = (min(n0, n1, n2) - south) * inverse, (max(n0, n1, n2) - south) * inverse
        if last < 0.0 or first >= columns or high < 0.0 or low >= rows:
            continue
        top = max(vertices[i, 2], vertices[j, 2], vertices[k, 2])
        near = False
        for row in range(int(max(low, 0.0)), int(min(high, rows - 1.0)) + 1):
            for column in range(int(max(first, 0.0)), int(min(last, columns - 1.0)) + 1):
                if raster.near[row, column]:
                    near = True
                    raster.highest[row, column] = max(raster.highest[row, column], top)
        if near:
            out[count] = t
            count += 1
    return count


@lean_kernel
def _raise(
    floors: Facets, raster: Raster, slopes: FloatArray, rises: FloatArray, heights: FloatArray, first: int
) -> None:
    """Raise the wall heights (m,) metres until no ground within their reach stands above their outer edges."""
    frame = raster.frame
    for f in range(first, min(first + TOGETHER, heights.shape[0])):
        steep = abs(floors.plane[f, 3]) + abs(floors.plane[f, 4])
        needed = heights[f]
        while True:
            height = needed
            distance = MITRE * slopes[f] * max(0.0, height - rises[f])
            left, right, low, high = _cells(floors, f, raster, distance + frame[2])
            for row in range(low, high + 1):
                for column in range(left, right + 1):
                    e, n = frame[0] + (column + 0.5) * frame[2], frame[1] + (row + 0.5) * frame[2]
                    if _distance(floors, f, e, n) <= distance + 0.71 * frame[2]:
                        level = floors.plane[f, 2] - 0.5 * frame[2] * steep
                        level += floors.plane[f, 3] * (e - floors.plane[f, 0])
                        level += floors.plane[f, 4] * (n - floors.plane[f, 1])
                        needed = max(needed, raster.highest[row, column] - level + MARGIN)
            if needed <= height:
                break
            needed = max(needed, GROWTH * height)
        heights[f] = needed


def _walls_of(floors: Facets, lines: Sequence[Line], pits: Sequence[Pit]) -> tuple[FloatArray, FloatArray]:
    """Return the flattest slope and the lowest rise of the walls at each floor, (m,) each."""
    slopes, rises = np.zeros(len(floors.counts)), np.zeros(len(floors.counts))
    for i, (kind, index, _) in enumerate(floors.owner.tolist()):
        section = lines[index].section if kind == ON_LINE else None
        walls = [section.left, section.right] if section is not None else [pits[index].wall]
        slopes[i] = max(wall.slope for wall in walls)
        rises[i] = min((wall.rise for wall in walls if not wall.is_vertical), default=0.0)
    return slopes, rises


def _raster_of(floors: Facets, distances: FloatArray) -> Raster:
    valid = np.arange(floors.corners.shape[1])[None, :] < floors.counts[:, None]
    corners = floors.corners[valid]
    around = float(distances.max()) + 2.0 * CELL
    low, high = corners.min(axis=0) - around, corners.max(axis=0) + around
    cell = max(CELL, float(np.sqrt(np.prod(high - low) / MOST_CELLS)))
    columns, rows = (int(k) for k in np.floor((high - low) / cell) + 1)
    frame = np.array([low[0], low[1], cell, columns, rows])
    raster = Raster(frame, np.zeros((rows, columns), np.bool_), np.full((rows, columns), -np.inf))
    _mark(floors, raster, distances)
    return raster


def _search(vertices: FloatArray, triangles: TriangleArray, raster: Raster, watch: Watch) -> IntArray:
    found, count, total = np.zeros(len(triangles), np.int64), 0, len(triangles)
    for start in range(0, total, SLICE):
        watch.step("finding the ground at the trench", start, total)
        count = _select(vertices, triangles, raster, start, min(total, start + SLICE), found, count)
    return found[:count]


def _by_owner(floors: Facets, heights: FloatArray, lines: Sequence[Line], pits: Sequence[Pit]) -> Heights:
    tall = Heights([np.zeros(line.runs) for line in lines], [0.0 for _ in pits])
    for (kind, index, run), height in zip(floors.owner.tolist(), heights.tolist(), strict=True):
        if kind == ON_LINE:
            tall.lines[index][run] = max(tall.lines[index][run], height)
        else:
            tall.pits[index] = max(tall.pits[index], height)
    return tall


def wall_heights(
    vertices: FloatArray,
    triangles: TriangleArray,
    lines: Sequence[Line],
    pits: Sequence[Pit],
    watch: Watch = SILENT,
) -> tuple[Heights, IntArray]:
    """Return wall heights that are past daylight, and the numbers (k,) of the triangles which can matter.

    `vertices` (n, 3) metres and `triangles` (t, 3) are the ground. Larger heights would change no cut, for
    ground beyond daylight that rises above a prolonged wall again is left out of it: see `estimate.dig.belongs`.

    Raises:
        Cancelled: the watch was asked to stop.

    >>> from estimate.dig.section import Section
    >>> line = Line(np.array([[0, 0, 0], [20, 0, 0]], float), Section(0.6))
    >>> ground = np.array([[-9, -9, 1], [29, -9, 1], [29, 9, 1], [-9, 9, 1]], float)
    >>> heights, near = wall_heights(ground, np.array([[0, 1, 2], [0, 2, 3]], np.int32), [line], [])
    >>> round(float(heights.lines[0][0]), 2), near.tolist()
    (1.01, [0, 1])
    """
    floors = facets_to(lines, pits, [np.zeros(line.runs) for line in lines], [0.0] * len(pits))
    if len(floors.counts) == 0:
        return Heights([np.zeros(line.runs) for line in lines], [0.0] * len(pits)), np.zeros(0, np.int64)
    vertices = np.ascontiguousarray(vertices, dtype=np.float64)
    triangles = np.ascontiguousarray(triangles, dtype=np.int32)
    slopes, rises = _walls_of(floors, lines, pits)
    distances = MITRE * slopes * FIRST_HEIGHT
    while True:
        raster = _raster_of(floors, distances)
        near = _search(vertices, triangles, raster, watch)
        heights = np.zeros(len(floors.counts))
        for first in range(0, len(heights), TOGETHER):
            watch.step("raising the walls", first, len(heights))
            _raise(floors, raster, slopes, rises, heights, first)
        needed = MITRE * slopes * np.maximum(0.0, heights - rises)
        if bool((needed <= distances).all()):
            return _by_owner(floors, heights, lines, pits), near
        distances = np.where(needed > distances, 2.0 * needed, distances)
