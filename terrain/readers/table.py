"""Tables of shots as text: delimiter, header, units in the header, numbers with the line they stand in."""

import csv
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from terrain.arrays import Floats
from terrain.errors import StorageError, SurveyError, UnitsError
from terrain.readers.options import ReadOptions
from terrain.units import FT, LengthUnit, length_unit

SYNONYMS = {
    "point": "point pt pnt no number num id name shot pointno pointnumber pointid ptno ptid shotno",
    "northing": "northing north n y northings",
    "easting": "easting east e x eastings",
    "elevation": "elevation elev el z height h level rl groundlevel groundelevation reducedlevel",
    "description": "description desc descr code d note notes remark remarks comment comments feature",
    "station": "station sta stn chainage distance dist",
    "offset": "offset off",
    "right_positive": "offsetrightpositive rightpositive rightpositiveoffset",
    "left_offset": "leftoffset offsetleft loffset",
    "left_elevation": "leftelevation elevationleft leftelev lelevation",
    "right_offset": "rightoffset offsetright roffset",
    "right_elevation": "rightelevation elevationright rightelev relevation",
    "latitude": "latitude lat",
    "longitude": "longitude lon long lng",
}
"""What each column may be called, written without spaces and signs."""
_NAMES = {word: name for name, words in SYNONYMS.items() for word in words.split()}


@dataclass(frozen=True, slots=True)
class Table:
    """A table of text cells: `columns` name to position, `units` per column, `rows` (line number, cells)."""

    source: str
    columns: dict[str, int]
    units: dict[str, LengthUnit]
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    ignored: tuple[str, ...]
    decimal_comma: bool

    def cell(self, row: tuple[int, tuple[str, ...]], column: str) -> str:
        """Return the text in `column` of `row`, empty where the row is shorter or the column absent."""
        place = self.columns.get(column, -1)
        return row[1][place].strip() if 0 <= place < len(row[1]) else ""


