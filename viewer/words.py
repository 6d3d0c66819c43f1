"""Numbers and words as a reader of the sheets expects them: US or SI, decimals by kind, feet and inches, money."""

import math
import textwrap
import unicodedata
from decimal import ROUND_HALF_UP, Decimal
from typing import NamedTuple

from estimate.record import Estimate, FullStretch
from terrain.units import FT, LENGTH_UNITS, LengthUnit, M, to_unit


class Shown(NamedTuple):
    """How a kind of quantity is shown: the unit's name and the decimals."""

    unit: str
    decimals: int


SHOWN = {
    "US": {
        "length": Shown("ft", 1),
        "level": Shown("ft", 2),
        "size": Shown("in", 1),
        "area": Shown("ft2", 0),
        "volume": Shown("yd3", 1),
        "liquid": Shown("gal", 1),
        "flow": Shown("gpm", 1),
        "speed": Shown("ft/s", 1),
        "pressure": Shown("psi", 0),
    },
    "SI": {
        "length": Shown("m", 2),
        "level": Shown("m", 3),
        "size": Shown("mm", 0),
        "area": Shown("m2", 1),
        "volume": Shown("m3", 2),
        "liquid": Shown("L", 1),
        "flow": Shown("L/s", 2),
        "speed": Shown("m/s", 2),
        "pressure": Shown("kPa", 0),
    },
}
"""The unit and decimals for each kind, by the site's units; a level is an elevation or a depth to dig to."""

ABSENT = "-"
"""What stands where a number does not exist."""


def in_units(value: float, kind: str, units: str) -> float:
    """Return the SI `value` of `kind` (a key of `SHOWN`) in the unit that "US" or "SI" shows it in.

    >>> in_units(0.3048, "length", "US")
    1.0
    """
    return to_unit(value, SHOWN[units][kind].unit)


def number(value: float, kind: str, units: str, decimals: int | None = None) -> str:
    """Return the SI `value` as a number without its unit, a dash for NaN.

    >>> number(1000.0, "volume", "US"), number(float("nan"), "volume", "US")
    ('1,308.0', '-')
    """
    if not math.isfinite(value):
        return ABSENT
    text = f"{in_units(value, kind, units):,.{SHOWN[units][kind].decimals if decimals is None else decimals}f}"
    return text[1:] if text.startswith("-") and not text.strip("-0.,") else text


def amount(value: float, kind: str, units: str, decimals: int | None = None) -> str:
    """Return the SI `value` with its unit, a dash for NaN.

    >>> amount(1.0, "length", "US"), amount(0.0508, "size", "US"), amount(1.0, "level", "SI")
    ('3.3 ft', '2.0 in', '1.000 m')
    """
    if not math.isfinite(value):
        return ABSENT
    return f"{number(value, kind, units, decimals)} {SHOWN[units][kind].unit}"


def elevation_unit(estimate: Estimate) -> LengthUnit:
    """Return the unit [m] that elevations are shown in: the survey's own where it is of the site's system.

    A survey in US survey feet keeps them, so that a number on a sheet equals the number on the surveyor's list.
    """
    own = LENGTH_UNITS.get(estimate.ground.vertical_unit, M)
    if estimate.units == "US":
        return own if own.name in ("ft", "ftUS") else FT
    return M


def elevation(value: float, estimate: Estimate) -> str:
    """Return the elevation `value` [m, absolute] in the unit of `elevation_unit`, without its name.

    >>> elevation(float("nan"), None)
    '-'
    """
    if not math.isfinite(value):
        return ABSENT
    unit = elevation_unit(estimate)
    return f"{value / unit.metres:.{3 if unit.name == 'm' else 2}f}"


def feet_inches(length: float) -> str:
    """Return `length` [m] in feet and inches to an eighth, as a rod or tape shows it; "above" where negative.

    >>> feet_inches(1.711325), feet_inches(0.3047), feet_inches(-0.0254), feet_inches(float("nan"))
    ('5\\' 7-3/8"', '1\\' 0"', '0\\' 1" above', '-')
    """
    if not math.isfinite(length):
        return ABSENT
    eighths = math.floor(abs(length) / 0.0254 * 8.0 + 0.5)
    feet, rest = divmod(eighths, 96)
    inches, part = divmod(rest, 8)
    fraction = ("", "-1/8", "-1/4", "-3/8", "-1/2", "-5/8", "-3/4", "-7/8")[part]
    return f"{feet}' {inches}{fraction}\"" + (" above" if length < 0.0 and eighths else "")


def cents(value: float) -> Decimal:
    """Return `value` [currency] rounded to cents, half away from zero.

    >>> cents(2.675)
    Decimal('2.68')
    """
    return Decimal(repr(float(value))).quantize(Decimal("0.01"), ROUND_HALF_UP)


def money(value: float, currency: str, decimals: int = 2) -> str:
    """Return `value` [currency] with thousands marked.

    >>> money(1234.5, "USD"), money(1234.5, "EUR", 0)
    ('$1,234.50', 'EUR 1,234')
    """
    if not math.isfinite(value):
        return ABSENT
    text = f"{cents(value):,.2f}" if decimals == 2 else f"{value:,.{decimals}f}"
    return f"${text}" if currency == "USD" else f"{currency} {text}"


def plain(text: str, encoding: str = "utf-8") -> str:
    """Return `text` on one line, without control characters, in signs that `encoding` has.

    >>> plain("Gärten\\n of Zoë\\x1b[2J", "ascii")
    'Garten of Zoe[2J'
    """
    spaced = " ".join(text.split())
    clean = "".join(sign for sign in spaced if unicodedata.category(sign)[0] != "C")
    try:
        clean.encode(encoding)
    except UnicodeEncodeError:
        bare = "".join(sign for sign in unicodedata.normalize("NFKD", clean) if not unicodedata.combining(sign))
        return bare.encode(encoding, "replace").decode(encoding)
    return clean


def elevation_word(estimate: Estimate) -> str:
    """Return the unit of elevations beside a number: feet of either kind are "ft"."""
    return "m" if elevation_unit(estimate).name == "m" else "ft"


def elevation_words(estimate: Estimate) -> str:
    """Return the unit of elevations in full, which tells one foot from the other."""
    return {"m": "m", "ft": "ft", "ftUS": "US survey ft"}[elevation_unit(estimate).name]


def survey_unit(estimate: Estimate) -> tuple[str, float]:
    """Return the survey's own unit of plan coordinates, in full and in metres."""
    own = LENGTH_UNITS.get(estimate.ground.horizontal_unit, M)
    return {"ftUS": "US survey ft"}.get(own.name, own.name), own.metres


LEAST_LEFT = 0.05
"""Water of less than this [L] that stays in a stretch is told as none."""


def stays_full(stretch: FullStretch) -> bool:
    """Return whether a stretch keeps water after every drain was opened, or has no drain at all."""
    return not stretch.drains or stretch.left_l >= LEAST_LEFT


def wrapped(text: str, width: int, lines: int = 2) -> str:
    """Return `text` in at most so many `lines` of `width` signs, cut with dots where it has more.

    >>> wrapped("spill box at the head of the rill", 20)
    'spill box at the\\nhead of the rill'
    """
    return "\n".join(textwrap.wrap(plain(text), width, max_lines=lines, placeholder="..."))


def shortened(text: str, length: int) -> str:
    """Return `text` on one line, cut with dots where it has more than `length` signs.

    >>> shortened("the upper waterfall", 12)
    'the upper...'
    """
    clean = plain(text)
    return clean if len(clean) <= length else clean[: length - 3].rstrip() + "..."
