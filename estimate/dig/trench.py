"""The trench and pits of one line on its ground: what to cut, the cut, and its layers and station intervals."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from estimate.dig.cut import Cut
from estimate.dig.excavate import excavate, layer_volumes
from estimate.dig.facets import ON_PIT, Facets
from estimate.dig.lines import Line, Pit
from estimate.dig.outline import Leaving, leaving
from estimate.dig.section import Section, Wall
from estimate.profile.line import LaidLine
from estimate.profile.structures import datum_height, local_elevation, refuse_far
from estimate.record import Interval
from estimate.record import Pit as PitRecord
from estimate.record import Wall as WallRecord
from estimate.site_records import PitPart, SiteFile, WallPart
from terrain.arrays import Floats
from terrain.errors import GeometryError
from terrain.ground import Ground, elevation
from terrain.watch import SILENT, Watch


@dataclass(frozen=True, slots=True, eq=False)
class Trench:
    """The cut of a line with its pits, gaps of the survey, topsoil [m3], lengths [m] outside pits.

    `plan_outside_m` and `pipe_outside_m` are the plan length of the trench and the length of pipe in it that no
    pit's floor covers; `pit_floor_m3` is the volume that stands above the pits' floors, where structures stand.
    """

    line: Line
    pits: Mapping[str, Pit]
    facets: Facets
    cut: Cut
    gaps: tuple[Leaving, ...]
    topsoil_m3: float
    plan_outside_m: float
    pipe_outside_m: float
    pit_floor_m3: float

    @property
    def pits_m3(self) -> float:
        """Bank volume of all pits [m3], without what the trench takes deeper."""
        return math.fsum(self.cut.pit_volume(index) for index in range(len(self.pits)))


def section_of(file: SiteFile) -> Section:
    """Return the trench section [m] of the site, its walls seen along increasing station.

    Raises:
        GeometryError: the width is not positive, or a wall's slope or rise is negative.
    """
    return Section(file.trench.width, _wall(file.trench.left_wall), _wall(file.trench.right_wall))


def _wall(part: WallPart) -> Wall:
    return Wall(part.slope, part.rise)


def pits_of(file: SiteFile, ground: Ground, line: LaidLine) -> dict[str, Pit]:
    """Return the pits by their end ("lower", "upper"), in local metres, the first station's structure first.

    A pit is centred on its end of the line; its length lies along the line there, or at the heading given
    (degrees clockwise from north).

    Raises:
        GeometryError: a pit without length or width.
        InputError: a floor farther from the ground than any pit is deep.
    """
    ends = ("lower", "upper") if file.route.starts_at == "lower" else ("upper", "lower")
    parts = {"lower": file.lower.pit, "upper": file.upper.pit}
    found = {}
    for end, (node, beside) in zip(ends, ((0, 1), (-1, -2)), strict=True):
        part = parts[end]
        if part is not None:
            centre = np.array([line.easting[node], line.northing[node]])
            towards = np.array([line.easting[beside], line.northing[beside]]) - centre
            floor = local_elevation(ground, part.floor)
            refuse_far(f"{end}.pit", {"floor": floor}, ground, float(line.ground[node]))
            found[end] = Pit(_corners(part, centre, towards), floor, _wall(part.wall))
    return found


def _corners(part: PitPart, centre: Floats, towards: Floats) -> Floats:
    """Return the corners (4, 2) metres of a pit's floor, counter-clockwise."""
    if not (part.length > 0.0 and part.width > 0.0):
        raise GeometryError(
            "pit", f"{part.length:g} by {part.width:g} m", "a length and a width", "correct the pit"
        )
    if part.heading is None:
        along = towards / np.hypot(*towards)
    else:
        along = np.array([math.sin(math.radians(part.heading)), math.cos(math.radians(part.heading))])
    half, across = 0.5 * part.length * along, 0.5 * part.width * np.array([-along[1], along[0]])
    return np.array(
        [centre - half - across, centre + half - across, centre + half + across, centre - half + across]
    )


