"""The account of one dig: volumes, spoil, loads, hand check and the findings that depth and survey bring."""

import math
from dataclasses import dataclass, replace

import numpy as np

from estimate.dig.accuracy import VolumeSigma, volume_sigma
from estimate.dig.endarea import average_end_area
from estimate.dig.loads import Loads, truck
from estimate.dig.outline import Leaving, leaving, rings
from estimate.dig.safety import face_findings
from estimate.dig.soil import bedding, soil
from estimate.dig.spoil import NO_BEDDING, Layer, Spoil, spoil, spoil_range, surplus_loads
from estimate.dig.trench import Trench, end_areas, intervals_of, lowest_zone, pit_records
from estimate.profile.line import LaidLine
from estimate.profile.structures import datum_height
from estimate.record import Dig, Finding, Layers
from estimate.route.line import station_text
from estimate.site_records import SiteFile
from estimate.water.pipe import Pipe
from terrain.ground import Ground, to_survey
from terrain.units import show

RULES = (
    "no probes for rock are given: all below the topsoil is taken as earth",
    "volumes: the trench floor is dug to the elevations of this plan; the sigma is that of the ground above it",
    "the trench is filled level with the ground and compacted, so that soil shrinks as its table says; structures "
    "fill their pits above the pits' floors",
    "the low and high price cover two sigma of the dug volume and the range of swell and shrinkage; rates, hours, "
    "rock and ground water may move it further",
)
"""What the account takes for granted."""


@dataclass(frozen=True, slots=True)
class Case:
    """One way the dig may turn out: layers as dug, balance of spoil, loads of surplus."""

    layers: tuple[Layer, ...]
    balance: Spoil
    loads: Loads


@dataclass(frozen=True, slots=True)
class Account:
    """The dig as it is likely, as little and as much as it may be, and how sure its volume is [m3]."""

    likely: Case
    low: Case
    high: Case
    sure: VolumeSigma


def account_of(file: SiteFile, ground: Ground, trench: Trench, pipe: Pipe) -> Account:
    """Return what is dug, filled back and hauled.

    Topsoil is filled back first, since it is kept apart to be laid on top. Structures fill their pits above the
    pits' floors. The sigma takes the floor as fixed (the crew digs to elevations) and the errors of single points
    as independent; an error that all elevations share moves the volume by itself times the disturbed area.

    Raises:
        InputError: soil, bedding or truck is not in its table.
        GeometryError: bedding, pipe and structures need more room than the cut has.
    """
    earth = trench.cut.volume_m3 - trench.topsoil_m3
    layers = (Layer("topsoil", trench.topsoil_m3, soil("topsoil")), Layer("earth", earth, soil(file.soil.kind)))
    material = bedding(file.soil.bedding_material) if file.trench.bedding > 0.0 else NO_BEDDING
    zone = lowest_zone(trench.line.section, file.trench.bedding) * trench.plan_outside_m
    taken = pipe.displaced_m3_per_m * trench.pipe_outside_m + trench.pit_floor_m3
    sure = volume_sigma(trench.cut.weights, ground.accuracy, abs(file.survey.common_error))
    carrier = truck(file.soil.truck)
    likely = spoil(layers, pipe_m3=taken, bedding_m3=zone, material=material)
    low, high = spoil_range(layers, sure.total_m3, pipe_m3=taken, bedding_m3=zone, material=material)
    return Account(
        likely=Case(layers, likely, surplus_loads(likely, carrier)),
        low=Case(_scaled(layers, low, "light"), low, surplus_loads(low, carrier)),
        high=Case(_scaled(layers, high, "heavy"), high, surplus_loads(high, carrier)),
        sure=sure,
    )


def _scaled(layers: tuple[Layer, ...], balance: Spoil, swell: str) -> tuple[Layer, ...]:
    """Return the layers as large as the balance's cut, in soils that swell least ("light") or most ("heavy")."""
    whole = math.fsum(layer.bank_m3 for layer in layers)
    share = balance.cut_bank_m3 / whole if whole > 0.0 else 1.0
    soils = (layer.soil.light if swell == "light" else layer.soil.heavy for layer in layers)
    return tuple(
        replace(layer, bank_m3=layer.bank_m3 * share, soil=kind) for layer, kind in zip(layers, soils, strict=True)
    )


