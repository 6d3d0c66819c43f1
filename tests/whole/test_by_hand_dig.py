"""What is dug, filled and paid in the bent yard of conftest, worked out by hand from geometry and the tables' rows.

Places are metres east and north of easting 500 and northing 800; elevations are absolute.
"""

import itertools
import math
from collections.abc import Sequence
from itertools import product
from typing import NamedTuple

import numpy as np
import pytest

from estimate.record import Estimate

Place = tuple[float, float]
Plane = tuple[float, float, float]  # elevation at (0, 0), rise to the east, rise to the north
INCH, FOOT = 0.0254, 0.3048
YARD3 = 0.9144**3

# ---- The yard: legs north, north-east, north-west ---------------------------------------------------------------
GROUND: Plane = (50.0, 0.03, 0.05)
_EAST = (2, 19, 34, 1, 14, 33, 3, 18, 34, 22, 9)
_NORTH = (1, 0.5, 3, 17, 14.6, 19, 38, 36, 37, 20, 24)
SHOTS: list[Place] = list(zip(_EAST, _NORTH, strict=True))
CORNERS = [(12.0, 6.0), (12.0, 13.5), (20.0, 21.5), (11.0, 30.5)]
LEGS = [7.5, math.hypot(8, 8), math.hypot(9, 9)]
SLOPES = [0.05, (0.03 + 0.05) / math.sqrt(2.0), (0.05 - 0.03) / math.sqrt(2.0)]  # ground along each leg
BEND_1, BEND_2, LENGTH = (math.fsum(LEGS[:count]) for count in (1, 2, 3))
FALL, WIDTH, BEDDING, COVER, TOPSOIL = 0.02, 0.4, 0.1, 0.5, 0.15
OUTSIDE, WALL = 2.375 * INCH, 0.154 * INCH  # pipes.csv, PVC Schedule 40, 2 in
LEAST_DEPTH = COVER + OUTSIDE + BEDDING  # ground to trench floor where cover rules
# Legs 1 and 2 fall more than 0.02 towards the lower end, leg 3 only 0.0141. So leg 3 falls 0.02 from its upper end
# and is deeper at bend 2 by EXTRA; from there 0.02 goes on until the steeper ground of leg 2 is met.
EXTRA = (FALL - SLOPES[2]) * LEGS[2]
MEET = BEND_2 - EXTRA / (SLOPES[1] - FALL)
HEADING, PIT_FLOOR = math.radians(20.0), 49.40
ALONG = (math.sin(HEADING), math.cos(HEADING))  # 20 degrees from north towards east
ACROSS = (-ALONG[1], ALONG[0])
PIT = [
    (12.0 + a * ALONG[0] + b * ACROSS[0], 6.0 + a * ALONG[1] + b * ACROSS[1])
    for a, b in ((-1.0, -0.45), (1.0, -0.45), (1.0, 0.45), (-1.0, 0.45))
]
IN_PIT = 1.0 / math.cos(HEADING)  # of the centre line: it leaves by the far side, 1 m along the heading


def plane_at(plane: Plane, place: Place) -> float:
    return plane[0] + plane[1] * place[0] + plane[2] * place[1]


def place_at(station: float) -> Place:
    starts = (0.0, BEND_1, BEND_2)
    leg = max(index for index in range(3) if station >= starts[index])
    share = (station - starts[leg]) / LEGS[leg]
    (e1, n1), (e2, n2) = CORNERS[leg], CORNERS[leg + 1]
    return e1 + share * (e2 - e1), n1 + share * (n2 - n1)


def depth_at(station: float) -> float:
    """Ground to trench floor on the centre line: even, then to EXTRA at bend 2, then back at the upper end."""
    rise = (station - MEET) / (BEND_2 - MEET) if station <= BEND_2 else (LENGTH - station) / LEGS[2]
    return LEAST_DEPTH + EXTRA * max(rise, 0.0)


def floor_at(station: float) -> float:
    return plane_at(GROUND, place_at(station)) - depth_at(station)


# ---- Convex polygons: shoelace, cut by half-planes, integrals of planes (area times value at the centroid) ---


def area_and_middle(ring: Sequence[Place]) -> tuple[float, Place]:
    if len(ring) < 3:
        return 0.0, (0.0, 0.0)
    e0, n0 = ring[0]
    area = east = north = 0.0
    for (e1, n1), (e2, n2) in itertools.pairwise([*ring, ring[0]]):
        cross = (e1 - e0) * (n2 - n0) - (e2 - e0) * (n1 - n0)
        area += cross / 2.0
        east += cross * (e1 + e2 - 2.0 * e0) / 6.0
        north += cross * (n1 + n2 - 2.0 * n0) / 6.0
    return (area, (e0 + east / area, n0 + north / area)) if area else (0.0, ring[0])


