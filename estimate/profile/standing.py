"""How high the water stands in every piece of the pipe: with all drains shut, and after all were opened.

The pipe starts full. From each piece the water leaves by the way whose highest point is lowest: over the humps to
an end, to a drain, through a check valve upward; what lies below that point stays. Between two nodes the level is
one number (or the pipe's own bottom where that is higher), so the whole is exact. Air is taken to come in at the
ends and at every opened drain; siphons are left out, they would leave less water.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from estimate.profile.circle import water_in_pieces
from estimate.profile.path import PipePath
from terrain.arrays import Flags, Floats, Longs


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Water in the pieces between the nodes of a path, arrays (n - 1,).

    `down` and `up` [m] are the levels at which it leaves towards the lower and the upper end, infinite where a
    valve stops it; `held` [m] and `held_m3` with drains shut, `left` [m] and `left_m3` after all were opened; `fed`
    [m] the level up to which a basin keeps coming in, minus infinity elsewhere; `from_lower` and `from_upper` tell
    whether it is the lower or the upper one, or both; `drain` the number of the drain that lets the piece's water
    out, -1 for none. `share_m3` (drains,) is what each lets out.
    """

    down: Floats
    up: Floats
    held: Floats
    left: Floats
    fed: Floats
    from_lower: Flags
    from_upper: Flags
    held_m3: Floats
    left_m3: Floats
    drain: Longs
    share_m3: Floats


def standing_water(path: PipePath, drains: Sequence[int], bore: float) -> Standing:
    """Return the water standing in `path` with drain valves at the nodes `drains`, in a pipe of `bore` [m].

    The water of a piece counts for the drain it can fall to lowest, of several the nearest along the pipe. The
    shares of the drains and what is left add up to what is held.
    """
    downward = np.where(path.stops_down, np.inf, path.invert)
    upward = np.where(path.stops_up, np.inf, path.invert)
    down = np.maximum(path.lower.spill, np.maximum.accumulate(downward)[:-1])
    up = np.maximum(path.upper.spill, np.maximum.accumulate(upward[::-1])[::-1][1:])
    held = np.minimum(down, up)
    best, nearest = _lowest_drain(path, drains, downward, upward)
    from_lower = np.maximum.accumulate(upward)[:-1] < path.lower.feed
    from_upper = np.maximum.accumulate(downward[::-1])[::-1][1:] < path.upper.feed
    fed = np.maximum(np.where(from_lower, path.lower.feed, -np.inf), np.where(from_upper, path.upper.feed, -np.inf))
    left = np.minimum(held, np.maximum(best, fed))
    held_m3 = water_in_pieces(path.distance, path.invert, held, bore)
    left_m3 = np.minimum(held_m3, water_in_pieces(path.distance, path.invert, left, bore))
    let_out = left < held
    nearest = np.where(let_out, nearest, -1)
    share = np.bincount(nearest[let_out], (held_m3 - left_m3)[let_out], minlength=len(drains))
    return Standing(
        down=down,
        up=up,
        held=held,
        left=left,
        fed=fed,
        from_lower=from_lower,
        from_upper=from_upper,
        held_m3=held_m3,
        left_m3=left_m3,
        drain=nearest,
        share_m3=share.astype(np.float64),
    )


def _lowest_drain(path: PipePath, drains: Sequence[int], downward: Floats, upward: Floats) -> tuple[Floats, Longs]:
    """Return for each piece (n - 1,) the level [m] to which drains can let it fall, and the nearest drain."""
    pieces = len(path.invert) - 1
    best, away = np.full(pieces, np.inf), np.full(pieces, np.inf)
    nearest = np.full(pieces, -1, dtype=np.int64)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(path.distance), np.diff(path.invert)))])
    middle = 0.5 * (along[:-1] + along[1:])
    for number, node in enumerate(drains):
        level = np.full(pieces, np.inf)
        above = np.concatenate([path.invert[node : node + 1], downward[node + 1 : -1]])
        level[node:] = np.maximum.accumulate(above)[: pieces - node]
        below = np.maximum.accumulate(np.concatenate([upward[node : node + 1], upward[1:node][::-1]]))
        level[:node] = below[:node][::-1]
        apart = np.abs(middle - along[node])
        better = (level < best) | ((level == best) & (apart < away))
        best[better], away[better], nearest[better] = level[better], apart[better], number
    return best, nearest