def open_trench(
    file: SiteFile, ground: Ground, line: LaidLine, watch: Watch = SILENT, *, surface: bool = False
) -> Trench:
    """Return the exact cut of the line's trench and its pits, each place counted once.

    With `surface` the cut also holds the triangles of the open trench, which only a picture needs.

    Topsoil is what lies less than its thickness below the ground, measured upright: the cut of the ground less the
    cut of the ground lowered by that thickness.

    Raises:
        GeometryError: a section or pit without meaning.
        Cancelled: by `watch`.
    """
    floor = Line(np.column_stack([line.easting, line.northing, line.floor]), section_of(file))
    pits = pits_of(file, ground, line)
    land = (ground.vertices, ground.triangles)
    whole, facets = excavate(*land, [floor], list(pits.values()), watch, ground.neighbours, surface=surface)
    topsoil = layer_volumes(*land, facets, whole, [file.soil.topsoil], watch)[0] if file.soil.topsoil > 0.0 else 0.0
    plan, pipe = _outside(line, list(pits.values()))
    floors = (facets.owner[:, 0] == ON_PIT) & (facets.owner[:, 2] == -1)
    return Trench(
        line=floor,
        pits=pits,
        facets=facets,
        cut=whole,
        gaps=tuple(leaving(whole, facets, [floor])),
        topsoil_m3=float(topsoil),
        plan_outside_m=plan,
        pipe_outside_m=pipe,
        pit_floor_m3=float(whole.facet_volume[floors].sum()),
    )


def _outside(line: LaidLine, pits: Sequence[Pit]) -> tuple[float, float]:
    """Return plan length and pipe length [m] of the line outside the floors of the pits."""
    steps, drops = np.diff(line.station), np.diff(line.invert)
    inside = np.zeros(len(steps))
    if pits:
        covered = shapely.union_all([shapely.Polygon(pit.corners) for pit in pits])
        plan = np.column_stack([line.easting, line.northing])
        pieces = shapely.linestrings(np.stack([plan[:-1], plan[1:]], axis=1))
        inside = np.asarray(shapely.length(shapely.intersection(pieces, covered)), dtype=np.float64)
    share = np.clip(1.0 - inside / steps, 0.0, 1.0)
    return float((steps * share).sum()), float((np.hypot(steps, drops) * share).sum())


def pit_records(file: SiteFile, ground: Ground, trench: Trench) -> tuple[PitRecord, ...]:
    """Return each pit: its floor, the depth at its deepest corner, what is dug where it is the deeper."""
    names = {"lower": file.lower.name, "upper": file.upper.name}
    return tuple(
        PitRecord(
            name=names[end],
            corners_m=pit.corners,
            floor_m=pit.elevation + datum_height(ground),
            deepest_m=float(elevation(ground, pit.corners).max() - pit.elevation),
            bank_m3=trench.cut.pit_volume(index),
            wall=wall_record(pit.wall),
            end=end,
        )
        for index, (end, pit) in enumerate(trench.pits.items())
    )


def wall_record(wall: Wall) -> WallRecord:
    """Return a wall as the estimate tells it: slope [m/m] above a vertical rise [m]."""
    return WallRecord(slope=wall.slope, rise_m=wall.rise)


def intervals_of(trench: Trench, line: LaidLine, interval: float) -> tuple[Interval, ...]:
    """Return the trench by stretches of `interval` [m] of station, without the pits; they sum to the trench.

    The line has a node at every multiple of the interval, so that each run lies in one stretch.
    """
    length = float(line.station[-1])
    edges = np.append(np.arange(0.0, max(length - 1e-6 * interval, 1e-12), interval), length)
    volumes = trench.cut.run_volumes(0, trench.line.runs)
    middles = 0.5 * (trench.line.stations[:-1] + trench.line.stations[1:])
    place = np.clip(np.searchsorted(edges, middles, side="right") - 1, 0, len(edges) - 2)
    sums = np.bincount(place, volumes, len(edges) - 1)
    depth = line.ground - line.floor
    found = []
    for index, (start, stop) in enumerate(pairwise(edges.tolist())):
        near = (line.station >= start - 1e-9) & (line.station <= stop + 1e-9)
        found.append(
            Interval(
                from_m=start,
                to_m=stop,
                bank_m3=float(sums[index]),
                deepest_m=float(depth[near].max()),
            )
        )
    return tuple(found)


def end_areas(trench: Trench, line: LaidLine, stations: Floats) -> Floats:
    """Return the section area (n,) [m2] at `stations` (n,) [m], the ground level across, for the hand check."""
    depth = np.interp(stations, line.station, line.ground - line.floor)
    return np.array([trench.line.section.area(height) for height in depth])
