"""A small yard for the drawings and sheets: ground by a formula, a line laid by hand, figures that fit together."""

import dataclasses
import itertools
import math

import numpy as np
import pytest

from estimate.cautions import CAUTIONS
from estimate.record import (
    Bend,
    CurvePoint,
    Dig,
    Drain,
    Estimate,
    Extreme,
    Finding,
    FullStretch,
    GroundPart,
    Interval,
    Layers,
    Lift,
    PipeLine,
    Price,
    PriceLine,
    Profile,
    RoutePart,
    Structure,
    Wall,
    Water,
)
from terrain.arrays import Floats
from terrain.build import build_ground
from terrain.ground import Ground, elevation
from terrain.points import survey_points
from terrain.units import FT

WAY = np.array([[-21.0, -9.0], [-7.0, -10.5], [3.0, 0.5], [14.0, 3.0], [22.0, 10.5]])
WIDTH = 0.3048
ORIGIN = (2_400_000.0, 612_000.0, 300.0)
LEVEL = 300.0 * 0.3048


def yard_shape(easting: Floats, northing: Floats) -> Floats:
    slope = 0.055 * easting + 0.035 * northing
    return np.asarray(slope + 0.55 * np.sin(easting / 5.0) + 0.25 * np.cos(northing / 4.0))


@pytest.fixture(scope="session")
def ground() -> Ground:
    chance = np.random.default_rng(11)
    plan = np.stack(np.meshgrid(np.arange(-34.0, 35.0, 1.6), np.arange(-24.0, 25.0, 1.6)), -1).reshape(-1, 2)
    plan = plan + chance.uniform(-0.6, 0.6, plan.shape)
    local = np.column_stack([plan, yard_shape(plan[:, 0], plan[:, 1])])
    points = survey_points(local / 0.3048 + np.array(ORIGIN), FT, FT, "yard.csv", "shots", 0.015)
    return build_ground(points)


def nodes() -> tuple[Floats, Floats]:
    leg = np.hypot(*np.diff(WAY, axis=0).T)
    corner = np.concatenate([[0.0], np.cumsum(leg)])
    station = np.unique(np.concatenate([corner, np.arange(0.0, corner[-1], 0.75)]))
    plan = np.column_stack([np.interp(station, corner, WAY[:, 0]), np.interp(station, corner, WAY[:, 1])])
    return station, plan


def profile(ground: Ground) -> Profile:
    station, plan = nodes()
    surface = elevation(ground, plan)
    outside, wall = 0.0603, 0.0039
    top = surface - 0.61
    top = np.array([np.interp(s, station[::6], top[::6]) for s in station])
    top = np.minimum(top, surface - 0.46)
    return Profile(
        station_m=station,
        easting_m=plan[:, 0].copy(),
        northing_m=plan[:, 1].copy(),
        ground_m=surface + LEVEL,
        invert_m=top - outside + wall + LEVEL,
        top_m=top + LEVEL,
        floor_m=top - outside - 0.1 + LEVEL,
    )


def outline(line: Profile) -> Floats:
    """The disturbed ground: the line widened, with a pit at the start."""
    way = np.column_stack([line.easting_m, line.northing_m])
    ahead = np.gradient(way, axis=0)
    ahead /= np.linalg.norm(ahead, axis=1)[:, None]
    left = np.column_stack([-ahead[:, 1], ahead[:, 0]])
    half = np.where(line.station_m < 1.6, 0.8, WIDTH / 2.0)[:, None]
    return np.concatenate([way + half * left, (way - half * left)[::-1]])


def surface(line: Profile, ring: Floats) -> Floats:
    """The floor of the trench as triangles (n, 3, 3), between the two sides of its outline."""
    count = len(line.station_m)
    left = np.column_stack([ring[:count], line.floor_m])
    right = np.column_stack([ring[count:][::-1], line.floor_m])
    first = np.stack([left[:-1], right[:-1], right[1:]], axis=1)
    second = np.stack([left[:-1], right[1:], left[1:]], axis=1)
    return np.concatenate([first, second])


