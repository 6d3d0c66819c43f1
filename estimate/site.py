"""The site folder: `site.toml` read, converted and checked into a Site, with every mistake told at once."""

import json
from pathlib import Path

import tomlkit
from pydantic import ConfigDict, TypeAdapter, ValidationError
from tomlkit.exceptions import TOMLKitError

from estimate.price.book import PriceBook, example_book, read_book
from estimate.site_checks import check_values
from estimate.site_defaults import default_assumptions, left_to_default, odd_values, winter_assumptions
from estimate.site_mistakes import explain, path_of
from estimate.site_records import Site, SiteFile
from estimate.site_schema import as_written
from estimate.site_template import MAKES_A_SITE, still_example
from estimate.site_template import new_site as new_site  # one door for all that concerns the site folder
from estimate.site_text import key_lines
from estimate.site_values import Mistakes, to_si
from terrain.errors import InputError

SITE_FILE = MAKES_A_SITE
"""The name of the file that makes a folder a site."""
LARGEST_FILE = 4_000_000
"""A site file of more bytes than this [bytes] is refused."""

_CHECKER: TypeAdapter[SiteFile | None] = TypeAdapter(
    SiteFile | None,  # as a union, so that the records inherit the strict configuration
    config=ConfigDict(extra="forbid", strict=True, allow_inf_nan=False),
)


def open_site(folder: Path) -> Site:
    """Return the checked site that stands in `folder`; its survey is not read, only compared with the template's.

    Raises:
        InputError: the folder or its site.toml cannot be read, or is wrong; `others` then lists every mistake,
            each with its line, what was found and expected, and what to do.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as empty:
    ...     open_site(Path(empty))
    Traceback (most recent call last):
        ...
    terrain.errors.InputError: ...
    """
    text = _read(folder)
    written = _parse(text)
    mistakes = Mistakes(SITE_FILE, key_lines(text))
    units = "SI" if written.get("units") == "SI" else "US"
    converted = to_si(written, units, mistakes)
    file = _validated(converted, written, mistakes)
    check_values(converted, written, units, folder, mistakes)
    others = mistakes.sorted()
    if others or file is None:
        count = "one mistake" if len(others) == 1 else f"{len(others)} mistakes"
        raise InputError(str(folder / SITE_FILE), count, "a site file without mistakes", "correct each", others)
    return Site(folder, file, _book(folder, file), left_to_default(written), still_example(folder, file))


def _book(folder: Path, file: SiteFile) -> PriceBook:
    """Return the site's own price book, or the shipped example in its units where none is named."""
    name = file.price.book
    return read_book(folder / name) if name else example_book(file.units)


def check_site(folder: Path) -> tuple[str, ...]:
    """Return what is worth knowing of the site in `folder` where all is fine: odd values, then what is assumed.

    Raises:
        InputError: as `open_site`.
    """
    site = open_site(folder)
    assumed = (*default_assumptions(site), *winter_assumptions(site))
    return (*odd_values(site), *(f"assumed: {words}" for words in assumed))


def _read(folder: Path) -> str:
    """Return the text of the folder's site file."""
    path = folder / SITE_FILE
    make = 'make one with "mattock new"'
    if not folder.is_dir():
        found = "a file, not a folder" if folder.exists() else "no such folder"
        raise InputError(str(folder), found, f"a folder with a {SITE_FILE}", f"correct the path, or {make}")
    if not path.is_file():
        raise InputError(str(folder), f"no {SITE_FILE} in it", f"a folder with a {SITE_FILE}", make)
    try:
        if path.stat().st_size > LARGEST_FILE:
            raise InputError(str(path), "a very large file", "a short text", "keep the survey in a file of its own")
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        found = f"byte {wrong.start + 1} is not UTF-8 text"
        raise InputError(str(path), found, "text in UTF-8", "save the file again as UTF-8") from wrong
    except OSError as wrong:
        raise InputError(str(path), f"cannot be read: {wrong.strerror}", "a file that can be read") from wrong
    if not text.strip():
        raise InputError(str(path), "an empty file", "the keys of a site", make)
    return text


def _parse(text: str) -> dict[str, object]:
    """Return the tables of the TOML `text`."""
    expected = 'lines such as key = "value" and headings such as [trench]'
    try:
        return dict(tomlkit.parse(text).unwrap())
    except RecursionError as wrong:
        raise InputError(
            SITE_FILE, "lists or tables within too many others", expected, "make it plainer"
        ) from wrong
    except (
        TOMLKitError,
        ValueError,
        TypeError,
        AttributeError,
        LookupError,
        ArithmeticError,
        AssertionError,
    ) as wrong:
        line = getattr(wrong, "line", None)
        where = f"{SITE_FILE} line {line}" if line else SITE_FILE
        found = str(wrong).partition(" at line ")[0].strip() or "text that is not TOML"
        remedy = "look at this line and the one above for a missing quote, bracket or equals sign"
        raise InputError(where, f"cannot be understood: {found}", expected, remedy) from wrong


def _validated(converted: object, written: dict[str, object], mistakes: Mistakes) -> SiteFile | None:
    """Return the records of the `converted` tables, or None after adding what is wrong to `mistakes`."""
    known = dict(mistakes.found)
    try:
        return _CHECKER.validate_json(json.dumps(converted, default=str))
    except ValidationError as wrong:
        for error in sorted(wrong.errors(include_url=False), key=lambda one: one["type"] == "missing"):
            path = path_of(error["loc"])
            if not any(path[: len(bad)] == bad for bad in known):
                explain(error["type"], path, written, mistakes)
    return None


def schema() -> dict[str, object]:
    """Return the JSON Schema (draft 2020-12) of site.toml; each key's description has its meaning and bare unit.

    >>> schema()["properties"]["units"]["enum"]
    ['US', 'SI']
    """
    return as_written(_CHECKER.json_schema())
