"""The pass over the ground's triangles: find the facets near each, cut, add up volume, area and weights."""

from estimate.dig.clip import moments
from estimate.dig.edges import note, trace
from estimate.dig.facets import WALL
from estimate.dig.fragments import activate, fragments
from estimate.dig.scene import (
    BUDGET,
    CODE,
    DONE,
    POLYGONS_FULL,
    RESUME,
    SEGMENTS,
    SEGMENTS_FULL,
    SURFACE,
    SURFACE_FULL,
    TURN,
    Out,
    Scene,
    Work,
)
from terrain.compiled import kernel

THIN = 1e-10
"""Fragments narrower than this [m] do not count for the tallest face and the deepest cut."""


@kernel
def _consider(scene: Scene, work: Work, facet: int, active: int) -> int:
    """Add a facet to the active ones if it may cut the triangle and was not met before; return their number."""
    if work.stamp[facet] == work.state[TURN]:
        return active
    work.stamp[facet] = work.state[TURN]
    work.row[facet] = -1
    if activate(scene, work, facet, active):
        work.row[facet] = active
        work.active[active] = facet
        return active + 1
    return active


@kernel
def _gather(scene: Scene, work: Work, west: int, east: int, south: int, north: int) -> int:
    """Make the rows of all facets over a range of cells; return how many may cut the triangle."""
    work.state[TURN] += 1
    grid, active = scene.grid, 0
    if (east - west + 1) * (north - south + 1) > 4 * scene.boxes.shape[0]:
        for facet in range(scene.boxes.shape[0]):
            active = _consider(scene, work, facet, active)
        return active
    for row in range(south, north + 1):
        for cell in range(row * grid.shape[0] + west, row * grid.shape[0] + east + 1):
            for i in range(grid.first[cell], grid.first[cell + 1]):
                active = _consider(scene, work, grid.facets[i], active)
    return active


@kernel
def _add(scene: Scene, work: Work, out: Out, triangle: int, facet: int, place: int, unit: float) -> None:
    """Add volume, area and weights of one fragment."""
    height = work.heights[work.row[facet]]
    area, moment_u, moment_v = moments(work.polygons[place], work.counts[place])
    out.area[facet] += unit * area
    out.volume[facet] += unit * (
        height[0] * area + (height[1] - height[0]) * moment_u + (height[2] - height[0]) * moment_v
    )
    out.weights[scene.triangles[triangle, 0]] += unit * (area - moment_u - moment_v)
    out.weights[scene.triangles[triangle, 1]] += unit * moment_u
    out.weights[scene.triangles[triangle, 2]] += unit * moment_v


@kernel
def _extremes(scene: Scene, work: Work, out: Out, facet: int, place: int, unit: float) -> None:
    """Note the deepest corner of a fragment, and how high it stands above the foot where it lies on a wall."""
    polygon, count, corner, foot = work.polygons[place], work.counts[place], work.corner, scene.facets.foot
    height = work.heights[work.row[facet]]
    wide = 0.0
    for k in range(2):
        for i in range(1, 3):
            wide = max(wide, abs(corner[i, k] - corner[0, k]))
    extent = 0.0
    for i in range(1, count):
        extent = max(extent, abs(polygon[i, 0] - polygon[0, 0]), abs(polygon[i, 1] - polygon[0, 1]))
    if unit * moments(polygon, count)[0] <= THIN * extent * wide:
        return
    for i in range(count):
        u, v = polygon[i, 0], polygon[i, 1]
        depth = height[0] + u * (height[1] - height[0]) + v * (height[2] - height[0])
        note(scene, work, out, 1, depth, u, v, facet)
        if scene.facets.kind[facet] == WALL:
            e = corner[0, 0] + u * (corner[1, 0] - corner[0, 0]) + v * (corner[2, 0] - corner[0, 0])
            n = corner[0, 1] + u * (corner[1, 1] - corner[0, 1]) + v * (corner[2, 1] - corner[0, 1])
            up = foot[facet, 2] * (e - foot[facet, 0]) + foot[facet, 3] * (n - foot[facet, 1])
            note(scene, work, out, 0, up + foot[facet, 4], u, v, facet)


