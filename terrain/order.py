"""Spatial order: an ordering of points along a Z-shaped curve, so that neighbours in plan lie near in memory."""

import numpy as np

from terrain.arrays import Floats, Longs

BITS = 16
"""Bits of each axis in the curve; 65,536 cells a side."""


def _spread(cells: "np.ndarray[tuple[int], np.dtype[np.uint32]]") -> "np.ndarray[tuple[int], np.dtype[np.uint32]]":
    """Return each 16-bit number with a zero bit put between all its bits."""
    cells = (cells | (cells << np.uint32(8))) & np.uint32(0x00FF00FF)
    cells = (cells | (cells << np.uint32(4))) & np.uint32(0x0F0F0F0F)
    cells = (cells | (cells << np.uint32(2))) & np.uint32(0x33333333)
    return (cells | (cells << np.uint32(1))) & np.uint32(0x55555555)


def inverse(order: Longs) -> Longs:
    """Return the place (n,) that each index has in `order` (n,), indices without a unit.

    >>> inverse(np.array([2, 0, 1])).tolist()
    [1, 2, 0]
    """
    place = np.empty(len(order), dtype=np.int64)
    place[order] = np.arange(len(order))
    return place


def spatial_order(points: Floats) -> Longs:
    """Return the indices (n,) which put `points` (n, 2) metres, all finite, into spatial order.

    Points of one cell follow by easting, then northing, so that the order they were given in changes nothing.

    Source: G. M. Morton, "A computer oriented geodetic data base", 1966 (interleaved bits of both axes).

    >>> spatial_order(np.array([[9.0, 9.0], [0.0, 0.0], [9.0, 8.0], [0.0, 1.0]])).tolist()
    [1, 3, 2, 0]
    """
    if len(points) == 0:
        return np.zeros(0, dtype=np.int64)
    low = points.min(axis=0)
    side = float((points.max(axis=0) - low).max()) or 1.0
    scale = (2**BITS - 1) / side
    code = _spread(((points[:, 0] - low[0]) * scale).astype(np.uint32))
    code |= _spread(((points[:, 1] - low[1]) * scale).astype(np.uint32)) << np.uint32(1)
    order = np.argsort(code, kind="stable").astype(np.int64, copy=False)
    same = code[order[1:]] == code[order[:-1]]
    if same.any():
        shared = np.flatnonzero(np.append(same, False) | np.append(False, same))
        rows = order[shared]
        order[shared] = rows[np.lexsort((points[rows, 1], points[rows, 0], code[rows]))]
    return order
