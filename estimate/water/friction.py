"""Friction in full pipes: Reynolds number, Darcy friction factor, head lost along a pipe, roughness."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import wrightomega

from estimate.tables import row_named
from estimate.tables.measures import GRAVITY
from terrain.arrays import Floats
from terrain.errors import InputError

LAMINAR_BELOW = 2000.0
"""Reynolds number up to which flow in a pipe is taken as laminar."""
TURBULENT_FROM = 4000.0
"""Reynolds number from which the Colebrook equation is taken to hold."""

_LN10 = math.log(10.0)


@dataclass(frozen=True, slots=True)
class Roughness:
    """The inside of a pipe: sand roughness [m], the C of Hazen and Williams, where the figures come from."""

    surface: str
    height_m: float
    hazen_williams_c: float
    source: str


def roughness(surface: str) -> Roughness:
    """Return the roughness of a `surface` named in the table, such as "PVC".

    Raises:
        InputError: the table has no such surface.

    >>> roughness("pvc").height_m
    1.5e-06
    """
    row = row_named("roughness", "surface", surface)
    height = float(row["roughness_mm"]) / 1000.0
    return Roughness(row["surface"], height, float(row["hazen_williams_c"]), row["source"])


def velocity(flow: ArrayLike, bore: ArrayLike) -> Floats:
    """Return the mean velocity (...) [m/s] of `flow` (...) [m3/s] in a full pipe of `bore` (...) [m].

    >>> float(round(velocity(0.01, 0.1), 4))
    1.2732
    """
    diameter = np.asarray(bore, dtype=np.float64)
    return np.asarray(flow, dtype=np.float64) / (math.pi / 4.0 * diameter**2)


def reynolds(flow: ArrayLike, bore: ArrayLike, viscosity: ArrayLike) -> Floats:
    """Return the Reynolds number (...) of `flow` (...) [m3/s], `bore` (...) [m], `viscosity` (...) [m2/s].

    >>> float(round(reynolds(0.003, 0.05, 1.3e-6)))
    58765.0
    """
    diameter = np.asarray(bore, dtype=np.float64)
    return velocity(flow, diameter) * diameter / np.asarray(viscosity, dtype=np.float64)


def friction_factor(number: ArrayLike, relative_roughness: ArrayLike) -> Floats:
    """Return the Darcy friction factor (...) at Reynolds `number` (...) and `relative_roughness` (...) [m/m].

    Laminar 64/Re up to 2000; Colebrook from 4000; between them, where no formula holds, a straight line in the
    Reynolds number joins the two (`regime` tells). Infinite at rest.

    Source: C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939) 133, 1/sqrt(f) = -2 log10(r/3.7 + 2.51/(Re sqrt(f))),
    solved exactly by the Wright omega function; relative roughness up to 0.05, which is checked.

    Raises:
        InputError: a relative roughness is not between 0 and 0.05.

    >>> friction_factor([1000.0, 1e5], 0.0).round(5).tolist()
    [0.064, 0.01799]
    """
    reynolds_number = np.abs(np.asarray(number, dtype=np.float64))
    rough = np.asarray(relative_roughness, dtype=np.float64)
    if not np.all((rough >= 0.0) & (rough <= 0.05)):
        raise InputError(
            "pipe roughness",
            f"relative roughness {float(np.nanmax(rough)):g}",
            "0 to 0.05 of the bore (range of the Colebrook equation)",
            "correct the roughness or the bore",
        )
    with np.errstate(divide="ignore"):
        laminar = 64.0 / reynolds_number
    turbulent = _colebrook(np.maximum(reynolds_number, TURBULENT_FROM), rough)
    share = np.clip((reynolds_number - LAMINAR_BELOW) / (TURBULENT_FROM - LAMINAR_BELOW), 0.0, 1.0)
    between = (1.0 - share) * (64.0 / LAMINAR_BELOW) + share * turbulent
    return np.where(reynolds_number <= LAMINAR_BELOW, laminar, between)


def _colebrook(number: Floats, rough: Floats) -> Floats:
    """Return the exact root of the Colebrook equation (...) for Reynolds `number` and relative `rough`."""
    scale = 2.0 * 2.51 / (_LN10 * number)
    omega = wrightomega(rough / 3.7 / scale - np.log(scale))
    inverse_root = -2.0 / _LN10 * np.log(scale * omega)
    return np.asarray(inverse_root**-2.0, dtype=np.float64)


def regime(number: float) -> str:
    """Return in words how water flows at Reynolds `number` [no unit]: at rest, laminar, between, turbulent.

    >>> regime(3000.0)
    'between laminar and turbulent: friction interpolated'
    """
    if number == 0.0:
        return "at rest"
    if number <= LAMINAR_BELOW:
        return "laminar"
    if number < TURBULENT_FROM:
        return "between laminar and turbulent: friction interpolated"
    return "turbulent"


def friction_head(
    flow: ArrayLike, length: ArrayLike, bore: ArrayLike, roughness_height: ArrayLike, viscosity: ArrayLike
) -> Floats:
    """Return the head (...) [m] that friction takes from `flow` (...) [m3/s] over `length` (...) [m].

    `bore` (...) [m], `roughness_height` (...) [m] and `viscosity` (...) [m2/s] are those of the pipe and water.

    Source: Darcy and Weisbach, h = f L/D V^2/2g, with the factor of `friction_factor`; full round pipes.

    Raises:
        InputError: roughness outside 0 to 0.05 of the bore.

    >>> float(friction_head(0.003, 30.0, 0.0525, 1.5e-6, 1.12e-6).round(1))
    1.1
    """
    diameter = np.asarray(bore, dtype=np.float64)
    speed = velocity(flow, diameter)
    number = reynolds(flow, diameter, viscosity)
    factor = friction_factor(np.where(number == 0.0, 1.0, number), np.asarray(roughness_height) / diameter)
    return factor * np.asarray(length, dtype=np.float64) / diameter * speed * np.abs(speed) / (2.0 * GRAVITY)


def hazen_williams_head(
    flow: ArrayLike, length: ArrayLike, bore: ArrayLike, coefficient: ArrayLike = 150.0
) -> Floats:
    """Return the head (...) [m] by Hazen and Williams, as the trade's charts have it.

    `flow` (...) [m3/s], `length` (...) [m], `bore` (...) [m], `coefficient` (...) C, 150 for plastic.

    Source: Hazen and Williams 1905, h = 10.67 L Q^1.852 / (C^1.852 D^4.8704) in SI; water near 15 degrees C
    in turbulent flow, C from 60 to 160, which is checked. Below about 3 ft/s it reads too low in small pipe.

    Raises:
        InputError: the coefficient is outside 60 to 160.

    >>> float(hazen_williams_head(0.003, 30.0, 0.0525).round(3))
    1.087
    """
    c = np.asarray(coefficient, dtype=np.float64)
    if not np.all((c >= 60.0) & (c <= 160.0)):
        raise InputError("Hazen-Williams C", f"{coefficient!r}", "60 to 160", "150 is usual for plastic pipe")
    discharge = np.asarray(flow, dtype=np.float64)
    diameter = np.asarray(bore, dtype=np.float64)
    return 10.67 * np.asarray(length, dtype=np.float64) * discharge**1.852 / (c**1.852 * diameter**4.8704)