@kernel
def _show(scene: Scene, work: Work, out: Out, triangle: int, facet: int, place: int, turned: bool) -> bool:
    """Append one fragment to the surface of the open trench as triangles; tell whether there was room."""
    polygon, count, corner = work.polygons[place], work.counts[place], work.corner
    height, first = work.heights[work.row[facet]], work.state[SURFACE]
    if out.surface.shape[0] == 0:
        return True
    if first + count - 2 > out.surface.shape[0]:
        return False
    for i in range(1, count - 1):
        for j in range(3):
            k = 0 if j == 0 else (i + 1 if (j == 1) == turned else i)
            u, v = polygon[k, 0], polygon[k, 1]
            for axis in range(3):
                along = u * (corner[1, axis] - corner[0, axis]) + v * (corner[2, axis] - corner[0, axis])
                out.surface[first, j, axis] = corner[0, axis] + along
            out.surface[first, j, 0] += scene.centre[0]
            out.surface[first, j, 1] += scene.centre[1]
            out.surface[first, j, 2] -= height[0] + u * (height[1] - height[0]) + v * (height[2] - height[0])
        out.surface_facets[first] = facet
        first += 1
    work.state[SURFACE] = first
    return True


@kernel
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
        if not _show(scene, work, out, triangle, facet, place, signed < 0.0):
            work.state[SEGMENTS], work.state[SURFACE] = segments, surface
            return SURFACE_FULL
    for place in range(filled):
        out.touched[triangle] = True
        _add(scene, work, out, triangle, facet, place, unit)
        _extremes(scene, work, out, facet, place, unit)
    return DONE


@kernel
def _cut_triangle(scene: Scene, work: Work, out: Out, triangle: int, active: int) -> int:
    """Cut the active facets, from the one to resume with, out of the triangle in work."""
    corner = work.corner
    signed = (corner[1, 0] - corner[0, 0]) * (corner[2, 1] - corner[0, 1])
    signed -= (corner[2, 0] - corner[0, 0]) * (corner[1, 1] - corner[0, 1])
    if signed != 0.0:
        for i in range(work.state[RESUME], active):
            work.state[BUDGET] -= 1 + active
            code = _cut_facet(scene, work, out, triangle, work.active[i], signed)
            if code != DONE:
                work.state[RESUME] = i
                return code
    work.state[RESUME] = 0
    return DONE


@kernel
def cut_range(scene: Scene, work: Work, out: Out, start: int, stop: int) -> int:
    """Cut triangles start..stop; return the first one not finished, with the reason in the state's CODE.

    The pass also ends early where its budget is used up. A triangle away from all facets costs its bounding box.
    """
    vertices, triangles, grid, corner = scene.vertices, scene.triangles, scene.grid, work.corner
    e_base, n_base, inverse = scene.centre[0] + grid.box[0], scene.centre[1] + grid.box[1], 1.0 / grid.cell[0]
    columns, rows = grid.shape[0], grid.shape[1]
    work.state[CODE] = DONE
    for t in range(start, stop):
        i, j, k = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        e0, e1, e2 = vertices[i, 0], vertices[j, 0], vertices[k, 0]
        n0, n1, n2 = vertices[i, 1], vertices[j, 1], vertices[k, 1]
        west, east = (min(e0, e1, e2) - e_base) * inverse, (max(e0, e1, e2) - e_base) * inverse
        south, north = (min(n0, n1, n2) - n_base) * inverse, (max(n0, n1, n2) - n_base) * inverse
        if east < 0.0 or west >= columns or north < 0.0 or south >= rows:
            continue
        left, right = int(max(west, 0.0)), int(min(east, columns - 1.0))
        low, high = int(max(south, 0.0)), int(min(north, rows - 1.0))
        occupied = 0
        for row in range(low, high + 1):
            occupied += grid.first[row * columns + right + 1] - grid.first[row * columns + left]
        if occupied == 0:
            continue
        for m in range(3):
            v = triangles[t, m]
            corner[m, 0] = vertices[v, 0] - scene.centre[0]
            corner[m, 1] = vertices[v, 1] - scene.centre[1]
            corner[m, 2] = vertices[v, 2]
        active = _gather(scene, work, left, right, low, high)
        if active > 0:
            work.state[CODE] = _cut_triangle(scene, work, out, t, active)
            if work.state[CODE] != DONE:
                return t
            if work.state[BUDGET] < 0:
                return t + 1
    return stop
