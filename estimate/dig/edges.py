"""Kernels for the edges of dug fragments: where the open trench ends, and how tall its upright faces stand."""

from estimate.dig.clip import CONTACT, FIRST_EDGE, SPLIT
from estimate.dig.lines import FloatArray
from estimate.dig.scene import DAYLIGHT, LEAVES, SEGMENTS, TURN, UPRIGHT, Out, Scene, Work
from terrain.compiled import kernel

ON_EDGE = 1e-9
"""An edge whose ends both lie this near [m] to a line lies on it; shorter edges are not looked at."""


@kernel
def _value(line: FloatArray, u: float, v: float) -> float:
    return line[0] + u * (line[1] - line[0]) + v * (line[2] - line[0])


@kernel
def _covered(
    scene: Scene, work: Work, facet: int, edge: int, other: int, a: FloatArray, b: FloatArray, at: int
) -> bool:
    """Store in cover[at] where facet `other` is dug just outside an edge from a to b, (2,) in (u, v)."""
    facets, row = scene.facets, work.row[other]
    first, last = 0.0, 1.0
    sides = facets.counts[other]
    for i in range(sides + 1):
        line = work.edges[row, i] if i < sides else work.heights[row]
        one, two = _value(line, a[0], a[1]), _value(line, b[0], b[1])
        if abs(one) <= ON_EDGE and abs(two) <= ON_EDGE:
            if i == sides:
                return False
            turned = facets.normals[facet, edge, 0] * facets.normals[other, i, 0]
            turned += facets.normals[facet, edge, 1] * facets.normals[other, i, 1]
            if turned > 0.0:
                return False
        elif one <= 0.0 and two <= 0.0:
            return False
        elif one < 0.0:
            first = max(first, one / (one - two))
        elif two < 0.0:
            last = min(last, one / (one - two))
    work.cover[at, 0], work.cover[at, 1], work.cover[at, 2] = first, last, row
    return last - first > 1e-12


@kernel
def _covers(scene: Scene, work: Work, facet: int, edge: int, a: FloatArray, b: FloatArray) -> int:
    """Store every stretch of a facet's edge outside which another facet is dug, in order; return their number."""
    count, pairs = 0, scene.pairs
    for i in range(pairs.first[facet], pairs.first[facet + 1]):
        other = pairs.other[i]
        if work.stamp[other] != work.state[TURN] or work.row[other] < 0:
            continue
        if _covered(scene, work, facet, edge, other, a, b, count):
            place = count
            while place > 0 and work.cover[place - 1, 0] > work.cover[place, 0]:
                for k in range(3):
                    kept = work.cover[place, k]
                    work.cover[place, k] = work.cover[place - 1, k]
                    work.cover[place - 1, k] = kept
                place -= 1
            count += 1
    return count


@kernel
def note(scene: Scene, work: Work, out: Out, which: int, height: float, u: float, v: float, facet: int) -> None:
    """Keep the tallest face (which = 0) or the deepest cut (1) with its place."""
    if height > out.extremes[which, 0]:
        corner = work.corner
        out.extremes[which, 0] = height
        for k in range(2):
            along = u * (corner[1, k] - corner[0, k]) + v * (corner[2, k] - corner[0, k])
            out.extremes[which, 1 + k] = corner[0, k] + along + scene.centre[k]
        out.extremes[which, 3] = facet


@kernel
def _emit(
    scene: Scene,
    work: Work,
    out: Out,
    a: FloatArray,
    b: FloatArray,
    first: float,
    last: float,
    facet: int,
    kind: int,
) -> bool:
    """Append the stretch first..last of an edge from a to b to the outline; tell whether there was room."""
    place = work.state[SEGMENTS]
    if out.segments.shape[0] == 0 or last - first <= 1e-12:
        return True
    if place >= out.segments.shape[0]:
        return False
    corner = work.corner
    for end in range(2):
        t = first if end == 0 else last
        u, v = a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])
        for k in range(2):
            along = u * (corner[1, k] - corner[0, k]) + v * (corner[2, k] - corner[0, k])
            out.segments[place, 2 * end + k] = corner[0, k] + along + scene.centre[k]
    out.segment_kinds[place, 0], out.segment_kinds[place, 1] = facet, kind
    work.state[SEGMENTS] = place + 1
    return True


