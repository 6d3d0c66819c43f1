"""What was left to its default in a site folder, as key paths and as plain sentences."""

import dataclasses
from collections.abc import Iterator

from estimate.site_keys import hint_at, hints_of, plain_hint, quantity_of, spoken
from estimate.site_records import Site, SiteFile


def left_to_default(given: object, record: object = SiteFile) -> tuple[str, ...]:
    """Return the dotted paths of all keys of `record` that the table `given` leaves to their default.

    >>> from estimate.site_records import PricePart, WallPart
    >>> left_to_default({"slope": 1.0}, WallPart), left_to_default({}, PricePart)
    (('rise',), ('book',))
    """
    return tuple(_left(given, record, ""))


def _left(given: object, record: object, before: str) -> Iterator[str]:
    if not (isinstance(given, dict) and isinstance(record, type) and dataclasses.is_dataclass(record)):
        return
    hints = hints_of(record)
    for part in dataclasses.fields(record):
        name, table = part.name, plain_hint(hints[part.name])
        inner = dataclasses.is_dataclass(part.default) or part.default_factory not in (dataclasses.MISSING, dict)
        if name in given:
            yield from _left(given[name], table, f"{before}{name}.")
        elif inner and hints_of(table) and name not in ("left_wall", "right_wall", "wall"):
            yield from _left({}, table, f"{before}{name}.")
        else:
            yield before + name


def default_assumptions(site: Site) -> tuple[str, ...]:
    """Return a plain sentence for each default that matters and was left as it is, in the site's units."""
    file, left, units = site.file, set(site.defaults), site.file.units
    trench, soil, water = file.trench, file.soil, file.water

    def say(path: str, value: float) -> str:
        mark = quantity_of(hint_at(tuple(path.split("."))))
        return spoken(value, mark, units) if mark else f"{value:g}"

    sentences = {
        "trench.width": f"trench width {say('trench.width', trench.width)}, the width of the bucket in use",
        "trench.bedding": "no bedding below the pipe, as in stone-free soil",
        "trench.least_fall": f"least fall {say('trench.least_fall', trench.least_fall)} towards the drains",
        "trench.left_wall": "the trench's left wall is vertical; the soil may need sloping or shoring",
        "trench.right_wall": "the trench's right wall is vertical; the soil may need sloping or shoring",
        "soil.kind": f"the soil is {soil.kind}; its swell, shrinkage and weight are taken from the table",
        "soil.topsoil": "no topsoil is stripped apart",
        "soil.truck": f"spoil leaves by {soil.truck}",
        "soil.bedding_material": f"bedding is {soil.bedding_material}" if trench.bedding > 0.0 else "",
        "lower.winter_level": f"{file.lower.name} stands at its normal level in winter",
        "upper.winter_level": f"{file.upper.name} stands at its normal level in winter",
        "lower.check_valve": f"{file.lower.name} has no check valve" if not file.lower.check_valve else "",
        "water.temperature": f"water temperature {say('water.temperature', water.temperature)}",
        "water.fittings": "no fittings beside those of the bends of the route",
        "survey.common_error": "the survey has no error that all its elevations share",
        "price.book": "prices are the shipped example prices, not quotes",
        "pump": "no pump curve is given, so no operating point is computed",
    }
    return tuple(words for path, words in sentences.items() if path in left and words)
