"""The price book: dated rates with their units, read from a TOML file and checked as a whole."""

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from importlib.resources import files
from pathlib import Path
from typing import Literal

from estimate.price.rates import PERCENTS, SECTIONS, WASTES, Rate, read_percents, read_rates
from estimate.tables import unknown_name
from terrain.errors import InputError, StorageError

EXAMPLES: Mapping[str, str] = {"US": "example_prices.toml", "SI": "example_prices_si.toml"}
"""The file of the shipped example book in cubic yards and feet, and in cubic metres and metres."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PriceBook:
    """A checked price book: title, date (ISO), currency, region, rates by code, percentages [%].

    `example` is true where the prices are invented; every document then says so.
    """

    title: str
    date: str
    currency: str
    region: str
    example: bool
    file: str
    rates: Mapping[str, Rate]
    percents: Mapping[str, Decimal]
    wastes: Mapping[str, Decimal]


def read_book(path: Path) -> PriceBook:
    """Return the price book in the TOML file at `path`.

    Raises:
        InputError: there is no such file, it is no TOML, or keys in it are wrong; all wrong keys at once.
        StorageError: the file cannot be read.
    """
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        remedy = "correct the name in the site file, or leave it out to use the example book"
        raise InputError(path.name, "no such file", "a price book", remedy) from None
    except OSError as error:
        raise StorageError(path.name, f"cannot be read: {error.strerror}", "a readable file") from error
    try:
        return parse_book(content.decode("utf-8-sig"), path.name)
    except UnicodeDecodeError as error:
        found = f"a byte that is not UTF-8 at position {error.start}"
        raise InputError(path.name, found, "text in UTF-8", "save the file as UTF-8") from error


def example_book(units: Literal["US", "SI"] = "US") -> PriceBook:
    """Return the shipped example book in the usual measures of `units`, whose prices are invented.

    >>> example_book().example, example_book("SI").rates["pipe.2 in PVC Schedule 40"].unit
    (True, 'm')
    """
    name = EXAMPLES[units]
    return parse_book(files("estimate.tables").joinpath(name).read_text(encoding="utf-8"), name)


def parse_book(text: str, where: str) -> PriceBook:
    """Return the price book written in `text`; `where` names it in messages.

    Raises:
        InputError: the text is no TOML or keys in it are wrong; all wrong keys at once.
    """
    try:
        tree = tomllib.loads(text, parse_float=Decimal)
    except tomllib.TOMLDecodeError as error:
        remedy = "correct the line; text stands in quotes, each key once"
        raise InputError(where, f"no valid TOML: {error}", "a price book in TOML", remedy) from error
    errors: list[InputError] = []
    known = ["title", "date", "currency", "region", "example", *SECTIONS, "percent", "waste"]
    errors += [unknown_key(where, key, known) for key in tree if key not in known]
    title, currency, region = (_word(tree, key, where, errors) for key in ("title", "currency", "region"))
    date = _date(tree, where, errors)
    rates = read_rates(tree, where, errors)
    percents = read_percents(tree.get("percent", {}), PERCENTS, f"{where} [percent]", errors)
    wastes = read_percents(tree.get("waste", {}), WASTES, f"{where} [waste]", errors)
    example = tree.get("example", False)
    if not isinstance(example, bool):
        errors.append(InputError(f"{where} example", f"{example!r}", "true or false", "write true or false"))
    if errors:
        first = errors[0]
        raise InputError(first.where, first.found, first.expected, first.remedy, errors[1:])
    return PriceBook(
        title=title,
        date=date,
        currency=currency,
        region=region,
        example=bool(example),
        file=where,
        rates=rates,
        percents=percents,
        wastes=wastes,
    )


def unknown_key(where: str, key: str, known: list[str]) -> InputError:
    """Return the error for a key of a price book that means nothing, with the nearest right word.

    >>> print(unknown_key("book.toml", "titel", ["title", "date"]).remedy)
    write "title"
    """
    error = unknown_name("key", key, known)
    return InputError(f"{where} {key}", error.found, error.expected, error.remedy)


def _word(tree: Mapping[str, object], key: str, where: str, errors: list[InputError]) -> str:
    """Return the text under `key`; a missing or empty one is noted in `errors`."""
    value = tree.get(key)
    if isinstance(value, str) and value.strip():
        return value.strip()
    found = "missing" if key not in tree else f"{value!r}"
    errors.append(InputError(f"{where} {key}", found, "text in quotes", f'write {key} = "..."'))
    return ""


def _date(tree: Mapping[str, object], where: str, errors: list[InputError]) -> str:
    """Return the date of the prices in ISO form; a missing or wrong one is noted in `errors`."""
    value = tree.get("date")
    if not isinstance(value, str) and re.match(r"\d{4}-\d\d-\d\d", str(value)):
        return str(value)[:10]
    found = "missing" if "date" not in tree else f"{value!r}"
    remedy = "write the day of the prices, date = 2025-03-01"
    errors.append(InputError(f"{where} date", found, "a date as year-month-day, without quotes", remedy))
    return ""