def price() -> Price:
    rows = [
        ("DIG-EARTH", "Dig trench in common earth", 21.37, "yd3", "bank", 18.5, "dig.bank_m3"),
        ("BED", "Sand under the pipe, placed", 2.11, "yd3", "compacted", 62.0, "dig.bedding_m3"),
        ("PIPE", 'Pipe, PVC 2" Schedule 40, laid', 172.4, "ft", "neat", 6.15, "route.pipe_length_m"),
        ("DRAIN", "Drain valve in a box", 2.0, "each", "neat", 145.0, "drains"),
        ("HAUL", "Haul surplus, tandem dump truck", 1.0, "load", "loose", 210.0, "dig.loads"),
        ("LAWN", "=HYPERLINK lawn put back", 611.0, "ft2", "neat", 1.35, "dig.area_m2"),
    ]
    lines = tuple(
        PriceLine(
            code=code,
            text=text,
            quantity=quantity,
            unit=unit,
            measure=measure,
            rate=rate,
            amount=round(quantity * rate + 1e-9, 2),
            source=source,
        )
        for code, text, quantity, unit, measure, rate, source in rows
    )
    total = round(sum(line.amount for line in lines), 2)
    return Price(
        total=total,
        low=round(0.9 * total, 2),
        high=round(1.16 * total, 2),
        per_metre=total / 52.0,
        currency="USD",
        book="example-prices.csv",
        book_date="2025-01-15",
        example=True,
        lines=lines,
        unpriced=("rock",),
    )


def intervals_of(line: Profile, depth: Floats) -> tuple[Interval, ...]:
    edges = np.append(np.arange(0.0, line.station_m[-1], 3.048), line.station_m[-1])
    intervals = []
    for a, b in itertools.pairwise(edges.tolist()):
        fine = np.linspace(a, b, 50)
        deep = np.interp(fine, line.station_m, depth)
        intervals.append(
            Interval(from_m=a, to_m=b, bank_m3=float(deep.mean() * (b - a) * WIDTH), deepest_m=float(deep.max()))
        )
    return tuple(intervals)


def make_dig(line: Profile) -> Dig:
    depth = line.ground_m - line.floor_m
    intervals = intervals_of(line, depth)
    bank = sum(one.bank_m3 for one in intervals) + 1.4
    deepest = int(depth.argmax())
    return Dig(
        bank_m3=bank,
        bank_sigma_m3=0.11,
        bank_common_error_m3=0.24,
        imported_m3=0.0,
        pits=(),
        bedding_depth_m=0.0,
        left_wall=Wall(slope=0.0, rise_m=0.0),
        right_wall=Wall(slope=0.0, rise_m=0.0),
        loose_m3=1.25 * bank,
        area_m2=18.3,
        deepest_m=float(depth.max()),
        tallest_face_m=float(depth.max()) + 0.08,
        tallest_face_at_m=(float(line.easting_m[deepest]), float(line.northing_m[deepest])),
        layers_m3=Layers(topsoil=0.2 * bank, earth=0.8 * bank, rock=0.0),
        pits_m3=1.4,
        bedding_m3=1.6,
        pipe_m3=0.15,
        structures_m3=0.6,
        backfill_m3=bank - 1.75,
        backfill_bank_m3=(bank - 1.75) / 0.9,
        surplus_bank_m3=0.8,
        surplus_loose_m3=1.0,
        loads=1,
        loads_rule="volume",
        end_area_m3=bank * 1.01,
        complete=True,
        missing_area_m2=0.0,
        intervals=intervals,
        outline_m=(outline(line),),
        surface_m=surface(line, outline(line)),
        width_m=WIDTH,
    )


def ends(line: Profile) -> tuple[Structure, Structure]:
    first, last = line.invert_m[0], line.invert_m[-1]
    lower = Structure(
        end="lower",
        name="Pump vault at the koi pond",
        station_m=0.0,
        water_level_m=line.ground_m[0] - 0.25,
        low_level_m=line.ground_m[0] - 0.55,
        winter_level_m=line.ground_m[0] - 0.4,
        port_m=first,
        end_m=first - 0.35,
        invert_m=first,
        vertical_pipe_m=0.35,
        check_valve=True,
    )
    upper = Structure(
        end="upper",
        name="Waterfall filter",
        station_m=float(line.station_m[-1]),
        water_level_m=line.ground_m[-1] + 0.35,
        low_level_m=line.ground_m[-1] + 0.35,
        winter_level_m=math.nan,
        port_m=last,
        end_m=line.ground_m[-1] + 0.2,
        invert_m=last,
        vertical_pipe_m=float(line.ground_m[-1] + 0.2 - last),
        check_valve=False,
    )
    return lower, upper


def extreme(line: Profile, at: int, prominence: float) -> Extreme:
    return Extreme(
        station_m=float(line.station_m[at]),
        ground_m=float(line.ground_m[at]),
        invert_m=float(line.invert_m[at]),
        prominence_m=prominence,
    )


def drain_at(line: Profile, at: int, name: str, chosen_by: str) -> Drain:
    return Drain(
        station_m=float(line.station_m[at]),
        easting_m=float(line.easting_m[at]),
        northing_m=float(line.northing_m[at]),
        invert_m=float(line.invert_m[at]),
        depth_m=float(line.ground_m[at] - line.invert_m[at]),
        held_l=18.2,
        name=name,
        chosen_by=chosen_by,
    )


