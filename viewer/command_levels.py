"""The command that reduces a level book: a CSV as it is booked, elevations and checks as text."""

import csv
import io
import math
from pathlib import Path
from typing import TYPE_CHECKING

from terrain.errors import InputError, SurveyError

if TYPE_CHECKING:
    from terrain.levels import LevelBook, Reading

COLUMNS = {"backsight": "BS", "intermediate": "IS", "foresight": "FS"}
"""The columns of readings and the kind of sight each holds."""


def print_book(name: str, benchmark: float, closing: float | None, unit: str) -> None:
    """Print the reduced level book of the CSV file `name`; all numbers are in `unit`.

    Raises:
        InputError: the book cannot be read or reduced.
    """
    from terrain.levels import reduce_book
    from terrain.units import length_unit

    metres = length_unit(unit, "--unit").metres
    readings = read_book(Path(name), metres)
    book = reduce_book(readings, benchmark * metres, math.nan if closing is None else closing * metres)
    print(book_text(book, metres, unit))


def read_book(path: Path, metres: float = 1.0) -> "tuple[Reading, ...]":
    """Return the readings of a CSV level book, each column's number times `metres` [m per unit].

    A turning point may stand on one line with its foresight and the next backsight, or on two.

    Raises:
        InputError: the file is missing, empty, lacks a column, or a reading is not a number.
    """
    from terrain.levels import Reading

    rows = csv.DictReader(io.StringIO(_text(path)))
    names = [str(name).strip().lower() for name in rows.fieldnames or ()]
    missing = [name for name in ("point", *COLUMNS) if name not in names]
    if missing:
        found = "no column " + ", ".join(missing)
        expected = "the header point,backsight,intermediate,foresight,remark"
        raise SurveyError(f"{path} line 1", found, expected, "name the columns in the first line")
    rows.fieldnames = names
    readings: list[Reading] = []
    for row in rows:
        where = f"{path} line {rows.line_num}"
        for column in ("intermediate", "foresight", "backsight"):
            cell = (row[column] or "").strip()
            if cell:
                value = _number(cell, where, column) * metres
                readings.append(Reading((row["point"] or "").strip(), COLUMNS[column], value))  # type: ignore[arg-type]  # BS, IS or FS
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
        share = book.correction_m / metres
        lines.append(f"closing error {book.misclosure_m / metres:.3f}, corrected by {share:.3f} at each set-up")
    else:
        lines.append("no closing benchmark given: nothing adjusted, and an error in the book may stay unseen")
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


def _number(cell: str, where: str, column: str) -> float:
    try:
        value = float(cell)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise SurveyError(f"{where}, {column}", f"{cell!r}", "a rod reading as a number", "correct the cell")
    return value
