"""Runs the benchmarks, all or those named, and prints their table; `--write` puts it in docs/benchmarks.md."""

import importlib
import os
import platform
import sys
from collections.abc import Iterable
from pathlib import Path

from benchmarks.rows import Row

NAMES = ("start", "triangulation", "drape", "cut", "demo")
PAGE = Path(__file__).resolve().parents[1] / "docs" / "benchmarks.md"
HEAD = """# Benchmarks

Made by `python -m benchmarks --write`: each row measured in one run, ours beside another way of computing the same.
A ratio says more than a time on one machine. On {cores} cores, Python {version}.

| what | beside | ours | other | ratio | aim |
| --- | --- | --- | --- | --- | --- |
"""


def line_of(row: Row) -> str:
    """Return a row as a line of the table."""
    mark = "" if row.holds else " (missed)"
    figures = f"{row.ours:.3g} {row.unit} | {row.other:.3g} {row.unit} | {row.ratio:.3f} | ≤ {row.aim:g}{mark}"
    return f"| {row.name} | {row.other_way} | {figures} |"


def page(rows: Iterable[Row]) -> str:
    """Return the whole page with its table."""
    head = HEAD.format(cores=os.cpu_count(), version=platform.python_version())
    return head + "".join(line_of(row) + "\n" for row in rows)


def main(arguments: list[str]) -> int:
    """Run what is named in `arguments`, or all; return 1 where an aim is missed, else 0."""
    named = [name for name in arguments if not name.startswith("-")]
    found: list[Row] = []
    for name in named or NAMES:
        for row in importlib.import_module(f"benchmarks.{name}").rows():
            found.append(row)
            sys.stdout.write(line_of(row) + "\n")
            sys.stdout.flush()
    if "--write" in arguments:
        PAGE.write_text(page(found), "utf-8")
    return 0 if all(row.holds for row in found) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
