"""Soil as it is dug, heaped and filled: bank, loose and compacted measure, weight, bedding material."""

import math
from dataclasses import dataclass, replace

from estimate.tables import row_named
from estimate.tables.measures import POUND_PER_FOOT3
from terrain.errors import InputError

COMPACTED_LIMITS = (0.6, 1.4)
"""Range in which a factor bank to compacted [m3/m3] is believed; common practice, no published source."""
LOOSE_LIMITS = (1.0, 2.0)
"""Range in which a factor bank to loose [m3/m3] is believed; common practice, no published source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Soil:
    """A soil's factors from one bank m3 to loose and compacted m3, each with its range, and bank density [kg/m3].

    Source: the row of the soil table or the user, kept in `source`.
    """

    name: str
    loose_per_bank: float
    loose_low: float
    loose_high: float
    compacted_per_bank: float
    compacted_low: float
    compacted_high: float
    bank_density: float
    source: str

    def __post_init__(self) -> None:
        """Refuse factors that follow another convention.

        Raises:
            InputError: a factor outside its limits or a density not above zero.
        """
        loose = (self.loose_low, self.loose_per_bank, self.loose_high)
        compacted = (self.compacted_low, self.compacted_per_bank, self.compacted_high)
        _check(self.name, "bank to loose", loose, LOOSE_LIMITS)
        _check(self.name, "bank to compacted", compacted, COMPACTED_LIMITS)
        if not 0.0 < self.bank_density < math.inf:
            found = f"density {self.bank_density:g} kg/m3"
            raise InputError(f"soil {self.name}", found, "above zero", "give the density in the bank")

    @property
    def loose_density(self) -> float:
        """Density of the heap [kg/m3]: the bank density over the factor, since swelling adds no weight."""
        return self.bank_density / self.loose_per_bank

    @property
    def corners(self) -> tuple["Soil", ...]:
        """The same soil at the ends of its ranges: it swells least or most, and shrinks most or least.

        Which end is the dear one hangs on the yard: soil that shrinks much leaves less to haul, and more to bring.
        """
        return tuple(
            replace(self, loose_per_bank=loose, compacted_per_bank=compacted)
            for loose in (self.loose_low, self.loose_high)
            for compacted in (self.compacted_low, self.compacted_high)
        )


@dataclass(frozen=True, slots=True)
class Bedding:
    """A bedding material: loose m3 to buy for one m3 in place, loose density [kg/m3]."""

    name: str
    loose_per_compacted: float
    loose_density: float
    source: str


def soil(name: str) -> Soil:
    """Return the soil of that `name` in the table.

    Source: named in each row; the ranges matter more than the values, since publications differ by 10 points.

    Raises:
        InputError: the table has no such soil.

    >>> soil("common earth").loose_per_bank
    1.25
    """
    row = row_named("soils", "soil", name)
    return Soil(
        name=row["soil"],
        loose_per_bank=float(row["loose_per_bank"]),
        loose_low=float(row["loose_low"]),
        loose_high=float(row["loose_high"]),
        compacted_per_bank=float(row["compacted_per_bank"]),
        compacted_low=float(row["compacted_low"]),
        compacted_high=float(row["compacted_high"]),
        bank_density=float(row["bank_lb_ft3"]) * POUND_PER_FOOT3,
        source=row["source"],
    )


def own_soil(name: str, loose_per_bank: float, compacted_per_bank: float, bank_density: float) -> Soil:
    """Return a soil from the user's own factors, without a range.

    `loose_per_bank` and `compacted_per_bank` [m3/m3] are volume after over volume before, `bank_density` [kg/m3].

    Raises:
        InputError: a factor outside its limits; a shrinkage of 0.1 is a factor of 0.9.

    >>> own_soil("fill", 1.2, 0.9, 1600.0).loose_density.__round__()
    1333
    """
    return Soil(
        name=name,
        loose_per_bank=loose_per_bank,
        loose_low=loose_per_bank,
        loose_high=loose_per_bank,
        compacted_per_bank=compacted_per_bank,
        compacted_low=compacted_per_bank,
        compacted_high=compacted_per_bank,
        bank_density=bank_density,
        source="given by the user",
    )


def bedding(name: str) -> Bedding:
    """Return the bedding material of that `name` in the table.

    Raises:
        InputError: the table has no such material.

    >>> bedding("sand").loose_per_compacted
    1.16
    """
    row = row_named("bedding", "material", name)
    density = float(row["loose_lb_ft3"]) * POUND_PER_FOOT3
    return Bedding(row["material"], float(row["loose_per_compacted"]), density, row["source"])


def _check(name: str, what: str, factors: tuple[float, float, float], limits: tuple[float, float]) -> None:
    """Refuse a factor out of `limits` or out of order with its range."""
    low, value, high = factors
    if not limits[0] <= value <= limits[1] or not (limits[0] <= low <= high <= limits[1]):
        raise InputError(
            f"soil {name}",
            f"{what} {low:g}, {value:g}, {high:g} (low, usual, high)",
            f"factors from {limits[0]:g} to {limits[1]:g} in order",
            "give the volume after over the volume before: 10 percent shrinkage is 0.9, 25 percent swell is 1.25",
        )