def shared_part(ring: Sequence[Place], by: Sequence[Place]) -> list[Place]:
    """Both rings run counter-clockwise."""
    kept = list(ring)
    for (e1, n1), (e2, n2) in itertools.pairwise([*by, by[0]]):
        inside = [(e2 - e1) * (n - n1) - (n2 - n1) * (e - e1) for e, n in kept]
        corners, kept = kept, []
        for k, (e, n) in enumerate(corners):
            before, (eb, nb) = inside[k - 1], corners[k - 1]
            if (before > 0.0) != (inside[k] > 0.0):
                share = before / (before - inside[k])
                kept.append((eb + share * (e - eb), nb + share * (n - nb)))
            if inside[k] > 0.0:
                kept.append((e, n))
    return kept


class Piece(NamedTuple):
    """A part of the trench's plan: counted (1) or taken off (-1), with its floor and the station it belongs to."""

    sign: int
    ring: list[Place]
    floor: Plane
    station: float

    def area(self) -> float:
        return self.sign * area_and_middle(self.ring)[0]

    def volume(self) -> float:
        middle = area_and_middle(self.ring)[1]
        return self.area() * (plane_at(GROUND, middle) - plane_at(self.floor, middle))


def unit(start: Place, stop: Place) -> Place:
    length = math.hypot(stop[0] - start[0], stop[1] - start[1])
    return (stop[0] - start[0]) / length, (stop[1] - start[1]) / length


def run(start: float, stop: float) -> Piece:
    """The trench between two stations of one leg: a rectangle whose floor falls evenly and is level across."""
    (e1, n1), (e2, n2) = place_at(start), place_at(stop - 1e-12)
    de, dn = unit((e1, n1), (e2, n2))
    oe, on = -dn * WIDTH / 2.0, de * WIDTH / 2.0
    grade = (floor_at(stop) - floor_at(start)) / (stop - start)
    plane = (floor_at(start) - grade * (de * e1 + dn * n1), grade * de, grade * dn)
    return Piece(1, [(e1 - oe, n1 - on), (e2 - oe, n2 - on), (e2 + oe, n2 + on), (e1 + oe, n1 + on)], plane, start)


def bend(before: Piece, after: Piece, at: float, left: int) -> list[Piece]:
    """Inside a bend both runs overlap and the lower counts, here the one before, since the line rises; outside both
    are drawn out to the bisector (mitre), level at the bend; `left` is 1 where it turns left, else -1."""
    e, n = place_at(at)
    legs = [unit(place_at(at - 1.0), (e, n)), unit((e, n), place_at(at + 1.0))]
    (a, b), (c, d) = ((left * north * WIDTH / 2.0, -left * east * WIDTH / 2.0) for east, north in legs)
    scale = 1.0 / (1.0 + (a * c + b * d) / (WIDTH / 2.0) ** 2)
    ring = [(e, n), (e + a, n + b), (e + scale * (a + c), n + scale * (b + d)), (e + c, n + d)]
    outside = Piece(1, ring[::left], (floor_at(at), 0.0, 0.0), at)
    return [Piece(-1, shared_part(before.ring, after.ring), after.floor, at), outside]


def trench() -> list[Piece]:
    """The trench outside the pit, its runs parted at every interval of 5 m too."""
    runs = [run(*ends) for ends in itertools.pairwise([0.0, BEND_1, MEET, BEND_2, LENGTH])]
    parted = map(run, STATIONS, STATIONS[1:])
    bends = [*bend(runs[0], runs[1], BEND_1, -1), *bend(runs[2], runs[3], BEND_2, 1)]
    return [*parted, *bends, Piece(-1, shared_part(runs[0].ring, PIT), runs[0].floor, 0.0)]


STATIONS = sorted({*(5.0 * k for k in range(7)), BEND_1, MEET, BEND_2, LENGTH})
PIECES = trench()
PIT_PIECE = Piece(1, PIT, (PIT_FLOOR, 0.0, 0.0), math.nan)  # it is below the trench everywhere
TRENCH_AREA = math.fsum(piece.area() for piece in PIECES)
AREA = TRENCH_AREA + 2.0 * 0.9
PIT_VOLUME = 2.0 * 0.9 * (plane_at(GROUND, (12.0, 6.0)) - PIT_FLOOR)  # its middle is that of the ground above it
BANK = math.fsum(piece.volume() for piece in PIECES) + PIT_VOLUME


