"""What the pump works against: static lift, pipe, fittings and what is wanted at the end, as head by flow."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from estimate.water.fittings import fitting_head
from estimate.water.friction import friction_head
from terrain.arrays import Floats
from terrain.errors import InputError


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """A length of one bore: length, bore, sand roughness [m] and the sum of K of its fittings."""

    length_m: float
    bore_m: float
    roughness_m: float
    k_sum: float = 0.0

    def __post_init__(self) -> None:
        """Refuse what no pipe can have.

        Raises:
            InputError: a length, roughness or K below zero, or a bore not above zero.
        """
        figures = (self.length_m, self.roughness_m, self.k_sum)
        if not all(math.isfinite(figure) and figure >= 0.0 for figure in figures):
            found = f"length {self.length_m:g} m, roughness {self.roughness_m:g} m, K {self.k_sum:g}"
            raise InputError(
                "pipe reach", found, "figures of zero or more", "correct the negative or missing figure"
            )
        if not 0.0 < self.bore_m < math.inf:
            raise InputError("pipe reach", f"bore {self.bore_m:g} m", "above zero", "give the inside diameter")


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """A pump's line: static lift [m, may be negative], reaches, viscosity [m2/s], density [kg/m3].

    `residual_m` is head [m] wanted beyond lift and losses, such as a filter's. The exit loss of a line that ends
    under water or in a free jet is a fitting, counted once.
    """

    static_lift_m: float
    reaches: tuple[Reach, ...]
    viscosity_m2s: float
    density_kgm3: float = 999.7
    residual_m: float = 0.0

    def __post_init__(self) -> None:
        """Refuse figures that are not numbers.

        Raises:
            InputError: lift or residual is not finite, or viscosity or density not above zero.
        """
        if not math.isfinite(self.static_lift_m) or not 0.0 <= self.residual_m < math.inf:
            found = f"static lift {self.static_lift_m:g} m, residual {self.residual_m:g} m"
            raise InputError(
                "water system", found, "finite heads, residual not below 0", "correct the water levels"
            )
        if not (self.viscosity_m2s > 0.0 and self.density_kgm3 > 0.0):
            found = f"viscosity {self.viscosity_m2s:g} m2/s, density {self.density_kgm3:g} kg/m3"
            raise InputError("water system", found, "both above zero", "take them from the water temperature")


def friction_of(system: System, flow: ArrayLike) -> Floats:
    """Return the friction head (...) [m] of all reaches at `flow` (...) [m3/s].

    Raises:
        InputError: a reach rougher than 0.05 of its bore.
    """
    rate = np.asarray(flow, dtype=np.float64)
    total = np.zeros_like(rate)
    for reach in system.reaches:
        total = total + friction_head(rate, reach.length_m, reach.bore_m, reach.roughness_m, system.viscosity_m2s)
    return total


def fittings_of(system: System, flow: ArrayLike) -> Floats:
    """Return the fitting head (...) [m] of all reaches at `flow` (...) [m3/s]."""
    rate = np.asarray(flow, dtype=np.float64)
    total = np.zeros_like(rate)
    for reach in system.reaches:
        total = total + fitting_head(rate, reach.bore_m, reach.k_sum)
    return total


def total_head(system: System, flow: ArrayLike) -> Floats:
    """Return the total dynamic head (...) [m] at `flow` (...) [m3/s]: lift, friction, fittings, residual.

    Source: energy balance from water surface to water surface (Bernoulli with losses); steady flow, full pipes.

    Raises:
        InputError: a reach rougher than 0.05 of its bore.

    >>> reach = Reach(length_m=30.0, bore_m=0.0525, roughness_m=1.5e-6, k_sum=5.0)
    >>> float(total_head(System(static_lift_m=1.8, reaches=(reach,), viscosity_m2s=1.3e-6), 0.0))
    1.8
    """
    base = system.static_lift_m + system.residual_m
    return base + friction_of(system, flow) + fittings_of(system, flow)
