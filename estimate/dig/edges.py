"""Kernels for the edges of dug fragments: where the open trench ends, and how tall its upright faces stand."""

from estimate.dig.clip import CONTACT, FIRST_EDGE, SPLIT
from estimate.dig.lines import FloatArray
from estimate.dig.scene import CENTRE, DAYLIGHT, LEAVES, ROW, SEGMENTS, STAMP, TURN, UPRIGHT, Out, Scene, Work
from terrain.compiled import inner_kernel

ON_EDGE = 1e-9
"""An edge whose ends both lie this near [m] to a line lies on it; shorter edges are not looked at."""


@inner_kernel
def value(line: FloatArray, u: float, v: float) -> float:
    """Return the linear function `line` (3,) [any unit] of values at a triangle's corners, at the point (u, v)."""
    return float(line[0] + u * (line[1] - line[0]) + v * (line[2] - line[0]))


@inner_kernel
def note(extreme: FloatArray, height: float, corner: FloatArray, u: float, v: float, facet: float) -> None:
    """Keep a height [m] of a facet in extreme (4,), with its place in corner (3, 3) [m], if it is the greatest."""
    if height > extreme[0]:
        extreme[0] = height
        for k in range(2):
            along = u * (corner[1, k] - corner[0, k]) + v * (corner[2, k] - corner[0, k])
            extreme[1 + k] = corner[0, k] + along
        extreme[3] = facet


@inner_kernel
def _covered(lines: FloatArray, edges: FloatArray, count: int, own: FloatArray, ends: FloatArray) -> bool:
    """Put into ends[2] from where to where along ends[0], ends[1] (u, v) a facet is dug just outside an edge.

    lines (k + 1, 3) metres and edges (k, 4) are the other facet's, own (4,) is the edge with its inward normal.
    """
    first, last = 0.0, 1.0
    for i in range(count + 1):
        line = lines[i]
        one, two = value(line, ends[0, 0], ends[0, 1]), value(line, ends[1, 0], ends[1, 1])
        if abs(one) <= ON_EDGE and abs(two) <= ON_EDGE:
            if i == 0 or own[2] * edges[i - 1, 2] + own[3] * edges[i - 1, 3] > 0.0:
                return False
        elif one <= 0.0 and two <= 0.0:
            return False
        elif one < 0.0:
            first = max(first, one / (one - two))
        elif two < 0.0:
            last = min(last, one / (one - two))
    ends[2, 0], ends[2, 1] = first, last
    return last - first > 1e-12


@inner_kernel
def _covers(scene: Scene, work: Work, facet: int, edge: int, ends: FloatArray) -> int:
    """Store every stretch of a facet's edge outside which another facet is dug, in order; return their number."""
    count = 0
    for i in range(scene.pair_first[facet], scene.pair_first[facet + 1]):
        other = scene.pair_other[i]
        if other < 0:
            other = -1 - other
        if work.met[other, STAMP] != work.state[TURN] or work.met[other, ROW] < 0:
            continue
        row = work.met[other, ROW]
        if _covered(work.lines[row], scene.edges[other], scene.counts[other], scene.edges[facet, edge], ends):
            place = count
            while place > 0 and work.cover[place - 1, 0] > ends[2, 0]:
                for k in range(3):
                    work.cover[place, k] = work.cover[place - 1, k]
                place -= 1
            work.cover[place, 0], work.cover[place, 1], work.cover[place, 2] = ends[2, 0], ends[2, 1], row
            count += 1
    return count


@inner_kernel
def _emit(segments: FloatArray, place: int, corner: FloatArray, frame: FloatArray, ends: FloatArray) -> bool:
    """Write the stretch ends[2] of an edge into an outline segment; tell whether there was room."""
    if segments.shape[0] == 0 or ends[2, 1] - ends[2, 0] <= 1e-12:
        return True
    if place >= segments.shape[0]:
        return False
    for end in range(2):
        u = ends[0, 0] + ends[2, end] * (ends[1, 0] - ends[0, 0])
        v = ends[0, 1] + ends[2, end] * (ends[1, 1] - ends[0, 1])
        for k in range(3):
            along = u * (corner[1, k] - corner[0, k]) + v * (corner[2, k] - corner[0, k])
            segments[place, 3 * end + k] = corner[0, k] + along + (frame[CENTRE + k] if k < 2 else 0.0)
    return True


@inner_kernel
def _bound(scene: Scene, work: Work, out: Out, ends: FloatArray, facet: float, kind: float) -> bool:
    """Append the stretch ends[2] of an edge to the outline; tell whether there was room."""
    place = work.state[SEGMENTS]
    if not _emit(out.segments, place, work.corner, scene.frame, ends):
        return False
    if out.segments.shape[0] > 0 and ends[2, 1] - ends[2, 0] > 1e-12:
        out.segments[place, 6], out.segments[place, 7] = facet, kind
        work.state[SEGMENTS] = place + 1
    return True


