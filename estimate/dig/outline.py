"""The outline of the disturbed ground as rings, and the places where the trench leaves the survey."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.spatial import KDTree

from estimate.dig.cut import Cut
from estimate.dig.facets import ON_LINE, Facets
from estimate.dig.lines import FloatArray, IntArray, Line
from estimate.dig.scene import LEAVES

CLOSE = 1e-6
"""Ends of outline edges nearer than this [m] are one point."""


@dataclass(frozen=True, slots=True)
class Leaving:
    """A stretch at which the trench leaves the survey.

    `line` and `pit` are indices (-1: not this); stations [m] along the line in plan, NaN for a pit; `length_m` of
    the survey's edge inside the trench; `missing_m2` an estimate of the disturbed area beyond, on ground that goes
    on level from the edge of the survey, by the facet that meets it alone; easting and northing [m] of the middle.
    """

    line: int
    pit: int
    from_station_m: float
    to_station_m: float
    length_m: float
    missing_m2: float
    easting: float
    northing: float


def _points(ends: FloatArray) -> tuple[IntArray, IntArray]:
    """Return the numbers of the points at which edges (s, 2, 2) metres start and stop; close ends are one point."""
    both = np.concatenate([ends[:, 0], ends[:, 1]])
    number = np.arange(len(both))
    for one, two in KDTree(both).query_pairs(CLOSE):
        root_one, root_two = _root(number, one), _root(number, two)
        number[max(root_one, root_two)] = min(root_one, root_two)
    roots = np.array([_root(number, i) for i in range(len(number))])
    return roots[: len(ends)], roots[len(ends) :]


def _root(number: IntArray, i: int) -> int:
    while number[i] != i:
        number[i] = number[number[i]]
        i = int(number[i])
    return i


def rings(dug: Cut) -> list[FloatArray]:
    """Return the outline of the disturbed ground as closed rings (k, 2) metres, the first point not repeated.

    Outer rings run counter-clockwise, rings about ground left standing clockwise, so their signed areas sum to the
    disturbed area. The cut must have been made with its outline; where the survey ends inside the trench and its
    neighbours were not given, a ring is closed straight. No cut: no ring.

    >>> from estimate.dig.excavate import excavate
    >>> from estimate.dig.section import Section
    >>> ground = np.array([[-9, -9, 1], [29, -9, 1], [29, 9, 1], [-9, 9, 1]], float)
    >>> line = Line(np.array([[0, 0, 0], [20, 0, 0]], float), Section(0.6))
    >>> dug, _ = excavate(ground, np.array([[0, 1, 2], [0, 2, 3]], np.int32), [line])
    >>> [(round(ring_area(ring), 9), bool(len(ring) >= 4)) for ring in rings(dug)]
    [(12.0, True)]
    """
    ends = dug.outline[:, :, :2]
    if len(ends) == 0:
        return []
    start, stop = _points(ends)
    lasting = np.flatnonzero(start != stop)
    waiting: dict[int, list[int]] = {}
    for edge in lasting[::-1].tolist():
        waiting.setdefault(int(start[edge]), []).append(edge)
    found = []
    for first in lasting.tolist():
        if first not in waiting.get(int(start[first]), ()):
            continue
        waiting[int(start[first])].remove(first)
        chain, at = [first], int(stop[first])
        while at != start[first] and waiting.get(at):
            chain.append(waiting[at].pop())
            at = int(stop[chain[-1]])
        found.append(
            ends[chain, 0] if at == start[first] else np.append(ends[chain, 0], ends[chain[-1:], 1], axis=0)
        )
    return found


def ring_area(ring: FloatArray) -> float:
    """Return the signed area [m2] of a ring (k, 2) metres, positive when counter-clockwise.

    Source: the area by coordinates.

    >>> ring_area(np.array([[0, 0], [2, 0], [2, 1], [0, 1]], float))
    2.0
    """
    east, north = (ring - ring[0]).T
    return float(0.5 * (east * np.roll(north, -1) - np.roll(east, -1) * north).sum())


def _missing(dug: Cut, facets: Facets, edge: int) -> float:
    """Return the disturbed area [m2] beyond one edge of the survey, on ground that goes on level outward."""
    facet = int(dug.outline_kind[edge, 0])
    ends, plane = dug.outline[edge], facets.plane[facet]
    along = ends[1, :2] - ends[0, :2]
    length = float(np.hypot(*along))
    outward = np.array([along[1], -along[0]]) / length
    middle = ends.mean(axis=0)
    ring, normals = facets.corners[facet, : facets.counts[facet]], facets.normals[facet, : facets.counts[facet]]
    inside = ((middle[:2] - ring) * normals).sum(axis=1)
    shrinks = -(normals @ outward)
    reach = min((i / s for i, s in zip(inside, shrinks, strict=True) if s > 1e-12), default=0.0)
    depth = middle[2] - (plane[2] + plane[3:] @ (middle[:2] - plane[:2]))
    climbs = float(plane[3:] @ outward)
    return float(length * max(0.0, min(reach, depth / climbs) if climbs > 0.0 else reach))


def _leaving(dug: Cut, facets: Facets, lines: Sequence[Line], edges: IntArray) -> Leaving:
    """Put outline edges (k,) of one line or pit together."""
    owners = facets.owner[dug.outline_kind[edges, 0]]
    kind, index, _ = owners[0].tolist()
    ends, runs = dug.outline[edges, :, :2], owners[:, 2]
    lengths = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    middle = (ends.mean(axis=1) * lengths[:, None]).sum(axis=0) / lengths.sum()
    stations = lines[index].stations if kind == ON_LINE else np.full(int(runs.max()) + 2, np.nan)
    return Leaving(
        index if kind == ON_LINE else -1,
        -1 if kind == ON_LINE else index,
        float(stations[int(runs.min())]),
        float(stations[int(runs.max()) + 1]),
        float(lengths.sum()),
        sum(_missing(dug, facets, int(edge)) for edge in edges),
        float(middle[0]),
        float(middle[1]),
    )


def leaving(dug: Cut, facets: Facets, lines: Sequence[Line]) -> list[Leaving]:
    """Return where the trench leaves the survey, one entry for each line and pit that does, by stretches of runs.

    Neighbouring runs of a line are joined to one stretch. The cut must have been made with its outline and with
    the ground's neighbours; floors and walls beyond the survey are not in its volume, which is then "at least".

    >>> from estimate.dig.excavate import excavate
    >>> from estimate.dig.section import Section, Wall
    >>> ground = np.array([[-9, -1, 1], [29, -1, 1], [29, 9, 1], [-9, 9, 1]], float)
    >>> line = Line(np.array([[0, 0, 0], [20, 0, 0]], float), Section(0.6, Wall(1.0), Wall(1.0)))
    >>> triangles = np.array([[0, 1, 2], [0, 2, 3]], np.int32)
    >>> beside = np.array([[-1, 1, -1], [-1, -1, 0]], np.int32)
    >>> dug, facets = excavate(ground, triangles, [line], neighbours=beside)
    >>> [(gap.line, gap.to_station_m, round(gap.length_m, 9), round(gap.missing_m2, 9))
    ...  for gap in leaving(dug, facets, [line])]
    [(0, 20.0, 20.0, 6.0)]
    """
    edges = np.flatnonzero(dug.outline_kind[:, 1] == LEAVES)
    owners = facets.owner[dug.outline_kind[edges, 0]]
    order = np.lexsort((owners[:, 2], owners[:, 1], owners[:, 0]))
    found: list[Leaving] = []
    for group in _stretches(owners[order]):
        own = edges[order[group]]
        found.append(_leaving(dug, facets, lines, own))
    return found


def _stretches(owners: IntArray) -> list[IntArray]:
    """Return groups of rows (k, 3) with one owner and neighbouring runs; all of a pit is one group."""
    if len(owners) == 0:
        return []
    changed = (np.diff(owners[:, :2], axis=0) != 0).any(axis=1)
    changed |= (owners[1:, 0] == ON_LINE) & (np.diff(owners[:, 2]) > 1)
    return np.split(np.arange(len(owners)), np.flatnonzero(changed) + 1)
