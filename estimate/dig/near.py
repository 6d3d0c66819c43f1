"""Which facets may meet: a coarse grid of cells that name the facets over them, and the pairs which touch."""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from estimate.dig.facets import Facets
from estimate.dig.lines import FloatArray, IntArray
from terrain.compiled import inner_kernel, lean_kernel

TOUCHING = 1e-7
"""Facets closer than this in plan [m] are neighbours."""
OVERLAPPING = 1e-11
"""Facets that reach into one another by less than this in plan [m] only touch."""


class Grid(NamedTuple):
    """A grid of cells over the facets.

    box (4,) west, south, east, north [m]; cell (1,) side of a cell [m]; shape (2,) columns and rows; first
    (cells + 1,) and facets (k,): the facets over cell c are facets[first[c]:first[c + 1]].
    """

    box: FloatArray
    cell: FloatArray
    shape: IntArray
    first: IntArray
    facets: IntArray


class Pairs(NamedTuple):
    """Facets that touch or overlap: those of facet f are other[first[f]:first[f + 1]], overlap (k,) tells which."""

    first: IntArray
    other: IntArray
    overlap: NDArray[np.bool_]


def boxes_of(facets: Facets) -> FloatArray:
    """Return west, south, east, north of each facet, (m, 4) metres."""
    valid = np.arange(facets.corners.shape[1])[None, :, None] < facets.counts[:, None, None]
    low = np.where(valid, facets.corners, np.inf).min(axis=1)
    high = np.where(valid, facets.corners, -np.inf).max(axis=1)
    return np.concatenate([low, high], axis=1)


@inner_kernel
def _apart(facets: Facets, a: int, b: int, gap: float) -> bool:
    """Tell whether an edge of facet a has all corners of facet b further outside than `gap` [m]."""
    for i in range(facets.counts[a]):
        e, n = facets.corners[a, i, 0], facets.corners[a, i, 1]
        p, q = facets.normals[a, i, 0], facets.normals[a, i, 1]
        nearest = -np.inf
        for j in range(facets.counts[b]):
            nearest = max(nearest, p * (facets.corners[b, j, 0] - e) + q * (facets.corners[b, j, 1] - n))
        if nearest < -gap:
            return True
    return False


@lean_kernel
def _find_pairs(
    facets: Facets, boxes: FloatArray, order: IntArray, found: IntArray, overlap: NDArray[np.bool_]
) -> int:
    """Write the pairs (k, 2) that touch, sweeping eastward; return their number, stored only while room."""
    count = 0
    for i in range(order.shape[0]):
        a = order[i]
        for j in range(i + 1, order.shape[0]):
            b = order[j]
            if boxes[b, 0] > boxes[a, 2] + TOUCHING:
                break
            if boxes[b, 1] > boxes[a, 3] + TOUCHING or boxes[b, 3] < boxes[a, 1] - TOUCHING:
                continue
            if _apart(facets, a, b, TOUCHING) or _apart(facets, b, a, TOUCHING):
                continue
            if count < found.shape[0]:
                found[count, 0], found[count, 1] = a, b
                overlap[count] = not (_apart(facets, a, b, -OVERLAPPING) or _apart(facets, b, a, -OVERLAPPING))
            count += 1
    return count


def pairs_of(facets: Facets, boxes: FloatArray) -> Pairs:
    """Return which facets touch or overlap; boxes (m, 4) metres as from `boxes_of`."""
    order = np.argsort(boxes[:, 0], kind="stable").astype(np.int64)
    room = 16 * len(order) + 16
    while True:
        found, overlap = np.zeros((room, 2), np.int64), np.zeros(room, np.bool_)
        count = _find_pairs(facets, boxes, order, found, overlap)
        if count <= room:
            break
        room = count
    one = np.concatenate([found[:count, 0], found[:count, 1]])
    two = np.concatenate([found[:count, 1], found[:count, 0]])
    both = np.concatenate([overlap[:count], overlap[:count]])
    sorting = np.lexsort((two, one))
    first = np.searchsorted(one[sorting], np.arange(len(order) + 1)).astype(np.int64)
    return Pairs(first, two[sorting], both[sorting])


@lean_kernel
def _fill_cells(
    facets: Facets, boxes: FloatArray, grid: Grid, counts: IntArray, items: IntArray, store: bool
) -> None:
    """Count, or store, the facets over each cell; cells are taken a hair larger than they are."""
    half = 0.5 * grid.cell[0] + TOUCHING
    for f in range(boxes.shape[0]):
        west = max(0, int((boxes[f, 0] - grid.box[0] - TOUCHING) / grid.cell[0]))
        south = max(0, int((boxes[f, 1] - grid.box[1] - TOUCHING) / grid.cell[0]))
        east = min(grid.shape[0] - 1, int((boxes[f, 2] - grid.box[0] + TOUCHING) / grid.cell[0]))
        north = min(grid.shape[1] - 1, int((boxes[f, 3] - grid.box[1] + TOUCHING) / grid.cell[0]))
        for row in range(south, north + 1):
            for column in range(west, east + 1):
                e = grid.box[0] + (column + 0.5) * grid.cell[0]
                n = grid.box[1] + (row + 0.5) * grid.cell[0]
                outside = False
                for i in range(facets.counts[f]):
                    p, q = facets.normals[f, i, 0], facets.normals[f, i, 1]
                    reach = p * (e - facets.corners[f, i, 0]) + q * (n - facets.corners[f, i, 1])
                    outside = outside or reach + half * (abs(p) + abs(q)) < 0.0
                if not outside:
                    cell = row * grid.shape[0] + column
                    if store:
                        items[counts[cell]] = f
                    counts[cell] += 1


def grid_of(facets: Facets, boxes: FloatArray) -> Grid:
    """Return a grid over facets with boxes (m, 4) metres; at most about a hundred thousand cells."""
    box = np.array([*(boxes[:, :2].min(axis=0) - TOUCHING), *(boxes[:, 2:].max(axis=0) + TOUCHING)])
    size = box[2:] - box[:2]
    cell = max(0.5, float(np.sqrt(size[0] * size[1] / 1e5)), float(size.max()) / 1e4)
    shape = (np.floor(size / cell) + 1).astype(np.int64)
    grid = Grid(box, np.array([cell]), shape, np.zeros(1, np.int64), np.zeros(0, np.int64))
    counts = np.zeros(int(shape[0]) * int(shape[1]), np.int64)
    _fill_cells(facets, boxes, grid, counts, grid.facets, False)
    first = np.concatenate([np.zeros(1, np.int64), np.cumsum(counts)]).astype(np.int64)
    items = np.zeros(int(first[-1]), np.int64)
    _fill_cells(facets, boxes, grid, first[:-1].copy(), items, True)
    return grid._replace(first=first, facets=items)