@inner_kernel
def _step(work: Work, extreme: FloatArray, facet: int, ends: FloatArray, covers: int, t: float) -> None:
    """Note how far the trenches outside an upright edge lie above its floor, just before and just after a point."""
    u = ends[0, 0] + t * (ends[1, 0] - ends[0, 0])
    v = ends[0, 1] + t * (ends[1, 1] - ends[0, 1])
    for side in range(-1, 2, 2):
        deepest, beside = -1.0, t + side * 1e-9
        for j in range(covers):
            if work.cover[j, 0] < beside < work.cover[j, 1]:
                deepest = max(deepest, value(work.lines[int(work.cover[j, 2]), 0], u, v))
        if deepest >= 0.0:
            height = value(work.lines[work.met[facet, ROW], 0], u, v) - deepest
            note(extreme, height, work.corner, u, v, 1.0 * facet)


@inner_kernel
def _steps(work: Work, extreme: FloatArray, facet: int, ends: FloatArray, covers: int) -> None:
    """Note the steps at all ends and crossings of the trenches outside an upright edge."""
    for i in range(covers):
        _step(work, extreme, facet, ends, covers, work.cover[i, 0])
        _step(work, extreme, facet, ends, covers, work.cover[i, 1])
        for k in range(i):
            one, two = work.lines[int(work.cover[i, 2]), 0], work.lines[int(work.cover[k, 2]), 0]
            start = value(one, ends[0, 0], ends[0, 1]) - value(two, ends[0, 0], ends[0, 1])
            stop = value(one, ends[1, 0], ends[1, 1]) - value(two, ends[1, 0], ends[1, 1])
            if start * stop < 0.0:
                _step(work, extreme, facet, ends, covers, start / (start - stop))


@inner_kernel
def _facet_edge(scene: Scene, work: Work, out: Out, facet: int, edge: int, ends: FloatArray) -> bool:
    """Follow an edge of a fragment on the facet's own outline; tell whether there was room for what it gave."""
    covers = _covers(scene, work, facet, edge, ends)
    upright = scene.face[facet, edge]
    at = 0.0
    for i in range(covers + 1):
        until = work.cover[i, 0] if i < covers else 1.0
        if until - at > 1e-12:
            ends[2, 0], ends[2, 1] = at, until
            if not _bound(scene, work, out, ends, 1.0 * facet, 1.0 * UPRIGHT):
                return False
            for k in range(2):
                if upright:
                    u = ends[0, 0] + ends[2, k] * (ends[1, 0] - ends[0, 0])
                    v = ends[0, 1] + ends[2, k] * (ends[1, 1] - ends[0, 1])
                    height = value(work.lines[work.met[facet, ROW], 0], u, v)
                    note(out.extremes[0], height, work.corner, u, v, 1.0 * facet)
        if i < covers:
            at = max(at, work.cover[i, 1])
    if upright and covers > 0:
        _steps(work, out.extremes[0], facet, ends, covers)
    return True


@inner_kernel
def trace(scene: Scene, work: Work, out: Out, triangle: int, facet: int, place: int, turned: bool) -> bool:
    """Follow the edges of one fragment and add what bounds the open trench; tell whether there was room for it."""
    polygon, corner, ends, count = work.polygons[place], work.corner, work.ends, work.corners[place]
    for i in range(count):
        tag = int(polygon[i, 2])
        hull = tag < CONTACT and scene.neighbours.shape[0] > 0 and scene.neighbours[triangle, (tag + 2) % 3] < 0
        if tag == SPLIT or (tag < CONTACT and not hull):
            continue
        a, b = i, i + 1 if i + 1 < count else 0
        if turned:
            a, b = b, a
        for k in range(2):
            ends[0, k], ends[1, k] = polygon[a, k], polygon[b, k]
            ends[2, k] = k
        du, dv = ends[1, 0] - ends[0, 0], ends[1, 1] - ends[0, 1]
        east = du * (corner[1, 0] - corner[0, 0]) + dv * (corner[2, 0] - corner[0, 0])
        north = du * (corner[1, 1] - corner[0, 1]) + dv * (corner[2, 1] - corner[0, 1])
        if abs(east) + abs(north) <= ON_EDGE:
            continue
        if tag >= FIRST_EDGE:
            room = _facet_edge(scene, work, out, facet, tag - FIRST_EDGE, ends)
        else:
            room = _bound(scene, work, out, ends, 1.0 * facet, 1.0 * (DAYLIGHT if tag == CONTACT else LEAVES))
        if not room:
            return False
    return True
