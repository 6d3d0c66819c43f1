"""Every key of `site.toml`: its meaning, its bare unit, its default."""

import dataclasses
from collections.abc import Iterator
from dataclasses import dataclass
from types import NoneType, UnionType
from typing import Annotated, Literal, Union, get_args, get_origin, get_type_hints

from estimate.site_records import Elevation, Quantity, SiteFile
from terrain.units import to_unit

MEANINGS = {
    "SiteFile.title": "what the job is called on every document",
    "SiteFile.units": "the units of bare numbers and documents; coordinates and elevations stay in the survey's",
    "SiteFile.survey": "the survey of the ground",
    "SiteFile.route": "where the line runs",
    "SiteFile.lower": "the structure at the lower water, where the pump is",
    "SiteFile.upper": "the structure at the upper water: a filter, a fall or a spout",
    "SiteFile.pipe": "the pipe that is laid",
    "SiteFile.trench": "how wide and deep is dug",
    "SiteFile.pump": "the pump's curve; without it only the total head at a wanted flow is told",
    "SiteFile.soil": "what is dug and what carries it away",
    "SiteFile.water": "flow, temperature and fittings",
    "SiteFile.price": "what things cost",
    "SiteFile.drain": "a drain that you want at a station, beside those at the low points; one table each",
    "SiteFile.valve": "a valve in the line that holds water in winter; one table each",
    "SurveyPart.file": "the survey file, from this folder: CSV points or stations, LAS, LAZ or a mesh",
    "SurveyPart.horizontal_unit": "unit of eastings and northings; your word wins over the file's",
    "SurveyPart.vertical_unit": "unit of elevations; your word wins over the file's",
    "SurveyPart.keep": "which points of a scan make the ground: those classed as ground, or all",
    "SurveyPart.accuracy": "one standard error of an elevation; without it the file's kind decides",
    "SurveyPart.benchmark": "elevation of the benchmark on site that the crew measures down from",
    "SurveyPart.common_error": "an error that all elevations may share, such as a wrong benchmark",
    "SurveyPart.ribbon_half_width": "how far ground reaches to each side where a survey is one line of stations",
    "RoutePart.points": "way points in order, as [easting, northing] in the survey's own unit, or where the survey "
    "is one line of stations as [station, offset]",
    "RoutePart.starts_at": "the structure at which the first way point stands",
    "WallPart.slope": "how far the wall leans out, run to rise; 0 is vertical, 1 is one to one",
    "WallPart.rise": "height of the vertical part below the slope (a bench)",
    "PitPart.length": "length of the pit's floor, in the direction of heading",
    "PitPart.width": "width of the pit's floor",
    "PitPart.floor": "elevation of the pit's floor",
    "PitPart.wall": "the pit's walls",
    "PitPart.heading": "direction of the pit's length in degrees from north, clockwise; without it along the route",
    "StructurePart.name": "what it is called",
    "StructurePart.water_level": "elevation of the normal water level, or of the lip of a free outfall",
    "StructurePart.low_level": "elevation of the lowest water level at which the pump still runs",
    "StructurePart.winter_level": 'elevation of the water in winter, or "empty"; without it the normal level',
    "StructurePart.port_elevation": "elevation of the pipe's inside bottom where it passes the wall",
    "StructurePart.end_elevation": "elevation of the pipe's inside bottom at its end: pump outlet or spout",
    "StructurePart.check_valve": "whether a check valve here keeps water from running back",
    "StructurePart.pit": "the pit that is dug for the structure",
    "PipePart.kind": "the row group of the pipe table, such as PVC Schedule 40",
    "PipePart.size": "the nominal size of the pipe table in inches, as text such as 2 or 1-1/2",
    "PipePart.bore": "measured inside diameter of a pipe that is not in the table",
    "PipePart.outside": "measured outside diameter of a pipe that is not in the table",
    "PipePart.rating": "pressure rating of a pipe that is not in the table",
    "PipePart.stick": "length of a stick or coil",
    "TrenchPart.cover": "least height of earth over the top of the pipe; ask for the local code's depth",
    "TrenchPart.width": "width of the bucket, trencher or spade in use",
    "TrenchPart.bedding": "thickness of bedding below the pipe: none in stone-free soil, some in rock or gravel",
    "TrenchPart.least_fall": "least fall of the pipe towards its drains",
    "TrenchPart.greatest_depth": "depth that shall not be passed; deeper stretches become findings",
    "TrenchPart.left_wall": "the wall on the left as you walk from the first way point",
    "TrenchPart.right_wall": "the wall on the right as you walk from the first way point",
    "TrenchPart.interval": "distance between the stations of the cut sheet",
    "TrenchPart.low_point_threshold": "how deep a dip must be to count; without it the survey's accuracy decides",
    "SoilPart.kind": "the row of the soil table; it gives swell, shrinkage and weight",
    "SoilPart.topsoil": "thickness of topsoil that is stripped and kept apart",
    "SoilPart.bedding_material": "the row of the bedding table",
    "SoilPart.truck": "the row of the truck table; it gives body and payload",
    "DrainPart.station": "distance along the route in plan from the first way point, in the survey's own unit",
    "DrainPart.name": "what the drain is called",
    "ValvePart.station": "distance along the route in plan from the first way point, in the survey's own unit",
    "ValvePart.kind": "a check valve, or a valve that is kept shut",
    "ValvePart.name": "what the valve is called",
    "PumpPart.curve": "the pump's curve as pairs of flow and head, flow rising",
    "PumpPart.name": "what the pump is called",
    "WaterPart.flow": "the flow you want; without it the pump's curve decides",
    "WaterPart.temperature": "temperature of the water",
    "WaterPart.fittings": "fittings of the fitting table by name and how many of each",
    "WaterPart.fitting_table": "the fitting table whose loss coefficients are taken",
    "PricePart.book": "the price book's file in this folder; without it the shipped book of example prices",
}
"""What each field of each record means, as `Record.field`."""