def lowest(line: Profile, start: float, end: float) -> int:
    return int(np.argmin(np.where((line.station_m > start) & (line.station_m < end), line.invert_m, np.inf)))


def highest(line: Profile, start: float, end: float) -> int:
    return int(np.argmax(np.where((line.station_m >= start) & (line.station_m < end), line.invert_m, -np.inf)))


def stretches(line: Profile, low: int) -> tuple[FullStretch, ...]:
    sag = FullStretch(
        from_m=float(line.station_m[low]) - 3.0,
        to_m=float(line.station_m[low]) + 2.4,
        held_l=18.2,
        left_l=0.0,
        grade="full-bore plug",
        cause="a sag in the line",
        drains=(0,),
    )
    end = FullStretch(
        from_m=0.0,
        to_m=1.5,
        held_l=3.4,
        left_l=3.4,
        grade="closed and full",
        cause="below the winter level of the pond",
        drains=(),
    )
    return sag, end


def finding(station: float) -> Finding:
    return Finding(
        code="no-fall",
        level="warning",
        where=f"station {station / 0.3048:.1f} ft",
        reason="The ground is too level for the least fall within the greatest depth.",
        remedy="Put a drain here, allow a deeper trench, or move the route uphill.",
        from_m=station - 2.0,
        to_m=station + 2.0,
    )


def ground_part(ground: Ground) -> GroundPart:
    return GroundPart(
        source="yard.csv",
        kind="shots",
        points=len(ground.vertices),
        triangles=len(ground.triangles),
        horizontal_unit="ft",
        vertical_unit="ft",
        origin=ground.origin,
        benchmark_m=float("nan"),
        accuracy_m=0.015,
        area_m2=3300.0,
        lowest_m=LEVEL - 3.0,
        highest_m=LEVEL + 3.0,
        steepest_along_route=0.21,
    )


def route_part(length: float) -> RoutePart:
    corners = np.cumsum(np.hypot(*np.diff(WAY, axis=0).T))[:-1].tolist()
    return RoutePart(
        plan_length_m=length,
        ground_length_m=length + 0.3,
        pipe_length_m=length + 1.1,
        points_m=WAY,
        bends=tuple(
            Bend(station_m=at, turn_deg=turn) for at, turn in zip(corners, (53.8, -34.9, 30.1), strict=True)
        ),
    )


def pipe_line(length: float) -> PipeLine:
    return PipeLine(
        length_m=length,
        name="PVC 2 in Schedule 40",
        bore_m=0.0525,
        outside_m=0.0603,
        rating_pa=1.93e6,
        stick_m=6.096,
        inside_l=112.0,
        sticks=9,
        fittings={"elbow 90": 2, "elbow 45": 3},
        source="ASTM D1785",
    )


def water_part() -> Water:
    return Water(
        flow_lps=2.4,
        total_head_m=4.4,
        friction_m=1.0,
        fittings_m=0.3,
        velocity_mps=1.11,
        flow_wanted_lps=2.2,
        head_at_wanted_m=4.1,
        k_sum=4.7,
        why="where the pump's curve meets the line's",
        pump="pump",
        curve=(CurvePoint(flow_lps=0.0, system_m=3.1, pump_m=7.0),),
    )


@pytest.fixture(scope="session")
def estimate(ground: Ground) -> Estimate:
    line = profile(ground)
    low, far = lowest(line, 3.0, 20.0), lowest(line, 33.0, 52.0)
    return Estimate(
        title="Back yard fall, 14 Alder Lane",
        units="US",
        warnings=("None of the 1,364 points lies on the patio.",),
        findings=(finding(float(line.station_m[far])),),
        assumptions=("Bedding: none given, so none is dug for.", "Low-point threshold: three times the sigma."),
        cautions=CAUTIONS,
        ground=ground_part(ground),
        route=route_part(float(line.station_m[-1])),
        structures=ends(line),
        profile=line,
        low_points=(extreme(line, low, 0.4), extreme(line, far, 0.2)),
        high_points=(extreme(line, highest(line, 0.0, 12.0), 0.3), extreme(line, highest(line, 20.0, 36.0), 0.2)),
        full_stretches=stretches(line, low),
        drains=(drain_at(line, low, "Drain 1", "low point"), drain_at(line, far, "by the birch", "user")),
        lift=Lift(static_m=3.1, static_low_m=3.4),
        dig=make_dig(line),
        pipe=pipe_line(float(line.station_m[-1]) + 1.1),
        water=water_part(),
        price=price(),
    )


@pytest.fixture(scope="session")
def metric(estimate: Estimate) -> Estimate:
    return dataclasses.replace(estimate, units="SI")
