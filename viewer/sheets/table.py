"""Rows of a sheet as CSV text: the same bytes each time, and no text of a user's becomes a formula."""

import csv
import io
from collections.abc import Iterable, Sequence

from viewer.words import plain

Cell = str | float | int
"""What a cell holds; numbers are written as they are given, so round them first."""


def safe(text: str) -> str:
    """Return `text` on one line, with an apostrophe before it where a spreadsheet would take it for a formula.

    >>> safe("=1+1"), safe("upper fall"), safe("  -3"), safe("-")
    ("'=1+1", 'upper fall', "'-3", '-')
    """
    clean = plain(text)
    return f"'{clean}" if clean[:1] in ("=", "+", "-", "@") and len(clean) > 1 else clean


def csv_text(rows: Iterable[Sequence[Cell]]) -> str:
    """Return `rows` as CSV with commas and line feeds.

    >>> csv_text([["station", 1.5], ["upper fall", 2]])
    'station,1.5\\nupper fall,2\\n'
    """
    sheet = io.StringIO()
    writer = csv.writer(sheet, lineterminator="\n")
    for row in rows:
        writer.writerow([safe(cell) if isinstance(cell, str) else cell for cell in row])
    return sheet.getvalue()
