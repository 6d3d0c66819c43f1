"""Units at the door: text or a number becomes an SI float, and an SI float becomes text again.

The only file that knows the units library, which is loaded when the first text with an unusual unit comes in.
"""

import math
import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import TYPE_CHECKING

from terrain.errors import UnitsError
from terrain.unit_words import LENGTH_WORDS, NUMBER, SHOWN, UNIT_WORDS, number_of

if TYPE_CHECKING:
    import pint


@dataclass(frozen=True, slots=True)
class LengthUnit:
    """A unit of length: its short name and how many metres it is [m]."""

    name: str
    metres: float


M = LengthUnit("m", 1.0)
"""The metre."""
FT = LengthUnit("ft", 0.3048)
"""The international foot, exactly 0.3048 m."""
FTUS = LengthUnit("ftUS", 1200.0 / 3937.0)
"""The US survey foot, exactly 1200/3937 m."""
CM = LengthUnit("cm", 0.01)
"""The centimetre."""
MM = LengthUnit("mm", 0.001)
"""The millimetre."""
IN = LengthUnit("in", 0.0254)
"""The inch, exactly 25.4 mm."""
YD = LengthUnit("yd", 0.9144)
"""The yard, exactly 0.9144 m."""
LENGTH_UNITS = {unit.name: unit for unit in (M, FT, FTUS, CM, MM, IN, YD)}
"""The units a survey may be in, by name."""
_TEMPERATURES = {"degC": (1.0, 273.15), "degF": (5.0 / 9.0, 273.15 - 160.0 / 9.0)}
_EXACT = {name: Fraction(repr(unit.metres)) for name, unit in LENGTH_UNITS.items()} | {"ftUS": Fraction(1200, 3937)}

KINDS = {
    "length": "m",
    "area": "m**2",
    "volume": "m**3",
    "flow": "m**3/s",
    "speed": "m/s",
    "acceleration": "m/s**2",
    "pressure": "Pa",
    "angle": "rad",
    "mass": "kg",
    "density": "kg/m**3",
    "force": "N",
    "time": "s",
    "power": "W",
    "energy": "J",
    "temperature": "K",
    "viscosity": "m**2/s",
    "ratio": "",
}
"""The kinds of quantity and the SI unit in which the program holds each."""


def length_unit(text: str, where: str = "unit of length") -> LengthUnit:
    """Return the unit of length that `text` names.

    Raises:
        UnitsError: the word is unknown; `where` says where it stood.

    >>> length_unit("US survey foot").name, length_unit("feet").metres
    ('ftUS', 0.3048)
    """
    name = _length_name(text)
    if name in LENGTH_UNITS:
        return LENGTH_UNITS[name]
    known = ", ".join(LENGTH_UNITS)
    raise UnitsError(
        where,
        f"unit {text!r}",
        f"one of {known}",
        "write ft for the international foot, ftUS for the US survey foot",
    )


def _length_name(text: str) -> str:
    return LENGTH_WORDS.get(re.sub(r"[\s_\-]+", " ", text.strip().lower()).removesuffix("."), text.strip())


@lru_cache(maxsize=1)
def _registry() -> "pint.UnitRegistry[float]":
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True, cache_folder=None)


@lru_cache(maxsize=512)
def _resolve(unit: str) -> tuple[float, float, str]:
    """Return scale and offset to SI, and the SI dimension as text; raises ValueError for a word unknown."""
    words = _spell(unit)
    if len(words) > 60 or re.search(r"\d{2}", words):
        raise ValueError(unit)
    if words in _TEMPERATURES:
        return (*_TEMPERATURES[words], _resolve("K")[2])
    registry = _registry()
    for attempt in (words, words.lower()):
        try:
            zero = registry.Quantity(0.0, attempt).to_base_units()
            one = registry.Quantity(1.0, attempt).to_base_units()
        except Exception:  # the library raises errors of many kinds for words it cannot read
            continue
        scale = float(one.magnitude - zero.magnitude)
        if math.isfinite(scale) and scale > 0.0:
            return _short(scale), float(zero.magnitude), str(zero.dimensionality)
    raise ValueError(unit)


def _short(scale: float) -> float:
    """Return `scale` without the rounding of the library's own products, where twelve digits say the same."""
    short = float(f"{scale:.12g}")
    return short if abs(short - scale) <= 8.0 * math.ulp(scale) else scale


