"""The readable summary for the terminal: what estimator, designer and crew lead ask, then findings and cautions."""

import math
import textwrap
from collections.abc import Iterable

from estimate.cautions import CAUTIONS
from estimate.record import Estimate, FullStretch
from terrain.units import FT, M
from viewer.summary_crew import crew_lines
from viewer.summary_lines import WIDTH, paragraph, plain_line, row
from viewer.words import amount, elevation, elevation_word, elevation_words, money, number, plain, stays_full

COUNTED = ("to act on", "to be warned of", "to note")
"""What follows a count of findings, by level, the gravest first."""


def summary(estimate: Estimate, encoding: str = "ascii") -> str:
    """Return the summary of `estimate`, at most 80 signs a line, in signs that `encoding` has.

    Its own words are ASCII; only the user's titles and names may need more.
    """
    parts = [
        _head(estimate),
        _estimator(estimate),
        _designer(estimate),
        _drains(estimate),
        _stays_full(estimate),
        crew_lines(estimate),
        _findings(estimate),
        _listed("Assumptions", estimate.assumptions),
        _listed("Cautions", estimate.cautions or CAUTIONS),
        _files(estimate),
    ]
    lines = [line for part in parts if part for line in (*part, "")]
    return "\n".join(plain_line(line, encoding) for line in lines)


def _head(estimate: Estimate) -> list[str]:
    title = paragraph(estimate.title, "", "")
    ground = estimate.ground
    survey = f"{ground.source}: {ground.points:,} points, {ground.triangles:,} triangles"
    if math.isfinite(ground.accuracy_m):
        survey += f", sigma {amount(ground.accuracy_m, 'size', estimate.units)}"
    warnings = [line for words in estimate.warnings for line in paragraph(words, "! ", "  ")]
    return [
        *title,
        "=" * min(max((len(line) for line in title), default=1), WIDTH),
        *paragraph(survey, "", ""),
        *warnings,
    ]


def _estimator(estimate: Estimate) -> list[str]:
    """Return volumes, loads and price."""
    dig, units = estimate.dig, estimate.units
    least = "" if dig.complete else "at least "
    sigma = f"+/- {amount(dig.bank_sigma_m3, 'volume', units, 2)} (1 sigma)"
    bank = f"{least}{amount(dig.bank_m3, 'volume', units)} {sigma}"
    lines = ["FOR THE ESTIMATOR", *row("Dig, bank measure", bank)]
    if dig.bank_common_error_m3 > 0.0:
        words = f"{amount(dig.bank_common_error_m3, 'volume', units, 2)} more or less if the whole survey is off"
        lines += row("Common error", words)
    lines += row("Dug soil, loose", f"{least}{amount(dig.loose_m3, 'volume', units)}")
    layers = [
        f"{name} {amount(value, 'volume', units)}"
        for name, value in (
            ("topsoil", dig.layers_m3.topsoil),
            ("earth", dig.layers_m3.earth),
            ("rock", dig.layers_m3.rock),
        )
    ]
    lines += row("Of this, bank", ", ".join(layers))
    if dig.bedding_m3 > 0.0:
        lines += row("Bedding, in place", amount(dig.bedding_m3, "volume", units))
    lines += row("Backfill, in place", amount(dig.backfill_m3, "volume", units))
    filled = amount(dig.imported_m3, "volume", units) + " in place" if dig.imported_m3 > 0.0 else "none"
    lines += row("Fill to bring in", filled)
    loads = f"{dig.loads} {'load' if dig.loads == 1 else 'loads'}"
    lines += row("Surplus to haul", f"{amount(dig.surplus_loose_m3, 'volume', units)} loose, {loads}")
    lines += row("Ground disturbed", f"{least}{amount(dig.area_m2, 'area', units)}")
    return [*lines, *_price(estimate)]


def _price(estimate: Estimate) -> list[str]:
    """Return the price, its range, and the book it comes from."""
    price = estimate.price
    example = "EXAMPLE PRICES, " if price.example else ""
    low, high = money(price.low, price.currency, 0), money(price.high, price.currency, 0)
    lines = row("Price", f"{money(price.total, price.currency)}, {low} to {high} (range: survey and swell only)")
    per, unit = (price.per_metre * FT.metres, "ft") if estimate.units == "US" else (price.per_metre, "m")
    lines += row("Price per length", f"{money(per, price.currency)} per {unit} of line")
    lines += row("Prices", f"{example}{price.book}, {price.book_date}")
    if price.unpriced:
        lines += row("Not in the price", ", ".join(price.unpriced))
    return lines


def _designer(estimate: Estimate) -> list[str]:
    """Return lengths, pipe, lift, head, flow and the low and high points."""
    units, route, pipe = estimate.units, estimate.route, estimate.pipe
    lines = ["FOR THE DESIGNER"]
    lines += row("Line in plan", amount(route.plan_length_m, "length", units))
    lines += row("Along the ground", amount(route.ground_length_m, "length", units))
    lines += row("Pipe", f"{amount(route.pipe_length_m, 'length', units)} of {pipe.name}")
    lines += row("Water in the pipe", amount(pipe.inside_l / 1000.0, "liquid", units))
    low = amount(estimate.lift.static_low_m, "level", units, 2)
    lines += row("Static lift", f"{amount(estimate.lift.static_m, 'level', units, 2)}, {low} at low water")
    lines += _water(estimate)
    for words, points in (("Low points", estimate.low_points), ("High points", estimate.high_points)):
        stations = ", ".join(number(one.station_m, "length", units, 1) for one in points)
        lines += row(
            words, f"stations {stations} {_station_unit(units)}" if points else "none beyond the survey's noise"
        )
    return lines


