"""The water of one line: what the pump gives through this pipe, these fittings and this lift."""

import math
from dataclasses import dataclass

import numpy as np

from estimate.record import CurvePoint, Finding, PipeLine, Water
from estimate.site_records import SiteFile
from estimate.tables import row_named
from estimate.tables.measures import GRAVITY
from estimate.water.fittings import k_sum
from estimate.water.liquid import density, kinematic_viscosity
from estimate.water.operating import (
    NOTE_VELOCITY,
    WARNING_VELOCITY,
    OperatingPoint,
    at_flow,
    operating_point,
)
from estimate.water.pipe import Pipe
from estimate.water.pump import PumpCurve, head_at, pump_curve
from estimate.water.system import Reach, System, total_head
from terrain.units import show

CURVE_POINTS = 25
"""Points of the head curves kept in the record."""
LEVEL = 1e-6
"""Height [m] that is rounding."""
SIPHON = 0.3
"""Height [m] of the line above the upper water from which the flow over it is called a siphon."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Summit:
    """The highest invert of the line: its `place` in words, and its height [m] above the lower and the upper water.

    The upper water is the pipe's end where that stands higher. `sunk_m` is how far the lowest invert lies below the
    lower water [m], negative where it lies above.
    """

    place: str
    above_lower_m: float
    above_upper_m: float
    sunk_m: float


def system_of(file: SiteFile, lift_m: float, pipe: Pipe, pipeline: PipeLine) -> System:
    """Return what the pump works against: static lift `lift_m` [m], and the pipe with its length and fittings.

    Raises:
        InputError: a fitting, its table or the water temperature is not known.
    """
    roughness = float(row_named("roughness", "surface", "PVC")["roughness_mm"]) / 1000.0
    reach = Reach(
        length_m=pipeline.length_m,
        bore_m=pipe.bore_m,
        roughness_m=roughness,
        k_sum=k_sum(pipeline.fittings, pipe.bore_m, file.water.fitting_table),
    )
    celsius = file.water.temperature
    return System(
        static_lift_m=lift_m,
        reaches=(reach,),
        viscosity_m2s=kinematic_viscosity(celsius),
        density_kgm3=density(celsius),
    )


def water_of(
    file: SiteFile, system: System, pipe: Pipe, summit: Summit | None = None
) -> tuple[Water, tuple[Finding, ...]]:
    """Return flow and heads at the operating point, or at the flow wanted where no pump is given, and findings.

    Over a `summit` above the upper water the pump must lift before the line helps it; None where there is none.

    Raises:
        InputError: the pump's curve has no meaning.
    """
    wanted = file.water.flow if file.water.flow is not None else math.nan
    curve = pump_curve(file.pump.curve, file.pump.name) if file.pump is not None else None
    asked = 0.0 if math.isnan(wanted) else wanted
    point = operating_point(curve, system) if curve is not None else at_flow(system, asked)
    water = Water(
        flow_lps=point.flow_m3s * 1000.0,
        total_head_m=point.total_head_m,
        friction_m=point.friction_m,
        fittings_m=point.fittings_m,
        velocity_mps=point.velocity_mps,
        flow_wanted_lps=wanted * 1000.0,
        head_at_wanted_m=float(total_head(system, wanted)),
        k_sum=math.fsum(reach.k_sum for reach in system.reaches),
        why=_why(point, curve, file.units),
        pump=curve.name if curve is not None else "",
        curve=_curves(system, curve, max(point.flow_m3s, asked)),
    )
    found = (
        _pump_finding(point, curve, file.units),
        _summit_finding(summit, curve, file.units),
        _velocity_finding(point, file.units),
        _wish_finding(point, asked),
        _rating(system, pipe, curve, 0.0 if summit is None else summit.sunk_m, file.units),
    )
    return water, tuple(finding for finding in found if finding is not None)


def _pump_finding(point: OperatingPoint, curve: PumpCurve | None, units: str) -> Finding | None:
    remedy = {
        "too weak": "choose a pump with more head at no flow, or bring the levels closer together",
        "beyond curve": "add points from the maker's chart until the head is near zero",
    }
    if point.state not in remedy:
        return None
    level = "act" if point.state == "too weak" else "warning"
    reason = _why(point, curve, units)
    return Finding(code=f"pump {point.state}", level=level, where="pump", reason=reason, remedy=remedy[point.state])


def _summit_finding(summit: Summit | None, curve: PumpCurve | None, units: str) -> Finding | None:
    """Return a finding where the line goes higher than the water it leads to, [m] by `summit`."""
    if summit is None or summit.above_upper_m <= LEVEL:
        return None
    over = f"the line's invert is {show(summit.above_lower_m, 'head', units)} above the lower water there"
    if curve is not None and curve.shut_off_m < summit.above_lower_m:
        return Finding(
            code="cannot start over the high point",
            level="act",
            where=summit.place,
            reason=f"{over}, more than the pump's shut-off head of {show(curve.shut_off_m, 'head', units)}: "
            "the pump cannot fill the line over it",
            remedy="choose a pump with more head at no flow, or lay the line deeper or another way round",
        )
    if summit.above_upper_m <= SIPHON:
        return None
    return Finding(
        code="siphon",
        level="note",
        where=summit.place,
        reason=f"{over} and {show(summit.above_upper_m, 'head', units)} above the upper water: the pump must "
        "first lift over it, and then the line runs as a siphon",
        remedy="siphon: air vent or start-up over the high point; where a vent stays open while the pump runs, the "
        "lift counts to the high point",
    )


def _velocity_finding(point: OperatingPoint, units: str) -> Finding | None:
    level = point.velocity_level
    if not level:
        return None
    limit = NOTE_VELOCITY if level == "note" else WARNING_VELOCITY
    reason = (
        f"the water runs at {show(point.velocity_mps, 'speed', units)}, {show(limit, 'speed', units)} or more: "
    )
    reason += "friction, noise and surge grow with the square of it"
    return Finding(code="fast water", level=level, where="pipe", reason=reason, remedy="compare one pipe size up")


def _wish_finding(point: OperatingPoint, wanted_m3s: float) -> Finding | None:
    if point.state == "given" or point.flow_m3s >= wanted_m3s:
        return None
    share = point.flow_m3s / wanted_m3s
    return Finding(
        code="less than the flow wanted",
        level="warning",
        where="water",
        reason=f"the pump gives {100.0 * share:.0f} % of the flow wanted",
        remedy="take a larger pipe, fewer elbows or a pump with more head at this flow",
    )


def _rating(system: System, pipe: Pipe, curve: PumpCurve | None, sunk_m: float, units: str) -> Finding | None:
    """Return a finding where the pipe's rating is below the pressure at its lowest place, `sunk_m` [m] under water.

    It is the pump's shut-off head above the lower water, or without a pump what the upper water stands above it.
    """
    head = curve.shut_off_m if curve is not None else max(0.0, system.static_lift_m)
    pressure = system.density_kgm3 * GRAVITY * (head + sunk_m)
    if not pressure > pipe.rating_pa:
        return None
    builds, rated = (show(value, "pressure", units) for value in (pressure, pipe.rating_pa))
    reason = f"the pressure can reach {builds} at the lowest place of the line, the pipe is rated {rated}"
    return Finding(
        code="over the rating", level="act", where="pipe", reason=reason, remedy="take a pipe of a higher rating"
    )


def _why(point: OperatingPoint, curve: PumpCurve | None, units: str) -> str:
    """Return in words, in `units`, what decides the flow."""
    if curve is None:
        return (
            "no pump is given; the figures are for the flow wanted"
            if point.flow_m3s
            else "no pump and no flow wanted"
        )
    if point.state == "too weak":
        needed, most = (show(value, "head", units) for value in (point.total_head_m, curve.shut_off_m))
        return f"the pump's shut-off head of {most} does not exceed the {needed} needed"
    if point.state == "beyond curve":
        last = show(curve.last_flow_m3s, "flow", units)
        return (
            f"the pump would pass the last point of its curve ({last}); the true flow is greater: add points from "
            "the maker's chart"
        )
    return f"where the curve of {curve.name} meets the line"


def _curves(system: System, curve: PumpCurve | None, greatest: float) -> tuple[CurvePoint, ...]:
    """Return both curves from no flow to the pump's last flow, or to half more than the flow asked for [m3/s]."""
    last = curve.last_flow_m3s if curve is not None else 1.5 * greatest
    flows = np.linspace(0.0, last, CURVE_POINTS)
    heads = total_head(system, flows)
    pump = head_at(curve, flows) if curve is not None else np.full(CURVE_POINTS, np.nan)
    rows = zip(flows.tolist(), heads.tolist(), pump.tolist(), strict=True)
    return tuple(CurvePoint(flow_lps=1000.0 * flow, system_m=head, pump_m=given) for flow, head, given in rows)
