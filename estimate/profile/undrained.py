"""Findings about water that no drain lets out: drains that cannot drain, sags without one, basins that run back."""

from collections.abc import Sequence

import numpy as np

from estimate.profile.drains import LETS_OUT, PlacedDrain
from estimate.profile.line import LaidLine
from estimate.profile.path import Basin, PipePath
from estimate.profile.standing import Standing
from estimate.profile.stretches import PUDDLE, WET, Wet, holders
from estimate.profile.structures import elevation_text
from estimate.record import Drain, Finding
from estimate.route.line import station_text
from terrain.ground import Ground


def undrained(
    ground: Ground,
    line: LaidLine,
    path: PipePath,
    water: Standing,
    left: Sequence[Wet],
    placed: Sequence[PlacedDrain],
    drains: Sequence[Drain],
) -> tuple[Finding, ...]:
    """Return the findings on drains that let nothing (or not all) out, on full stretches left, on running basins.

    `left` are the stretches that stay wet after every drain was opened.
    """
    found = []
    fed: dict[tuple[Basin, ...], list[Drain]] = {}
    told: set[int] = set()
    for number, (one, drain) in enumerate(zip(placed, drains, strict=True)):
        beside = [piece for piece in (one.node - 1, one.node) if 0 <= piece < len(water.left)]
        if path.stops_up[one.node]:
            beside = [one.node]
        wettest = max(beside, key=lambda piece: float(water.left[piece]))
        if water.left[wettest] > path.invert[one.node] + WET:
            fed.setdefault(holders(path, water, wettest, float(water.left[wettest])), []).append(drain)
            told |= {n for n, wet in enumerate(left) if any(wet.first <= piece <= wet.last for piece in beside)}
        elif water.share_m3[number] <= LETS_OUT:
            found.append(_dry_drain(ground, drain, drains))
    found += [_fed_drains(ground, basins, those) for basins, those in fed.items()]
    for number, wet in enumerate(left):
        if number not in told and wet.grade != PUDDLE:
            found.append(_left_full(ground, line, path, water, wet, drains))
    return (*found, *_running(ground, line, path))


def _fed_drains(ground: Ground, basins: Sequence[Basin], drains: Sequence[Drain]) -> Finding:
    """Return the finding on all drains at which the water of `basins` keeps coming."""
    names = " and ".join(one.name for one in basins)
    stations = sorted(one.station_m for one in drains)
    return Finding(
        code="drain that cannot drain",
        level="act",
        where=", ".join(f"{one.name} at station {station_text(ground, one.station_m)}" for one in drains),
        reason=f"the water of {names} keeps coming: its winter level, {elevation_text(ground, basins[0].feed)}, "
        "is above the pipe there and nothing in between shuts it off",
        remedy=f'empty {names} for the winter (winter_level = "empty"), put a valve that is kept shut between '
        "it and the drain, or lay the pipe above that level",
        from_m=stations[0],
        to_m=stations[-1],
    )


def _dry_drain(ground: Ground, drain: Drain, drains: Sequence[Drain]) -> Finding:
    """Return the finding on a drain that no water stands at, with the nearest place of `drains` where some does."""
    places = [one.station_m for one in drains if 0.001 * one.held_l > LETS_OUT and one.chosen_by != "you"]
    nearest = min(places, key=lambda place: abs(place - drain.station_m), default=drain.station_m)
    remedy = "leave it out"
    if abs(nearest - drain.station_m) > WET:
        remedy = f"move it to station {station_text(ground, nearest)}, where water stands, or leave it out"
    return Finding(
        code="drain that cannot drain",
        level="warning",
        where=f"{drain.name} at station {station_text(ground, drain.station_m)}",
        reason="it lets nothing out: no water stands at it when the line is at rest",
        remedy=remedy,
        from_m=drain.station_m,
        to_m=drain.station_m,
    )


def _left_full(
    ground: Ground, line: LaidLine, path: PipePath, water: Standing, wet: Wet, drains: Sequence[Drain]
) -> Finding:
    """Return the finding on a stretch that stays full bore after every drain was opened."""
    ends = [wet.start, wet.stop, wet.lowest]
    if line.structures[0].end != "lower":
        ends = [float(path.distance[-1]) - place for place in (wet.stop, wet.start, wet.lowest)]
    start, stop, lowest = (station_text(ground, place) for place in ends)
    level = float(water.left[wet.deepest])
    basins = holders(path, water, wet.deepest, level)
    if basins and basins[0].feed >= level - WET:
        names = " and ".join(one.name for one in basins)
        code = "below a winter level"
        reason = f"it lies below the winter level of {names}, {elevation_text(ground, basins[0].feed)}, "
        reason += "and stays full bore"
        through = bool(water.from_lower[wet.deepest] and water.from_upper[wet.deepest])
        valve = "" if through else "shut it off with a valve, "
        remedy = f"empty {names} for the winter, {valve}or lay that stretch below the frost"
    else:
        code = "sag without drain"
        reason = "water stands full bore there and no drain lets it out"
        stands = any(abs(one.station_m - ends[2]) <= WET for one in drains)
        remedy = "lay that stretch so that it falls to its drain" if stands else f"put a drain at station {lowest}"
    where = f"station {start} to {stop}"
    if start == stop:
        where = f"the vertical pipe at station {start}"
        remedy += ", or set the port so that the pipe rises or falls all the way"
    return Finding(code=code, level="act", where=where, reason=reason, remedy=remedy, from_m=ends[0], to_m=ends[1])


def _running(ground: Ground, line: LaidLine, path: PipePath) -> tuple[Finding, ...]:
    """Return a finding for each basin whose winter water runs through the whole pipe and out at the other end."""
    found = []
    ways = ((path.upper, path.lower, path.stops_down), (path.lower, path.upper, path.stops_up))
    for basin, other, stops in ways:
        if bool(stops.any()) or not basin.feed > max(float(path.invert.max()), other.spill) + WET:
            continue
        found.append(
            Finding(
                code="basin runs back",
                level="warning",
                where=f"the line from {basin.name} to {other.name}",
                reason=f"the winter level of {basin.name}, {elevation_text(ground, basin.feed)}, is above the "
                f"highest point of the pipe and the water at {other.name}: it runs out through the pipe at rest",
                remedy=f'where {basin.name} may run empty write its winter_level as "empty"; else put a valve in '
                "the line or end the pipe above its water",
                from_m=float(line.station[0]),
                to_m=float(np.max(line.station)),
            )
        )
    return tuple(found)