def read_table(path: Path) -> Table:
    """Return the table in a text file; lines that are blank or begin with # are skipped.

    Raises:
        SurveyError: not text, no header, no rows, a column named twice, or decimal points and commas mixed.
        UnitsError: an unknown unit in a heading.
        StorageError: the file cannot be read.
    """
    try:
        raw = path.read_bytes()
    except OSError as broken:
        raise StorageError(str(path), str(broken), "a file that can be read") from broken
    source = path.name
    lines = [
        (number, line)
        for number, line in enumerate(_decode(raw, source).splitlines(), start=1)
        if line.strip(" \t,;\"'") and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise SurveyError(source, "an empty file", "a header line and at least three shots", "export it again")
    delimiter = _delimiter(lines[0][1])
    cells = [(number, _split(line, delimiter, f"{source} line {number}")) for number, line in lines]
    columns, units, ignored = _header(cells[0][1], f"{source} line {cells[0][0]}")
    if len(cells) == 1:
        raise SurveyError(source, "a header and no rows", "at least three shots", "add the shots")
    return Table(source, columns, units, tuple(cells[1:]), ignored, _decimal_comma(cells[1:], delimiter, source))


def _decode(raw: bytes, source: str) -> str:
    """Return `raw` as text: UTF-8, UTF-16 where marked, else the Western code page of spreadsheets."""
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        encoding = "utf-16"
    elif b"\0" in raw:
        raise SurveyError(source, "bytes that are no text", "a table as text", "export the survey as CSV")
    else:
        encoding = "utf-8-sig"
    try:
        return raw.decode(encoding)
    except UnicodeDecodeError as broken:
        if encoding == "utf-16":
            raise SurveyError(source, "text with broken characters", "UTF-8 text", "save as CSV UTF-8") from broken
        return raw.decode("cp1252", errors="replace")


def _delimiter(header: str) -> str:
    """Return the sign that parts the cells of the header line: the commonest of tab, semicolon and comma."""
    counts = {sign: header.count(sign) for sign in ("\t", ";", ",")}
    best = max(counts, key=lambda sign: counts[sign])
    return best if counts[best] else " "


def _split(line: str, delimiter: str, where: str) -> tuple[str, ...]:
    if delimiter == " ":
        return tuple(line.split())
    try:
        return tuple(next(csv.reader([line], delimiter=delimiter, skipinitialspace=True)))
    except (csv.Error, StopIteration) as broken:
        raise SurveyError(where, f"a line that cannot be parted: {broken}", "cells", "correct the line") from broken


def _header(cells: tuple[str, ...], where: str) -> tuple[dict[str, int], dict[str, LengthUnit], tuple[str, ...]]:
    """Return the columns by name, their units, and the headings that mean nothing here."""
    columns: dict[str, int] = {}
    units: dict[str, LengthUnit] = {}
    ignored = []
    for place, cell in enumerate(cells):
        name, unit = _heading(cell, where)
        if not name:
            ignored.append(cell.strip())
            continue
        if name in columns:
            raise SurveyError(where, f"two columns of {name}", "one column of each", "rename or delete one")
        columns[name] = place
        if unit:
            units[name] = unit
    if not columns:
        found = f"first line {', '.join(cell.strip() for cell in cells)!r}"
        remedy = "begin the file with: point,northing,easting,elevation,description"
        raise SurveyError(where, found, "a header that names the columns", remedy)
    return columns, units, tuple(word for word in ignored if word)


def _heading(cell: str, where: str) -> tuple[str, LengthUnit | None]:
    """Return the column that a heading such as "Elevation (ft)" or "elev_ft" names, and its unit."""
    text = cell.strip()
    bracket = re.fullmatch(r"(.*?)\s*[\(\[]\s*(.*?)\s*[\)\]]\s*", text)
    if bracket:
        name = _NAMES.get(re.sub(r"[^a-z0-9]", "", bracket[1].lower()), "")
        return name, length_unit(bracket[2], f"{where}, heading {text!r}") if name else None
    name = _NAMES.get(re.sub(r"[^a-z0-9]", "", text.lower()), "")
    if name:
        return name, None
    parts = re.split(r"[\s_,\-]+", text)
    for split in range(len(parts) - 1, 0, -1):
        name = _NAMES.get("".join(parts[:split]).lower(), "")
        if name:
            try:
                return name, length_unit(" ".join(parts[split:]))
            except UnitsError:
                return "", None
    return "", None


def _decimal_comma(rows: list[tuple[int, tuple[str, ...]]], delimiter: str, source: str) -> bool:
    """Return whether numbers have a decimal comma, which they can where the cells are not parted by commas."""
    if delimiter == ",":
        return False
    commas = points = 0
    for number, cells in rows:
        for cell in cells:
            commas += number if re.fullmatch(r"[-+]?\d*,\d+", cell.strip()) and not commas else 0
            points += number if re.fullmatch(r"[-+]?\d*\.\d+", cell.strip()) and not points else 0
    if commas and points:
        found = f"decimal commas (line {commas}) and decimal points (line {points})"
        raise SurveyError(source, found, "one sign for decimals", "export the file with one of them")
    return bool(commas)


def number_in(text: str, decimal_comma: bool) -> float:
    """Return the number that a cell holds, NaN where it holds none.

    >>> number_in("1,234.5", False), number_in("1234,5", True), number_in("12 ft", False)
    (1234.5, 1234.5, nan)
    """
    plain = text.strip().replace("−", "-")
    if decimal_comma:
        plain = plain.replace(".", "") if re.fullmatch(r"[-+]?\d{1,3}(\.\d{3})+,\d+", plain) else plain
        plain = plain.replace(",", ".")
    elif re.fullmatch(r"[-+]?\d{1,3}(,\d{3})+(\.\d*)?", plain):
        plain = plain.replace(",", "")
    if not re.fullmatch(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?", plain):
        return float("nan")
    value = float(plain)
    return value if np.isfinite(value) else float("nan")


def numbers(table: Table, columns: tuple[str, ...], empty_is_nan: bool = False) -> Floats:
    """Return `columns` of the table as (rows, columns) numbers in the file's units.

    With `empty_is_nan` an empty cell gives NaN instead of an error.

    Raises:
        SurveyError: for the first cell that holds no number, with all further ones in `others`.
    """
    faults = []
    result = np.full((len(table.rows), len(columns)), np.nan)
    for i, row in enumerate(table.rows):
        for k, column in enumerate(columns):
            text = table.cell(row, column)
            result[i, k] = number_in(text, table.decimal_comma)
            if np.isnan(result[i, k]) and (text or not empty_is_nan):
                where = f"{table.source} line {row[0]}, column {column}"
                found = repr(text) if text else "an empty cell"
                faults.append(SurveyError(where, found, "a number", "correct the cell or delete the line"))
    raise_all(faults)
    return result


def raise_all(faults: list[SurveyError]) -> None:
    """Raise the first of `faults` with the others in it; do nothing where there is none.

    Raises:
        SurveyError: there is a fault.
    """
    if faults:
        first = faults[0]
        raise SurveyError(first.where, first.found, first.expected, first.remedy, faults[1:])


def table_units(
    table: Table, across: tuple[str, ...], up: tuple[str, ...], options: ReadOptions
) -> tuple[LengthUnit, LengthUnit, tuple[str, ...], tuple[str, ...]]:
    """Return horizontal and vertical unit, notes and assumptions: the user's word, else the header's.

    `across` and `up` are the columns that hold horizontal and vertical figures.

    Raises:
        UnitsError: headings contradict each other, or nobody says a unit.
    """
    notes: list[str] = []
    horizontal = _unit(table, across, options.horizontal_unit, "horizontal", notes)
    vertical = _unit(table, up, options.vertical_unit, "vertical", notes)
    if horizontal is None:
        remedy = 'write the unit in the header, such as "easting (ft)", or set the survey\'s horizontal unit'
        raise UnitsError(table.source, "no unit of the coordinates", f"{FT.name}, ftUS or m", remedy)
    if vertical is None:
        guess = f"elevations taken in {horizontal.name} like the coordinates: the file names no unit for them"
        return horizontal, horizontal, tuple(notes), (guess,)
    return horizontal, vertical, tuple(notes), ()


def _unit(
    table: Table, columns: tuple[str, ...], word: LengthUnit | None, which: str, notes: list[str]
) -> LengthUnit | None:
    """Return the unit of some columns and write into `notes` where it came from."""
    said = {column: table.units[column] for column in columns if column in table.units}
    names = {unit.name for unit in said.values()}
    if word is not None:
        over = f", not in {' and '.join(sorted(names))} as the header says" if names - {word.name} else ""
        notes.append(f"{which} unit {word.name} by the user's word{over}")
        return word
    if len(names) > 1:
        found = "contradicting units: " + ", ".join(f"{column} in {unit.name}" for column, unit in said.items())
        raise UnitsError(table.source, found, f"one {which} unit", f"correct the header or set the {which} unit")
    if not said:
        return None
    unit = next(iter(said.values()))
    notes.append(f"{which} unit {unit.name} from the header of {table.source}")
    return unit
