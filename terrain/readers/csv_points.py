"""Reader of shots as a table: point, northing, easting, elevation, description in any order the header tells."""

from dataclasses import replace

import numpy as np

from terrain.arrays import Floats
from terrain.doubles import SAME_PLACE
from terrain.errors import SurveyError
from terrain.points import SurveyPoints, survey_points
from terrain.readers.options import ReadOptions
from terrain.readers.table import Table, numbers, raise_all, table_units
from terrain.ribbon import ribbon_on_line, straight_line

DEGREE_SPAN = 0.01
"""Span [degrees] below which numbers that could be degrees, with five decimals and more, are taken for them."""
ON_LINE = 0.05
"""Distance [m] from one straight line within which all shots make a single line of stations."""


def points_of_table(table: Table, options: ReadOptions) -> SurveyPoints:
    """Return the shots of a table with the columns northing, easting and elevation.

    Shots that all lie on one straight line become a ribbon, its cross slope a stated assumption.

    Raises:
        SurveyError: columns missing, cells that are no number, point numbers used twice, or degrees.
        UnitsError: units missing or contradicting each other.
    """
    _check_columns(table)
    if len(table.rows) < 3:
        found = f"{len(table.rows)} shot{'' if len(table.rows) == 1 else 's'}"
        raise SurveyError(table.source, found, "at least three shots", "survey more points or check the file")
    rows = numbers(table, ("easting", "northing", "elevation"))
    _check_names(table)
    _check_degrees(table, rows)
    horizontal, vertical, notes, assumptions = table_units(table, ("easting", "northing"), ("elevation",), options)
    if table.ignored:
        notes += (f"columns not used: {', '.join(table.ignored)}",)
    codes = tuple(table.cell(row, "description") for row in table.rows) if "description" in table.columns else ()
    notes = (f"{len(rows)} shots read from {table.source}", *notes)
    told = (notes, assumptions, codes)
    shots = survey_points(rows, horizontal, vertical, table.source, "shots", options.accuracy, *told)
    shots = replace(shots, names=tuple(table.cell(row, "point") for row in table.rows))
    return _widened(shots, options) if straight_line(shots.coordinates, ON_LINE) else shots


def _widened(shots: SurveyPoints, options: ReadOptions) -> SurveyPoints:
    """Return shots of one straight line as a ribbon; a single place is left for the triangulation to refuse."""
    spread = np.ptp(shots.coordinates[:, :2], axis=0).max()
    if spread <= SAME_PLACE:
        return shots
    made = ribbon_on_line(shots.coordinates, options.ribbon_half_width)
    note = "all shots lie on one straight line, taken as a line of stations"
    return replace(
        shots,
        coordinates=made.coordinates,
        kind="stations",
        notes=(*shots.notes, note),
        assumptions=shots.assumptions + made.assumptions,
        codes=(),
    )


def _check_columns(table: Table) -> None:
    where = f"{table.source} header"
    if "latitude" in table.columns or "longitude" in table.columns:
        raise degrees_error(where, "columns of latitude and longitude")
    missing = [name for name in ("northing", "easting", "elevation") if name not in table.columns]
    if missing:
        found = f"no column of {', '.join(missing)}; columns found: {', '.join(table.columns) or 'none'}"
        remedy = "name the columns point, northing, easting, elevation, description"
        raise SurveyError(where, found, "northing, easting and elevation, or station and elevation", remedy)


def _check_names(table: Table) -> None:
    """Raise where a point number stands twice."""
    seen: dict[str, int] = {}
    faults = []
    for row in table.rows:
        name = table.cell(row, "point")
        if name and name in seen:
            where = f"{table.source} line {row[0]}, column point"
            found = f"point {name} again, first on line {seen[name]}"
            faults.append(SurveyError(where, found, "each point number once", "rename or delete one of them"))
        seen.setdefault(name, row[0])
    raise_all(faults)


def _check_degrees(table: Table, rows: Floats) -> None:
    """Raise where eastings and northings have all signs of degrees: range, tiny span and many decimals."""
    plan = rows[:, :2]
    inside = np.abs(plan[:, 0]).max() <= 180.0 and np.abs(plan[:, 1]).max() <= 90.0
    if not inside or np.ptp(plan, axis=0).max() >= DEGREE_SPAN or len(rows) < 2:
        return
    texts = [table.cell(row, column) for row in table.rows for column in ("easting", "northing")]
    decimals = [len(text.replace(",", ".").partition(".")[2]) for text in texts]
    if max(decimals) >= 5:
        span = np.ptp(plan, axis=0)
        found = f"eastings and northings that span {span[0]:.6f} and {span[1]:.6f}, as degrees do"
        raise degrees_error(table.source, found)


def degrees_error(where: str, found: str) -> SurveyError:
    """Return the error for coordinates in degrees, with what to do about them."""
    return SurveyError(
        where,
        found,
        "easting and northing in feet or metres on a plane grid",
        "project the survey to a plane grid (state plane or UTM) before reading it",
    )
