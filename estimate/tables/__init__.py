"""The numbers of the trade as CSV: one row, one source."""

import csv
from collections.abc import Mapping
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from types import MappingProxyType

from terrain.errors import InputError

TABLES = ("bedding", "densities", "fittings", "pipes", "roughness", "soils", "trucks")
"""The names of all tables; each is a CSV file in this folder whose last column is `source`."""


@cache
def rows(name: str) -> tuple[Mapping[str, str], ...]:
    """Return every row of the table `name` as a mapping from column to text.

    Raises:
        InputError: there is no such table.

    >>> rows("pipes")[5]["kind"], rows("pipes")[5]["wall_in"]
    ('PVC Schedule 40', '0.154')
    """
    if name not in TABLES:
        raise InputError("tables", f"no table {name!r}", f"one of {', '.join(TABLES)}", "correct the name")
    text = files("estimate.tables").joinpath(f"{name}.csv").read_text(encoding="utf-8")
    return tuple(MappingProxyType(row) for row in csv.DictReader(text.splitlines()))


def row_named(table: str, column: str, wanted: str) -> Mapping[str, str]:
    """Return the first row of `table` whose `column` reads `wanted`, upper and lower case alike.

    Raises:
        InputError: no row has that name; the message lists the names and the nearest one.

    >>> row_named("trucks", "truck", "Wheelbarrow")["body_yd3"]
    '0.15'
    """
    found = {row[column].casefold(): row for row in reversed(rows(table))}
    key = " ".join(wanted.split()).casefold()
    if key not in found:
        raise unknown_name(column, wanted, [row[column] for row in rows(table)])
    return found[key]


def unknown_name(what: str, wanted: str, names: list[str]) -> InputError:
    """Return the error for a word that is none of `names`, with the nearest right one.

    >>> print(unknown_name("soil", "common erth", ["sand", "common earth"]).remedy)
    write "common earth"
    """
    names = list(dict.fromkeys(names))
    folded = {name.casefold(): name for name in names}
    near = get_close_matches(wanted.casefold(), list(folded), n=1, cutoff=0.5)
    remedy = f'write "{folded[near[0]]}"' if near else "choose one of these names"
    return InputError(what, f"unknown {what} {wanted!r}", "one of " + ", ".join(names), remedy)
