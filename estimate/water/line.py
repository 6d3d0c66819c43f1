"""The water of one line: what the pump gives through this pipe, these fittings and this lift."""

import math

import numpy as np

from estimate.record import CurvePoint, Finding, PipeLine, Water
from estimate.site_records import SiteFile
from estimate.tables import row_named
from estimate.tables.measures import FOOT, GRAVITY
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

CURVE_POINTS = 25
"""Points of the head curves kept in the record."""


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


def water_of(file: SiteFile, system: System, pipe: Pipe) -> tuple[Water, tuple[Finding, ...]]:
    """Return flow and heads at the operating point, or at the flow wanted where no pump is given, and findings.

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
        why=_why(point, curve),
        pump=curve.name if curve is not None else "",
        curve=_curves(system, curve, max(point.flow_m3s, asked)),
    )
    found = (
        _pump_finding(point),
        _velocity_finding(point),
        _wish_finding(point, asked),
        _rating(system, pipe, curve),
    )
    return water, tuple(finding for finding in found if finding is not None)


def _pump_finding(point: OperatingPoint) -> Finding | None:
    remedy = {
        "too weak": "choose a pump with more head at no flow, or bring the levels closer together",
        "beyond curve": "add points from the maker's chart until the head is near zero",
    }
    if point.state not in remedy:
        return None
    level = "act" if point.state == "too weak" else "warning"
    return Finding(
        code=f"pump {point.state}", level=level, where="pump", reason=point.reason, remedy=remedy[point.state]
    )


def _velocity_finding(point: OperatingPoint) -> Finding | None:
    level = point.velocity_level
    if not level:
        return None
    limit = NOTE_VELOCITY if level == "note" else WARNING_VELOCITY
    reason = f"the water runs at {point.velocity_mps:.2f} m/s ({point.velocity_mps / FOOT:.1f} ft/s), "
    reason += f"over {limit / FOOT:.0f} ft/s: friction, noise and surge grow with the square of it"
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


def _rating(system: System, pipe: Pipe, curve: PumpCurve | None) -> Finding | None:
    """Return a finding where the pump's shut-off head alone exceeds the pipe's rating."""
    pressure = system.density_kgm3 * GRAVITY * (curve.shut_off_m if curve is not None else system.static_lift_m)
    if not pressure > pipe.rating_pa:
        return None
    reason = f"the pump can build {pressure / 1000:.0f} kPa, the pipe is rated {pipe.rating_pa / 1000:.0f} kPa"
    return Finding(
        code="over the rating", level="act", where="pipe", reason=reason, remedy="take a pipe of a higher rating"
    )


def _why(point: OperatingPoint, curve: PumpCurve | None) -> str:
    if curve is None:
        return (
            "no pump is given; the figures are for the flow wanted"
            if point.flow_m3s
            else "no pump and no flow wanted"
        )
    return point.reason or f"where the curve of {curve.name} meets the line"


def _curves(system: System, curve: PumpCurve | None, greatest: float) -> tuple[CurvePoint, ...]:
    """Return both curves from no flow to the pump's last flow, or to half more than the flow asked for [m3/s]."""
    last = curve.last_flow_m3s if curve is not None else 1.5 * greatest
    flows = np.linspace(0.0, last, CURVE_POINTS)
    heads = total_head(system, flows)
    pump = head_at(curve, flows) if curve is not None else np.full(CURVE_POINTS, np.nan)
    rows = zip(flows.tolist(), heads.tolist(), pump.tolist(), strict=True)
    return tuple(CurvePoint(flow_lps=1000.0 * flow, system_m=head, pump_m=given) for flow, head, given in rows)
