"""Kernels that find which part of a facet is dug in one ground triangle: under the ground, over no deeper facet."""

from estimate.dig.clip import CONTACT, FIRST_EDGE, SPLIT, clip, misses, moments
from estimate.dig.lines import FloatArray, IntArray
from estimate.dig.scene import ROW, STAMP, TURN, Scene, Work
from terrain.compiled import inner_kernel

SLIVER = 1e-12
"""An overlap smaller than this [m2] is not taken away: the fragment stays whole."""
DUST = 1e-15
"""A piece smaller than this [m2] that a split leaves over is dropped."""
SAME_PLANE = 1e-11
"""Two planes that differ by less than this [m] over a whole triangle are one; the facet named first keeps it."""
THINNEST = 1e-12
"""A facet that lies nowhere further than this [m] below a triangle does not cut it."""


@inner_kernel
def activate(
    corner: FloatArray, plane: FloatArray, edges: FloatArray, count: int, lines: FloatArray, slack: float
) -> bool:
    """Fill a row with the height and edge functions of a facet; tell whether it may cut the triangle.

    corner (3, 3) metres; plane (5,) and edges (k, 4) of the facet; lines (k + 1, 3) metres is filled; a facet that
    misses the triangle by more than `slack` [m] does not cut it.
    """
    highest = -1.0
    for k in range(3):
        rise = plane[3] * (corner[k, 0] - plane[0]) + plane[4] * (corner[k, 1] - plane[1])
        lines[0, k] = (corner[k, 2] - plane[2]) - rise
        highest = max(highest, lines[0, k])
    if highest <= THINNEST:
        return False
    for i in range(count):
        furthest = -1.0
        for k in range(3):
            inside = edges[i, 2] * (corner[k, 0] - edges[i, 0]) + edges[i, 3] * (corner[k, 1] - edges[i, 1])
            lines[i + 1, k] = inside
            furthest = max(furthest, inside)
        if furthest < -slack:
            return False
    return True


@inner_kernel
def _start(polygons: FloatArray, lines: FloatArray, edges: int, values: FloatArray) -> int:
    """Put the part of the triangle under which a facet lies into the first place; return its corners or -1."""
    one = polygons.shape[0] - 2
    two = one + 1
    for i in range(3):
        polygons[one, i, 0] = 1.0 if i == 1 else 0.0
        polygons[one, i, 1] = 1.0 if i == 2 else 0.0
        polygons[one, i, 2] = i
    count = lines.shape[1]
    for i in range(1, edges + 1):
        if min(lines[i, 0], lines[i, 1], lines[i, 2]) > 0.0:
            continue
        count = clip(polygons[one], count, lines[i], 1.0, 1.0 * (FIRST_EDGE + i - 1), values, polygons[two])
        if count <= 0:
            return count
        one, two = two, one
    return clip(polygons[one], count, lines[0], 1.0, 1.0 * CONTACT, values, polygons[0])


@inner_kernel
def _carve(work: Work, place: int, filled: int, lines: FloatArray, first: int, edges: int, unit: float) -> int:
    """Take a deeper facet away from one polygon, append what is left; return the places filled, or -1 if full.

    The deeper facet is where all lines (k, 3) `first` to `edges` are positive, line 0 being how much deeper it is.
    """
    polygons, values = work.polygons, work.values
    for i in range(edges, first - 1, -1):
        if misses(polygons[place], work.corners[place], lines[i]):
            return filled
    pool = polygons.shape[0] - 2
    source, target, count, after = place, pool, work.corners[place], filled
    for i in range(first, edges + 1):
        if after >= pool:
            return -1
        left = clip(polygons[source], count, lines[i], -1.0, 1.0 * SPLIT, values, polygons[after])
        inside = clip(polygons[source], count, lines[i], 1.0, 1.0 * SPLIT, values, polygons[target])
        if left < 0 or inside < 0:
            return -1
        if inside == 0:
            return filled
        if left > 0 and unit * moments(polygons[after], left)[0] > DUST:
            work.corners[after] = left
            after += 1
        source, target, count = target, (pool + 1 if target == pool else pool), inside
    if unit * moments(polygons[source], count)[0] < SLIVER:
        return filled
    work.corners[place] = 0
    return after


@inner_kernel
def _pack(polygons: FloatArray, corners: IntArray, filled: int) -> int:
    """Close the gaps which carved polygons left; return the places still filled."""
    last = 0
    for place in range(filled):
        count = corners[place]
        if count > 0:
            if last < place:
                for i in range(count):
                    for k in range(3):
                        polygons[last, i, k] = polygons[place, i, k]
                corners[last] = count
            last += 1
    return last


@inner_kernel
def _compare(work: Work, row: int, other: int) -> tuple[float, float]:
    """Put how much deeper the facet of row `other` is into its place; return least and greatest difference [m]."""
    least, greatest = 0.0, 0.0
    for k in range(3):
        difference = work.lines[other, 0, k] - work.lines[row, 0, k]
        work.difference[k] = difference
        least, greatest = min(least, difference), max(greatest, difference)
    return least, greatest


@inner_kernel
def _without(scene: Scene, work: Work, other: int, filled: int, same: bool, unit: float) -> int:
    """Take one deeper facet away from all polygons in the pool; return how many are left, or -1 if full."""
    lines = work.lines[work.met[other, ROW]]
    kept = (lines[0, 0], lines[0, 1], lines[0, 2])
    for k in range(3):
        lines[0, k] = work.difference[k]
    before = filled
    for place in range(before):
        filled = _carve(work, place, filled, lines, 1 if same else 0, scene.counts[other], unit)
        if filled < 0:
            break
    for k in range(3):
        lines[0, k] = kept[k]
    return filled if filled < 0 else _pack(work.polygons, work.corners, filled)


@inner_kernel
def fragments(scene: Scene, work: Work, facet: int, unit: float) -> int:
    """Fill the pool with the dug parts of a facet in the triangle; return their number, or -1 where room is short.

    `unit` is twice the plan area of the triangle [m2].
    """
    row = work.met[facet, ROW]
    count = _start(work.polygons, work.lines[row], scene.counts[facet], work.values)
    if count <= 0:
        return count
    work.corners[0] = count
    filled = min(count, 1)
    for i in range(scene.pair_first[facet], scene.pair_first[facet + 1]):
        other = scene.pair_other[i]
        if other < 0 or work.met[other, STAMP] != work.state[TURN] or work.met[other, ROW] < 0:
            continue
        least, greatest = _compare(work, row, work.met[other, ROW])
        same = max(greatest, -least) <= SAME_PLANE
        if (same and other > facet) or (not same and greatest <= 0.0):
            continue
        filled = _without(scene, work, other, filled, same, unit)
        if filled <= 0:
            return filled
    return filled
