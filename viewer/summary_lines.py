"""Lines of the summary: words and a number in two columns, paragraphs, at most eighty signs wide."""

import textwrap

from viewer.words import plain

WIDTH = 80
"""The most signs on a line."""
WORDS = 25
"""The signs that the words before a number take."""


def plain_line(line: str, encoding: str) -> str:
    """Return `line` in signs of `encoding`, its spaces at the left and between columns kept.

    >>> plain_line("  Zoe's  3 m²", "ascii")
    "  Zoe's  3 m2"
    """
    cells = line.split("  ")
    return "  ".join(" " * (len(cell) - len(cell.lstrip())) + plain(cell, encoding) for cell in cells).rstrip()


def row(words: str, value: str) -> list[str]:
    """Return a line of words and a number, wrapped under the number where it is long."""
    start = f"  {words:<{WORDS}}"
    return textwrap.wrap(plain(value), WIDTH, initial_indent=start, subsequent_indent=" " * (WORDS + 2)) or [start]


def paragraph(text: str, first: str, rest: str) -> list[str]:
    """Return a paragraph with a first and further indents."""
    return textwrap.wrap(plain(text), WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)
