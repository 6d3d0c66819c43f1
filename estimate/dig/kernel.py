"""The pass over the ground's triangles: find the facets near each, cut, add up volume, area and weights."""

from estimate.dig.clip import moments
from estimate.dig.edges import note, trace, value
from estimate.dig.fragments import activate, fragments
from estimate.dig.lines import FloatArray
from estimate.dig.scene import (
    ACTIVE,
    BUDGET,
    CENTRE,
    CODE,
    COLUMNS,
    DONE,
    PER_CELL,
    POLYGONS_FULL,
    RESUME,
    ROW,
    ROWS,
    SEGMENTS,
    SEGMENTS_FULL,
    SOUTH,
    STAMP,
    SURFACE,
    SURFACE_FULL,
    TURN,
    WEST,
    Out,
    Scene,
    Work,
)
from terrain.compiled import inner_kernel, lean_kernel

MISS = 1e-9
"""A facet that misses a triangle by more than this [m] does not cut it."""
THIN = 1e-10
"""Fragments narrower than this [m] do not count for the tallest face and the deepest cut."""


@inner_kernel
def _is_left_out(scene: Scene, triangle: int, facet: int) -> bool:
    """Tell whether a facet is not to be dug in the triangle."""
    key = triangle * scene.counts.shape[0] + facet
    low, high = 0, scene.left_out.shape[0]
    while low < high:
        middle = (low + high) // 2
        if scene.left_out[middle] < key:
            low = middle + 1
        else:
            high = middle
    return low < scene.left_out.shape[0] and bool(scene.left_out[low] == key)


@inner_kernel
def _gather(scene: Scene, work: Work, cells: tuple[int, int, int, int], triangle: int, slack: float) -> int:
    """Make the rows of all facets over a range of cells; return how many may cut the triangle."""
    work.state[TURN] += 1
    active, columns, turn = 0, int(scene.frame[COLUMNS]), work.state[TURN]
    west, east, south, north = cells
    for row in range(south, north + 1):
        start = scene.cell_first[row * columns + west]
        stop = scene.cell_first[row * columns + east + 1]
        for i in range(start, stop):
            facet = scene.cell_facets[i]
            if work.met[facet, STAMP] == turn:
                continue
            work.met[facet, STAMP], work.met[facet, ROW] = turn, -1
            plane, edges, lines = scene.plane[facet], scene.edges[facet], work.lines[active]
            if not activate(work.corner, plane, edges, scene.counts[facet], lines, slack):
                continue
            if scene.left_out.shape[0] == 0 or not _is_left_out(scene, triangle, facet):
                work.met[facet, ROW], work.met[active, ACTIVE] = active, facet
                active += 1
    return active


@inner_kernel
def prepared(scene: Scene, work: Work, triangle: int, slack: float) -> int:
    """Put a triangle's corners and the rows of the facets over it into the scratch; return the number of rows.

    Facets that miss the triangle by up to `slack` [m] count. A triangle away from all costs its bounding box.
    """
    vertices, frame, first = scene.vertices, scene.frame, scene.cell_first
    e_base, n_base, inverse = frame[WEST], frame[SOUTH], frame[PER_CELL]
    columns, rows = int(frame[COLUMNS]), int(frame[ROWS])
    i, j, k = scene.triangles[triangle, 0], scene.triangles[triangle, 1], scene.triangles[triangle, 2]
    e0, e1, e2 = vertices[i, 0], vertices[j, 0], vertices[k, 0]
    n0, n1, n2 = vertices[i, 1], vertices[j, 1], vertices[k, 1]
    west, east = (min(e0, e1, e2) - e_base) * inverse, (max(e0, e1, e2) - e_base) * inverse
    south, north = (min(n0, n1, n2) - n_base) * inverse, (max(n0, n1, n2) - n_base) * inverse
    if east < 0.0 or west >= columns or north < 0.0 or south >= rows:
        return 0
    left, right = int(max(west, 0.0)), int(min(east, columns - 1.0))
    low, high = int(max(south, 0.0)), int(min(north, rows - 1.0))
    occupied = 0
    for row in range(low, high + 1):
        occupied += first[row * columns + right + 1] - first[row * columns + left]
    if occupied == 0:
        return 0
    for m in range(3):
        for axis in range(3):
            work.corner[m, axis] = vertices[scene.triangles[triangle, m], axis]
        work.corner[m, 0] -= frame[CENTRE]
        work.corner[m, 1] -= frame[CENTRE + 1]
    return _gather(scene, work, (left, right, low, high), triangle, slack)


@inner_kernel
def _add(scene: Scene, work: Work, out: Out, triangle: int, facet: int, place: int, unit: float) -> None:
    """Add volume, area and weights of one fragment."""
    height = work.lines[work.met[facet, ROW], 0]
    area, moment_u, moment_v = moments(work.polygons[place], work.corners[place])
    out.totals[facet, 1] += unit * area
    out.totals[facet, 0] += unit * (
        height[0] * area + (height[1] - height[0]) * moment_u + (height[2] - height[0]) * moment_v
    )
    out.weights[scene.triangles[triangle, 0]] += unit * (area - moment_u - moment_v)
    out.weights[scene.triangles[triangle, 1]] += unit * moment_u
    out.weights[scene.triangles[triangle, 2]] += unit * moment_v