@kernel
def _steps(scene: Scene, work: Work, out: Out, facet: int, a: FloatArray, b: FloatArray, covers: int) -> None:
    """Note how far other trenches outside an upright edge lie above its floor."""
    row = work.row[facet]
    for i in range(covers):
        for k in range(covers + 2):
            t = work.cover[i, k] if k < 2 else 0.0
            if k >= 2:
                one, two = work.heights[int(work.cover[i, 2])], work.heights[int(work.cover[k - 2, 2])]
                start = _value(one, a[0], a[1]) - _value(two, a[0], a[1])
                stop = _value(one, b[0], b[1]) - _value(two, b[0], b[1])
                if start * stop >= 0.0:
                    continue
                t = start / (start - stop)
            u, v = a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])
            for side in range(-1, 2, 2):
                deepest = -1.0
                beside = t + side * 1e-9
                for j in range(covers):
                    if work.cover[j, 0] < beside < work.cover[j, 1]:
                        deepest = max(deepest, _value(work.heights[int(work.cover[j, 2])], u, v))
                if deepest >= 0.0:
                    note(scene, work, out, 0, _value(work.heights[row], u, v) - deepest, u, v, facet)


@kernel
def _facet_edge(scene: Scene, work: Work, out: Out, facet: int, edge: int, a: FloatArray, b: FloatArray) -> bool:
    """Follow an edge of a fragment on the facet's own outline; tell whether there was room for what it gave."""
    covers = _covers(scene, work, facet, edge, a, b)
    upright = scene.facets.face[facet, edge]
    at = 0.0
    for i in range(covers + 1):
        until = work.cover[i, 0] if i < covers else 1.0
        if until - at > 1e-12:
            if not _emit(scene, work, out, a, b, at, until, facet, UPRIGHT):
                return False
            for t in (at, until):
                if upright:
                    u, v = a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])
                    note(scene, work, out, 0, _value(work.heights[work.row[facet]], u, v), u, v, facet)
        if i < covers:
            at = max(at, work.cover[i, 1])
    if upright and covers > 0:
        _steps(scene, work, out, facet, a, b, covers)
    return True


@kernel
def trace(scene: Scene, work: Work, out: Out, triangle: int, facet: int, place: int, turned: bool) -> bool:
    """Follow the edges of one fragment and add what bounds the open trench; tell whether there was room for it."""
    polygon, corner = work.polygons[place], work.corner
    count = work.counts[place]
    for i in range(count):
        tag = work.tags[place, i]
        a, b = polygon[i], polygon[i + 1 if i + 1 < count else 0]
        du, dv = b[0] - a[0], b[1] - a[1]
        east = du * (corner[1, 0] - corner[0, 0]) + dv * (corner[2, 0] - corner[0, 0])
        north = du * (corner[1, 1] - corner[0, 1]) + dv * (corner[2, 1] - corner[0, 1])
        if tag == SPLIT or abs(east) + abs(north) <= ON_EDGE:
            continue
        if turned:
            a, b = b, a
        room = True
        if tag >= FIRST_EDGE:
            room = _facet_edge(scene, work, out, facet, tag - FIRST_EDGE, a, b)
        elif tag == CONTACT:
            room = _emit(scene, work, out, a, b, 0.0, 1.0, facet, DAYLIGHT)
        elif scene.neighbours.shape[0] > 0 and scene.neighbours[triangle, (tag + 2) % 3] < 0:
            room = _emit(scene, work, out, a, b, 0.0, 1.0, facet, LEAVES)
        if not room:
            return False
    return True