def dig_record(
    file: SiteFile, ground: Ground, line: LaidLine, trench: Trench, account: Account
) -> tuple[Dig, tuple[Finding, ...]]:
    """Return the excavation's part of the estimate, and what its depth and the edge of the survey ask for.

    The average end area, the hand check, takes the ground as level across and leaves the pits out.
    """
    cut, balance = trench.cut, account.likely.balance
    gaps = leaving(cut, trench.facets, [trench.line])
    dig = Dig(
        bank_m3=cut.volume_m3,
        bank_sigma_m3=account.sure.independent_m3,
        bank_common_error_m3=account.sure.common_m3,
        loose_m3=balance.loose_m3,
        area_m2=cut.area_m2,
        deepest_m=float((line.ground - line.floor).max()),
        tallest_face_m=cut.tallest_face_m,
        tallest_face_at_m=(cut.tallest.easting, cut.tallest.northing),
        layers_m3=_layers(account.likely),
        pits_m3=trench.pits_m3,
        bedding_m3=balance.bedding_m3,
        pipe_m3=balance.pipe_m3 - trench.pit_floor_m3,
        structures_m3=trench.pit_floor_m3,
        backfill_m3=balance.backfill_compacted_m3,
        backfill_bank_m3=balance.backfill_bank_m3,
        surplus_bank_m3=balance.surplus_bank_m3,
        surplus_loose_m3=balance.surplus_loose_m3,
        loads=account.likely.loads.count,
        loads_rule=account.likely.loads.rule,
        end_area_m3=_hand_check(file, line, trench),
        complete=not gaps,
        missing_area_m2=math.fsum(gap.missing_m2 for gap in gaps),
        intervals=intervals_of(trench, line, file.trench.interval),
        outline_m=tuple(rings(cut)),
        pits=pit_records(file, ground, trench),
        width_m=file.trench.width,
        surface_m=cut.surface + np.array([0.0, 0.0, datum_height(ground)]),
    )
    where = place_text(ground, *dig.tallest_face_at_m)
    faces = face_findings(dig.tallest_face_m, where, file.units)
    return dig, (*(_beyond(ground, gap, file.units) for gap in gaps), *faces)


def _layers(case: Case) -> Layers:
    volume = {layer.name: layer.bank_m3 for layer in case.layers}
    return Layers(topsoil=volume["topsoil"], earth=volume["earth"], rock=0.0)


def _hand_check(file: SiteFile, line: LaidLine, trench: Trench) -> float:
    """Return the trench's volume [m3] by average end areas at every interval."""
    stations = np.append(np.arange(0.0, line.station[-1], file.trench.interval), line.station[-1])
    stations = np.unique(stations)
    return average_end_area(stations.tolist(), end_areas(trench, line, stations).tolist())


def _beyond(ground: Ground, gap: Leaving, units: str) -> Finding:
    """Return the finding for a stretch where the dig leaves the survey."""
    area, length = show(gap.missing_m2, "area", units), show(gap.length_m, "length", units)
    if gap.line >= 0:
        what = "the trench"
        where = f"station {station_text(ground, gap.from_station_m)} to {station_text(ground, gap.to_station_m)}"
    else:
        what, where = "a pit", f"pit at {place_text(ground, gap.easting, gap.northing)}"
    return Finding(
        code="beyond the survey",
        level="warning",
        where=where,
        reason=f"{what} leaves the survey over {length} of its edge; about {area} lie beyond, so the volume is "
        "at least what is told",
        remedy="survey further out there, move the line in, or make the wall steeper where that is allowed",
        from_m=gap.from_station_m,
        to_m=gap.to_station_m,
    )


def place_text(ground: Ground, easting: float, northing: float) -> str:
    """Return a place in local metres as the survey has it: easting and northing [m], written in its own unit.

    >>> from terrain.synthetic import plane_ground
    >>> place_text(plane_ground(0.0, 0.0, 0.0), 1.0, 2.5)
    'easting 1.0, northing 2.5'
    """
    east, north = to_survey(ground, np.array([[easting, northing]]))[0]
    return f"easting {east:.1f}, northing {north:.1f}"