@dataclass(frozen=True, slots=True)
class Key:
    """One key of `site.toml`: path with dots, meaning, bare units [names], default as written, whether needed."""

    path: str
    meaning: str
    us: str
    si: str
    default: str
    needed: bool
    choices: tuple[str, ...] = ()


def hints_of(record: object) -> dict[str, object]:
    """Return the type of each field of the dataclass `record`, or nothing where it is none; unit marks kept.

    >>> list(hints_of(Elevation))
    ['number', 'unit']
    """
    if not (isinstance(record, type) and dataclasses.is_dataclass(record)):
        return {}
    return dict(get_type_hints(record, include_extras=True))


def plain_hint(hint: object) -> object:
    """Return the type inside a type that may also be None or a fixed word; others as they are.

    >>> plain_hint(Elevation | Literal["empty"] | None).__name__
    'Elevation'
    """
    if get_origin(hint) not in (Union, UnionType):
        return hint
    arms = [arm for arm in get_args(hint) if arm is not NoneType and get_origin(arm) is not Literal]
    return arms[0] if arms else hint


def choices_of(hint: object) -> tuple[str, ...]:
    """Return the fixed words that the type `hint` allows.

    >>> choices_of(Literal["US", "SI"] | None)
    ('US', 'SI')
    """
    if get_origin(hint) is Literal:
        return tuple(str(word) for word in get_args(hint))
    if get_origin(hint) in (Union, UnionType):
        return tuple(word for arm in get_args(hint) for word in choices_of(arm))
    return ()


def quantity_of(hint: object) -> Quantity | None:
    """Return the unit mark of the type `hint`, or None where it has none.

    >>> from estimate.site_records import Size
    >>> quantity_of(Size | None).us
    'in'
    """
    plain = plain_hint(hint)
    if get_origin(plain) is Annotated:
        return next((mark for mark in get_args(plain) if isinstance(mark, Quantity)), None)
    return None


