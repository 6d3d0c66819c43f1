"""Where pump and line agree: the flow a pump really gives, one line exactly or many lines at once."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from scipy.optimize import brentq
from scipy.optimize.elementwise import find_root

from estimate.tables.measures import FOOT, GRAVITY
from estimate.water.friction import friction_head, regime, reynolds, velocity
from estimate.water.pump import PumpCurve, head_at
from estimate.water.system import System, fittings_of, friction_of, total_head
from terrain.arrays import Floats, Longs

NOTE_VELOCITY = 5.0 * FOOT
"""Velocity from which a note is due [m/s], 5 ft/s; common practice, no published source."""
WARNING_VELOCITY = 8.0 * FOOT
"""Velocity from which a warning is due [m/s], 8 ft/s; common practice, no published source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OperatingPoint:
    """Flow [m3/s], heads [m], greatest velocity [m/s] and power given to the water [W] of a line.

    `state` is "found", "too weak" (flow 0: the lift is at least the pump's shut-off head), "beyond curve" (flow is
    the last listed one, the true flow is more) or "given" (no pump, a flow chosen by the user).
    """

    state: Literal["found", "too weak", "beyond curve", "given"]
    flow_m3s: float
    total_head_m: float
    friction_m: float
    fittings_m: float
    velocity_mps: float
    reynolds: float
    water_power_w: float

    @property
    def regime(self) -> str:
        """How the water flows, in words; says when friction was interpolated."""
        return regime(self.reynolds)

    @property
    def velocity_level(self) -> Literal["", "note", "warning"]:
        """What the velocity deserves: nothing, a note from 5 ft/s, a warning from 8 ft/s."""
        return velocity_level(self.velocity_mps)


def velocity_level(velocity_mps: float) -> Literal["", "note", "warning"]:
    """Return what a velocity [m/s] in plastic pipe deserves: "" or "note" from 5 ft/s or "warning" from 8 ft/s.

    Source: common practice, no published source (5 ft/s is a usual design limit for plastic pipe).

    >>> velocity_level(1.0), velocity_level(1.6), velocity_level(2.5)
    ('', 'note', 'warning')
    """
    if velocity_mps >= WARNING_VELOCITY:
        return "warning"
    return "note" if velocity_mps >= NOTE_VELOCITY else ""


def at_flow(
    system: System,
    flow_m3s: float,
    state: Literal["found", "too weak", "beyond curve", "given"] = "given",
) -> OperatingPoint:
    """Return heads, velocity and power of a line at `flow_m3s` [m3/s], whatever pump gives it.

    Source: water power = density g Q H.

    Raises:
        InputError: a reach rougher than 0.05 of its bore.
    """
    head = float(total_head(system, flow_m3s))
    fastest = min(system.reaches, key=lambda reach: reach.bore_m, default=None)
    bore = fastest.bore_m if fastest else np.inf
    return OperatingPoint(
        state=state,
        flow_m3s=flow_m3s,
        total_head_m=head,
        friction_m=float(friction_of(system, flow_m3s)),
        fittings_m=float(fittings_of(system, flow_m3s)),
        velocity_mps=float(velocity(flow_m3s, bore)),
        reynolds=float(reynolds(flow_m3s, bore, system.viscosity_m2s)) if fastest else 0.0,
        water_power_w=system.density_kgm3 * GRAVITY * flow_m3s * head,
    )


def operating_point(curve: PumpCurve, system: System) -> OperatingPoint:
    """Return where `curve` and `system` agree.

    A lift above the shut-off head gives flow 0, and a line so easy that the flow would pass the curve's last point
    gives that point's flow; the curve is never read beyond its ends.

    Raises:
        InputError: a reach rougher than 0.05 of its bore.

    >>> from estimate.water.pump import pump_curve
    >>> from estimate.water.system import Reach
    >>> reach = Reach(length_m=0.0, bore_m=0.05, roughness_m=0.0)
    >>> line = System(static_lift_m=3.0, reaches=(reach,), viscosity_m2s=1.3e-6)
    >>> round(operating_point(pump_curve([(0.0, 4.0), (0.004, 2.0)]), line).flow_m3s, 12)
    0.002
    """

    def spare(flow: float) -> float:
        """Return the head [m] that the pump has left at `flow` [m3/s]."""
        return float(head_at(curve, flow) - total_head(system, flow))

    if spare(0.0) <= 0.0:
        return at_flow(system, 0.0, "too weak")
    last = curve.last_flow_m3s
    left = spare(last)
    if left > 0.0:
        return at_flow(system, last, "beyond curve")
    if left == 0.0:
        return at_flow(system, last, "found")
    flow = float(brentq(spare, 0.0, last, xtol=last * 1e-15, rtol=1e-14))
    return at_flow(system, flow, "found")


def operating_flows(curve: PumpCurve, systems: Sequence[System]) -> Floats:
    """Return the flow (n,) [m3/s] that one pump gives in each of n `systems`, all solved together.

    A too weak pump gives 0 and a line that passes the curve's last point gives that point's flow, as in
    `operating_point`; no system gives an empty array.

    Raises:
        InputError: a reach rougher than 0.05 of its bore.

    >>> from estimate.water.pump import pump_curve
    >>> operating_flows(pump_curve([(0.0, 4.0), (0.004, 2.0)]), []).shape
    (0,)
    """
    if not systems:
        return np.zeros(0)
    base = np.array([system.static_lift_m + system.residual_m for system in systems])
    viscosity = np.array([system.viscosity_m2s for system in systems])
    reaches = _stacked(systems)

    def spare(flow: Floats, row: Longs) -> Floats:
        """Return the head (k,) [m] left at `flow` (k,) [m3/s] in the systems `row` (k,)."""
        rate = np.clip(flow, 0.0, curve.last_flow_m3s)
        head: Floats = base[row]
        for length, bore, rough, k in reaches:
            head = head + friction_head(rate, length[row], bore[row], rough[row], viscosity[row])
            head = head + k[row] * velocity(rate, bore[row]) ** 2 / (2.0 * GRAVITY)
        left: Floats = head_at(curve, rate) - head
        return left

    every = np.arange(len(systems), dtype=np.int64)
    last = np.full(len(systems), curve.last_flow_m3s)
    answer: Floats = np.where(spare(last, every) >= 0.0, last, 0.0)
    crossing = (spare(np.zeros(len(systems)), every) > 0.0) & (answer == 0.0)
    if crossing.any():
        row = every[crossing]
        found = find_root(spare, (np.zeros(len(row)), last[row]), args=(row,))
        answer[row] = found.x
    return answer


def _stacked(systems: Sequence[System]) -> list[Floats]:
    """Return for each place in the line an array (4, n): length, bore, roughness [m] and K; none = length 0."""
    deepest = max(len(system.reaches) for system in systems)
    stacks = []
    for place in range(deepest):
        stack = np.array([[0.0, 1.0, 0.0, 0.0]] * len(systems)).T
        for column, system in enumerate(systems):
            if place < len(system.reaches):
                reach = system.reaches[place]
                stack[:, column] = (reach.length_m, reach.bore_m, reach.roughness_m, reach.k_sum)
        stacks.append(stack)
    return stacks
