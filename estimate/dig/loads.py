"""Trucks and whole loads: a load is full when the body is, or when its weight is reached."""

import math
from dataclasses import dataclass
from typing import Literal

from estimate.tables import row_named
from estimate.tables.measures import POUND, YARD3
from terrain.errors import InputError


@dataclass(frozen=True, slots=True)
class Truck:
    """What carries spoil: body volume [m3 loose] and payload [kg, infinite where weight does not rule]."""

    name: str
    body_m3: float
    payload_kg: float
    source: str

    def __post_init__(self) -> None:
        """Refuse a truck that carries nothing.

        Raises:
            InputError: body or payload not above zero.
        """
        if not (0.0 < self.body_m3 < math.inf and self.payload_kg > 0.0):
            found = f"body {self.body_m3:g} m3, payload {self.payload_kg:g} kg"
            raise InputError(f"truck {self.name}", found, "both above zero", "give body volume and legal payload")


@dataclass(frozen=True, slots=True)
class Loads:
    """Whole loads of one material, counted by volume and by weight; the greater is hauled."""

    by_volume: int
    by_weight: int

    @property
    def count(self) -> int:
        """The loads to haul: the greater of the two."""
        return max(self.by_volume, self.by_weight)

    @property
    def rule(self) -> Literal["none", "volume", "weight"]:
        """What filled the truck: its body or its payload; "none" without a load."""
        if self.count == 0:
            return "none"
        return "weight" if self.by_weight > self.by_volume else "volume"


def truck(name: str) -> Truck:
    """Return the truck of that `name` in the table.

    Raises:
        InputError: the table has no such truck.

    >>> truck("tandem dump truck").name
    'tandem dump truck'
    """
    row = row_named("trucks", "truck", name)
    body, payload = float(row["body_yd3"]) * YARD3, float(row["payload_lb"]) * POUND
    return Truck(row["truck"], body, payload, row["source"])


def full_load_m3(carrier: Truck, loose_density: float) -> float:
    """Return the loose volume [m3] of one full load of a material of `loose_density` [kg/m3].

    Source: the lesser of body volume and payload over density, as US Army TM 9-2320-366-10-1 Table 2-15 has it.

    >>> full_load_m3(Truck("cart", 2.0, 1500.0, "example"), 1500.0)
    1.0
    """
    return min(carrier.body_m3, carrier.payload_kg / loose_density)


def loads_of(loose_m3: float, mass_kg: float, carrier: Truck) -> Loads:
    """Return the whole loads for one material of `loose_m3` [m3] and `mass_kg` [kg]; nothing is 0 loads.

    Raises:
        InputError: a volume or mass below zero.

    >>> loads_of(9.0, 9000.0, Truck("cart", 2.0, 1500.0, "example"))
    Loads(by_volume=5, by_weight=6)
    """
    if not (loose_m3 >= 0.0 and mass_kg >= 0.0):
        raise InputError("loads", f"{loose_m3:g} m3, {mass_kg:g} kg", "zero or more", "correct the volumes")
    return Loads(_whole(loose_m3 / carrier.body_m3), _whole(mass_kg / carrier.payload_kg))


def _whole(share: float) -> int:
    """Return the next whole number; a millionth over a full load is no load of its own."""
    return math.ceil(share - 1e-6)
