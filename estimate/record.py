"""The Estimate: every figure of one trip, SI, under the names that `estimate.json` has.

This is the only place that knows the keys. Arrays are float64; elevations are absolute metres in the survey's
datum; plan coordinates are metres from the ground's origin.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]
"""An array of float64; each field's docstring tells shape and unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A wish that cannot be met or a thing to act on: where, why, what to do, stations [m] it covers.

    `level` is "note", "warning" or "act"; `code` a short plain name that tests and pages can rely on.
    """

    code: str
    level: str
    where: str
    reason: str
    remedy: str
    from_m: float = float("nan")
    to_m: float = float("nan")


@dataclass(frozen=True, slots=True, kw_only=True)
class GroundPart:
    """What the survey gave: counts, units [names], accuracy [m], extent [m, m2], origin [survey units].

    `benchmark_m` is the elevation of the benchmark that the crew measures down from [m], NaN where none was given.
    """

    source: str
    kind: str
    points: int
    triangles: int
    horizontal_unit: str
    vertical_unit: str
    origin: tuple[float, float, float]
    accuracy_m: float
    benchmark_m: float
    area_m2: float
    lowest_m: float
    highest_m: float
    steepest_along_route: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bend:
    """A bend of the route in plan: station [m], turn [degrees, left positive]."""

    station_m: float
    turn_deg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutePart:
    """The route: lengths [m], way points (n, 2) [m from the origin], bends."""

    plan_length_m: float
    ground_length_m: float
    pipe_length_m: float
    points_m: FloatArray
    bends: tuple[Bend, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Structure:
    """The structure at one end: elevations [m], station [m], vertical pipe [m], pit volume is in the dig.

    `winter_level_m` is NaN where the basin is emptied for the winter.
    """

    end: str
    name: str
    station_m: float
    water_level_m: float
    low_level_m: float
    winter_level_m: float
    port_m: float
    end_m: float
    invert_m: float
    vertical_pipe_m: float
    check_valve: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """The line node by node, arrays (n,) [m]: station, easting and northing from the origin, elevations.

    `invert_m` is the inside bottom of the pipe, `top_m` the outside top, `floor_m` the trench bottom.
    """

    station_m: FloatArray
    easting_m: FloatArray
    northing_m: FloatArray
    ground_m: FloatArray
    invert_m: FloatArray
    top_m: FloatArray
    floor_m: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Extreme:
    """A low or high point of the draped ground that is more than noise: station, elevations, prominence [m]."""

    station_m: float
    ground_m: float
    invert_m: float
    prominence_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FullStretch:
    """A stretch that holds water in winter: stations [m], volume held with all drains shut [L], left [L].

    `grade` is "puddle with air", "full-bore plug" or "closed and full"; `cause` says in words what holds it;
    `left_l` stays after every drain was opened; `drains` are indices into the list of drains.
    """

    from_m: float
    to_m: float
    held_l: float
    left_l: float
    grade: str
    cause: str
    drains: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Drain:
    """A drain valve: station, place from the origin, invert and depth to it [m], water it lets out [L]."""

    station_m: float
    easting_m: float
    northing_m: float
    invert_m: float
    depth_m: float
    held_l: float
    name: str
    chosen_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lift:
    """Static lift [m]: at normal levels, and with the lower basin low.

    It goes from water surface to water surface, or to the pipe's end where that stands above the upper water.
    """

    static_m: float
    static_low_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Interval:
    """One station interval of the dig: stations [m], bank volume [m3], greatest depth [m]."""

    from_m: float
    to_m: float
    bank_m3: float
    deepest_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """One wall: vertical for its `rise_m` [m], sloped above it, run to rise [m/m], 0 where wholly vertical."""

    slope: float
    rise_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Pit:
    """A pit about the structure at `end`: floor corners (4, 2) [m from the origin], floor elevation and depth [m].

    The depth is that of the floor below the ground at its deepest corner; `bank_m3` is what is dug where
    the pit is deeper than the trench [m3]: each place counts once, for the deeper of both.
    """

    name: str
    corners_m: FloatArray
    floor_m: float
    deepest_m: float
    bank_m3: float
    wall: Wall
    end: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Layers:
    """Bank volume by layer [m3]; the layers sum to the whole."""

    topsoil: float
    earth: float
    rock: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Dig:
    """The excavation: volumes [m3], area [m2], depths [m], loads, volume by interval, outline at the surface.

    `complete` is false where walls leave the survey, then every volume is "at least". `outline_m` holds closed
    rings (k, 2) [m from the origin] of the disturbed ground. `end_area_m3` is the average-end-area hand check.
    `imported_m3` is the part of the backfill that must be brought in. `width_m` is the width of the trench floor,
    `bedding_depth_m` what lies between it and the pipe [m]; walls are left and right along increasing station.
    `surface_m` (f, 3, 3) are the bottoms and sloped walls of the open trench and pits as triangles: metres from the
    origin, absolute elevations.
    """

    bank_m3: float
    bank_sigma_m3: float
    bank_common_error_m3: float
    loose_m3: float
    area_m2: float
    deepest_m: float
    tallest_face_m: float
    tallest_face_at_m: tuple[float, float]
    layers_m3: Layers
    pits_m3: float
    bedding_m3: float
    pipe_m3: float
    structures_m3: float
    backfill_m3: float
    backfill_bank_m3: float
    imported_m3: float
    surplus_bank_m3: float
    surplus_loose_m3: float
    loads: int
    loads_rule: str
    end_area_m3: float
    complete: bool
    missing_area_m2: float
    intervals: tuple[Interval, ...]
    outline_m: tuple[FloatArray, ...]
    pits: tuple[Pit, ...]
    width_m: float
    bedding_depth_m: float
    left_wall: Wall
    right_wall: Wall
    surface_m: FloatArray = field(default_factory=lambda: np.zeros((0, 3, 3)))


@dataclass(frozen=True, slots=True, kw_only=True)
class PipeLine:
    """The pipe: diameters and length [m], rating [Pa], inside volume [L], sticks or coils, fittings counted.

    `length_m` is that of `route.pipe_length_m`.
    """

    name: str
    bore_m: float
    outside_m: float
    rating_pa: float
    length_m: float
    stick_m: float
    inside_l: float
    sticks: int
    fittings: Mapping[str, int]
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """One point of a head curve: flow [L/s], head of the system and of the pump [m, NaN without a pump]."""

    flow_lps: float
    system_m: float
    pump_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """Flow and heads at the operating point, or at the flow wanted where no pump is given; `why` tells which.

    Units as the names say; `flow_wanted_lps` is NaN where none was asked for.
    """

    flow_lps: float
    total_head_m: float
    friction_m: float
    fittings_m: float
    velocity_mps: float
    flow_wanted_lps: float
    head_at_wanted_m: float
    k_sum: float
    why: str
    pump: str
    curve: tuple[CurvePoint, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceLine:
    """One priced line: quantity in the rate's own unit, the measure it is in, rate and amount [currency].

    `source` names the figures of the estimate that the quantity comes from, as `estimate.json` has them.
    """

    code: str
    text: str
    quantity: float
    unit: str
    measure: str
    rate: float
    amount: float
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """The price [currency]: total with low and high, the lines that sum to it, the book it comes from."""

    total: float
    low: float
    high: float
    per_metre: float
    currency: str
    book: str
    book_date: str
    example: bool
    lines: tuple[PriceLine, ...]
    unpriced: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """The whole trip's answer; every document, picture and page is a view of it."""

    title: str
    units: str
    warnings: tuple[str, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]
    cautions: tuple[str, ...]
    ground: GroundPart
    route: RoutePart
    structures: tuple[Structure, ...]
    profile: Profile
    low_points: tuple[Extreme, ...]
    high_points: tuple[Extreme, ...]
    full_stretches: tuple[FullStretch, ...]
    drains: tuple[Drain, ...]
    lift: Lift
    dig: Dig
    pipe: PipeLine
    water: Water
    price: Price
    files: Mapping[str, str] = field(default_factory=dict)
