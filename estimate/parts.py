"""Parts of the estimate that only gather what other steps worked out, and the whole of them."""

import math
from dataclasses import dataclass

import numpy as np

from estimate.cautions import CAUTIONS
from estimate.dig.account import Account, Case
from estimate.price.book import PriceBook
from estimate.price.priced import priced
from estimate.price.quantities import Quantities, quantities_of
from estimate.profile.line import LaidLine
from estimate.profile.structures import datum_height, local_elevation, static_lift
from estimate.profile.winter import Winter
from estimate.record import (
    Dig,
    Estimate,
    Finding,
    GroundPart,
    Lift,
    PipeLine,
    Price,
    Profile,
    RoutePart,
    Water,
)
from estimate.route.bends import fittings_of, valve_fittings, with_given
from estimate.route.line import LaidRoute, station_text
from estimate.site_records import PipePart, Site, SiteFile
from estimate.water.fittings import fitting_names
from estimate.water.line import Summit
from estimate.water.pipe import Pipe, own_pipe, pipe, sticks
from terrain.ground import Ground

RESTORED = "lawn"
"""The surface that the disturbed ground gets again."""


def pipe_of(part: PipePart) -> Pipe:
    """Return the pipe of the site: from its table, or own where bore and outside diameter [m] are given.

    Raises:
        InputError: the table does not list it, or its diameters have no meaning.
    """
    if part.bore is not None and part.outside is not None:
        return own_pipe(
            f"{part.size} {part.kind}",
            part.bore,
            part.outside,
            rating_pa=math.nan if part.rating is None else part.rating,
            stick_m=6.096 if part.stick is None else part.stick,
            kind=part.kind,
            nominal=part.size,
        )
    return pipe(part.kind, part.size)


def ground_part(file: SiteFile, ground: Ground, route: LaidRoute) -> GroundPart:
    """Return what the survey gave; the steepest slope is the greatest along the route [m/m].

    Raises:
        UnitsError: the benchmark's unit is unknown.
    """
    datum = datum_height(ground)
    benchmark = file.survey.benchmark
    grades = np.abs(np.diff(route.ground) / np.diff(route.station))
    return GroundPart(
        source=ground.source,
        kind=ground.kind,
        points=len(ground.vertices),
        triangles=len(ground.triangles),
        horizontal_unit=ground.horizontal.name,
        vertical_unit=ground.vertical.name,
        origin=ground.origin,
        accuracy_m=ground.accuracy,
        benchmark_m=math.nan if benchmark is None else local_elevation(ground, benchmark) + datum,
        area_m2=ground.area,
        lowest_m=ground.lowest + datum,
        highest_m=ground.highest + datum,
        steepest_along_route=float(grades.max()),
    )


def route_part(route: LaidRoute, line: LaidLine) -> RoutePart:
    """Return the route with its three lengths [m]: in plan, on the ground, and along the pipe."""
    return RoutePart(
        plan_length_m=route.plan_length_m,
        ground_length_m=route.ground_length_m,
        pipe_length_m=line.pipe_length_m,
        points_m=route.points_m,
        bends=route.bends,
    )


def profile_part(line: LaidLine, ground: Ground) -> Profile:
    """Return the line node by node, elevations absolute."""
    datum = datum_height(ground)
    return Profile(
        station_m=line.station,
        easting_m=line.easting,
        northing_m=line.northing,
        ground_m=line.ground + datum,
        invert_m=line.invert + datum,
        top_m=line.top + datum,
        floor_m=line.floor + datum,
    )


def lift_part(line: LaidLine) -> Lift:
    """Return the static lift [m] at normal levels, and with the lower basin low."""
    normal, low = static_lift(line.structures)
    return Lift(static_m=normal, static_low_m=low)


