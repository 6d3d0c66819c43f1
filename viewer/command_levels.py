"""The command that reduces a level book: a CSV as it is booked, elevations and checks as text."""

import csv
import io
import math
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from terrain.errors import InputError, SurveyError, UnitsError

if TYPE_CHECKING:
    from terrain.levels import LevelBook, Reading
    from terrain.units import LengthUnit

COLUMNS = {"backsight": "BS", "intermediate": "IS", "foresight": "FS"}
"""The columns of readings and the kind of sight each holds."""


def print_book(name: str, benchmark: float, closing: float | None, unit: str, circuit: float | None = None) -> None:
    """Print the reduced level book of the CSV file `name`; bare numbers are in `unit`.

    `benchmark` [unit] is the elevation of the first point and `closing` [unit] of the last; a book that ends on its
    first point needs none. `circuit` [unit] is the length walked, by which the allowed closing error is told.

    Raises:
        InputError: the book cannot be read or reduced.
    """
    from terrain.levels import reduce_book
    from terrain.units import length_unit

    one = length_unit(unit, "--unit")
    readings = read_book(Path(name), one.name)
    loop = closing is None and ends_on_its_start(readings)
    known = benchmark if loop else closing
    book = reduce_book(readings, benchmark * one.metres, math.nan if known is None else known * one.metres)
    if loop:
        print(f"The book ends on its first point, {readings[0].point}: it is taken as closed on it.")
    print(book_text(book, one.metres, unit))
    if math.isfinite(book.misclosure_m):
        print(allowance_text(book.misclosure_m, math.nan if circuit is None else circuit * one.metres, one))


def ends_on_its_start(readings: "Sequence[Reading]") -> bool:
    """Return whether the last of `readings` is on the point of the first, by name."""
    names = [one.point.casefold() for one in readings]
    return len(names) > 1 and names[0] != "" and names[0] == names[-1]


def allowance_text(misclosure: float, circuit: float, unit: "LengthUnit") -> str:
    """Return whether a `misclosure` [m] is allowed on a `circuit` [m], NaN where its length is not known.

    Source: third order levelling, 12 mm by the root of the kilometres, as `terrain.levels.allowed_misclosure`.
    """
    from terrain.levels import allowed_misclosure

    if math.isnan(circuit):
        return (
            "compare the closing error with your allowance, such as 12 mm x root(km) for third order;"
            " --circuit LENGTH works it out"
        )
    allowed = allowed_misclosure(circuit)
    limit = (
        f"{allowed / unit.metres:.3f} {unit.name} allowed by third order on {circuit / unit.metres:g} {unit.name}"
    )
    if abs(misclosure) > allowed:
        return f"WARNING: the closing error is more than the {limit}: level again before you rely on it"
    return f"the closing error is within the {limit}"


def read_book(path: Path, unit: str = "m") -> "tuple[Reading, ...]":
    """Return the readings of a CSV level book, in metres; bare numbers are in `unit`, text may name its own.

    Cells are parted by comma, semicolon or tab; where they are not parted by commas, numbers may have a decimal
    comma. A reading may be feet and inches. A turning point may stand on one line with its foresight and the next
    backsight, or on two.

    Raises:
        InputError: the file is missing, empty, lacks a column, or a reading is not a length.
    """
    from terrain.levels import Reading

    text = _text(path)
    header = next(line for line in text.splitlines() if line.strip())
    delimiter = max(",;\t", key=header.count)
    rows = csv.DictReader(io.StringIO(text), delimiter=delimiter)
    names = [str(name).strip().lower() for name in rows.fieldnames or ()]
    missing = [name for name in ("point", *COLUMNS) if name not in names]
    if missing:
        found = "no column " + ", ".join(missing)
        expected = "the header point,backsight,intermediate,foresight,remark"
        raise SurveyError(f"{path} line {rows.line_num}", found, expected, "name the columns in the first line")
    rows.fieldnames = names
    readings: list[Reading] = []
    for row in rows:
        where = f"{path} line {rows.line_num}"
        for column in ("intermediate", "foresight", "backsight"):
            cell = (row[column] or "").strip()
            if cell:
                value = _length(cell, unit, delimiter != ",", f"{where}, {column}")
                point = (row["point"] or "").strip()
                readings.append(Reading(point, COLUMNS[column], value, rows.line_num))  # type: ignore[arg-type]  # BS, IS or FS
    return tuple(readings)


def book_text(book: "LevelBook", metres: float, unit: str) -> str:
    """Return the reduced book as a table with its three sums and closing error; `metres` [m] is one `unit`."""
    lines = [f"{'point':12}{'set-up':>8}{'reduced':>12}{'adjusted':>12}{'rise':>10}   [{unit}]"]
    for one in book.points:
        numbers = f"{one.reduced_m / metres:12.3f}{one.adjusted_m / metres:12.3f}{one.rise_m / metres:10.3f}"
        lines.append(f"{one.point:12}{one.set_up:8d}{numbers}")
    sights, rises, ends = (value / metres for value in book.sums_m)
    lines.append(
        f"backsights less foresights {sights:.3f}, rises less falls {rises:.3f}, last less first {ends:.3f}"
    )
    if math.isfinite(book.misclosure_m):
        share = round(book.correction_m / metres, 3) + 0.0  # no minus before a zero
        lines.append(f"closing error {book.misclosure_m / metres:.3f}, corrected by {share:.3f} at each set-up")
    else:
        lines.append("no closing elevation given: nothing adjusted, and an error in the book may stay unseen")
    return "\n".join(lines)


def _text(path: Path) -> str:
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        raise SurveyError(
            str(path), "text that is not UTF-8", "a CSV in UTF-8", "save it again as UTF-8"
        ) from wrong
    except OSError as wrong:
        found = f"cannot be read: {wrong.strerror}"
        raise InputError(str(path), found, "a level book as CSV", "correct the path") from wrong
    if not text.strip():
        raise SurveyError(str(path), "an empty file", "a level book as CSV", "fill in the readings")
    return text


def _length(cell: str, unit: str, decimal_comma: bool, where: str) -> float:
    """Return the rod reading in a cell [m]."""
    from terrain.units import parse

    text = cell.replace(",", ".") if decimal_comma and re.fullmatch(r"[-+]?\d*,\d+", cell) else cell
    try:
        return parse(text, "length", unit, where)
    except UnitsError as wrong:
        expected = f"""a rod reading: a number in {unit}, or text such as 1.315 m or 4' 3-7/8\""""
        raise SurveyError(
            where, repr(cell), expected, "correct the cell, or move a remark to its column"
        ) from wrong
