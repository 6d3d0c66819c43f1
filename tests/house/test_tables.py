"""Every row of every table of the trade names its source."""

import csv
import re
from pathlib import Path


def rows(path: Path) -> list[dict[str, str]]:
    """Return the rows of a table; lines that begin with # are remarks."""
    lines = [line for line in path.read_text("utf-8").splitlines() if line.strip() and not line.startswith("#")]
    return list(csv.DictReader(lines))


def test_every_row_has_a_source(root: Path) -> None:
    tables = sorted((root / "estimate" / "tables").glob("*.csv"))
    assert tables
    wrong = []
    for table in tables:
        for number, row in enumerate(rows(table), 1):
            if not re.search(r"[A-Za-z]{3}", row.get("source") or ""):
                wrong.append(f"{table.name} row {number}: {row}")
    assert wrong == []


def test_no_table_is_empty_and_no_cell_is_left_over(root: Path) -> None:
    for table in sorted((root / "estimate" / "tables").glob("*.csv")):
        found = rows(table)
        assert found, table.name
        columns = {None, *found[0]} - {None}
        assert all(set(row) == columns and None not in row.values() for row in found), table.name
