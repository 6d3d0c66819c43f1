"""Cut and fill under a triangle or a grid cell, split where the sign changes, for hand checks."""

import math
from collections.abc import Sequence

from terrain.errors import InputError


def triangle_volumes(plan_area_m2: float, heights_m: Sequence[float]) -> tuple[float, float]:
    """Return the volumes [m3] above and below zero of a plane with corner heights `heights_m` (3,) [m].

    `plan_area_m2` [m2] is the area of the triangle in plan.

    Source: V = A mean(h) where all have one sign; a lone corner of the other sign has |V| = A h^3 / (3 (h + h1)
    (h + h2)) in absolute heights (geometry of the zero line).

    Raises:
        InputError: not three heights, or an area below zero.

    >>> triangle_volumes(600.0, (3.0, 3.0, -3.0))
    (750.0, 150.0)
    """
    if len(heights_m) != 3 or not 0.0 <= plan_area_m2 < math.inf:
        found = f"area {plan_area_m2:g} m2 and {len(heights_m)} heights"
        raise InputError("triangle", found, "an area and three heights", "correct the triangle")
    low, middle, high = sorted(heights_m)
    net = plan_area_m2 * (low + middle + high) / 3.0
    if low >= 0.0:
        return net, 0.0
    if high <= 0.0:
        return 0.0, -net
    if middle > 0.0:
        below = plan_area_m2 * -low * (low / (middle - low)) * (low / (high - low)) / 3.0
        return net + below, below
    above = plan_area_m2 * high * (high / (high - middle)) * (high / (high - low)) / 3.0
    return above, above - net


def cell_volume(side_area_m2: float, heights_m: Sequence[float]) -> float:
    """Return the volume [m3] of one grid cell of `side_area_m2` [m2] with corner heights `heights_m` (4,) [m].

    Source: borrow-pit method, V = A mean of four corners; heights of one sign, which is checked.

    Raises:
        InputError: not four heights, or heights of both signs, which must be split at the zero line.

    >>> cell_volume(10.0, (1.0, 2.0, 2.0, 1.0))
    15.0
    """
    if len(heights_m) != 4 or (min(heights_m) < 0.0 < max(heights_m)):
        found = f"heights {', '.join(f'{height:g}' for height in heights_m)}"
        raise InputError("grid cell", found, "four heights of one sign", "split the cell into triangles")
    return side_area_m2 * math.fsum(heights_m) / 4.0
