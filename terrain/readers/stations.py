"""Reader of a single line of stations: station and elevation, with or without shots to the left and right."""

import re

import numpy as np

from terrain.arrays import Floats
from terrain.errors import SurveyError
from terrain.points import SurveyPoints
from terrain.readers.options import ReadOptions
from terrain.readers.table import Table, numbers, raise_all, table_units
from terrain.ribbon import ribbon

SIDES = (("left_offset", "left_elevation", 1.0), ("right_offset", "right_elevation", -1.0))
"""Columns of the side shots on a station's own row, and the sign of their offset."""


def stations_of_table(table: Table, options: ReadOptions) -> SurveyPoints:
    """Return the ribbon of a table with the columns station and elevation; easting is station, northing offset.

    Side shots stand in rows of their own with an offset (left positive, or right where the heading says so), or in
    the columns left_offset, left_elevation, right_offset, right_elevation. A station may be written 1+50.

    Raises:
        SurveyError: columns missing, cells that are no number, a station given twice, or fewer than two stations.
        UnitsError: units missing or contradicting each other.
    """
    _check_columns(table)
    across = ("station", "offset", "right_positive", "left_offset", "right_offset")
    up = ("elevation", "left_elevation", "right_elevation")
    horizontal, vertical, notes, assumptions = table_units(table, across, up, options)
    shots = _shots(table)
    _check_stations(table, shots)
    shots[:, :2] *= horizontal.metres
    level = float(np.floor(shots[:, 2].min()))
    shots[:, 2] = (shots[:, 2] - level) * vertical.metres
    made = ribbon(shots, options.ribbon_half_width)
    count = len(np.unique(shots[:, 0]))
    notes = (
        f"{count} stations read from {table.source}; easting is the station, northing the offset to the left",
        *notes,
    )
    return SurveyPoints(
        made.coordinates,
        (0.0, 0.0, level),
        horizontal,
        vertical,
        table.source,
        "stations",
        options.accuracy,
        notes,
        assumptions + made.assumptions,
    )


def _check_columns(table: Table) -> None:
    """Raise where elevations are missing, or offsets are given with either side positive."""
    where = f"{table.source} header"
    if "elevation" not in table.columns:
        found = f"columns {', '.join(table.columns)}"
        raise SurveyError(where, found, "station and elevation", "name the columns so")
    if {"offset", "right_positive"} <= set(table.columns):
        found = "offsets with left positive and with right positive"
        raise SurveyError(where, found, "one column of offsets", "keep the one that is booked")


def _shots(table: Table) -> Floats:
    """Return (n, 3) station, offset and elevation in the file's units, side shots as rows of their own."""
    stations = _stations(table)
    levels = numbers(table, ("elevation",))[:, 0]
    offsets = np.zeros(len(levels))
    for column, sign in (("offset", 1.0), ("right_positive", -1.0)):
        if column in table.columns:
            offsets = sign * np.nan_to_num(numbers(table, (column,), empty_is_nan=True)[:, 0])
    pieces = [np.column_stack([stations, offsets, levels])]
    faults = []
    for offset_column, level_column, sign in SIDES:
        if offset_column not in table.columns and level_column not in table.columns:
            continue
        pair = numbers(table, (offset_column, level_column), empty_is_nan=True)
        for row, (offset, level) in zip(table.rows, pair.tolist(), strict=True):
            if np.isnan(offset) != np.isnan(level) or offset == 0.0:
                where = f"{table.source} line {row[0]}, columns {offset_column} and {level_column}"
                found = f"offset {table.cell(row, offset_column)!r}, elevation {table.cell(row, level_column)!r}"
                faults.append(SurveyError(where, found, "both, the offset not zero, or neither", "complete them"))
        there = np.isfinite(pair[:, 0])
        pieces.append(np.column_stack([stations[there], sign * np.abs(pair[there, 0]), pair[there, 1]]))
    raise_all(faults)
    return np.concatenate(pieces)


def _stations(table: Table) -> Floats:
    """Return the stations (n,) in the file's unit; 1+50 is 150, 1+050 is 1050."""
    place = table.columns["station"]
    rows = []
    for number, cells in table.rows:
        text = cells[place].strip() if place < len(cells) else ""
        plus = re.fullmatch(r"(\d+)\+(\d{2,3})((?:[.,]\d+)?)", text)
        if plus:
            text = f"{int(plus[1]) * 10 ** len(plus[2]) + int(plus[2])}{plus[3]}"
        rows.append((number, (*cells[:place], text, *cells[place + 1 :])))
    written = Table(table.source, table.columns, table.units, tuple(rows), table.ignored, table.decimal_comma)
    return numbers(written, ("station",))[:, 0]


def _check_stations(table: Table, shots: Floats) -> None:
    """Raise where a shot stands twice at one place, or the line has fewer than two stations."""
    first: dict[tuple[float, float], int] = {}
    faults = []
    for (line, _), (station, offset, _) in zip(table.rows, shots[: len(table.rows)].tolist(), strict=True):
        if (station, offset) in first:
            found = f"station {station:g} offset {offset:g} again, first on line {first[station, offset]}"
            where = f"{table.source} line {line}, column station"
            faults.append(SurveyError(where, found, "each shot once", "correct or delete one of them"))
        first.setdefault((station, offset), line)
    raise_all(faults)
    if len(np.unique(shots[shots[:, 1] == 0.0, 0])) < 2:
        raise SurveyError(table.source, "fewer than two stations on the line", "two or more", "add stations")
