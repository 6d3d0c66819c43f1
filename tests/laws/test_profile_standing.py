"""Water left in random lines with random valves, basins and drains, against a second way: a flood by priority.

The second way cuts the pipe into short pieces and lets water find its way out piece by piece from the exits, always
widening the lowest rim first; it shares no formula with the code, and adds volumes by the circle's chord.
"""

import heapq
import math
from dataclasses import dataclass

import numpy as np
import pytest

from estimate.profile.path import Basin, PipePath
from estimate.profile.standing import standing_water
from estimate.profile.stretches import wet_stretches
from terrain.arrays import Floats

BORE = 0.06
CUTS = 40


@dataclass(frozen=True)
class Case:
    path: PipePath
    drains: tuple[int, ...]


def random_basin(rng: np.random.Generator, name: str, end: float, lower: bool) -> Basin:
    winter = float(rng.choice([math.nan, end + rng.uniform(-0.5, 1.0), end + rng.uniform(-0.5, 1.0)]))
    check = bool(rng.random() < 0.35)
    covered = winter > end
    spill = winter if covered else end
    return Basin(
        name=name,
        winter=winter,
        spill=math.inf if check and lower else spill,
        feed=winter if covered and (lower or not check) else -math.inf,
        check_valve=check,
    )


def random_case(seed: int) -> Case:
    """Return a line of some ten pieces with risers at both ends, up to two valves and up to three drains."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(4, 14))
    run = np.concatenate([[0.0], np.cumsum(rng.uniform(0.5, 4.0, count - 1))])
    invert = np.cumsum(rng.normal(0.05, 0.25, count))
    invert[rng.integers(1, count)] = invert[0]
    first, last = invert[0] + rng.uniform(-0.5, 0.5, 2), invert[-1] + rng.uniform(-0.5, 0.5, 2)
    distance = np.concatenate([[0.0, 0.0], run, [run[-1]] * 2])
    heights = np.concatenate([first, invert, last])
    stops = np.zeros((2, len(distance)), dtype=np.bool_)
    for _ in range(int(rng.integers(0, 3))):
        node = int(rng.integers(2, len(distance) - 2))
        stops[0, node] = True
        stops[1, node] |= bool(rng.random() < 0.5)
    free = [node for node in range(1, len(distance) - 1) if not stops[0, node]]
    drains = tuple(sorted(rng.choice(free, int(rng.integers(0, 4)), replace=False).tolist()))
    path = PipePath(
        distance=distance,
        invert=heights,
        stops_down=stops[0],
        stops_up=stops[1],
        valve=tuple("valve" if stop else "" for stop in stops[0]),
        lower=random_basin(rng, "pond", float(heights[0]), True),
        upper=random_basin(rng, "fall", float(heights[-1]), False),
    )
    return Case(path, drains)


def cut_up(path: PipePath) -> tuple[Floats, Floats, list[int]]:
    """Return heights of short pieces, the length of each, and the piece that begins at each node."""
    heights: list[float] = []
    lengths: list[float] = []
    begins: list[int] = []
    for node in range(len(path.invert) - 1):
        begins.append(len(heights))
        low, high = path.invert[node], path.invert[node + 1]
        length = math.hypot(path.distance[node + 1] - path.distance[node], high - low)
        for part in range(CUTS):
            heights.append(low + (part + 0.5) / CUTS * (high - low))
            lengths.append(length / CUTS)
    return np.array(heights), np.array(lengths), [*begins, len(heights)]


def rims(path: PipePath) -> Floats:
    """Return the height of the pipe's bottom where each short piece begins, and at the end of the last."""
    count = len(path.invert) - 1
    return np.interp(np.arange(count * CUTS + 1) / CUTS, np.arange(count + 1), path.invert).astype(np.float64)


def flood(case: Case, drains: tuple[int, ...]) -> Floats:
    """Return the level that stays in each short piece, or infinity: lowest rim first, from all exits inward."""
    path = case.path
    heights, _, begins = cut_up(path)
    rim_at, count = rims(path), len(heights)
    down = {begins[node] for node in range(1, len(path.invert) - 1) if path.stops_down[node]}
    up = {begins[node] for node in range(1, len(path.invert) - 1) if path.stops_up[node]}
    level = np.full(count, np.inf)
    heap = [(max(path.lower.spill, path.invert[0]), 0), (max(path.upper.spill, path.invert[-1]), count - 1)]
    for node in drains:
        heap += [(path.invert[node], begins[node] - 1), (path.invert[node], begins[node])]
    heapq.heapify(heap)
    while heap:
        rim, piece = heapq.heappop(heap)
        if not math.isfinite(rim) or level[piece] <= max(rim, heights[piece]):
            continue
        level[piece] = max(rim, heights[piece])
        if piece + 1 < count and piece + 1 not in down:  # water of the next piece may come down to here
            heapq.heappush(heap, (max(level[piece], rim_at[piece + 1]), piece + 1))
        if piece > 0 and piece not in up:  # water of the piece below may rise to here
            heapq.heappush(heap, (max(level[piece], rim_at[piece]), piece - 1))
    return level


