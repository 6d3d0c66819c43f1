"""What stays full in winter: stretches that hold water, the drains that let it out, and what no drain can."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimate.profile.drains import LETS_OUT, drain_records, moved_texts, placed_drains
from estimate.profile.line import LaidLine
from estimate.profile.path import PipePath, from_lower, pipe_path, upward
from estimate.profile.standing import Standing
from estimate.profile.stretches import Wet, cause_of, wet_stretches
from estimate.profile.undrained import undrained
from estimate.record import Drain, Finding, FullStretch
from estimate.route.line import LaidRoute, station_text
from estimate.site_records import SiteFile
from estimate.water.pipe import Pipe
from terrain.ground import Ground

RULE = (
    "winter: the pump is off and the line was full; air comes in at both ends and at every opened drain, basins "
    "stand at their winter levels, check valves open towards the upper end only, no water is drawn over a hump"
)
"""What is assumed about the line in winter."""


NOTHING = 1e-12
"""Volume [m3] that is rounding: a stretch of no length between a valve and the end of the line holds no more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Winter:
    """The stretches that hold water and the drains, by increasing station, with findings and assumptions.

    What the drains let out (`held_l`) and what is left in the stretches (`left_l`) add up to what they hold.
    """

    stretches: tuple[FullStretch, ...]
    drains: tuple[Drain, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]


def what_stays_full(file: SiteFile, ground: Ground, route: LaidRoute, line: LaidLine, pipe: Pipe) -> Winter:
    """Return what holds water in `line` in winter, with every drain shut and after all were opened.

    Raises:
        InputError: a drain or valve stands beyond the ends of the route.
    """
    path = pipe_path(file, ground, route, line)
    placed, water = placed_drains(file, ground, route, line, path, pipe.bore_m)
    drains = drain_records(ground, route, line, path, placed, water)
    every = wet_stretches(path, water.held, pipe.bore_m)
    wet = [one for one in every if water.held_m3[one.first : one.last + 1].sum() > NOTHING]
    stretches = [_record(ground, route, line, path, water, one) for one in wet]
    left = wet_stretches(path, water.left, pipe.bore_m)
    findings = undrained(ground, line, path, water, left, placed, drains)
    return Winter(
        stretches=tuple(stretches if upward(line) else stretches[::-1]),
        drains=drains,
        findings=findings,
        assumptions=(RULE, *moved_texts(ground, placed, drains, file.units)),
    )


def _record(
    ground: Ground, route: LaidRoute, line: LaidLine, path: PipePath, water: Standing, wet: Wet
) -> FullStretch:
    """Return the record of a stretch; its drains are those that let out at least `LETS_OUT` of its water."""
    start, stop = sorted((from_lower(line, route, wet.start), from_lower(line, route, wet.stop)))
    pieces = slice(wet.first, wet.last + 1)
    return FullStretch(
        from_m=start,
        to_m=stop,
        held_l=1000.0 * float(water.held_m3[pieces].sum()),
        left_l=1000.0 * float(water.left_m3[pieces].sum()),
        grade=wet.grade,
        cause=cause_of(path, water, wet, (station_text(ground, start), station_text(ground, stop))),
        drains=_drains_of(water, range(wet.first, wet.last + 1)),
    )


def _drains_of(water: Standing, pieces: Sequence[int]) -> tuple[int, ...]:
    """Return the numbers of the drains that let out water of `pieces`."""
    part = slice(pieces[0], pieces[-1] + 1)
    taken = water.drain[part]
    out = (water.held_m3 - water.left_m3)[part]
    share = np.bincount(taken[taken >= 0], out[taken >= 0], minlength=len(water.share_m3))
    return tuple(np.flatnonzero(share > LETS_OUT).tolist())