def summit_of(line: LaidLine, ground: Ground, lift: Lift) -> Summit:
    """Return the highest and lowest invert, vertical pipe included, against the waters that `lift` [m] parts."""
    datum = datum_height(ground)
    heights = [(invert + datum, at) for at, invert in zip(line.station.tolist(), line.invert.tolist(), strict=True)]
    heights += [(level, one.station_m) for one in line.structures for level in (one.port_m, one.end_m)]
    highest, station = max(heights)
    lower = next(one.water_level_m for one in line.structures if one.end == "lower")
    return Summit(
        place=f"station {station_text(ground, station)}",
        above_lower_m=highest - lower,
        above_upper_m=highest - lower - lift.static_m,
        sunk_m=lower - min(heights)[0],
    )


def pipe_line(file: SiteFile, chosen: Pipe, route: LaidRoute, line: LaidLine) -> PipeLine:
    """Return the pipe of the line: what it holds, how many sticks it takes, and its fittings.

    The fittings are those of the bends and ends, those that the user adds, and a swing check or ball valve for each
    valve in the line, in the order of their table.
    """
    length = line.pipe_length_m
    given = with_given(fittings_of(route.bends, line.structures), file.water.fittings)
    valves = valve_fittings(file.valve)
    counted = {name: given.get(name, 0) + valves.get(name, 0) for name in (*given, *valves)}
    return PipeLine(
        name=chosen.name,
        bore_m=chosen.bore_m,
        outside_m=chosen.outside_m,
        rating_pa=chosen.rating_pa,
        length_m=length,
        stick_m=chosen.stick_m,
        inside_l=1000.0 * chosen.inside_m3_per_m * length,
        sticks=sticks(length, chosen.stick_m),
        fittings={name: counted[name] for name in fitting_names() if name in counted},
        source=chosen.source,
    )


def price_part(
    file: SiteFile,
    book: PriceBook,
    account: Account,
    line: LaidLine,
    pipeline: PipeLine,
    drains: int,
    area_m2: float,
) -> Price:
    """Return the price at the likely quantities and its range; the whole disturbed area [m2] is restored."""

    def of(case: Case) -> Quantities:
        """Return the quantities of one case."""
        return quantities_of(
            case.layers,
            case.balance,
            case.loads,
            line_length_m=float(line.station[-1]),
            pipe_name=pipeline.name,
            pipe_length_m=line.pipe_length_m,
            nominal=pipe_of(file.pipe).nominal,
            fittings=pipeline.fittings,
            drains=drains,
            bedding=file.soil.bedding_material,
            restored_m2={RESTORED: area_m2},
        )

    return priced(of(account.likely), book, *(of(case) for case in account.spread))


def unpriced_findings(price: Price) -> tuple[Finding, ...]:
    """Return a finding for all that the price book has no rate for; the total leaves it out."""
    if not price.unpriced:
        return ()
    missing = "; ".join(price.unpriced)
    remedy = "add the rates to the price book"
    return (
        Finding(
            code="not priced", level="act", where="price", reason=f"not in the total: {missing}", remedy=remedy
        ),
    )


@dataclass(frozen=True, slots=True)
class Told:
    """What the trip has to say beside its figures: warnings on the survey, findings, assumptions."""

    warnings: tuple[str, ...]
    findings: tuple[Finding, ...]
    assumptions: tuple[str, ...]


def gathered(
    site: Site,
    ground: Ground,
    told: Told,
    route: LaidRoute,
    line: LaidLine,
    winter: Winter,
    lift: Lift,
    dig: Dig,
    pipeline: PipeLine,
    water: Water,
    price: Price,
) -> Estimate:
    """Return the estimate from all that was worked out."""
    return Estimate(
        title=site.file.title,
        units=site.file.units,
        warnings=told.warnings,
        findings=told.findings,
        assumptions=told.assumptions,
        cautions=CAUTIONS,
        ground=ground_part(site.file, ground, route),
        route=route_part(route, line),
        structures=line.structures,
        profile=profile_part(line, ground),
        low_points=line.low_points,
        high_points=line.high_points,
        full_stretches=winter.stretches,
        drains=winter.drains,
        lift=lift,
        dig=dig,
        pipe=pipeline,
        water=water,
        price=price,
    )
