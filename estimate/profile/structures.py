"""The structures at the ends of the line: their levels in local metres, vertical pipe, and the static lift."""

import math
from dataclasses import dataclass

from estimate.record import Structure
from estimate.site_records import Elevation, SiteFile, StructurePart
from terrain.errors import InputError
from terrain.ground import Ground
from terrain.units import FT, FTUS, LengthUnit, length_unit

FARTHEST = 60.0
"""Height [m] above or below the ground beyond which a level cannot be of the survey's datum."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EndLevels:
    """The levels of one structure in metres above the local origin.

    `winter` is NaN where the basin is emptied; `port` and `end` are NaN where they are left to the design.
    """

    key: str
    name: str
    water: float
    low: float
    winter: float
    port: float
    end: float
    check_valve: bool
    assumptions: tuple[str, ...]


def unit_of(ground: Ground, elevation: Elevation) -> LengthUnit:
    """Return the unit an elevation is in: the survey's own where it names none.

    A foot named without saying which is the survey's own foot where the survey is in feet.

    Raises:
        UnitsError: the unit is unknown.
    """
    if not elevation.unit:
        return ground.vertical
    named = length_unit(elevation.unit, "elevation")
    return ground.vertical if named == FT and ground.vertical in (FT, FTUS) else named


def local_elevation(ground: Ground, elevation: Elevation) -> float:
    """Return an elevation of the survey's datum in metres above the ground's local origin.

    The origin is subtracted before the conversion, so that no digit is lost.

    Raises:
        UnitsError: the unit is unknown.

    >>> from terrain.synthetic import plane_ground
    >>> local_elevation(plane_ground(0.0, 0.0, 0.0), Elevation(10.0, "ft"))
    3.048
    """
    unit = unit_of(ground, elevation)
    if unit == ground.vertical:
        return (elevation.number - ground.origin[2]) * unit.metres
    return elevation.number * unit.metres - ground.origin[2] * ground.vertical.metres


def datum_height(ground: Ground) -> float:
    """Return the elevation [m] of the local origin: local metres plus this are absolute metres.

    >>> from terrain.synthetic import plane_ground
    >>> datum_height(plane_ground(0.0, 0.0, 0.0))
    0.0
    """
    return ground.origin[2] * ground.vertical.metres


def elevation_text(ground: Ground, local: float) -> str:
    """Return a `local` elevation [m] as the user writes it: absolute, in the survey's own vertical unit.

    >>> from terrain.synthetic import plane_ground
    >>> elevation_text(plane_ground(0.0, 0.0, 0.0), 12.345)
    '12.35 m'
    """
    return f"{local / ground.vertical.metres + ground.origin[2]:.2f} {ground.vertical.name}"


def end_levels(key: str, part: StructurePart, ground: Ground, ground_there: float) -> EndLevels:
    """Return the levels of the structure `part` under `key` ("lower" or "upper").

    `ground_there` is the local elevation of the ground where the line ends [m]. Where a low or winter level is not
    given it is the normal one, and an assumption says so.

    Raises:
        InputError: the low level is above the normal one, or a level is nowhere near the ground.
        UnitsError: a unit is unknown.
    """
    given = {
        name: value
        for name in ("water_level", "low_level", "winter_level", "port_elevation", "end_elevation")
        if isinstance(value := getattr(part, name), Elevation)
    }
    local = {name: local_elevation(ground, value) for name, value in given.items()}
    refuse_far(key, local, ground, ground_there)
    water = local["water_level"]
    low = local.get("low_level", water)
    if low > water:
        raise InputError(
            f"{key}.low_level, {key}.water_level",
            f"the low level {elevation_text(ground, low)} is above the normal {elevation_text(ground, water)}",
            "a low level at or below the normal one",
            "correct one of the two",
        )
    return EndLevels(
        key=key,
        name=part.name,
        water=water,
        low=low,
        winter=math.nan if part.winter_level == "empty" else local.get("winter_level", water),
        port=local.get("port_elevation", math.nan),
        end=local.get("end_elevation", math.nan),
        check_valve=part.check_valve,
        assumptions=_left_to_default(key, part),
    )


def refuse_far(key: str, local: dict[str, float], ground: Ground, ground_there: float) -> None:
    """Refuse levels that are farther from `ground_there` than any yard is deep or high; all `local` metres.

    Raises:
        InputError: one of the levels `local` is; `key` is the table it stands in.
    """
    for name, height in local.items():
        if not abs(height - ground_there) <= FARTHEST:
            raise InputError(
                f"{key}.{name}",
                f"{elevation_text(ground, height)}, where the ground is at {elevation_text(ground, ground_there)}",
                f"an elevation of the survey's datum, within {FARTHEST:.0f} m of the ground at that end",
                "give it in the survey's datum and unit, or write its unit beside it; if the survey itself is not "
                f"in {ground.vertical.name}, correct survey.vertical_unit and survey.horizontal_unit",
            )


def _left_to_default(key: str, part: StructurePart) -> tuple[str, ...]:
    """Return what is assumed where a level is not given."""
    told = []
    if part.low_level is None and key == "lower":
        told.append(f"{key}.low_level: the water of {part.name} is taken never to fall below its normal level")
    if part.winter_level is None:
        told.append(f"{key}.winter_level: {part.name} is taken to stay at its normal level in winter")
    if part.port_elevation is None:
        told.append(f"{key}.port_elevation: the pipe is taken to pass the wall of {part.name} at its own depth")
    if part.end_elevation is None:
        told.append(f"{key}.end_elevation: the pipe is taken to end inside {part.name} at the height of its port")
    return tuple(told)


def structure_of(levels: EndLevels, station: float, invert: float, datum: float) -> Structure:
    """Return the record of a structure at `station` [m] where the line's local `invert` [m] ends.

    `datum` [m] is added to every elevation. Left open, the port is at the invert and the end at the port; the
    vertical pipe is the way from the invert to the port and on to the end.

    >>> basin = EndLevels(key="lower", name="basin", water=1.0, low=1.0, winter=1.0, port=0.5, end=0.0,
    ...                   check_valve=False, assumptions=())
    >>> structure_of(basin, 0.0, 0.75, 100.0).vertical_pipe_m
    0.75
    """
    port = invert if math.isnan(levels.port) else levels.port
    end = port if math.isnan(levels.end) else levels.end
    return Structure(
        end=levels.key,
        name=levels.name,
        station_m=station,
        water_level_m=levels.water + datum,
        low_level_m=levels.low + datum,
        winter_level_m=levels.winter + datum,
        port_m=port + datum,
        end_m=end + datum,
        invert_m=invert + datum,
        vertical_pipe_m=abs(end - port) + abs(port - invert),
        check_valve=levels.check_valve,
    )


def both_ends(file: SiteFile, ground: Ground, first: float, last: float) -> tuple[EndLevels, EndLevels]:
    """Return the levels at the first and the last station, where the local ground is at `first` and `last` [m].

    Raises:
        InputError: a level contradicts another or the survey.
        UnitsError: a unit is unknown.
    """
    keys = ("lower", "upper") if file.route.starts_at == "lower" else ("upper", "lower")
    parts = {"lower": file.lower, "upper": file.upper}
    start = end_levels(keys[0], parts[keys[0]], ground, first)
    return start, end_levels(keys[1], parts[keys[1]], ground, last)


def static_lift(structures: tuple[Structure, ...]) -> tuple[float, float]:
    """Return the static lift [m] from the lower to the upper water surface: at normal levels, and at low water.

    At low water only the lower basin is low. It may be negative. Where the pipe ends above the upper water the
    water leaves in free air, and must be lifted to the pipe's end.
    Source: static lift is water surface to water surface or the lip of a free outfall, never the pump's depth.
    """
    level = {one.end: one for one in structures}
    upper = max(level["upper"].water_level_m, level["upper"].end_m)
    return upper - level["lower"].water_level_m, upper - level["lower"].low_level_m
