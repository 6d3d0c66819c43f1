"""Where the dug soil goes: bedding and pipe take its place, some fills back, the rest is surplus."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from estimate.dig.loads import Loads, Truck, loads_of
from estimate.dig.soil import Bedding, Soil
from terrain.errors import GeometryError, InputError

_NOTHING_M3 = 1e-9

NO_BEDDING = Bedding("none", 1.0, 1.0, "no bedding")
"""The bedding material of a trench without bedding (volume 0 m3)."""


@dataclass(frozen=True, slots=True)
class Layer:
    """A layer as dug: name, bank volume [m3], soil, and whether it goes back into the trench."""

    name: str
    bank_m3: float
    soil: Soil
    reuse: bool = True

    @property
    def loose_m3(self) -> float:
        """Volume of the layer in the heap [m3 loose]."""
        return self.bank_m3 * self.soil.loose_per_bank


@dataclass(frozen=True, slots=True)
class Surplus:
    """What is left of one layer: bank and loose volume [m3], mass [kg]."""

    name: str
    bank_m3: float
    loose_m3: float
    mass_kg: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Spoil:
    """The balance of one dig, volumes [m3] in the measure that each name says.

    In place `bedding_m3 + pipe_m3 + backfill_compacted_m3 = cut_bank_m3`: what was dug is filled again. The
    backfill is native soil as far as it reaches (`backfill_bank_m3` of the bank) and imported for the rest.
    """

    cut_bank_m3: float
    loose_m3: float
    bedding_m3: float
    bedding_loose_m3: float
    bedding_mass_kg: float
    pipe_m3: float
    backfill_compacted_m3: float
    backfill_bank_m3: float
    imported_fill_m3: float
    surplus: tuple[Surplus, ...]

    @property
    def surplus_bank_m3(self) -> float:
        """Surplus to haul, in bank measure [m3]."""
        return math.fsum(part.bank_m3 for part in self.surplus)

    @property
    def surplus_loose_m3(self) -> float:
        """Surplus to haul, in loose measure [m3]."""
        return math.fsum(part.loose_m3 for part in self.surplus)

    @property
    def native_fill_m3(self) -> float:
        """Backfill from the trench's own soil, compacted in place [m3]."""
        return self.backfill_compacted_m3 - self.imported_fill_m3

    @property
    def heap_m3(self) -> float:
        """Greatest heap beside the trench [m3 loose]: all that was dug, before anything goes back."""
        return self.loose_m3


def spoil(layers: Sequence[Layer], *, pipe_m3: float, bedding_m3: float, material: Bedding = NO_BEDDING) -> Spoil:
    """Return the balance of the `layers` dug, in the order in which they are used to fill back.

    `pipe_m3` is the outside volume of the pipe [m3], `bedding_m3` the bedding in place around it [m3 compacted].

    Source: definitions of swell and shrinkage; the space left by bedding and pipe is filled level with the ground,
    without a mound.

    Raises:
        InputError: a volume below zero.
        GeometryError: bedding and pipe need more room than the cut has.

    >>> from estimate.dig.soil import soil
    >>> balance = spoil([Layer("earth", 10.0, soil("common earth"))], pipe_m3=0.1, bedding_m3=0.9)
    >>> balance.backfill_compacted_m3, balance.backfill_bank_m3, balance.surplus_bank_m3
    (9.0, 10.0, 0.0)
    """
    cut = math.fsum(layer.bank_m3 for layer in layers)
    backfill = _room(layers, pipe_m3, bedding_m3)
    left, used, surplus = backfill, 0.0, []
    for layer in layers:
        taken = min(layer.bank_m3, left / layer.soil.compacted_per_bank) if layer.reuse else 0.0
        left = max(left - taken * layer.soil.compacted_per_bank, 0.0)
        used += taken
        surplus.append(_surplus(layer, layer.bank_m3 - taken))
    return Spoil(
        cut_bank_m3=cut,
        loose_m3=math.fsum(layer.loose_m3 for layer in layers),
        bedding_m3=bedding_m3,
        bedding_loose_m3=bedding_m3 * material.loose_per_compacted,
        bedding_mass_kg=bedding_m3 * material.loose_per_compacted * material.loose_density,
        pipe_m3=pipe_m3,
        backfill_compacted_m3=backfill,
        backfill_bank_m3=used,
        imported_fill_m3=left if left > 1e-9 * cut else 0.0,
        surplus=tuple(surplus),
    )


