"""Units of a scan from what its file says: WKT before GeoTIFF keys, the unit before the system's code."""

from dataclasses import dataclass, field

from terrain.errors import UnitsError
from terrain.readers.csv_points import degrees_error
from terrain.readers.options import ReadOptions
from terrain.units import FT, FTUS, LengthUnit, M

UNIT_CODES = {9001: M, 9002: FT, 9003: FTUS}
"""EPSG codes of the units of length met in GeoTIFF keys."""
MODEL, PROJECTED_CRS, LINEAR_UNIT, LINEAR_SIZE = 1024, 3072, 3076, 3077
VERTICAL_CRS, VERTICAL_UNIT = 4096, 4099
OWN = 32767
"""GeoTIFF code for "defined by the user"."""
BIG_YARD = 2000.0
"""Extent [m] above which a survey is told to be large for a yard."""
STEEP = 1.0
"""Relief over extent [m/m] above which the units are worth a second look."""


@dataclass(slots=True)
class Said:
    """What a file says: units where known, whether degrees or geocentric, and sentences on where that came from."""

    horizontal: LengthUnit | None = None
    vertical: LengthUnit | None = None
    geographic: bool = False
    geocentric: bool = False
    notes: list[str] = field(default_factory=list)


def unit_of_factor(factor: float, name: str) -> LengthUnit:
    """Return the unit that is `factor` metres [m]; one of ours within 5e-7 of it, else one called `name`.

    >>> unit_of_factor(0.3048006, "Foot_US").name, unit_of_factor(0.9143985307444, "Indian yard").name
    ('ftUS', 'Indian yard')
    """
    for unit in (M, FT, FTUS):
        if abs(factor / unit.metres - 1.0) < 5e-7:
            return unit
    return LengthUnit(name, factor)


def said_by_wkt(text: str) -> Said | None:
    """Return what a coordinate system in WKT says, or None where it cannot be read."""
    import pyproj

    try:
        crs = pyproj.CRS.from_wkt(text)
    except Exception:  # whatever the library makes of damaged text, the file then says nothing
        return None
    said = Said(geographic=False)
    for part in crs.sub_crs_list or [crs]:
        base = part.source_crs if part.is_bound and part.source_crs is not None else part
        said.geographic |= base.is_geographic
        said.geocentric |= base.is_geocentric
        axes = base.axis_info
        if base.is_vertical and axes:
            said.vertical = unit_of_factor(axes[0].unit_conversion_factor, axes[0].unit_name)
        elif axes and not base.is_geographic and not base.is_geocentric:
            said.horizontal = unit_of_factor(axes[0].unit_conversion_factor, axes[0].unit_name)
            if len(axes) > 2:
                said.vertical = unit_of_factor(axes[2].unit_conversion_factor, axes[2].unit_name)
    return said


def said_by_keys(keys: dict[int, int], sizes: dict[int, float]) -> Said:
    """Return what GeoTIFF `keys` (code by key) say; `sizes` are the keys that hold a number [m].

    Source: OGC GeoTIFF 1.1, keys 1024, 3072, 3076, 3077, 4096 and 4099; a unit code wins over that of the CRS.
    """
    said = Said(geographic=keys.get(MODEL) == 2, geocentric=keys.get(MODEL) == 3)
    crs_unit = _unit_of_crs(keys.get(PROJECTED_CRS, 0))
    said.horizontal = UNIT_CODES.get(keys.get(LINEAR_UNIT, 0))
    if said.horizontal is None and sizes.get(LINEAR_SIZE, 0.0) > 0.0:
        said.horizontal = unit_of_factor(sizes[LINEAR_SIZE], "own unit")
    if said.horizontal is None:
        said.horizontal = crs_unit
    elif crs_unit is not None and crs_unit != said.horizontal:
        said.notes.append(
            f"the GeoTIFF keys name {said.horizontal.name} but a coordinate system in {crs_unit.name}"
            f" (EPSG:{keys[PROJECTED_CRS]}): the unit key was followed"
        )
    said.vertical = UNIT_CODES.get(keys.get(VERTICAL_UNIT, 0)) or _unit_of_crs(keys.get(VERTICAL_CRS, 0))
    return said


def _unit_of_crs(code: int) -> LengthUnit | None:
    """Return the unit of a projected or vertical EPSG code, None where it names none."""
    if code in (0, OWN):
        return None
    import pyproj

    try:
        axis = pyproj.CRS.from_epsg(code).axis_info[0]
    except Exception:  # an unknown code says nothing
        return None
    if "degree" in axis.unit_name:
        return None
    return unit_of_factor(axis.unit_conversion_factor, axis.unit_name)


