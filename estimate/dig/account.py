"""The account of one dig: volumes, spoil, loads, hand check and the findings that depth and survey bring."""

import math
from dataclasses import dataclass

import numpy as np

from estimate.dig.accuracy import VolumeSigma, volume_sigma
from estimate.dig.endarea import average_end_area
from estimate.dig.facets import FLOOR, ON_LINE
from estimate.dig.loads import Loads, truck
from estimate.dig.outline import rings
from estimate.dig.soil import bedding, soil
from estimate.dig.spoil import NO_BEDDING, Layer, Spoil, layer_range, spoil, surplus_loads
from estimate.dig.trench import Trench, end_areas, intervals_of, pit_records, wall_record
from estimate.profile.line import LaidLine
from estimate.profile.structures import datum_height
from estimate.record import Dig, Layers
from estimate.site_records import SiteFile
from estimate.water.pipe import Pipe
from terrain.ground import Ground

RULES = (
    "no probes for rock are given: all below the topsoil is taken as earth",
    "volumes: the trench floor is dug to the elevations of this plan; the sigma is that of the ground above it",
    "the trench is cut upright at both its ends; ends that slope take more",
    "the pipe's wall is as smooth inside as that of PVC",
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
    """The dig as it is likely, the ends of what it may be, and how sure its volume is [m3]."""

    likely: Case
    spread: tuple[Case, ...]
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
    zone = bedding_zone(trench, file.trench.bedding)
    taken = pipe.displaced_m3_per_m * trench.pipe_outside_m + trench.pit_floor_m3
    sure = volume_sigma(trench.cut.weights, ground.accuracy, abs(file.survey.common_error))
    carrier = truck(file.soil.truck)

    def case(dug: tuple[Layer, ...]) -> Case:
        """Return the balance and the loads of the layers dug."""
        balance = spoil(dug, pipe_m3=taken, bedding_m3=zone, material=material)
        return Case(dug, balance, surplus_loads(balance, carrier))

    spread = tuple(case(dug) for dug in layer_range(layers, sure.total_m3, taken + zone))
    return Account(likely=case(layers), spread=spread, sure=sure)


def bedding_zone(trench: Trench, depth_m: float) -> float:
    """Return the volume [m3] of the lowest `depth_m` [m] of the trench outside its pits.

    Each place of the floor counts once, also where the line crosses itself; what lies above a sloped wall's foot is
    added by the length of the trench.

    Source: prism over the floor, and triangles n (h - rise)^2 / 2 beside it.
    """
    facets, section = trench.facets, trench.line.section
    floors = (facets.kind == FLOOR) & (facets.owner[:, 0] == ON_LINE)
    wedges = section.area(depth_m) - section.width * depth_m
    return depth_m * float(trench.cut.facet_area[floors].sum()) + wedges * trench.plan_outside_m


def dig_record(file: SiteFile, ground: Ground, line: LaidLine, trench: Trench, account: Account) -> Dig:
    """Return the excavation's part of the estimate.

    The average end area, the hand check, takes the ground as level across and leaves the pits out.
    """
    cut, balance = trench.cut, account.likely.balance
    return Dig(
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
        imported_m3=balance.imported_fill_m3,
        surplus_bank_m3=balance.surplus_bank_m3,
        surplus_loose_m3=balance.surplus_loose_m3,
        loads=account.likely.loads.count,
        loads_rule=account.likely.loads.rule,
        end_area_m3=_hand_check(file, line, trench),
        complete=not trench.gaps,
        missing_area_m2=math.fsum(gap.missing_m2 for gap in trench.gaps),
        intervals=intervals_of(trench, line, file.trench.interval),
        outline_m=tuple(rings(cut)),
        pits=pit_records(file, ground, trench),
        width_m=file.trench.width,
        bedding_depth_m=file.trench.bedding,
        left_wall=wall_record(trench.line.section.left),
        right_wall=wall_record(trench.line.section.right),
        surface_m=cut.surface + np.array([0.0, 0.0, datum_height(ground)]),
    )


def _layers(case: Case) -> Layers:
    volume = {layer.name: layer.bank_m3 for layer in case.layers}
    return Layers(topsoil=volume["topsoil"], earth=volume["earth"], rock=0.0)


def _hand_check(file: SiteFile, line: LaidLine, trench: Trench) -> float:
    """Return the trench's volume [m3] by average end areas at every interval."""
    stations = np.append(np.arange(0.0, line.station[-1], file.trench.interval), line.station[-1])
    stations = np.unique(stations)
    return average_end_area(stations.tolist(), end_areas(trench, line, stations).tolist())