def _spell(unit: str) -> str:
    """Return `unit` in the words of the units library: trade words replaced, powers and "per" written out."""
    text = unit.strip().replace("²", "2").replace("³", "3").replace("·", "*").replace("^", "").replace("**", "")
    text = re.sub(r"\bper\b", "/", text, flags=re.IGNORECASE)
    text = re.sub(r"\b(square|sq)\.?\s*([A-Za-z]+)", r"\g<2>2", text, flags=re.IGNORECASE)
    text = re.sub(r"\b(cubic|cu)\.?\s*([A-Za-z]+)", r"\g<2>3", text, flags=re.IGNORECASE)
    parts = re.findall(r"[A-Za-zµμ°%\"'_]+|[0-9]|[*/()]", text.replace(".", ""))
    if not parts:
        raise ValueError(unit)
    spelled = ""
    for part in parts:
        if part in "23" and spelled and spelled[-1].isalpha():
            spelled += f"**{part}"
        elif part in "*/()":
            spelled += part
        elif part.isdigit():
            raise ValueError(unit)
        else:
            join = "*" if spelled and spelled[-1] not in "*/(" else ""
            spelled += join + UNIT_WORDS.get(part, UNIT_WORDS.get(part.lower(), part))
    return spelled


def scale_of(unit: str) -> float:
    """Return how many SI units one `unit` is, for turning whole arrays; not for temperatures.

    Raises:
        UnitsError: the unit is unknown.

    >>> scale_of("in")
    0.0254
    """
    if unit in LENGTH_UNITS:
        return LENGTH_UNITS[unit].metres
    try:
        return _resolve(unit)[0]
    except ValueError as unknown:
        raise UnitsError("unit", f"{unit!r}", "a unit such as ft, yd3, gpm, psi", "correct the unit") from unknown


def to_unit(value: float, unit: str) -> float:
    """Return the SI `value` in `unit`.

    Raises:
        UnitsError: the unit is unknown.

    >>> to_unit(0.6096, "in"), round(to_unit(0.003785411784, "gal"), 9)
    (24.0, 1.0)
    """
    if unit in LENGTH_UNITS and math.isfinite(value):
        return float(Fraction(repr(float(value))) / _EXACT[unit])
    scale = scale_of(unit)
    if unit in LENGTH_UNITS:
        return value
    return (value - _resolve(unit)[1]) / scale


def parse(value: str | float, kind: str, bare_unit: str, where: str = "value") -> float:
    """Return `value` as an SI float of `kind` (a key of `KINDS`); a number without a unit is in `bare_unit`.

    Raises:
        UnitsError: empty, not a number, not finite, an unknown unit, or a unit of another kind; `where` says where.

    >>> parse("24 in", "length", "m"), parse("5' 7-3/8\\"", "length", "ft"), parse(3, "length", "ft")
    (0.6096, 1.711325, 0.9144)
    >>> round(parse("3,800 gal/h", "flow", "gpm") * 1000, 6), parse("2 %", "ratio", "")
    (3.995712, 0.02)
    """
    if kind not in KINDS:
        raise UnitsError(where, f"kind of quantity {kind!r}", f"one of {', '.join(KINDS)}")
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise UnitsError(where, f"{value!r}", _wanted(kind, bare_unit), "write a number, or text with its unit")
    if not isinstance(value, str):
        return _finite(_convert(float(value), bare_unit, kind, str(value), where), value, where)
    text = value.strip()
    if not text:
        raise UnitsError(where, "nothing", _wanted(kind, bare_unit), "write a value")
    feet = _feet_and_inches(text) if kind == "length" else None
    if feet is not None:
        return _finite(feet, value, where)
    found = NUMBER.match(text)
    if found is None:
        raise UnitsError(where, f"{value!r}", _wanted(kind, bare_unit), "write a number, then its unit")
    number = number_of(found)
    unit = text[found.end() :].strip()
    if kind == "ratio" and unit.startswith(":"):
        return _finite(_ratio(number, unit[1:], value, where), value, where)
    return _finite(_convert(number, unit or bare_unit, kind, value, where), value, where)


def _convert(number: float, unit: str, kind: str, value: str, where: str) -> float:
    if kind == "length" and math.isfinite(number):
        name = _length_name(unit)
        if name in LENGTH_UNITS:
            return float(Fraction(repr(number)) * _EXACT[name])
    if kind == "ratio" and unit in ("", "%"):
        return number * (0.01 if unit else 1.0)
    try:
        scale, offset, dimension = _resolve(unit)
        right = dimension == _resolve(KINDS[kind])[2] if KINDS[kind] else dimension == "dimensionless"
    except ValueError as unknown:
        found = f"{value!r} with the unknown unit {unit!r}"
        raise UnitsError(where, found, _wanted(kind, ""), "correct the unit") from unknown
    if not right:
        raise UnitsError(where, f"{value!r}", _wanted(kind, ""), "give a unit of that kind")
    return number * scale + offset