@inner_kernel
def _is_thin(polygon: FloatArray, count: int, corner: FloatArray, unit: float) -> bool:
    """Tell whether a fragment is but a sliver left by rounding."""
    extent, wide = 0.0, 0.0
    for k in range(2):
        wide = max(wide, abs(corner[1, k] - corner[0, k]), abs(corner[2, k] - corner[0, k]))
        for i in range(1, count):
            extent = max(extent, abs(polygon[i, k] - polygon[0, k]))
    return unit * moments(polygon, count)[0] <= THIN * extent * wide


@inner_kernel
def _extremes(work: Work, foot: FloatArray, extremes: FloatArray, facet: int, place: int, unit: float) -> None:
    """Note the deepest corner of a fragment, and how high it stands above the foot (5,) where it lies on a wall."""
    polygon, corner, height = work.polygons[place], work.corner, work.lines[work.met[facet, ROW], 0]
    wall = foot[2] != 0.0 or foot[3] != 0.0
    promising = max(height[0], height[1], height[2]) > extremes[1, 0]
    for k in range(3):
        up = foot[2] * (corner[k, 0] - foot[0]) + foot[3] * (corner[k, 1] - foot[1])
        promising = promising or (wall and up + foot[4] > extremes[0, 0])
    if not promising or _is_thin(polygon, work.corners[place], corner, unit):
        return
    for i in range(work.corners[place]):
        u, v = polygon[i, 0], polygon[i, 1]
        note(extremes[1], value(height, u, v), corner, u, v, 1.0 * facet)
        if wall:
            e = corner[0, 0] + u * (corner[1, 0] - corner[0, 0]) + v * (corner[2, 0] - corner[0, 0])
            n = corner[0, 1] + u * (corner[1, 1] - corner[0, 1]) + v * (corner[2, 1] - corner[0, 1])
            up = foot[2] * (e - foot[0]) + foot[3] * (n - foot[1])
            note(extremes[0], up + foot[4], corner, u, v, 1.0 * facet)


@inner_kernel
def _show(scene: Scene, work: Work, surface: FloatArray, facet: int, place: int, turned: bool) -> bool:
    """Append one fragment to the surface of the open trench as triangles; tell whether there was room."""
    polygon, count, corner = work.polygons[place], work.corners[place], work.corner
    height, filled = work.lines[work.met[facet, ROW], 0], work.state[SURFACE]
    if surface.shape[0] == 0:
        return True
    if filled + count - 2 > surface.shape[0]:
        return False
    for i in range(1, count - 1):
        for j in range(3):
            k = 0 if j == 0 else (i + 1 if (j == 1) == turned else i)
            u, v = polygon[k, 0], polygon[k, 1]
            for axis in range(3):
                along = u * (corner[1, axis] - corner[0, axis]) + v * (corner[2, axis] - corner[0, axis])
                place_of = corner[0, axis] + along
                place_of += scene.frame[CENTRE + axis] if axis < 2 else -value(height, u, v)
                surface[filled, 3 * j + axis] = place_of
        surface[filled, 9] = facet
        filled += 1
    work.state[SURFACE] = filled
    return True


@inner_kernel
def _cut_facet(scene: Scene, work: Work, out: Out, triangle: int, facet: int, signed: float) -> int:
    """Cut one facet out of one triangle and add it to the results; return DONE or what was too small."""
    unit = abs(signed)
    filled = fragments(scene, work, facet, unit)
    if filled < 0:
        return POLYGONS_FULL
    segments, surface = work.state[SEGMENTS], work.state[SURFACE]
    for place in range(filled):
        if not trace(scene, work, out, triangle, facet, place, signed < 0.0):
            work.state[SEGMENTS], work.state[SURFACE] = segments, surface
            return SEGMENTS_FULL
        if not _show(scene, work, out.surface, facet, place, signed < 0.0):
            work.state[SEGMENTS], work.state[SURFACE] = segments, surface
            return SURFACE_FULL
    for place in range(filled):
        out.touched[triangle] = True
        _add(scene, work, out, triangle, facet, place, unit)
        _extremes(work, scene.foot[facet], out.extremes, facet, place, unit)
    return DONE


@inner_kernel
def _cut_triangle(scene: Scene, work: Work, out: Out, triangle: int, active: int) -> int:
    """Cut the active facets, from the one to resume with, out of the triangle in work."""
    corner = work.corner
    signed = (corner[1, 0] - corner[0, 0]) * (corner[2, 1] - corner[0, 1])
    signed -= (corner[2, 0] - corner[0, 0]) * (corner[1, 1] - corner[0, 1])
    if signed != 0.0:
        for i in range(work.state[RESUME], active):
            work.state[BUDGET] -= 1 + active
            code = _cut_facet(scene, work, out, triangle, work.met[i, ACTIVE], signed)
            if code != DONE:
                work.state[RESUME] = i
                return code
    work.state[RESUME] = 0
    return DONE


@lean_kernel
def cut_range(scene: Scene, work: Work, out: Out, start: int, stop: int) -> int:
    """Cut triangles start..stop; return the first one not finished, with the reason in the state's CODE.

    The pass also ends early where its budget is used up.
    """
    work.state[CODE] = DONE
    for t in range(start, stop):
        active = prepared(scene, work, t, MISS)
        if active > 0:
            work.state[CODE] = _cut_triangle(scene, work, out, t, active)
            if work.state[CODE] != DONE or work.state[BUDGET] < 0:
                return t + 1 if work.state[CODE] == DONE else t
    return stop
