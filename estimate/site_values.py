"""Values as the user wrote them become SI numbers: a walk along the records' types that collects every mistake."""

import datetime
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import get_args, get_origin

from estimate.site_keys import choices_of, hints_of, plain_hint, quantity_of, table_names
from estimate.site_records import Elevation, Quantity, SiteFile
from estimate.site_text import KeyPath, line_of, nearest, place
from terrain.errors import InputError, UnitsError
from terrain.unit_words import NUMBER, number_of
from terrain.units import FT, M, length_unit, parse

KELVIN = 273.15
"""The freezing point of water [K]."""
DEEPEST = 9
"""Lists and tables within more others than this are refused."""


@dataclass(slots=True)
class Mistakes:
    """The mistakes found so far in one site file, with the lines of its keys."""

    name: str
    lines: Mapping[KeyPath, int]
    tables: frozenset[str] = field(default_factory=table_names)
    found: dict[KeyPath, InputError] = field(default_factory=dict)

    def where(self, path: KeyPath) -> str:
        """Return where `path` stands: file, line, table and key."""
        line = line_of(self.lines, path)
        return f"{self.name}{f' line {line}' if line else ''}: {place(path, self.tables)}"

    def add(self, path: KeyPath, found: str, expected: str, remedy: str) -> None:
        """Keep a mistake at `path` unless one is known there already."""
        self.found.setdefault(path, InputError(self.where(path), found, expected, remedy))

    def spoiled(self, path: KeyPath) -> bool:
        """Return whether a mistake is known at `path`, above it or below it."""
        return any(bad[: len(path)] == path or path[: len(bad)] == bad for bad in self.found)

    def sorted(self) -> tuple[InputError, ...]:
        """Return the mistakes in the order of their lines; those without a line come last."""
        return tuple(error for _, error in sorted(self.found.items(), key=lambda item: self._order(item[0])))

    def _order(self, path: KeyPath) -> tuple[int, str]:
        return line_of(self.lines, path) or 1 << 60, str(path)


def shown(value: object, deep: int = 0) -> str:
    """Return `value` as the user would write it, cut short; `deep` counts the lists around it.

    >>> shown(True), shown("abc"), shown([1, "a"]), shown({"a": 1})
    ('true', '"abc"', '[1, "a"]', 'a table')
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        text = f'"{value}"' if value.isprintable() else repr(value)
    elif isinstance(value, dict):
        text = "a table"
    elif isinstance(value, list):
        inside = ", ".join(shown(item, deep + 1) for item in value[:4]) if deep < 2 else "..."
        text = f"[{inside}{', ...' if len(value) > 4 else ''}]"
    elif isinstance(value, int) and abs(value) > 10**20:
        text = "a number of many digits"
    else:
        text = str(value)
    return text if len(text) <= 60 else f"{text[:56]} ..."


def value_at(tree: object, path: KeyPath) -> object:
    """Return what stands at `path` in the tables and lists of `tree`, None where nothing does.

    >>> value_at({"route": {"points": [[1, 2]]}}, ("route", "points", 0, 1))
    2
    """
    for part in path:
        if isinstance(tree, dict):
            tree = tree.get(part)
        elif isinstance(tree, list) and isinstance(part, int) and part < len(tree):
            tree = tree[part]
        else:
            return None
    return tree


def to_si(value: object, units: str, mistakes: Mistakes, hint: object = SiteFile, path: KeyPath = ()) -> object:
    """Return `value` with every quantity below it in SI [unit of its kind] and every elevation as number and unit.

    What cannot be converted is added to `mistakes` and left as it is; `units` is "US" or "SI".
    """
    hint, words = plain_hint(hint), choices_of(hint)
    mark = quantity_of(hint)
    if isinstance(value, (datetime.date, datetime.time)):
        mistakes.add(path, f"the date or time {value}", "a number or text", "put quotes around it if it is text")
        return None
    if len(path) > DEEPEST and isinstance(value, (dict, list)):
        mistakes.add(path, "a list or table within too many others", "plain tables and keys", "make it plainer")
        return None
    if isinstance(value, dict) and hint is not Elevation:
        below = hints_of(hint)
        return {key: to_si(item, units, mistakes, below.get(key), (*path, key)) for key, item in value.items()}
    if isinstance(value, list):
        arms = get_args(hint) if get_origin(hint) is tuple else ()
        arms = tuple(arm for arm in arms if arm is not Ellipsis)
        below_list = [arms[min(index, len(arms) - 1)] if arms else None for index in range(len(value))]
        return [
            to_si(item, units, mistakes, arm, (*path, index))
            for index, (item, arm) in enumerate(zip(value, below_list, strict=True))
        ]
    if isinstance(value, (int, float)) and not isinstance(value, bool) and not _finite(value):
        mistakes.add(path, shown(value), "a finite number", "correct the number")
        return None
    if mark is not None:
        return _quantity(value, mark, units, mistakes, path)
    if hint is Elevation and value not in words:
        return _elevation(value, words, mistakes, path)
    return value


def _finite(number: float) -> bool:
    try:
        return math.isfinite(float(number))
    except OverflowError:
        return False


def _quantity(value: object, mark: Quantity, units: str, mistakes: Mistakes, path: KeyPath) -> object:
    bare = mark.us if units == "US" else mark.si
    wanted = (
        f'a {mark.kind}; a bare number has the unit "{bare}"'
        if bare
        else 'a ratio such as "1/8 in/ft", "1 %" or 0.01'
    )
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        mistakes.add(path, shown(value), wanted, "write a number, or text with its unit")
        return value
    try:
        number = parse(value, mark.kind, bare, mistakes.where(path))
    except UnitsError as wrong:
        mistakes.found.setdefault(path, UnitsError(wrong.where, wrong.found, wanted, wrong.remedy))
        return value
    return number - KELVIN if mark.kind == "temperature" else number


def _elevation(value: object, words: tuple[str, ...], mistakes: Mistakes, path: KeyPath) -> object:
    wanted = 'an elevation: a number in the survey\'s unit, or text such as "102.3 ft"'
    wanted += "".join(f', or "{word}"' for word in words)
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        mistakes.add(path, shown(value), wanted, "write a number, or text with its unit")
        return value
    try:
        metres = parse(value, "length", "m", mistakes.where(path))
    except UnitsError as wrong:
        near = nearest(value, words) if isinstance(value, str) else ""
        mistakes.add(path, shown(value), wanted, f'did you mean "{near}"?' if near else wrong.remedy)
        return value
    number, unit = (metres, "") if not isinstance(value, str) else _number_and_unit(value.strip(), metres)
    return {"number": number, "unit": unit}


def _number_and_unit(text: str, metres: float) -> tuple[float, str]:
    """Return the number and the unit of length in which `text` says a length of `metres` [m]."""
    found = NUMBER.match(text)
    rest = text[found.end() :].strip() if found else ""
    if found and not rest:
        return number_of(found), ""
    try:
        unit = length_unit(rest)
    except UnitsError:
        return (metres / FT.metres, FT.name) if "'" in text or "f" in text.lower() else (metres, M.name)
    return (number_of(found), unit.name) if found else (metres, M.name)