def _wanted(kind: str, bare_unit: str) -> str:
    unit = f", bare numbers in {bare_unit}" if bare_unit else f", such as one in {KINDS[kind] or '%'}"
    article = "an" if kind[0] in "aeiou" else "a"
    return f"{article} {kind}{unit}"


def _finite(number: float, value: str | float, where: str) -> float:
    if math.isfinite(number):
        return number
    raise UnitsError(where, f"{value!r}", "a finite number", "correct the number")


def _ratio(number: float, below: str, value: str, where: str) -> float:
    found = NUMBER.fullmatch(below.strip())
    divisor = number_of(found) if found else 0.0
    if divisor == 0.0:
        raise UnitsError(
            where, f"{value!r}", "a ratio such as 1.5:1 or 1:50", "write two numbers with a colon between"
        )
    return number / divisor


_FEET = re.compile(
    r"(?P<sign>[-+−]?)\s*(?P<feet>\d[\d,.]*)\s*(?:(?P<mark>')|ft|feet|foot)\.?\s*-?\s*"
    rf"(?P<inches>{NUMBER.pattern})\s*(?:(?:\"|''|in|inch|inches)\.?|(?(mark)|(?!)))",
    re.IGNORECASE,
)


def _feet_and_inches(text: str) -> float | None:
    """Return the metres of text such as 5' 7-3/8", or None where it is not of that form."""
    plain = re.sub("[′’‘]", "'", re.sub("[″”“]", '"', text))
    found = _FEET.fullmatch(plain)
    if found is None:
        return None
    feet = NUMBER.fullmatch(found["feet"])
    inches = NUMBER.fullmatch(found["inches"])
    if feet is None or inches is None or found["inches"].startswith(("-", "+", "−")):
        return None
    total = 12.0 * number_of(feet) + number_of(inches)
    length = float(Fraction(repr(total)) * _EXACT["in"]) if math.isfinite(total) else total
    return -length if found["sign"] in ("-", "−") else length


def shown_unit(kind: str, system: str) -> tuple[str, str, int]:
    """Return the unit in which a `kind` of figure (a key of `SHOWN`) is shown, how it is written, and its decimals.

    Raises:
        UnitsError: no such kind, or `system` is neither "US" nor "SI".

    >>> shown_unit("volume", "US")
    ('yd3', 'yd³', 1)
    """
    if system not in ("US", "SI"):
        raise UnitsError("units", f"{system!r}", 'either "US" or "SI"', "correct the system of units")
    if kind not in SHOWN:
        raise UnitsError("units", f"kind of figure {kind!r}", f"one of {', '.join(SHOWN)}")
    return SHOWN[kind][0 if system == "US" else 1]


def show(value: float, kind: str, system: str, decimals: int = -1) -> str:
    """Return the SI `value` as text in the unit in which `kind` is shown in `system`, "US" or "SI".

    `decimals` below zero takes the usual ones of the kind; a value that is not finite is shown as a dash.

    Raises:
        UnitsError: no such kind, or `system` is neither "US" nor "SI".

    >>> show(0.3048, "length", "US"), show(1000.0, "volume", "SI"), show(0.02, "ratio", "US")
    ('1.00 ft', '1,000.00 m³', '2.00 %')
    """
    unit, written, usual = shown_unit(kind, system)
    if not math.isfinite(value):
        return "–"
    text = f"{to_unit(value, unit):,.{usual if decimals < 0 else decimals}f}"
    if not text.strip("-0.,"):
        text = text.lstrip("-")
    return f"{text}{'' if written == '°' else ' '}{written}"


def feet_and_inches(value: float, parts: int = 8) -> str:
    """Return the length `value` [m] as feet, inches and a fraction in `parts` of an inch; a dash if not finite.

    >>> feet_and_inches(1.711325), feet_and_inches(-0.0254), feet_and_inches(0.3048 - 1e-6)
    ('5\\' 7-3/8"', '-0\\' 1"', '1\\' 0"')
    """
    if not math.isfinite(value):
        return "–"
    count = round(abs(value) / IN.metres * parts)
    feet, rest = divmod(count, 12 * parts)
    inches, above = divmod(rest, parts)
    fraction = f"-{Fraction(above, parts)}" if above else ""
    return f"{'-' if value < 0 and count else ''}{feet}' {inches}{fraction}\""