def surplus_loads(balance: Spoil, carrier: Truck) -> Loads:
    """Return the whole loads of all surplus, rounded up material by material.

    Source: common practice, no published source (materials are not mixed on a truck).

    >>> surplus_loads(spoil([], pipe_m3=0.0, bedding_m3=0.0), Truck("cart", 1.0, 1000.0, "example")).count
    0
    """
    every = [loads_of(part.loose_m3, part.mass_kg, carrier) for part in balance.surplus]
    by_weight = any(loads.rule == "weight" for loads in every)
    count = sum(loads.count for loads in every)
    by_volume = sum(loads.by_volume for loads in every)
    return Loads(by_volume, count if by_weight else sum(loads.by_weight for loads in every))


def layer_range(layers: Sequence[Layer], sigma_m3: float, taken_m3: float) -> tuple[tuple[Layer, ...], ...]:
    """Return the layers at the ends of what may be: the cut with two `sigma_m3` [m3] less or more, soils at range.

    Each quantity is least and greatest at one of these eight. What pipe, bedding and structures take, `taken_m3`
    [m3], is as in the likely case; the low cut is never less.

    Source: two standard deviations hold about 95 percent of normal errors; ranges from the soil table.

    Raises:
        InputError: the sigma is below zero or not a number.
    """
    if not 0.0 <= sigma_m3 < math.inf:
        raise InputError("sigma of the volume", f"{sigma_m3:g} m3", "zero or more", "give the survey's accuracy")
    cut = math.fsum(layer.bank_m3 for layer in layers)
    least = taken_m3 / cut if cut > _NOTHING_M3 else 1.0
    share = 2.0 * sigma_m3 / cut if cut > _NOTHING_M3 else 0.0
    less, more = max(1.0 - share, min(least, 1.0)), 1.0 + share
    return tuple(
        tuple(Layer(part.name, part.bank_m3 * times, part.soil.corners[corner], part.reuse) for part in layers)
        for times in (less, more)
        for corner in range(4)
    )


def _surplus(layer: Layer, bank_m3: float) -> Surplus:
    """Return what is left of a layer, `bank_m3` [m3], with its loose volume and mass."""
    bank = bank_m3 if bank_m3 > 1e-9 * layer.bank_m3 else 0.0
    return Surplus(layer.name, bank, bank * layer.soil.loose_per_bank, bank * layer.soil.bank_density)


def _room(layers: Sequence[Layer], pipe_m3: float, bedding_m3: float) -> float:
    """Return the volume [m3] that pipe and bedding leave of the cut."""
    cut = math.fsum(layer.bank_m3 for layer in layers)
    volumes = [*((layer.name, layer.bank_m3) for layer in layers), ("pipe", pipe_m3), ("bedding", bedding_m3)]
    for name, volume in volumes:
        if not 0.0 <= volume < math.inf:
            raise InputError(f"volume of {name}", f"{volume:g} m3", "zero or more", "correct the volumes")
    room = cut - pipe_m3 - bedding_m3
    if room < -1e-9 * max(cut, 1e-6):
        raise GeometryError(
            "trench",
            f"pipe and bedding take {pipe_m3 + bedding_m3:.4g} m3 of a cut of {cut:.4g} m3",
            "less than the cut",
            "check trench depth, width and bedding; the pipe may lie above the ground",
        )
    return max(room, 0.0)