def reached(case: Case) -> Floats:
    """Return the level up to which a basin's water comes into each short piece, by walking in from both ends."""
    path = case.path
    heights, _, begins = cut_up(path)
    rim_at = rims(path)
    result = np.full(len(heights), -np.inf)
    up = {begins[node] for node in range(1, len(path.invert) - 1) if path.stops_up[node]}
    down = {begins[node] for node in range(1, len(path.invert) - 1) if path.stops_down[node]}
    for piece in range(len(heights)):
        if piece in up or rim_at[piece] >= path.lower.feed:
            break
        result[piece] = path.lower.feed
    for piece in range(len(heights) - 1, -1, -1):
        if rim_at[piece + 1] >= path.upper.feed:
            break
        result[piece] = max(result[piece], path.upper.feed)
        if piece in down:
            break
    return result


def volumes(case: Case, level: Floats) -> tuple[Floats, float]:
    """Return the water in each short piece, and how much of the pipe is at most misjudged by cutting it up."""
    path = case.path
    heights, lengths, begins = cut_up(path)
    cosine = np.empty(len(heights))
    for node in range(len(path.invert) - 1):
        run, rise = np.diff(path.distance)[node], np.diff(path.invert)[node]
        cosine[begins[node] : begins[node + 1]] = run / max(math.hypot(run, rise), 1e-300)
    depth = np.clip(np.where(cosine > 0.0, (level - heights) / np.maximum(cosine, 1e-300), np.inf), 0.0, BORE)
    depth = np.where(level > heights, depth, 0.0)
    angle = 2.0 * np.arccos(1.0 - 2.0 * depth / BORE)
    return BORE**2 / 8.0 * (angle - np.sin(angle)) * lengths, float(lengths.max()) * BORE**2


@pytest.mark.parametrize("seed", range(160))
def test_levels_and_volumes_equal_the_flood(seed: int) -> None:
    case = random_case(seed)
    water = standing_water(case.path, case.drains, BORE)
    held = flood(case, ())
    left = np.minimum(held, np.maximum(flood(case, case.drains), reached(case)))
    for found, level in ((water.held_m3, held), (water.left_m3, left)):
        wanted, cut = volumes(case, level)
        np.testing.assert_allclose(found, wanted.reshape(-1, CUTS).sum(axis=1), atol=0.6 * cut, rtol=0.0)
        assert found.sum() == pytest.approx(wanted.sum(), abs=3.0 * cut)


@pytest.mark.parametrize("seed", range(160))
def test_what_the_drains_let_out_and_what_is_left_is_what_was_held(seed: int) -> None:
    case = random_case(seed)
    water = standing_water(case.path, case.drains, BORE)
    assert (water.left_m3 <= water.held_m3 + 1e-15).all()
    assert (water.share_m3 >= 0.0).all()
    assert water.share_m3.sum() + water.left_m3.sum() == pytest.approx(water.held_m3.sum(), rel=1e-12, abs=1e-15)
    stretches = wet_stretches(case.path, water.held, BORE)
    inside = sum(water.held_m3[one.first : one.last + 1].sum() for one in stretches)
    assert inside == pytest.approx(water.held_m3.sum(), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("seed", range(100))
def test_turning_the_line_round_changes_nothing_where_no_check_valve_has_a_direction(seed: int) -> None:
    case = random_case(seed)
    path = case.path
    both = path.stops_up | path.stops_down
    open_lower = Basin(
        name="a", winter=1.0, spill=max(1.0, float(path.invert[0])), feed=-math.inf, check_valve=False
    )
    open_upper = Basin(
        name="b", winter=0.5, spill=max(0.5, float(path.invert[-1])), feed=-math.inf, check_valve=False
    )
    forth = PipePath(
        distance=path.distance,
        invert=path.invert,
        stops_down=both,
        stops_up=both,
        valve=path.valve,
        lower=open_lower,
        upper=open_upper,
    )
    back = PipePath(
        distance=(path.distance[-1] - path.distance)[::-1],
        invert=path.invert[::-1],
        stops_down=both[::-1],
        stops_up=both[::-1],
        valve=path.valve[::-1],
        lower=open_upper,
        upper=open_lower,
    )
    last = len(path.invert) - 1
    one = standing_water(forth, case.drains, BORE)
    other = standing_water(back, [last - node for node in case.drains], BORE)
    np.testing.assert_allclose(one.held_m3, other.held_m3[::-1], atol=1e-15)
    np.testing.assert_allclose(one.left_m3, other.left_m3[::-1], atol=1e-15)
    np.testing.assert_allclose(one.share_m3, other.share_m3, atol=1e-15)
