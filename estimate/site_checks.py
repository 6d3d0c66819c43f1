"""Checks that types cannot make: limits of numbers, names of the tables, files, and what must fit together."""

import math
import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from pathlib import Path

from estimate.site_keys import hint_at, hints_of, plain_hint, spoken
from estimate.site_keys import quantity_of as mark_of
from estimate.site_records import SiteFile
from estimate.site_text import KeyPath, nearest
from estimate.site_values import Mistakes, shown, value_at
from estimate.tables import rows
from estimate.water.pipe import pipe, sizes
from terrain.errors import InputError, UnitsError
from terrain.units import length_unit

_MORE = "more than 0"
_LEAST = "0 or more"
LIMITS: Mapping[str, tuple[str, float]] = {
    "SurveyPart.accuracy": (_LEAST, math.inf),
    "SurveyPart.common_error": (_LEAST, math.inf),
    "SurveyPart.ribbon_half_width": (_MORE, math.inf),
    "WallPart.slope": (_LEAST, 20.0),
    "WallPart.rise": (_LEAST, math.inf),
    "PitPart.length": (_MORE, math.inf),
    "PitPart.width": (_MORE, math.inf),
    "PipePart.bore": (_MORE, math.inf),
    "PipePart.outside": (_MORE, math.inf),
    "PipePart.rating": (_MORE, math.inf),
    "PipePart.stick": (_MORE, math.inf),
    "TrenchPart.cover": (_LEAST, math.inf),
    "TrenchPart.width": (_MORE, math.inf),
    "TrenchPart.bedding": (_LEAST, math.inf),
    "TrenchPart.least_fall": (_LEAST, 0.5),
    "TrenchPart.greatest_depth": (_MORE, math.inf),
    "TrenchPart.interval": (_MORE, math.inf),
    "TrenchPart.low_point_threshold": (_LEAST, math.inf),
    "SoilPart.topsoil": (_LEAST, math.inf),
    "DrainPart.station": (_LEAST, math.inf),
    "ValvePart.station": (_LEAST, math.inf),
    "WaterPart.flow": (_MORE, math.inf),
    "WaterPart.temperature": (_LEAST, 100.0),
}
"""For each number `Record.field`: the words of its lower limit and its greatest value [SI, degrees Celsius]."""

TABLE_WORDS: Mapping[str, tuple[str, str]] = {
    "SoilPart.kind": ("soils", "soil"),
    "SoilPart.bedding_material": ("bedding", "material"),
    "SoilPart.truck": ("trucks", "truck"),
    "WaterPart.fitting_table": ("fittings", "table"),
}
"""For each word `Record.field` that must be in a table of the trade: that table and its column."""

DEGREES_LENGTH = 0.05
"""A route of numbers that could be degrees and shorter than this [survey unit, or degrees: 5 km] is in degrees."""


def check_values(tree: object, written: object, units: str, folder: Path, mistakes: Mistakes) -> None:
    """Add to `mistakes` all that is wrong in the converted `tree`; `written` has the values as written."""
    for path, value, record, name in _leaves(tree, SiteFile, ()):
        field = f"{record.__name__}.{name}"
        if mistakes.spoiled(path):
            continue
        if field in LIMITS and isinstance(value, (int, float)) and not isinstance(value, bool):
            _limit(path, float(value), field, value_at(written, path), units, mistakes)
        if field in TABLE_WORDS and isinstance(value, str):
            table, column = TABLE_WORDS[field]
            _word(path, value, [row[column] for row in rows(table) if row[column] != "any"], mistakes)
        if name in ("horizontal_unit", "vertical_unit") and isinstance(value, str) and value:
            _unit_word(path, value, mistakes)
    if isinstance(tree, dict):
        for check in (_route, _stations, _pump, _pipe, _fittings, _levels):
            check(tree, mistakes)
        _depths(tree, written, mistakes)
        _file(tree, ("survey", "file"), folder, mistakes)
        _file(tree, ("price", "book"), folder, mistakes)


def _leaves(tree: object, record: object, path: KeyPath) -> Iterator[tuple[KeyPath, object, type, str]]:
    """Yield every value below `tree` with its path, the record that holds it and its field's name."""
    hints = hints_of(record)
    if not (isinstance(tree, dict) and isinstance(record, type)):
        return
    for name, value in tree.items():
        if name not in hints:
            continue
        yield (*path, name), value, record, name
        below = plain_hint(hints[name])
        yield from _leaves(value, below, (*path, name))
        for index, item in enumerate(value if isinstance(value, list) else []):
            yield from _leaves(item, hint_at((*path, name, index)), (*path, name, index))


