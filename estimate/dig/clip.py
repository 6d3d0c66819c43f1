"""The one primitive of the cut: a convex polygon clipped by a half-plane, with each edge remembering what made it.

Polygons live in the barycentric plane of one ground triangle: point (u, v) is vertex 0 + u (vertex 1 - vertex 0)
+ v (vertex 2 - vertex 0). A half-plane is a linear function given by its values at the three vertices, so that
two facets which bound each other see the very same line, however nearly their planes agree. A polygon is an array
(k, 3): u, v, and the tag of the edge to the next corner.
"""

from estimate.dig.lines import FloatArray
from terrain.compiled import inner_kernel

CONTACT = 3
"""Tag of an edge where the ground meets the facet's plane; 0, 1, 2 are the edges of the triangle."""
SPLIT = 4
"""Tag of an edge where a fragment was cut off from a deeper facet."""
FIRST_EDGE = 5
"""Tag of the first edge of the facet's own polygon; the others follow."""


@inner_kernel
def _kept(source: FloatArray, count: int, tag: float, values: FloatArray, out: FloatArray) -> int:
    """Write the part of a polygon whose values at the corners are not negative into out; return its corners."""
    filled = 0
    for i in range(count):
        following = i + 1 if i + 1 < count else 0
        a, b = values[i], values[following]
        if a >= 0.0:
            out[filled, 0], out[filled, 1] = source[i, 0], source[i, 1]
            leaves = a == 0.0 and (b < 0.0 or (b == 0.0 and tag != SPLIT))
            out[filled, 2] = tag if leaves else source[i, 2]
            filled += 1
        if (a > 0.0 and b < 0.0) or (a < 0.0 and b > 0.0):
            share = a / (a - b)
            out[filled, 0] = source[i, 0] + share * (source[following, 0] - source[i, 0])
            out[filled, 1] = source[i, 1] + share * (source[following, 1] - source[i, 1])
            out[filled, 2] = tag if a > 0.0 else source[i, 2]
            filled += 1
    return filled


@inner_kernel
def clip(
    source: FloatArray,
    count: int,
    line: FloatArray,
    sign: float,
    tag: float,
    values: FloatArray,
    out: FloatArray,
) -> int:
    """Write the part of a polygon where sign × line ≥ 0 into out; return its corners, -1 if there is no room.

    source and out are polygons (k, 3), line (3,) values at the triangle's vertices [m], values (k,) scratch.
    Values within rounding of zero count as on the line; an edge on the line takes the new tag unless that is SPLIT.
    """
    c0, c1, c2 = sign * line[0], sign * (line[1] - line[0]), sign * (line[2] - line[0])
    near = 1e-15 * (abs(line[0]) + abs(line[1]) + abs(line[2]))
    highest = 0.0
    for i in range(count):
        value = c0 + c1 * source[i, 0] + c2 * source[i, 1]
        if abs(value) <= near:
            value = 0.0
        values[i] = value
        highest = max(highest, value)
    if highest <= 0.0:
        return 0
    if count + 1 >= out.shape[0]:
        return -1
    return _kept(source, count, tag, values, out)


@inner_kernel
def moments(polygon: FloatArray, count: int) -> tuple[float, float, float]:
    """Return area and first moments of u and v of a polygon (k, 3), unitless: the whole triangle is 1/2."""
    area, moment_u, moment_v = 0.0, 0.0, 0.0
    u0, v0 = polygon[0, 0], polygon[0, 1]
    for i in range(1, count - 1):
        au, av = polygon[i, 0] - u0, polygon[i, 1] - v0
        bu, bv = polygon[i + 1, 0] - u0, polygon[i + 1, 1] - v0
        part = 0.5 * (au * bv - av * bu)
        area += part
        moment_u += part * (au + bu)
        moment_v += part * (av + bv)
    return area, area * u0 + moment_u / 3.0, area * v0 + moment_v / 3.0


@inner_kernel
def misses(polygon: FloatArray, count: int, line: FloatArray) -> bool:
    """Tell whether a polygon (k, 3) lies wholly on the side of a line (3,) [m] where it is not positive."""
    c1, c2 = line[1] - line[0], line[2] - line[0]
    near = 1e-15 * (abs(line[0]) + abs(line[1]) + abs(line[2]))
    for i in range(count):
        if line[0] + c1 * polygon[i, 0] + c2 * polygon[i, 1] > near:
            return False
    return count > 0


@inner_kernel
def part_above(start: float, stop: float, part: FloatArray) -> None:
    """Narrow part (2,), shares of a stretch, to where a value from start to stop [any unit] is positive."""
    if start <= 0.0 and stop <= 0.0:
        part[1] = part[0]
    elif start <= 0.0:
        part[0] = max(part[0], start / (start - stop))
    elif stop <= 0.0:
        part[1] = min(part[1], start / (start - stop))