def near(value: float, *, rel: float = 1e-9) -> object:
    return pytest.approx(value, rel=rel, abs=1e-9)


# ---- The dig -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("station", [0.0, 5.0, BEND_1, 12.0, MEET, 18.0, BEND_2, 25.0, LENGTH])
def test_profile(bent: Estimate, station: float) -> None:
    profile = bent.profile
    east, north = place_at(station)
    want = {
        "easting_m": 500.0 + east - bent.ground.origin[0],
        "northing_m": 800.0 + north - bent.ground.origin[1],
        "ground_m": plane_at(GROUND, (east, north)),
        "floor_m": floor_at(station),
        "invert_m": floor_at(station) + BEDDING + WALL,
        "top_m": floor_at(station) + BEDDING + OUTSIDE,
    }
    for name, value in want.items():
        assert np.interp(station, profile.station_m, getattr(profile, name)) == near(value), name


def test_pit(bent: Estimate) -> None:
    (pit,) = bent.dig.pits
    origin = np.array(bent.ground.origin[:2]) - [500.0, 800.0]
    found = sorted(map(tuple, (pit.corners_m + origin).tolist()))
    assert [value for corner in found for value in corner] == [near(value) for one in sorted(PIT) for value in one]
    assert (pit.floor_m, pit.bank_m3, pit.end) == (near(PIT_FLOOR), near(PIT_VOLUME), "lower")
    deepest = max(PIT, key=lambda corner: plane_at(GROUND, corner))
    assert pit.deepest_m == near(plane_at(GROUND, deepest) - PIT_FLOOR)
    # No face is taller: the trench is at most 0.74 m deep on its centre line, its sides a centimetre more.
    assert bent.dig.tallest_face_m == near(plane_at(GROUND, deepest) - PIT_FLOOR)
    place = np.array(bent.dig.tallest_face_at_m) + origin
    assert place.tolist() == [near(deepest[0]), near(deepest[1])]


def test_volumes_and_areas(bent: Estimate) -> None:
    dig = bent.dig
    # A mitred trench has the area of its length times its width, the pit apart.
    assert near(WIDTH * LENGTH) == TRENCH_AREA - PIECES[-1].area()
    assert (dig.bank_m3, dig.area_m2, dig.pits_m3) == (near(BANK), near(AREA), near(PIT_VOLUME))
    assert dig.layers_m3.topsoil == near(TOPSOIL * AREA)  # upright walls, deeper than the topsoil everywhere
    assert (dig.layers_m3.earth, dig.layers_m3.rock) == (near(BANK - TOPSOIL * AREA), 0.0)
    assert dig.bedding_m3 == near(BEDDING * TRENCH_AREA)
    assert dig.structures_m3 == near(PIT_VOLUME)
    assert dig.pipe_m3 == near(math.pi / 4.0 * OUTSIDE**2 * PIPE_OUTSIDE)
    assert (dig.complete, dig.missing_area_m2) == (True, 0.0)
    assert (dig.width_m, dig.bedding_depth_m) == (near(WIDTH), near(BEDDING))


# Length of the line in space: its invert runs parallel to the ground up to MEET and at 0.02 from there.
PIPE_LINE = math.fsum(
    length * math.hypot(1.0, slope)
    for length, slope in ((BEND_1, SLOPES[0]), (MEET - BEND_1, SLOPES[1]), (LENGTH - MEET, FALL))
)
PIPE_OUTSIDE = PIPE_LINE - IN_PIT * math.hypot(1.0, SLOPES[0])


def test_intervals_and_hand_check(bent: Estimate) -> None:
    edges = [*(5.0 * k for k in range(7)), LENGTH]
    assert len(bent.dig.intervals) == 7
    for one, (start, stop) in zip(bent.dig.intervals, itertools.pairwise(edges), strict=True):
        own = math.fsum(piece.volume() for piece in PIECES if start <= piece.station < stop)
        deepest = max(depth_at(station) for station in (start, stop, BEND_2) if start <= station <= stop)
        assert (one.from_m, one.to_m) == (near(start), near(stop))
        assert (one.bank_m3, one.deepest_m) == (near(own), near(deepest))
    assert bent.dig.deepest_m == near(LEAST_DEPTH + EXTRA)
    # Average end area, pit left out, ground level across: V = sum of L (A1 + A2) / 2.
    by_hand = (WIDTH * (b - a) * (depth_at(a) + depth_at(b)) / 2.0 for a, b in itertools.pairwise(edges))
    assert bent.dig.end_area_m3 == near(math.fsum(by_hand))