def merge(wkt: Said | None, keys: Said | None) -> Said:
    """Return what both say together: WKT wins, GeoTIFF keys fill in, a contradiction is told."""
    said = Said()
    for name, source in (("WKT", wkt), ("GeoTIFF keys", keys)):
        if source is None:
            continue
        said.notes += source.notes
        if name == "WKT" or wkt is None:
            said.geographic, said.geocentric = source.geographic, source.geocentric
        for which in ("horizontal", "vertical"):
            new, old = getattr(source, which), getattr(said, which)
            if new is not None and old is None and not (name != "WKT" and (said.geographic or said.geocentric)):
                setattr(said, which, new)
                said.notes.append(f"{which} unit {new.name} from the file's {name}")
            elif new is not None and old is not None and new != old:
                said.notes.append(f"the file's {name} name {new.name} as {which} unit: WKT was followed")
    return said


@dataclass(frozen=True, slots=True)
class Units:
    """Units of a scan with what to tell of them."""

    horizontal: LengthUnit
    vertical: LengthUnit
    notes: tuple[str, ...]
    assumptions: tuple[str, ...]


def choose_units(said: Said, box: tuple[float, ...], options: ReadOptions, source: str) -> Units:
    """Return the units of a scan: the user's word, else what the file says; `box` (6,) is in the file's units.

    Raises:
        SurveyError: coordinates in degrees.
        UnitsError: neither the file nor the user says the unit.
    """
    _refuse_degrees(said, box, options, source)
    notes = list(said.notes)
    horizontal, vertical = said.horizontal, said.vertical
    for which, word, of_file in (
        ("horizontal", options.horizontal_unit, horizontal),
        ("vertical", options.vertical_unit, vertical),
    ):
        if word is not None:
            over = f", not {of_file.name} as the file says" if of_file is not None and of_file != word else ""
            notes = [note for note in notes if not note.startswith(f"{which} unit")]
            notes.append(f"{which} unit {word.name} by the user's word{over}")
    horizontal = options.horizontal_unit or horizontal
    vertical = options.vertical_unit or vertical
    if horizontal is None:
        found = "no unit of its coordinates"
        if said.geocentric:
            found = "a geocentric coordinate system, which contradicts its coordinates: their unit is unknown"
        elif said.geographic:
            found = "a coordinate system in degrees, which contradicts its coordinates: their unit is unknown"
        remedy = "set the survey's horizontal unit to m, ft or ftUS"
        raise UnitsError(source, found, "coordinates in a known unit", remedy)
    if vertical is not None:
        return Units(horizontal, vertical, tuple(notes), ())
    guess = f"elevations taken in {horizontal.name} like the coordinates: the file names no vertical unit"
    return Units(horizontal, horizontal, tuple(notes), (guess,))


def _refuse_degrees(said: Said, box: tuple[float, ...], options: ReadOptions, source: str) -> None:
    """Raise where the coordinates are degrees by what the file says, or by their looks where it says nothing."""
    west, south, _, east, north, _ = box
    possible = max(abs(west), abs(east)) <= 360.0 and max(abs(south), abs(north)) <= 90.0
    tiny = max(east - west, north - south) < 1.0
    silent = said.horizontal is None and not said.geocentric
    if not possible or (options.horizontal_unit is not None and not tiny):
        return
    if said.geographic or (silent and tiny):
        found = f"coordinates in degrees ({west:.5f} to {east:.5f}, {south:.5f} to {north:.5f})"
        raise degrees_error(source, found)


def plausibility(span: tuple[float, float, float], count: int) -> tuple[str, ...]:
    """Return warnings on a survey of `count` points whose box measures `span` (3,) metres."""
    width, height, relief = span
    warnings = []
    reach = max(width, height)
    if reach > BIG_YARD:
        apart = (width * height / max(count, 1)) ** 0.5
        warnings.append(
            f"the survey measures {width:,.0f} x {height:,.0f} m with points {apart:,.0f} m apart, very large for a"
            " yard: check the horizontal unit (feet read as metres make it 3.28 times too large)"
        )
    elif reach < 1.0:
        warnings.append(f"the survey measures {width:.3f} x {height:.3f} m, very small: check the horizontal unit")
    if relief > STEEP * reach:
        warnings.append(f"elevations differ by {relief:,.1f} m over {reach:,.1f} m: check both units")
    return tuple(warnings)
