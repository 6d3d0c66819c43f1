"""Rates of a price book: money per unit, in a stated measure, each section in the units it can be paid in."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from estimate.tables import unknown_name
from estimate.tables.measures import FOOT, YARD3
from terrain.errors import InputError

UNITS = {
    "yd3": ("volume", YARD3),
    "ft3": ("volume", FOOT**3),
    "m3": ("volume", 1.0),
    "ft": ("length", FOOT),
    "yd": ("length", 3 * FOOT),
    "m": ("length", 1.0),
    "ft2": ("area", FOOT**2),
    "yd2": ("area", 9 * FOOT**2),
    "m2": ("area", 1.0),
    "each": ("count", 1.0),
    "load": ("loads", 1.0),
    "hour": ("hours", 1.0),
    "lump": ("lump", 1.0),
}
"""The units a rate may be in: what kind of amount each measures and how much SI it is [m3, m, m2 or 1]."""

SECTIONS: Mapping[str, tuple[tuple[str, str], ...]] = {
    "dig": (("volume", "bank"), ("volume", "loose")),
    "bedding": (("volume", "compacted"), ("volume", "loose")),
    "fill": (("volume", "compacted"),),
    "haul": (("loads", "loose"), ("volume", "loose"), ("volume", "bank")),
    "restoration": (("area", "neat"),),
    "pipe": (("length", "neat"),),
    "fittings": (("count", "neat"),),
    "drains": (("count", "neat"),),
    "labour": (("hours", "neat"),),
    "machine": (("hours", "neat"),),
    "lump": (("lump", "neat"),),
}
"""The sections of a price book and the (kind, measure) pairs each may be paid in."""

PERCENTS = ("overhead", "profit", "tax")
"""The percentages added to the lines, each on all before it [%]."""
WASTES = ("pipe", "bedding")
"""What is bought in excess of the neat quantity [%]."""

_MEASURES = ("bank", "loose", "compacted")


@dataclass(frozen=True, slots=True)
class Rate:
    """One rate: code such as "dig.earth", money per unit, the unit's word, kind and measure, its size in SI."""

    code: str
    money: Decimal
    unit: str
    kind: str
    measure: str
    si_per_unit: float


def read_rates(tree: Mapping[str, object], where: str, errors: list[InputError]) -> dict[str, Rate]:
    """Return all rates of a book's `tree` by code; what is wrong is added to `errors`."""
    found: dict[str, Rate] = {}
    for section in SECTIONS:
        table = tree.get(section, {})
        if not isinstance(table, dict):
            remedy = f"begin a line with [{section}]"
            errors.append(InputError(f"{where} {section}", f"{table!r}", "a section", remedy))
            continue
        for name, entry in table.items():
            try:
                rate = _rate(section, str(name), entry, f"{where} [{section}] {name}")
            except InputError as error:
                errors.append(error)
            else:
                found[rate.code] = rate
    return found


def read_percents(table: object, names: Sequence[str], where: str, errors: list[InputError]) -> dict[str, Decimal]:
    """Return the percentages [%] of one section by name, 0 where left out; what is wrong goes to `errors`."""
    found = {name: Decimal(0) for name in names}
    if not isinstance(table, dict):
        errors.append(InputError(where, f"{table!r}", "a section", "write it as a section of its own"))
        return found
    for name, value in table.items():
        number = _number(value)
        if name not in found:
            wrong = unknown_name("key", str(name), list(names))
            errors.append(InputError(f"{where} {name}", wrong.found, wrong.expected, wrong.remedy))
        elif not 0 <= number <= 100:
            remedy = "write the percentage as a number, 10 for ten percent"
            errors.append(InputError(f"{where} {name}", f"{value!r}", "a number from 0 to 100", remedy))
        else:
            found[name] = number
    return found


def _rate(section: str, name: str, entry: object, where: str) -> Rate:
    """Return one rate from its table { rate = ..., unit = "..." }."""
    shape = '{ rate = number, unit = "yd3 bank" }'
    if not isinstance(entry, dict) or set(entry) != {"rate", "unit"}:
        raise InputError(where, f"{_shown(entry)}", shape, "write rate and unit, nothing else")
    money = _number(entry["rate"])
    if money < 0:
        raise InputError(where, f"rate {_shown(entry['rate'])}", "a number of 0 or more", "correct the rate")
    words = str(entry["unit"]).split()
    unit = words[0] if words else ""
    if unit not in UNITS:
        wrong = unknown_name("unit", unit, list(UNITS))
        raise InputError(where, wrong.found, wrong.expected, wrong.remedy)
    kind, size = UNITS[unit]
    said = words[1:] or (["loose"] if kind == "loads" else [] if kind == "volume" else ["neat"])
    allowed = SECTIONS[section]
    if len(said) != 1 or (kind, said[0]) not in allowed:
        expected = " or ".join(_spelled(kind, measure) for kind, measure in allowed)
        remedy = "say bank, loose or compacted after the unit of a volume"
        raise InputError(where, f"unit {entry['unit']!r}", expected, remedy)
    return Rate(f"{section}.{name}", money, unit, kind, said[0], size)


def _number(value: object) -> Decimal:
    """Return a TOML number as Decimal, or -1 for anything else."""
    if isinstance(value, bool) or not isinstance(value, int | Decimal):
        return Decimal(-1)
    number = Decimal(value)
    return number if number.is_finite() else Decimal(-1)


def _shown(entry: object) -> str:
    """Return what stood in the file, in the way it is written there."""
    if isinstance(entry, dict):
        return "{ " + ", ".join(f"{key} = {_shown(value)}" for key, value in entry.items()) + " }"
    return str(entry) if isinstance(entry, Decimal) else repr(entry)


def _spelled(kind: str, measure: str) -> str:
    """Return the units of a kind with their measure, such as "yd3 bank, ft3 bank, m3 bank"."""
    suffix = f" {measure}" if measure in _MEASURES and kind == "volume" else ""
    return ", ".join(f"{unit}{suffix}" for unit, (of, _) in UNITS.items() if of == kind)