def test_outline_and_open_trench(bent: Estimate) -> None:
    (ring,) = bent.dig.outline_m
    assert area_and_middle(list(map(tuple, ring.tolist())))[0] == near(AREA)
    origin = np.array([bent.ground.origin[0] - 500.0, bent.ground.origin[1] - 800.0, 0.0])
    area = volume = 0.0
    for east, north, height in (triangle.T for triangle in bent.dig.surface_m + origin):
        own = abs(area_and_middle(list(zip(east.tolist(), north.tolist(), strict=True)))[0])
        area += own
        volume += own * (plane_at(GROUND, (float(east.mean()), float(north.mean()))) - float(height.mean()))
    assert (area, volume) == (near(AREA), near(BANK))


def triangles() -> list[tuple[Place, Place, Place]]:
    """Delaunay by its definition: no shot lies in the circle about the corners; counter-clockwise."""
    found: list[tuple[Place, Place, Place]] = []
    for a, b, c in itertools.combinations(SHOTS, 3):
        if area_and_middle([a, b, c])[0] < 0.0:
            b, c = c, b
        twice = 2.0 * ((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))
        one, two = math.hypot(b[0] - a[0], b[1] - a[1]) ** 2, math.hypot(c[0] - a[0], c[1] - a[1]) ** 2
        east = ((c[1] - a[1]) * one - (b[1] - a[1]) * two) / twice
        north = ((b[0] - a[0]) * two - (c[0] - a[0]) * one) / twice
        away = [math.hypot(e - a[0] - east, n - a[1] - north) for e, n in SHOTS]
        if min(away) > math.hypot(east, north) * (1.0 - 1e-9):
            found.append((a, b, c))
    return found


def sigma() -> float:
    """0.03 m times the root of the sum of the squared weights; a shot's weight is the integral over the dug area of
    the ground's answer to it, 1 at the shot and 0 at the other corners, straight within each triangle."""
    weights: dict[Place, float] = dict.fromkeys(SHOTS, 0.0)
    for corners in triangles():
        for piece in (*PIECES, PIT_PIECE):
            area, middle = area_and_middle(shared_part(piece.ring, corners))
            for k, shot in enumerate(corners):
                facing = [middle, corners[k - 2], corners[k - 1]]
                share = area_and_middle(facing)[0] / area_and_middle(corners)[0]
                weights[shot] += piece.sign * area * share
    assert math.fsum(weights.values()) == near(AREA)
    return 0.03 * math.sqrt(math.fsum(weight**2 for weight in weights.values()))


def test_sigma(bent: Estimate) -> None:
    assert bent.dig.bank_sigma_m3 == near(sigma())
    assert bent.dig.bank_common_error_m3 == near(0.02 * AREA)  # all of the dug ground goes up or down with it


# ---- Spoil and loads -----------------------------------------------------------------------------------------

TAKEN = BEDDING * TRENCH_AREA + PIT_VOLUME + math.pi / 4.0 * OUTSIDE**2 * PIPE_OUTSIDE
# soils.csv: loose and compacted for one bank: topsoil, clay; usual, low, high. 85 and 115 lb/ft3 in the bank.
SWELL = {"usual": (1.18, 1.43), "low": (1.1, 1.3), "high": (1.25, 1.6)}
SHRINK = {"usual": (0.9, 0.9), "low": (0.85, 0.85), "high": (0.95, 0.95)}


class Spoil(NamedTuple):
    """One way the dig may turn out [m3]."""

    topsoil: float
    earth: float
    earth_loose: float
    loose: float
    fill: float
    fill_bank: float
    surplus: float
    surplus_loose: float
    loads: int


def spoil(bank: float, swell: str = "usual", shrink: str = "usual") -> Spoil:
    """Topsoil goes back first, then clay; what is left is hauled in a mini dumper."""
    topsoil = TOPSOIL * AREA * bank / BANK
    earth = bank - topsoil
    (loose_top, loose_earth), (fit_top, fit_earth) = SWELL[swell], SHRINK[shrink]
    fill = bank - TAKEN
    used = (fill - topsoil * fit_top) / fit_earth
    assert 0.0 < used < earth  # all the topsoil goes back and some of the clay is left
    left = earth - used
    by_volume = math.ceil(left * loose_earth / (0.75 * YARD3))  # trucks.csv: body 0.75 yd3, payload 2000 lb
    by_weight = math.ceil(left * 115.0 / FOOT**3 / 2000.0)
    loose = topsoil * loose_top + earth * loose_earth
    loads = max(by_volume, by_weight)
    return Spoil(topsoil, earth, earth * loose_earth, loose, fill, topsoil + used, left, left * loose_earth, loads)


