"""Kernels that find which part of a facet is dug in one ground triangle: under the ground, over no deeper facet."""

from estimate.dig.clip import CONTACT, FIRST_EDGE, SPLIT, clip, moments
from estimate.dig.lines import FloatArray
from estimate.dig.scene import TURN, Scene, Work
from terrain.compiled import kernel

SLIVER = 1e-12
"""An overlap smaller than this [m2] is not taken away: the fragment stays whole."""
DUST = 1e-15
"""A piece smaller than this [m2] that a split leaves over is dropped."""
SAME_PLANE = 1e-11
"""Two planes that differ by less than this [m] over a whole triangle are one; the facet named first keeps it."""
THINNEST = 1e-12
"""A facet that lies nowhere further than this [m] below a triangle does not cut it."""


@kernel
def activate(scene: Scene, work: Work, facet: int, row: int) -> bool:
    """Fill a row with the edge and height functions of a facet; tell whether it may cut the triangle in work."""
    corner, facets = work.corner, scene.facets
    highest = -1.0
    for k in range(3):
        rise = facets.plane[facet, 3] * (corner[k, 0] - facets.plane[facet, 0])
        rise += facets.plane[facet, 4] * (corner[k, 1] - facets.plane[facet, 1])
        height = (corner[k, 2] - facets.plane[facet, 2]) - rise
        work.heights[row, k] = height
        highest = max(highest, height)
    if highest <= THINNEST:
        return False
    for i in range(facets.counts[facet]):
        e, n = facets.corners[facet, i, 0], facets.corners[facet, i, 1]
        p, q = facets.normals[facet, i, 0], facets.normals[facet, i, 1]
        furthest = -1.0
        for k in range(3):
            inside = p * (corner[k, 0] - e) + q * (corner[k, 1] - n)
            work.edges[row, i, k] = inside
            furthest = max(furthest, inside)
        if furthest < -1e-9:
            return False
    return True


@kernel
def _clip_to(work: Work, source: int, count: int, line: FloatArray, sign: float, tag: int, target: int) -> int:
    """Clip the polygon in one place of the pool into another; return its corners, or -1 if it has no room."""
    one, two = work.polygons[source], work.polygons[target]
    return clip(one, work.tags[source], count, line, sign, tag, work.values, two, work.tags[target])


@kernel
def _start(scene: Scene, work: Work, facet: int) -> int:
    """Put the part of the triangle under which the facet lies into the first place; return its corners or -1."""
    pool, row = work.counts.shape[0] - 2, work.row[facet]
    one, two = pool, pool + 1
    work.polygons[one, 0, 0], work.polygons[one, 0, 1] = 0.0, 0.0
    work.polygons[one, 1, 0], work.polygons[one, 1, 1] = 1.0, 0.0
    work.polygons[one, 2, 0], work.polygons[one, 2, 1] = 0.0, 1.0
    work.tags[one, 0], work.tags[one, 1], work.tags[one, 2] = 0, 1, 2
    count, edges = 3, scene.facets.counts[facet]
    for i in range(edges + 1):
        line = work.edges[row, i] if i < edges else work.heights[row]
        tag = FIRST_EDGE + i if i < edges else CONTACT
        if i == edges:
            two = 0
        count = _clip_to(work, one, count, line, 1.0, tag, two)
        if count <= 0:
            return count
        one, two = two, one
    work.counts[0] = count
    return count


@kernel
def _misses(work: Work, place: int, line: FloatArray) -> bool:
    """Tell whether a polygon lies wholly on the side of a line (3,) where it is not positive."""
    c1, c2 = line[1] - line[0], line[2] - line[0]
    near = 1e-15 * (abs(line[0]) + abs(line[1]) + abs(line[2]))
    for i in range(work.counts[place]):
        if line[0] + c1 * work.polygons[place, i, 0] + c2 * work.polygons[place, i, 1] > near:
            return False
    return True


@kernel
def _carve(work: Work, place: int, filled: int, row: int, lines: int, plane: bool, unit: float) -> int:
    """Take a deeper facet away from one polygon, append what is left; return the places filled, or -1 if full."""
    for i in range(lines):
        if _misses(work, place, work.edges[row, i]):
            return filled
    if plane and _misses(work, place, work.difference):
        return filled
    pool = work.counts.shape[0] - 2
    source, target, count, after = place, pool, work.counts[place], filled
    for i in range(0 if plane else 1, lines + 1):
        line = work.difference if i == 0 else work.edges[row, i - 1]
        if after >= pool:
            return -1
        left = _clip_to(work, source, count, line, -1.0, SPLIT, after)
        inside = _clip_to(work, source, count, line, 1.0, SPLIT, target)
        if left < 0 or inside < 0:
            return -1
        if inside == 0:
            return filled
        if left > 0 and unit * moments(work.polygons[after], left)[0] > DUST:
            work.counts[after] = left
            after += 1
        source, target, count = target, (pool + 1 if target == pool else pool), inside
    if unit * moments(work.polygons[source], count)[0] < SLIVER:
        return filled
    work.counts[place] = 0
    return after


@kernel
def _pack(work: Work, filled: int) -> int:
    """Close the gaps which carved polygons left; return the places still filled."""
    last = 0
    for place in range(filled):
        count = work.counts[place]
        if count > 0:
            if last < place:
                for i in range(count):
                    work.polygons[last, i, 0] = work.polygons[place, i, 0]
                    work.polygons[last, i, 1] = work.polygons[place, i, 1]
                    work.tags[last, i] = work.tags[place, i]
                work.counts[last] = count
            last += 1
    return last


@kernel
def fragments(scene: Scene, work: Work, facet: int, unit: float) -> int:
    """Fill the pool with the dug parts of a facet in the triangle; return their number, or -1 where room is short.

    `unit` is twice the plan area of the triangle [m2].
    """
    filled = _start(scene, work, facet)
    if filled <= 0:
        return filled
    filled = 1
    row, pairs = work.row[facet], scene.pairs
    for i in range(pairs.first[facet], pairs.first[facet + 1]):
        other = pairs.other[i]
        if not pairs.overlap[i] or work.stamp[other] != work.state[TURN] or work.row[other] < 0:
            continue
        deeper, lowest = 0.0, 0.0
        for k in range(3):
            difference = work.heights[work.row[other], k] - work.heights[row, k]
            work.difference[k] = difference
            deeper, lowest = max(deeper, difference), min(lowest, difference)
        same = max(deeper, -lowest) <= SAME_PLANE
        if (same and other > facet) or (not same and deeper <= 0.0):
            continue
        before = filled
        for place in range(before):
            filled = _carve(work, place, filled, work.row[other], scene.facets.counts[other], not same, unit)
            if filled < 0:
                return -1
        filled = _pack(work, filled)
        if filled == 0:
            return 0
    return filled
