"""Where drains go: at the low points of the ground, where the user wants one, and wherever water is still left."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from estimate.profile.line import LaidLine
from estimate.profile.path import ENDS, PipePath, from_lower, node_at, upward
from estimate.profile.standing import Standing, standing_water
from estimate.profile.stretches import PUDDLE, wet_stretches
from estimate.profile.structures import datum_height
from estimate.record import Drain
from estimate.route.line import LaidRoute, station_in_metres, station_text
from estimate.site_records import SiteFile
from terrain.ground import Ground
from terrain.units import show

SAME_BOX = 0.5
"""Distance [m] within which a drain the user wants and one at a low point are one drain at the low point."""
LETS_OUT = 1e-6
"""Least water [m3] that makes a drain worth having; a millilitre."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacedDrain:
    """A drain at a node of the path, `chosen_by` "low point" or "you"; `at_end` where the line ends there.

    `moved` [m] is how far it was moved from where the user wanted it, NaN where it was not.
    """

    node: int
    name: str
    chosen_by: str
    at_end: bool = False
    moved: float = float("nan")


def placed_drains(
    file: SiteFile, ground: Ground, route: LaidRoute, line: LaidLine, path: PipePath, bore: float
) -> tuple[tuple[PlacedDrain, ...], Standing]:
    """Return the drains by increasing station, and the water that stands with them in a pipe of `bore` [m].

    Low points of the ground all get one. Beyond that, each stretch left full bore that no basin feeds gets one at
    its lowest node: above a valve, or at an end, where the vertical pipe may hold water on either side of the port.

    Raises:
        InputError: a wanted drain stands beyond the ends of the route.
    """
    found = _at_lows(route, line, path)
    for number, wanted in enumerate(file.drain, 1):
        station = station_in_metres(ground, wanted.station, route.plan_length_m, f"drain {number}")
        found = _with_own(found, path, from_lower(line, route, station), wanted.name)
    kept = [one for one in found if not one.at_end or one.chosen_by == "you"]
    while (node := _wanting(path, [one.node for one in kept], bore)) >= 0:
        kept = _with_node(kept, path, node)
    kept.sort(key=lambda one: one.node, reverse=not upward(line))
    return tuple(kept), standing_water(path, [one.node for one in kept], bore)


def _wanting(path: PipePath, drains: Sequence[int], bore: float) -> int:
    """Return the lowest node of the first stretch left full bore that a drain there would empty; -1 for none."""
    before = standing_water(path, drains, bore)
    for wet in wet_stretches(path, before.left, bore):
        if wet.grade == PUDDLE or (before.from_lower | before.from_upper)[wet.deepest]:
            continue
        nodes = range(wet.first, wet.last + 2)
        if path.stops_up[wet.last + 1]:
            nodes = range(wet.first, wet.last + 1)
        node = min(nodes, key=lambda each: float(path.invert[each]))
        if node not in drains and standing_water(path, [node, *drains], bore).share_m3[0] > LETS_OUT:
            return node
    return -1


def _with_node(kept: Sequence[PlacedDrain], path: PipePath, node: int) -> list[PlacedDrain]:
    """Return `kept` with a drain at `node`, or the user's that stands free beside it moved there."""
    for number, one in enumerate(kept):
        away = float(abs(path.distance[one.node] - path.distance[node]))
        stopped = path.stops_down[min(one.node, node) + 1 : max(one.node, node) + 1].any()
        if one.chosen_by == "you" and np.isnan(one.moved) and away <= SAME_BOX and not stopped:
            return [*kept[:number], replace(one, node=node, moved=away), *kept[number + 1 :]]
    return [*kept, PlacedDrain(node=node, name="", chosen_by="low point")]


def _at_lows(route: LaidRoute, line: LaidLine, path: PipePath) -> list[PlacedDrain]:
    """Return a drain for every inner low of the pattern and for both ends."""
    found = []
    for one in line.pattern:
        if not (one.low or one.end):
            continue
        node = _node_for(path, from_lower(line, route, one.station))
        found.append(PlacedDrain(node=node, name="", chosen_by="low point", at_end=one.end))
    return found


def _node_for(path: PipePath, place: float) -> int:
    """Return the node for a drain at `place` [m] from the lower structure.

    At an end of the line it is the lowest of line, port and pipe end, of equal ones that nearest to the line.
    """
    node, last = node_at(path.distance, place), len(path.invert) - 1
    groups = {ENDS: range(ENDS, -1, -1), last - ENDS: range(last - ENDS, last + 1)}
    return min(groups.get(node, range(node, node + 1)), key=lambda each: float(path.invert[each]))


def _with_own(found: Sequence[PlacedDrain], path: PipePath, place: float, name: str) -> list[PlacedDrain]:
    """Return `found` with the user's drain `place` [m] from the lower structure, or one near it made the user's."""
    near = [n for n, one in enumerate(found) if abs(path.distance[one.node] - place) <= SAME_BOX]
    if not near:
        return [*found, PlacedDrain(node=_node_for(path, place), name=name, chosen_by="you")]
    at = min(near, key=lambda n: abs(path.distance[found[n].node] - place))
    moved = float(abs(path.distance[found[at].node] - place))
    own = replace(found[at], name=name or found[at].name, chosen_by="you", moved=moved)
    return [own if n == at else one for n, one in enumerate(found)]


def moved_texts(
    ground: Ground, placed: Sequence[PlacedDrain], records: Sequence[Drain], units: str
) -> tuple[str, ...]:
    """Return a sentence for each drain of the user's that was put at the low point beside it, in `units`."""
    return tuple(
        f"{record.name}: the drain you want is taken to stand at the low point beside it, at station "
        f"{station_text(ground, record.station_m)}, {show(one.moved, 'length', units)} away"
        for one, record in zip(placed, records, strict=True)
        if one.moved > LETS_OUT
    )


def drain_records(
    ground: Ground, route: LaidRoute, line: LaidLine, path: PipePath, placed: Sequence[PlacedDrain], water: Standing
) -> tuple[Drain, ...]:
    """Return the records of `placed` drains, in the same order, with the `water` that each lets out."""
    datum = datum_height(ground)
    result = []
    for number, (one, share) in enumerate(zip(placed, water.share_m3.tolist(), strict=True), 1):
        station = from_lower(line, route, float(path.distance[one.node]))
        east, north, height = (
            float(np.interp(station, route.station, values))
            for values in (route.easting, route.northing, route.ground)
        )
        invert = float(path.invert[one.node])
        result.append(
            Drain(
                station_m=station,
                easting_m=east,
                northing_m=north,
                invert_m=invert + datum,
                depth_m=height - invert,
                held_l=1000.0 * share,
                name=one.name or f"drain {number}",
                chosen_by=one.chosen_by,
            )
        )
    return tuple(result)