def hint_at(path: tuple[str | int, ...], record: object = SiteFile) -> object:
    """Return the type that stands at `path` below `record`, or None where the path leads nowhere.

    >>> hint_at(("lower", "pit", "wall")).__name__
    'WallPart'
    """
    hint: object = record
    for part in path:
        hint = plain_hint(hint)
        if isinstance(part, str):
            hint = int if get_origin(hint) is dict else hints_of(hint).get(part)
        else:
            arms = [arm for arm in get_args(hint) if arm is not Ellipsis] if get_origin(hint) is tuple else []
            hint = arms[min(part, len(arms) - 1)] if arms else None
    return hint


def _table_below(hint: object) -> tuple[object, str]:
    """Return the record that a field holds, and "[]" where it holds a list of them."""
    plain = plain_hint(hint)
    if plain is Elevation:
        return None, ""
    if hints_of(plain):
        return plain, ""
    arms = get_args(plain) if get_origin(plain) is tuple else ()
    return (arms[0], "[]") if arms and hints_of(arms[0]) else (None, "")


def table_names(record: object = SiteFile) -> frozenset[str]:
    """Return the names of all keys that hold tables at and below `record`.

    >>> "trench" in table_names(), "cover" in table_names()
    (True, False)
    """
    names: set[str] = {"fittings"}
    for name, hint in hints_of(record).items():
        table, _ = _table_below(hint)
        if table is not None:
            names |= {name} | table_names(table)
    return frozenset(names)


def keys(record: object = SiteFile, before: str = "") -> tuple[Key, ...]:
    """Return every key of a site file in the order of its records; `before` is put in front of the paths.

    >>> [(key.path, key.us, key.si, key.default) for key in keys() if key.path == "trench.width"]
    [('trench.width', 'in', 'mm', '12 in')]
    """
    return tuple(_keys(record, before))


def _keys(record: object, before: str) -> Iterator[Key]:
    assert isinstance(record, type)
    assert dataclasses.is_dataclass(record)
    hints = hints_of(record)
    for part in dataclasses.fields(record):
        hint = hints[part.name]
        table, many = _table_below(hint)
        path = f"{before}{part.name}"
        meaning = MEANINGS[f"{record.__name__}.{part.name}"]
        needed = part.default is dataclasses.MISSING and part.default_factory is dataclasses.MISSING
        mark = quantity_of(hint)
        us, si = (mark.us, mark.si) if mark else ("survey unit",) * 2 if plain_hint(hint) is Elevation else ("", "")
        yield Key(path + many, meaning, us, si, default_text(part, mark), needed, choices_of(hint))
        if table is not None:
            yield from _keys(table, f"{path}{many}.")


def default_text(part: "dataclasses.Field[object]", mark: Quantity | None, units: str = "US") -> str:
    """Return a field's default as it would be written under `units`; "" where it has none or is a table."""
    value = part.default
    if value is dataclasses.MISSING or value is None or dataclasses.is_dataclass(value) or isinstance(value, tuple):
        return ""
    if mark is not None and isinstance(value, float):
        return spoken(value, mark, units)
    return str(value).lower() if isinstance(value, bool) else str(value)


def spoken(value: float, mark: Quantity, units: str) -> str:
    """Return the SI `value` [unit of its kind] with the unit that `mark` names for "US" or "SI".

    >>> spoken(0.3048, Quantity("length", "in", "mm"), "US"), spoken(1 / 96, Quantity("ratio", "", ""), "US")
    ('12 in', '1/8 in/ft')
    """
    unit = mark.us if units == "US" else mark.si
    if mark.kind == "ratio":
        eighths = value * 96.0
        if units == "US" and 0.0 < value < 0.1 and abs(eighths - round(eighths)) < 1e-9:
            return {1: "1/8", 2: "1/4", 4: "1/2", 8: "1"}.get(round(eighths), f"{round(eighths)}/8") + " in/ft"
        return f"{value:.4g}"
    kelvin = 273.15 if mark.kind == "temperature" else 0.0
    return f"{to_unit(value + kelvin, unit):.4g} {unit}"