def _number(tree: object, *path: str | int) -> float:
    """Return the number at `path`, NaN where there is none."""
    value = value_at(tree, path)
    return float(value) if isinstance(value, (int, float)) and not isinstance(value, bool) else math.nan


def _list(tree: object, *path: str | int) -> list[object]:
    value = value_at(tree, path)
    return value if isinstance(value, list) else []


def _limit(path: KeyPath, value: float, field: str, written: object, units: str, mistakes: Mistakes) -> None:
    lower, greatest = LIMITS[field]
    if (value > 0.0 or (value == 0.0 and lower == _LEAST)) and value <= greatest:
        return
    mark = mark_of(hint_at(path))
    most = spoken(greatest, mark, units) if mark and math.isfinite(greatest) else ""
    remedy = "correct the number"
    if field == "TrenchPart.least_fall" and value > greatest:
        remedy = 'write "1 %" for one in a hundred, "1/8 in/ft" for an eighth of an inch in a foot'
    mistakes.add(path, shown(written), lower + (f", at most {most}" if most else ""), remedy)


def _word(path: KeyPath, value: str, names: list[str], mistakes: Mistakes) -> None:
    names = list(dict.fromkeys(names))
    if " ".join(value.split()).casefold() not in {name.casefold() for name in names}:
        near = nearest(value, names)
        remedy = f'did you mean "{near}"?' if near else "choose one of these"
        mistakes.add(path, shown(value), "one of " + ", ".join(names), remedy)


def _unit_word(path: KeyPath, value: str, mistakes: Mistakes) -> None:
    try:
        length_unit(value, mistakes.where(path))
    except UnitsError as wrong:
        mistakes.found.setdefault(path, wrong)


def _route(tree: dict[str, object], mistakes: Mistakes) -> None:
    points = _list(tree, "route", "points")
    if value_at(tree, ("route", "points")) == [] or len(points) == 1:
        found = f"{len(points)} way points"
        mistakes.add(("route", "points"), found, "at least two", "add [easting, northing] pairs")
    for index in range(1, len(points)):
        if isinstance(points[index], list) and points[index] == points[index - 1]:
            found = f"the same point twice: {shown(points[index])}"
            mistakes.add(("route", "points", index), found, "points apart", "remove one of them")
    places = [[_number(tree, "route", "points", index, axis) for axis in (0, 1)] for index in range(len(points))]
    if len(points) > 1 and in_degrees(places) and route_length(tree) < DEGREES_LENGTH:
        found = f"way points {shown(points)}, which look like degrees of longitude and latitude"
        expected = "[easting, northing] pairs in feet or metres, on the grid of the survey"
        mistakes.add(("route", "points"), found, expected, "project them to the grid of the survey")


def in_degrees(places: Iterable[Sequence[float]]) -> bool:
    """Return whether all `places` (n, 2), east before north or north before east, could be degrees.

    >>> in_degrees([[-105.1, 39.7], [-105.2, 39.8]]), in_degrees([[5000.0, 39.7]])
    (True, False)
    """
    return all(max(abs(a), abs(b)) <= 180.0 and min(abs(a), abs(b)) <= 90.0 for a, b in places)


def route_length(tree: object) -> float:
    """Return the length of the route of a site file's table `tree` in plan [survey unit], NaN where it has none."""
    count = len(_list(tree, "route", "points"))
    places = [[_number(tree, "route", "points", index, axis) for axis in (0, 1)] for index in range(count)]
    return sum(math.dist(a, b) for a, b in pairwise(places)) if count > 1 else math.nan


def _stations(tree: dict[str, object], mistakes: Mistakes) -> None:
    length = route_length(tree)
    for table in ("drain", "valve"):
        for index in range(len(_list(tree, table))):
            station = _number(tree, table, index, "station")
            if station > length * (1.0 + 1e-9) and not mistakes.spoiled(("route",)):
                expected = f"at most {length:.10g}, the length of the route in the survey's unit"
                mistakes.add((table, index, "station"), f"{station:.10g}", expected, "correct the station")


