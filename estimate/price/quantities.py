"""What is paid for: the quantities of one estimate in SI, each in its own measure."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from estimate.dig.loads import Loads
from estimate.dig.spoil import Layer, Spoil
from terrain.errors import InputError

NOT_BOUGHT = ("exit", "sharp entrance", "projecting entrance")
"""Names of losses of head that are no fitting one can buy."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantities:
    """The quantities of one estimate: volumes [m3], lengths [m], areas [m2], hours, counts.

    Pairs are (name, amount). Dug layers are (name, bank m3, loose m3). Fill and bedding are compacted in place.
    `nominal` is the pipe's size in inches as text, by which fittings may be priced.
    """

    line_length_m: float
    dug_m3: tuple[tuple[str, float, float], ...] = ()
    native_fill_m3: float = 0.0
    imported_fill_m3: float = 0.0
    bedding: str = "sand"
    bedding_m3: float = 0.0
    bedding_loose_m3: float = 0.0
    surplus_bank_m3: float = 0.0
    surplus_loose_m3: float = 0.0
    loads: int = 0
    nominal: str = ""
    pipes_m: tuple[tuple[str, float], ...] = ()
    fittings: tuple[tuple[str, int], ...] = ()
    drains: int = 0
    restored_m2: tuple[tuple[str, float], ...] = ()
    labour_h: tuple[tuple[str, float], ...] = ()
    machine_h: tuple[tuple[str, float], ...] = ()

    def __post_init__(self) -> None:
        """Refuse an amount that cannot be paid for.

        Raises:
            InputError: an amount is below zero or not a number.
        """
        pairs = [*self.pipes_m, *self.fittings, *self.restored_m2, *self.labour_h, *self.machine_h]
        pairs += [(f"dug {name}", volume) for name, *volumes in self.dug_m3 for volume in volumes]
        single = ("line_length_m", "native_fill_m3", "imported_fill_m3", "bedding_m3", "bedding_loose_m3")
        pairs += [(name, getattr(self, name)) for name in (*single, "surplus_bank_m3", "surplus_loose_m3")]
        for name, amount in [*pairs, ("loads", self.loads), ("drains", self.drains)]:
            if not 0.0 <= amount < math.inf:
                raise InputError(f"quantity of {name}", f"{amount:g}", "zero or more", "correct it")


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One thing to price: its code in the price book and how much, by each measure it may be priced in.

    `amounts` maps (kind, measure) to the SI amount, such as ("volume", "bank") to m3; `codes` are tried in order;
    `source` names the figure of the estimate that the amount comes from.
    """

    codes: tuple[str, ...]
    text: str
    amounts: Mapping[tuple[str, str], float]
    source: str


def quantities_of(
    layers: Sequence[Layer],
    balance: Spoil,
    loads: Loads,
    *,
    line_length_m: float,
    pipe_name: str,
    pipe_length_m: float,
    nominal: str = "",
    fittings: Mapping[str, int],
    drains: int = 0,
    bedding: str = "sand",
    restored_m2: Mapping[str, float],
) -> Quantities:
    """Return the quantities of a dig, its `balance` and `loads`, and one line of pipe.

    `line_length_m` and `pipe_length_m` [m]; `fittings` counts by name; `drains` a count; `restored_m2` areas by
    kind of surface [m2].

    Raises:
        InputError: a length, area or count is below zero or not a number.
    """
    return Quantities(
        line_length_m=line_length_m,
        dug_m3=tuple((layer.name, layer.bank_m3, layer.loose_m3) for layer in layers),
        native_fill_m3=balance.native_fill_m3,
        imported_fill_m3=balance.imported_fill_m3,
        bedding=bedding,
        bedding_m3=balance.bedding_m3,
        bedding_loose_m3=balance.bedding_loose_m3,
        surplus_bank_m3=balance.surplus_bank_m3,
        surplus_loose_m3=balance.surplus_loose_m3,
        loads=loads.count,
        nominal=nominal,
        pipes_m=((pipe_name, pipe_length_m),),
        fittings=tuple((name, count) for name, count in fittings.items() if name not in NOT_BOUGHT),
        drains=drains,
        restored_m2=tuple(restored_m2.items()),
    )


def items(quantities: Quantities) -> tuple[Item, ...]:
    """Return all that is to be priced, in the order in which it is done on site; nothing of amount 0.

    >>> [item.text for item in items(Quantities(line_length_m=1.0, drains=2))]
    ['drain with valve and box']
    """
    every = (*_earth(quantities), *_line(quantities), *_away(quantities), *_time(quantities))
    return tuple(item for item in every if any(item.amounts.values()))


def _earth(quantities: Quantities) -> list[Item]:
    """Return digging, bedding and fill."""
    found = [
        Item(
            codes=(f"dig.{name}",),
            text=f"dig {name}",
            amounts={("volume", "bank"): bank, ("volume", "loose"): loose},
            source=f"dig.layers_m3.{name}",
        )
        for name, bank, loose in quantities.dug_m3
    ]
    bedding = {
        ("volume", "compacted"): quantities.bedding_m3,
        ("volume", "loose"): quantities.bedding_loose_m3,
    }
    name = quantities.bedding
    found.append(
        Item(
            codes=(f"bedding.{name}",), text=f"bedding, {name}, in place", amounts=bedding, source="dig.bedding_m3"
        )
    )
    for origin, volume in (("native", quantities.native_fill_m3), ("imported", quantities.imported_fill_m3)):
        text = f"backfill, {origin} soil, in lifts"
        found.append(
            Item(
                codes=(f"fill.{origin}",),
                text=text,
                amounts={("volume", "compacted"): volume},
                source="dig.backfill_m3",
            )
        )
    return found


def _away(quantities: Quantities) -> list[Item]:
    """Return hauling away and restoration."""
    haul = {
        ("loads", "loose"): float(quantities.loads),
        ("volume", "loose"): quantities.surplus_loose_m3,
        ("volume", "bank"): quantities.surplus_bank_m3,
    }
    found = [Item(codes=("haul.surplus",), text="haul surplus away", amounts=haul, source="dig.loads")]
    for surface, area in quantities.restored_m2:
        amounts = {("area", "neat"): area}
        code, text = f"restoration.{surface}", f"restore {surface}"
        found.append(Item(codes=(code,), text=text, amounts=amounts, source="dig.area_m2"))
    return found


def _line(quantities: Quantities) -> list[Item]:
    """Return pipe, fittings and drains."""
    found = [
        Item(
            codes=(f"pipe.{name}",),
            text=f"pipe, {name}, laid",
            amounts={("length", "neat"): length},
            source="route.pipe_length_m",
        )
        for name, length in quantities.pipes_m
    ]
    for name, count in quantities.fittings:
        sized = (f"fittings.{name} {quantities.nominal} in",) if quantities.nominal else ()
        amounts = {("count", "neat"): float(count)}
        found.append(
            Item(
                codes=(*sized, f"fittings.{name}"), text=f"fitting, {name}", amounts=amounts, source="pipe.fittings"
            )
        )
    drains = {("count", "neat"): float(quantities.drains)}
    found.append(Item(codes=("drains.drain",), text="drain with valve and box", amounts=drains, source="drains"))
    return found


def _time(quantities: Quantities) -> list[Item]:
    """Return hours of labour and of machines."""
    hours = [("labour", *pair) for pair in quantities.labour_h]
    hours += [("machine", *pair) for pair in quantities.machine_h]
    return [
        Item(
            codes=(f"{section}.{name}",),
            text=f"{section}, {name}",
            amounts={("hours", "neat"): amount},
            source="hours",
        )
        for section, name, amount in hours
    ]