def test_spoil_and_loads(bent: Estimate) -> None:
    dig, want = bent.dig, spoil(BANK)
    assert (dig.loose_m3, dig.backfill_m3) == (near(want.loose), near(want.fill))
    assert (dig.backfill_bank_m3, dig.imported_m3) == (near(want.fill_bank), 0.0)
    assert (dig.surplus_bank_m3, dig.surplus_loose_m3) == (near(want.surplus), near(want.surplus_loose))
    assert (dig.loads, dig.loads_rule) == (want.loads, "volume")


# ---- The price -----------------------------------------------------------------------------------------------

PIPE = PIPE_LINE + 0.3 + abs(50.30 - (floor_at(0.0) + BEDDING + WALL))  # lower: end to port, port to invert
PIPE += abs(51.55 - (floor_at(LENGTH) + BEDDING + WALL)) + 0.10


def cents(value: float) -> float:
    return math.floor(value * 100.0 + 0.5) / 100.0


def lines(case: Spoil) -> dict[str, tuple[float, float]]:
    """Quantity, to two decimals, and rate of each line of the book."""
    quantities = {
        "dig.topsoil": (case.topsoil, 10),
        "dig.earth": (case.earth_loose, 20),
        "bedding.crushed stone": (BEDDING * TRENCH_AREA * 1.15 * 1.10, 30),  # bedding.csv 1.15 loose, 10 % waste
        "fill.native": (case.fill, 8),
        "pipe.2 in PVC Schedule 40": (PIPE * 1.05, 12),
        "fittings.90 elbow 2 in": (8, 7),  # bend 2, two ports off the line, two drops within, one given
        "fittings.45 elbow": (1, 6),
        "fittings.swing check": (2, 40),  # vault and hillside
        "fittings.ball valve": (2, 25),
        "fittings.union": (1, 9),
        "drains.drain": (3, 100),  # see what stays full, in the other file
        "haul.surplus": (case.loads, 50),
        "restoration.lawn": (AREA, 5),
        "lump.setting": (1, 200),
    }
    return {code: (cents(quantity), rate) for code, (quantity, rate) in quantities.items()}


def totals(case: Spoil) -> list[float]:
    """The lines' sum, overhead on it, profit on both, tax on all, and the total."""
    sums = [cents(math.fsum(cents(quantity * rate) for quantity, rate in lines(case).values()))]
    for percent in (10.0, 8.0, 5.0):
        sums.append(cents(math.fsum(sums) * percent / 100.0))
    return [*sums, cents(math.fsum(sums))]


def test_price_lines(bent: Estimate) -> None:
    case = spoil(BANK)
    found = {line.code: line for line in bent.price.lines}
    want = lines(case)
    assert set(found) == {*want, "percent.overhead", "percent.profit", "percent.tax"}
    for code, (quantity, rate) in want.items():
        line = found[code]
        assert (line.quantity, line.rate) == (near(quantity), rate), code
        assert line.amount == near(cents(quantity * rate)), code
    for name, amount in zip(("overhead", "profit", "tax"), totals(case)[1:4], strict=True):
        assert found[f"percent.{name}"].amount == near(amount)
    assert found["dig.earth"].measure == found["bedding.crushed stone"].measure == "loose"
    assert (found["dig.topsoil"].measure, found["fill.native"].measure) == ("bank", "compacted")


def test_price_and_its_range(bent: Estimate) -> None:
    price = bent.price
    # Two sigma of the volume (single shots and the common error together), both ends of swell and of shrinkage.
    two_sigma, usual = 2.0 * math.hypot(sigma(), 0.02 * AREA), totals(spoil(BANK))[-1]
    ends = product((BANK - two_sigma, BANK + two_sigma), ("low", "high"), ("low", "high"))
    every = [totals(spoil(*end))[-1] for end in ends]
    low, high = min(every), max(every)
    assert low < usual < high
    assert (price.total, price.low, price.high) == (near(usual), near(low), near(high))
    assert price.per_metre == near(usual / LENGTH)
    assert (price.currency, price.book, price.book_date) == ("EUR", "round rates", "2025-02-03")
    assert (price.unpriced, price.example) == ((), False)
