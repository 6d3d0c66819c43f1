"""The words and numbers of the trade as people type them: unit synonyms, fractions, thousands separators."""

import re

LENGTH_WORDS = {
    "m": "m",
    "metre": "m",
    "meter": "m",
    "metres": "m",
    "meters": "m",
    "ft": "ft",
    "foot": "ft",
    "feet": "ft",
    "ift": "ft",
    "international foot": "ft",
    "international feet": "ft",
    "intl ft": "ft",
    "ftus": "ftUS",
    "us ft": "ftUS",
    "usft": "ftUS",
    "ft us": "ftUS",
    "sft": "ftUS",
    "us foot": "ftUS",
    "us feet": "ftUS",
    "us survey foot": "ftUS",
    "us survey feet": "ftUS",
    "u.s. survey foot": "ftUS",
    "survey foot": "ftUS",
    "survey feet": "ftUS",
    "foot us": "ftUS",
    "cm": "cm",
    "centimetre": "cm",
    "centimeter": "cm",
    "centimetres": "cm",
    "centimeters": "cm",
    "mm": "mm",
    "millimetre": "mm",
    "millimeter": "mm",
    "millimetres": "mm",
    "millimeters": "mm",
    "in": "in",
    "inch": "in",
    "inches": "in",
    "yd": "yd",
    "yard": "yd",
    "yards": "yd",
    "'": "ft",
    '"': "in",
    "''": "in",
    "′": "ft",
    "″": "in",
    "’": "ft",
    "”": "in",
}
"""Words for units of length, lower case with single spaces, and the name each stands for."""

UNIT_WORDS = {
    "'": "foot",
    '"': "inch",
    "ft": "foot",
    "ftUS": "survey_foot",
    "ftus": "survey_foot",
    "in": "inch",
    "yd": "yard",
    "yds": "yard",
    "lf": "foot",
    "sf": "foot**2",
    "sy": "yard**2",
    "cf": "foot**3",
    "cy": "yard**3",
    "m": "meter",
    "cm": "centimeter",
    "mm": "millimeter",
    "km": "kilometer",
    "mi": "mile",
    "gal": "gallon",
    "gals": "gallon",
    "gallons": "gallon",
    "gpm": "gallon/minute",
    "gph": "gallon/hour",
    "gpd": "gallon/day",
    "l": "liter",
    "lps": "liter/second",
    "lpm": "liter/minute",
    "lph": "liter/hour",
    "cfs": "foot**3/second",
    "cfm": "foot**3/minute",
    "cms": "meter**3/second",
    "fps": "foot/second",
    "mps": "meter/second",
    "mph": "mile/hour",
    "h": "hour",
    "hr": "hour",
    "hrs": "hour",
    "min": "minute",
    "mins": "minute",
    "s": "second",
    "sec": "second",
    "d": "day",
    "lb": "pound",
    "lbs": "pound",
    "pcf": "pound/foot**3",
    "psf": "force_pound/foot**2",
    "lbf": "force_pound",
    "oz": "ounce",
    "t": "metric_ton",
    "tonne": "metric_ton",
    "ton": "US_ton",
    "tons": "US_ton",
    "hp": "horsepower",
    "deg": "degree",
    "°": "degree",
    "°F": "degF",
    "°C": "degC",
    "F": "degF",
    "C": "degC",
    "K": "kelvin",
    "%": "percent",
}
"""Trade words for units and how the units library spells each; tons are short tons, gallons US liquid ones."""

FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
"""Single-sign fractions and how they are read."""

_WHOLE = r"(?:\d{1,3}(?:,\d{3})+|\d+)"
NUMBER = re.compile(
    rf"(?:[-+−]\s*)?(?:(?:{_WHOLE}[-\s]+)?\d+\s*/\s*\d+(?![\d.])|{_WHOLE}?[½¼¾⅛⅜⅝⅞]"
    rf"|(?:{_WHOLE}(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?)(?![\d.])|[-+−]?(?:nan|inf(?:inity)?)\b",
    re.IGNORECASE,
)
"""A number as people type it: sign, thousands separators, decimal point, power of ten, or whole and fraction."""


def number_of(found: "re.Match[str]") -> float:
    """Return the value of a match of `NUMBER`; NaN for a fraction over zero.

    >>> [number_of(NUMBER.fullmatch(text)) for text in ("3,800", "7-3/8", "-1 1/2", "7½", ".5", "1e3")]
    [3800.0, 7.375, -1.5, 7.5, 0.5, 1000.0]
    """
    text = found.group().strip().replace("−", "-").replace(",", "")
    for sign, spelled in FRACTIONS.items():
        text = text.replace(sign, f" {spelled}")
    negative = text.startswith("-")
    text = text.lstrip("+-").strip()
    if "/" not in text:
        return -float(text) if negative else float(text)
    upper, lower = text.rsplit("/", 1)
    parts = re.split(r"[-\s]+", upper.strip())
    if float(lower) == 0.0:
        return float("nan")
    value = sum(float(part) for part in parts[:-1]) + float(parts[-1]) / float(lower)
    return -value if negative else value


SHOWN = {
    "length": (("ft", "ft", 2), ("m", "m", 2)),
    "length_small": (("in", "in", 1), ("mm", "mm", 0)),
    "elevation": (("ft", "ft", 2), ("m", "m", 3)),
    "head": (("ft", "ft", 2), ("m", "m", 2)),
    "area": (("ft2", "ft²", 0), ("m2", "m²", 1)),
    "volume": (("yd3", "yd³", 1), ("m3", "m³", 2)),
    "liquid": (("gal", "gal", 1), ("L", "L", 1)),
    "flow": (("gpm", "gpm", 1), ("L/s", "L/s", 2)),
    "flow_hourly": (("gal/h", "gal/h", 0), ("m3/h", "m³/h", 2)),
    "speed": (("ft/s", "ft/s", 2), ("m/s", "m/s", 2)),
    "pressure": (("psi", "psi", 1), ("kPa", "kPa", 1)),
    "mass": (("lb", "lb", 0), ("kg", "kg", 0)),
    "load": (("ton", "tons", 1), ("t", "t", 1)),
    "density": (("lb/ft3", "lb/ft³", 0), ("kg/m3", "kg/m³", 0)),
    "power": (("hp", "hp", 2), ("kW", "kW", 2)),
    "time": (("h", "h", 1), ("h", "h", 1)),
    "ratio": (("%", "%", 2), ("%", "%", 2)),
    "angle": (("deg", "°", 1), ("deg", "°", 1)),
    "temperature": (("degF", "°F", 0), ("degC", "°C", 0)),
}
"""For each kind of figure shown, in "US" and in "SI": the unit, how it is written, and decimals."""