def _water(estimate: Estimate) -> list[str]:
    """Return flow and heads, or that there are none."""
    water, units = estimate.water, estimate.units
    if not water.pump and not math.isfinite(water.flow_wanted_lps):
        return row("Flow and total head", "not computed: no pump, no flow wanted")
    flow, speed = amount(water.flow_lps / 1000.0, "flow", units), amount(water.velocity_mps, "speed", units)
    lines = row("Flow", f"{flow} at {speed}")
    if water.why:
        lines += row("", water.why)
    friction, fittings = (number(head, "level", units, 2) for head in (water.friction_m, water.fittings_m))
    parts = f"friction {friction}, fittings {fittings}"
    lines += row("Total head", f"{amount(water.total_head_m, 'level', units, 2)} ({parts})")
    if math.isfinite(water.flow_wanted_lps):
        head = amount(water.head_at_wanted_m, "level", units, 2)
        lines += row("Flow wanted", f"{amount(water.flow_wanted_lps / 1000.0, 'flow', units)} needs {head}")
    return lines


def _station_unit(units: str) -> str:
    return (FT if units == "US" else M).name


def _drains(estimate: Estimate) -> list[str]:
    """Return the table of drains."""
    if not estimate.drains:
        return ["DRAINS: none"]
    units = estimate.units
    liquid, unit = ("gal", "ft") if units == "US" else ("L", "m")
    heads = f"  {'station':>9} {'invert':>10} {'depth':>7} {'lets out':>9}  name"
    marks = f"  {unit:>9} {elevation_word(estimate):>10} {unit:>7} {liquid:>9}"
    lines = [f"DRAINS (elevations in {elevation_words(estimate)}, datum of the survey)", heads, marks]
    for drain in estimate.drains:
        numbers = f"  {number(drain.station_m, 'length', units, 1):>9} {elevation(drain.invert_m, estimate):>10}"
        numbers += (
            f" {number(drain.depth_m, 'level', units, 2):>7} {number(drain.held_l / 1000.0, 'liquid', units):>9}  "
        )
        name = f"{drain.name or 'drain'} ({drain.chosen_by})"
        lines += textwrap.wrap(plain(name), WIDTH, initial_indent=numbers, subsequent_indent=" " * len(numbers))
    return lines


def _stays_full(estimate: Estimate) -> list[str]:
    """Return what holds water in winter, until it is drained or after that too."""
    if not estimate.full_stretches:
        return ["WATER IN THE LINE IN WINTER: nothing found"]
    lines = ["WATER IN THE LINE IN WINTER"]
    for one in estimate.full_stretches:
        lines += paragraph(_full_words(one, estimate), "  - ", "    ")
    return lines


def _full_words(one: FullStretch, estimate: Estimate) -> str:
    """Return where a stretch is and whether it holds its water until drained or stays full after that."""
    units = estimate.units
    start, end = (number(at, "length", units, 1) for at in (one.from_m, one.to_m))
    held, left = amount(one.held_l / 1000.0, "liquid", units), amount(one.left_l / 1000.0, "liquid", units)
    opens = ", ".join(estimate.drains[i].name or f"drain {i + 1}" for i in one.drains if i < len(estimate.drains))
    if not opens:
        told = f"stays full: {left} that no drain lets out"
    elif stays_full(one):
        told = f"holds {held} until drained; {left} stays full after draining by {opens}"
    else:
        told = f"holds {held} until drained by {opens}; then empty"
    return f"stations {start} to {end} {_station_unit(units)}: {told} ({one.grade}; {one.cause})"


def _findings(estimate: Estimate) -> list[str]:
    """Return the findings, the gravest first."""
    if not estimate.findings:
        return ["FINDINGS: none"]
    levels = ("act", "warning", "note")
    rank = {level: place for place, level in enumerate(levels)}
    found = sorted(estimate.findings, key=lambda finding: rank.get(finding.level, 3))
    counts = [(sum(one.level == level for one in found), word) for level, word in zip(levels, COUNTED, strict=True)]
    lines = ["FINDINGS: " + ", ".join(f"{count} {word}" for count, word in counts if count)]
    for one in found:
        lines += paragraph(f"{one.level.upper()}: {one.where}: {one.reason}", "  - ", "    ")
        if one.remedy:
            lines += paragraph(f"Do: {one.remedy}", "    ", "    ")
    return lines


def _listed(head: str, sentences: Iterable[str]) -> list[str]:
    lines = [line for words in sentences for line in paragraph(words, "  - ", "    ")]
    return [head.upper(), *lines] if lines else []


def _files(estimate: Estimate) -> list[str]:
    return ["FILES", *paragraph(", ".join(estimate.files), "  ", "  ")] if estimate.files else []