def _pump(tree: dict[str, object], mistakes: Mistakes) -> None:
    curve = ("pump", "curve")
    count = len(_list(tree, *curve))
    if isinstance(value_at(tree, curve), list) and count < 2:
        mistakes.add(
            curve, f"{count} pairs", "at least two pairs of flow and head", "read more points off the curve"
        )
    for index in range(count):
        flow, head = (_number(tree, *curve, index, axis) for axis in (0, 1))
        flow_before, head_before = (
            _number(tree, *curve, index - 1, axis) if index else math.nan for axis in (0, 1)
        )
        path = (*curve, index)
        if mistakes.spoiled(path):
            continue
        if index == 0 and flow != 0.0:
            found = "a first pair whose flow is not 0"
            mistakes.add(path, found, "the greatest head, at flow 0", "add the pump's greatest head with flow 0")
        elif head < 0.0:
            mistakes.add(path, "a negative head", "0 or more", "correct the pair")
        elif flow <= flow_before:
            mistakes.add(
                path, "a flow that is not greater than the one before", "flows that rise", "sort the pairs by flow"
            )
        elif head > head_before:
            found = "a head that is greater than the one before"
            mistakes.add(
                path, found, "heads that do not rise with the flow", "check that each pair is flow, then head"
            )


def _pipe(tree: dict[str, object], mistakes: Mistakes) -> None:
    bore, outside = _number(tree, "pipe", "bore"), _number(tree, "pipe", "outside")
    given = [name for name, value in (("bore", bore), ("outside", outside)) if not math.isnan(value)]
    if len(given) == 1:
        other = "outside" if given == ["bore"] else "bore"
        mistakes.add(("pipe", given[0]), f"{given[0]} without {other}", "both or none", f"add {other}")
    if bore >= outside:
        mistakes.add(
            ("pipe", "bore"), "a bore that is not less than outside", "an outside with a wall", "correct one"
        )
    kind, size = value_at(tree, ("pipe", "kind")), value_at(tree, ("pipe", "size"))
    if given or not isinstance(kind, str):
        return
    try:
        pipe(kind, size if isinstance(size, str) else sizes(kind)[0])
    except InputError as wrong:
        key = "size" if wrong.where.endswith("size") else "kind"
        mistakes.add(("pipe", key), wrong.found, wrong.expected, wrong.remedy)


def _fittings(tree: dict[str, object], mistakes: Mistakes) -> None:
    fittings = value_at(tree, ("water", "fittings"))
    names = [row["fitting"] for row in rows("fittings")]
    for name, count in fittings.items() if isinstance(fittings, dict) else ():
        path = ("water", "fittings", str(name))
        if isinstance(count, int) and count < 0:
            mistakes.add(path, shown(count), "0 or more", "correct the number")
        _word(path, str(name), names, mistakes)


def _depths(tree: dict[str, object], written: object, mistakes: Mistakes) -> None:
    path, other = ("trench", "greatest_depth"), ("trench", "cover")
    depth, cover = _number(tree, *path), _number(tree, *other)
    if depth <= cover and not (mistakes.spoiled(path) or mistakes.spoiled(other)):
        deep, least = (shown(value_at(written, key)) for key in (path, other))
        found = f"greatest_depth {deep} ({depth:.3g} m), where cover is {least} ({cover:.3g} m)"
        remedy = "correct [trench] greatest_depth or [trench] cover, and look at the unit of each"
        mistakes.add(path, found, "a greatest depth that is greater than cover", remedy)


def _levels(tree: dict[str, object], mistakes: Mistakes) -> None:
    for end in ("lower", "upper"):
        same = value_at(tree, (end, "low_level", "unit")) == value_at(tree, (end, "water_level", "unit"))
        low, normal = (_number(tree, end, name, "number") for name in ("low_level", "water_level"))
        if same and low > normal:
            expected = "a low level not above water_level"
            mistakes.add((end, "low_level"), f"{low:.10g} above {normal:.10g}", expected, "correct one of them")


def _file(tree: dict[str, object], path: KeyPath, folder: Path, mistakes: Mistakes) -> None:
    name = value_at(tree, path)
    if not isinstance(name, str) or (not name and path == ("price", "book")):
        return
    try:
        there = bool(name.strip()) and (folder / name).is_file()
    except (OSError, ValueError):
        there = False
    if not there:
        near = nearest(name, _files(folder))
        remedy = f'did you mean "{near}"?' if near else "put the file into the folder, or correct its name"
        mistakes.add(path, f"no file {shown(name)}", "a file, its path seen from the site folder", remedy)


def _files(folder: Path, most: int = 500) -> list[str]:
    """Return the files in the folder and in its folders, at most `most` of them, as paths seen from it."""
    found: list[str] = []
    try:
        for place in (folder, *(inner for inner in sorted(folder.iterdir()) if inner.is_dir())):
            for entry in os.scandir(place):
                if entry.is_file() and len(found) < most:
                    found.append(Path(entry.path).relative_to(folder).as_posix())
    except OSError:
        return found
    return found
