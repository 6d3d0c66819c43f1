"""What was left to its default in a site folder, as key paths and as plain sentences."""

import dataclasses
from collections.abc import Iterator

from estimate.site_keys import hint_at, hints_of, plain_hint, quantity_of, spoken
from estimate.site_records import Quantity, Site, SiteFile

LAWN_COVER = 12 * 0.0254
"""The least cover under a lawn [m]: common practice, no published source."""
NARROWEST = 0.05
"""A trench narrower than this [m] is taken for a mistake of units: common practice, no published source."""
SIZE = Quantity("length", "in", "mm")
"""How a small length is told: inches or millimetres."""


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
    """Return a plain sentence for each default that matters and was left as it is, in the site's units.

    What the ground, the profile or the dig assume they tell themselves.
    """
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
        "lower.check_valve": f"{file.lower.name} has no check valve" if not file.lower.check_valve else "",
        "water.temperature": f"water temperature {say('water.temperature', water.temperature)}",
        "water.fittings": "no fittings beside those of the bends of the route",
        "survey.common_error": "the survey has no error that all its elevations share",
        "price.book": "prices are the shipped example prices, not quotes",
        "pump": "no pump curve is given, so no operating point is computed",
    }
    return tuple(words for path, words in sentences.items() if path in left and words)


def winter_assumptions(site: Site) -> tuple[str, ...]:
    """Return a sentence for each basin whose winter level was left out; the profile of an estimate tells it too."""
    ends = {"lower": site.file.lower, "upper": site.file.upper}
    left = [part.name for end, part in ends.items() if f"{end}.winter_level" in site.defaults]
    return tuple(f"{name} stands at its normal level in winter" for name in left)


def odd_values(site: Site) -> tuple[str, ...]:
    """Return a sentence for each value that may stand but is seldom meant, with the value in the site's units.

    Source of the usual cover: 12 in least and 18 in usual under lawn, common practice, no published source.
    """
    trench, lower, upper = site.file.trench, site.file.lower.water_level, site.file.upper.water_level

    def say(name: str, value: float) -> str:
        mark = quantity_of(hint_at(("trench", name)))
        return f"[trench] {name} is {spoken(value, mark, site.file.units)}" if mark else name

    odd = []
    if site.example:
        odd.append(
            "this is still the example yard: route and survey are those of the template, so no figure here is"
            " yours; put your survey beside site.toml and give your own way points"
        )
    if trench.cover < LAWN_COVER:
        least = f"{spoken(LAWN_COVER, SIZE, 'US')} ({spoken(LAWN_COVER, SIZE, 'SI')})"
        odd.append(f"{say('cover', trench.cover)}, less than the {least} that a lawn wants: is its unit right?")
    for name, value, most in (("cover", trench.cover, 3.0), ("width", trench.width, 3.0)):
        if value > most:
            odd.append(f"{say(name, value)}, which is much: is its unit right?")
    if trench.width < NARROWEST:
        odd.append(f"{say('width', trench.width)}, which is narrower than any tool: is its unit right?")
    if lower.unit == upper.unit and upper.number < lower.number:
        odd.append("the upper water level is below the lower one, so the static lift is negative")
    if site.file.pump is None and site.file.water.flow is None:
        odd.append("neither [pump] curve nor [water] flow is given, so no head can be computed")
    return tuple(odd)
