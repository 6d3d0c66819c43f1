"""Head lost in fittings: K by name from a named table, their sum, and the spread between tables."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from estimate.tables import rows, unknown_name
from estimate.tables.measures import GRAVITY
from estimate.water.friction import velocity
from terrain.arrays import Floats
from terrain.errors import InputError

TABLES = ("Crane", "IRC", "threaded")
"""The fitting tables a user may choose; what one does not list comes from the first, and the record says so."""

_STEEL_ROUGHNESS_M = 0.0018 * 0.0254


@dataclass(frozen=True, slots=True)
class FittingLoss:
    """One fitting's K [no unit] at a bore, with the table and the source it was read from."""

    fitting: str
    k: float
    table: str
    source: str


def fitting_names() -> tuple[str, ...]:
    """Return the names of all fittings that any table lists.

    >>> fitting_names()[:3]
    ('90 elbow', '45 elbow', '90 long elbow')
    """
    return tuple(dict.fromkeys(row["fitting"] for row in rows("fittings")))


def rough_turbulent_factor(bore_m: float) -> float:
    """Return Crane's fT, the fully turbulent friction factor of clean steel pipe, at `bore_m` [m].

    Source: Crane Technical Paper 410 (from memory), fT = 0.25 / log10(roughness/(3.7 D))^2 with a roughness of
    0.00015 ft; bores of about 12 to 900 mm (its tables), which is checked.

    Raises:
        InputError: the bore is outside 12 to 900 mm.

    >>> round(rough_turbulent_factor(2.067 * 0.0254), 3)
    0.019
    """
    if not 0.012 <= bore_m <= 0.9:
        raise InputError("bore", f"{bore_m:g} m", "0.012 to 0.9 m", "give the inside diameter of the pipe")
    return 0.25 / math.log10(_STEEL_ROUGHNESS_M / (3.7 * bore_m)) ** 2


def fitting_loss(fitting: str, bore_m: float, table: str = "Crane") -> FittingLoss:
    """Return the loss of one `fitting` at `bore_m` [m] from `table`, or from Crane's where it has no such row.

    Raises:
        InputError: the table or the fitting is unknown, or the bore outside the table's range.

    >>> round(fitting_loss("90 elbow", 0.0525).k, 2), fitting_loss("exit", 0.0525, "IRC").table
    (0.57, 'Crane')
    """
    chosen = {name.casefold(): name for name in TABLES}.get(table.casefold())
    if chosen is None:
        raise unknown_name("fitting table", table, list(TABLES))
    wanted = " ".join(fitting.split()).casefold()
    listed = {row["table"]: row for row in rows("fittings") if row["fitting"].casefold() == wanted}
    for name in (chosen, "any", *TABLES):
        if name in listed:
            row = listed[name]
            k = float(row["k"]) if row["k"] else float(row["ratio"]) * rough_turbulent_factor(bore_m)
            return FittingLoss(row["fitting"], k, name, row["source"])
    raise unknown_name("fitting", fitting, list(fitting_names()))


def k_sum(counts: Mapping[str, int], bore_m: float, table: str = "Crane") -> float:
    """Return the sum of K of all fittings, `counts` by name, at `bore_m` [m]; none gives 0.

    Raises:
        InputError: a name is unknown or a count negative.

    >>> round(k_sum({"90 elbow": 4, "exit": 1}, 0.0525), 2), k_sum({}, 0.0525)
    (3.28, 0.0)
    """
    for fitting, count in counts.items():
        if count < 0:
            raise InputError("fittings", f"{count} of {fitting}", "a count of 0 or more", "correct the count")
    return math.fsum(count * fitting_loss(fitting, bore_m, table).k for fitting, count in counts.items())


def k_range(fitting: str, bore_m: float) -> tuple[float, float]:
    """Return the least and greatest K that the tables give for one `fitting` at `bore_m` [m].

    Raises:
        InputError: no table lists the fitting.

    >>> tuple(round(k, 2) for k in k_range("90 elbow", 0.0525))
    (0.57, 1.5)
    """
    values = [fitting_loss(fitting, bore_m, table).k for table in TABLES]
    return min(values), max(values)


def fitting_head(flow: ArrayLike, bore: ArrayLike, k: ArrayLike) -> Floats:
    """Return the head (...) [m] lost in fittings of sum `k` (...) at `flow` (...) [m3/s] and `bore` (...) [m].

    Source: h = K V^2/2g, the definition of K; close-coupled fittings may interact, which is left out.

    >>> float(fitting_head(0.003, 0.0525, 5.0).round(3))
    0.49
    """
    speed = velocity(flow, bore)
    return np.asarray(k, dtype=np.float64) * speed * np.abs(speed) / (2.0 * GRAVITY)
