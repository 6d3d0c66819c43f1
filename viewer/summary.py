"""The readable summary for the terminal: what estimator, designer and crew lead ask, then findings and cautions."""

import math
import textwrap
from collections.abc import Iterable

import numpy as np

from estimate.cautions import CAUTIONS
from estimate.price.quantities import NOT_BOUGHT
from estimate.record import Estimate, FullStretch
from terrain.units import FT, M
from viewer.sheets.cut_rows import face_station
from viewer.words import amount, elevation, elevation_word, elevation_words, money, number, plain

WIDTH = 80
"""The most signs on a line."""
WORDS = 25
"""The signs that the words before a number take."""


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
        _crew(estimate),
        _findings(estimate),
        _listed("Assumptions", estimate.assumptions),
        _listed("Cautions", estimate.cautions or CAUTIONS),
        _files(estimate),
    ]
    lines = [line for part in parts if part for line in (*part, "")]
    return "\n".join(plain_line(line, encoding) for line in lines)


def plain_line(line: str, encoding: str) -> str:
    """Return `line` in signs of `encoding`, its spaces at the left and between columns kept.

    >>> plain_line("  Zoe's  3 m²", "ascii")
    "  Zoe's  3 m2"
    """
    cells = line.split("  ")
    return "  ".join(" " * (len(cell) - len(cell.lstrip())) + plain(cell, encoding) for cell in cells).rstrip()


def _row(words: str, value: str) -> list[str]:
    """Return a line of words and a number, wrapped under the number where it is long."""
    start = f"  {words:<{WORDS}}"
    return textwrap.wrap(plain(value), WIDTH, initial_indent=start, subsequent_indent=" " * (WORDS + 2)) or [start]


def _wrapped(text: str, first: str, rest: str) -> list[str]:
    """Return a paragraph with a first and further indents."""
    return textwrap.wrap(plain(text), WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)


def _head(estimate: Estimate) -> list[str]:
    title = _wrapped(estimate.title, "", "")
    ground = estimate.ground
    survey = f"{ground.source}: {ground.points:,} points, {ground.triangles:,} triangles"
    if math.isfinite(ground.accuracy_m):
        survey += f", sigma {amount(ground.accuracy_m, 'size', estimate.units)}"
    warnings = [line for words in estimate.warnings for line in _wrapped(words, "! ", "  ")]
    return [
        *title,
        "=" * min(max((len(line) for line in title), default=1), WIDTH),
        *_wrapped(survey, "", ""),
        *warnings,
    ]


def _estimator(estimate: Estimate) -> list[str]:
    """Return volumes, loads and price."""
    dig, units = estimate.dig, estimate.units
    least = "" if dig.complete else "at least "
    sigma = f"+/- {amount(dig.bank_sigma_m3, 'volume', units, 2)} (1 sigma)"
    bank = f"{least}{amount(dig.bank_m3, 'volume', units)} {sigma}"
    lines = ["FOR THE ESTIMATOR", *_row("Dig, bank measure", bank)]
    if dig.bank_common_error_m3 > 0.0:
        words = f"{amount(dig.bank_common_error_m3, 'volume', units, 2)} more or less if the whole survey is off"
        lines += _row("Common error", words)
    lines += _row("Dug soil, loose", f"{least}{amount(dig.loose_m3, 'volume', units)}")
    layers = [
        f"{name} {amount(value, 'volume', units)}"
        for name, value in (
            ("topsoil", dig.layers_m3.topsoil),
            ("earth", dig.layers_m3.earth),
            ("rock", dig.layers_m3.rock),
        )
    ]
    lines += _row("Of this, bank", ", ".join(layers))
    if dig.bedding_m3 > 0.0:
        lines += _row("Bedding, in place", amount(dig.bedding_m3, "volume", units))
    lines += _row("Backfill, in place", amount(dig.backfill_m3, "volume", units))
    loads = f"{dig.loads} {'load' if dig.loads == 1 else 'loads'}"
    lines += _row("Surplus to haul", f"{amount(dig.surplus_loose_m3, 'volume', units)} loose, {loads}")
    lines += _row("Ground disturbed", f"{least}{amount(dig.area_m2, 'area', units)}")
    return [*lines, *_price(estimate)]


def _price(estimate: Estimate) -> list[str]:
    """Return the price, its range, and the book it comes from."""
    price = estimate.price
    example = "EXAMPLE PRICES, " if price.example else ""
    low, high = money(price.low, price.currency, 0), money(price.high, price.currency, 0)
    lines = _row("Price", f"{money(price.total, price.currency)} ({low} to {high})")
    per, unit = (price.per_metre * FT.metres, "ft") if estimate.units == "US" else (price.per_metre, "m")
    lines += _row("Price per length", f"{money(per, price.currency)} per {unit} of line")
    lines += _row("Prices", f"{example}{price.book}, {price.book_date}")
    if price.unpriced:
        lines += _row("Not in the price", ", ".join(price.unpriced))
    return lines


def _designer(estimate: Estimate) -> list[str]:
    """Return lengths, pipe, lift, head, flow and the low and high points."""
    units, route, water, pipe = estimate.units, estimate.route, estimate.water, estimate.pipe
    lines = ["FOR THE DESIGNER"]
    lines += _row("Line in plan", amount(route.plan_length_m, "length", units))
    lines += _row("Along the ground", amount(route.ground_length_m, "length", units))
    lines += _row("Pipe", f"{amount(route.pipe_length_m, 'length', units)} of {pipe.name}")
    lines += _row("Water in the pipe", amount(pipe.inside_l / 1000.0, "liquid", units))
    low = amount(estimate.lift.static_low_m, "level", units, 2)
    lines += _row("Static lift", f"{amount(estimate.lift.static_m, 'level', units, 2)}, {low} at low water")
    lines += _row(
        "Flow", f"{amount(water.flow_lps / 1000.0, 'flow', units)} at {amount(water.velocity_mps, 'speed', units)}"
    )
    if water.why:
        lines += _row("", water.why)
    friction, fittings = (number(head, "level", units, 2) for head in (water.friction_m, water.fittings_m))
    parts = f"friction {friction}, fittings {fittings}"
    lines += _row("Total head", f"{amount(water.total_head_m, 'level', units, 2)} ({parts})")
    if math.isfinite(water.flow_wanted_lps):
        head = amount(water.head_at_wanted_m, "level", units, 2)
        lines += _row("Flow wanted", f"{amount(water.flow_wanted_lps / 1000.0, 'flow', units)} needs {head}")
    for words, points in (("Low points", estimate.low_points), ("High points", estimate.high_points)):
        stations = ", ".join(number(one.station_m, "length", units, 1) for one in points)
        lines += _row(
            words, f"stations {stations} {_station_unit(units)}" if points else "none beyond the survey's noise"
        )
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
    """Return what holds water in winter."""
    if not estimate.full_stretches:
        return ["STAYS FULL IN WINTER: nothing found"]
    lines = ["STAYS FULL IN WINTER"]
    for one in estimate.full_stretches:
        lines += _wrapped(_full_words(one, estimate), "  - ", "    ")
    return lines


def _full_words(one: FullStretch, estimate: Estimate) -> str:
    units = estimate.units
    where = (
        f"{number(one.from_m, 'length', units, 1)} to {number(one.to_m, 'length', units, 1)} {_station_unit(units)}"
    )
    held, left = amount(one.held_l / 1000.0, "liquid", units), amount(one.left_l / 1000.0, "liquid", units)
    opens = ", ".join(estimate.drains[i].name or f"drain {i + 1}" for i in one.drains if i < len(estimate.drains))
    after = f"{left} stays after opening {opens}" if opens else f"{left} stays; no drain lets it out"
    return f"stations {where}: {one.grade}, holds {held}; {after} ({one.cause})"


def _crew(estimate: Estimate) -> list[str]:
    """Return depths, faces, width, and where the depths of common rules are passed."""
    dig, units, profile = estimate.dig, estimate.units, estimate.profile
    depth = profile.ground_m - profile.floor_m
    lines = ["FOR THE CREW LEAD"]
    at = number(float(profile.station_m[int(depth.argmax())]), "length", units, 1) if len(depth) else "-"
    lines += _row("Deepest, centre line", f"{amount(dig.deepest_m, 'level', units, 2)} (profile: station {at})")
    face = number(face_station(estimate), "length", units, 1)
    lines += _row("Tallest face", f"{amount(dig.tallest_face_m, 'level', units, 2)} near station {face}")
    if math.isfinite(dig.width_m):
        lines += _row("Trench floor", f"{amount(dig.width_m, 'size', units)} wide")
    for words, limit in (("4 ft", 1.2192), ("5 ft", 1.524)):
        stretches = deep_stretches(estimate, limit)
        shown = f"{words} ({limit:.2f} m)" if units == "SI" else words
        text = ", ".join(
            f"{number(a, 'length', units, 1)} to {number(b, 'length', units, 1)}" for a, b in stretches
        )
        if text:
            lines += _row(f"{shown} or deeper", f"stations {text} {_station_unit(units)} on the centre line")
        elif dig.tallest_face_m >= limit:
            lines += _row(f"{shown} or deeper", "not on the centre line, but the tallest face is")
        else:
            lines += _row(f"{shown} or deeper", "nowhere by these figures; soil can cave in at any depth")
    bought = {name: count for name, count in estimate.pipe.fittings.items() if name not in NOT_BOUGHT}
    fittings = ", ".join(f"{count} x {name}" for name, count in bought.items())
    lines += _row(
        "To load", f"{estimate.pipe.sticks} sticks or coils of pipe" + (f"; {fittings}" if fittings else "")
    )
    return lines


def deep_stretches(estimate: Estimate, limit: float) -> list[tuple[float, float]]:
    """Return the stations [m] between which the trench is `limit` [m] deep or deeper on the centre line.

    The depth is linear between nodes, so that the ends are exact.
    """
    station = estimate.profile.station_m
    over = estimate.profile.ground_m - estimate.profile.floor_m - limit
    over = np.where(np.abs(over) < 1e-9, 0.0, over)
    found: list[list[float]] = []
    for i in range(len(station) - 1):
        a, b = float(over[i]), float(over[i + 1])
        if max(a, b) < 0.0:
            continue
        start, end = float(station[i]), float(station[i + 1])
        cross = start + (end - start) * (a / (a - b)) if a * b < 0.0 else start
        first = start if a >= 0.0 else cross if a * b < 0.0 else end
        last = end if b >= 0.0 else cross if a * b < 0.0 else start
        if found and abs(found[-1][1] - first) < 1e-9:
            found[-1][1] = last
        else:
            found.append([first, last])
    return [(first, last) for first, last in found]


def _findings(estimate: Estimate) -> list[str]:
    """Return the findings, the gravest first."""
    if not estimate.findings:
        return ["FINDINGS: none"]
    rank = {"act": 0, "warning": 1, "note": 2}
    lines = ["FINDINGS"]
    for one in sorted(estimate.findings, key=lambda finding: rank.get(finding.level, 3)):
        lines += _wrapped(f"{one.level.upper()} {one.where}: {one.reason}", "  - ", "    ")
        if one.remedy:
            lines += _wrapped(f"Do: {one.remedy}", "    ", "    ")
    return lines


def _listed(head: str, sentences: Iterable[str]) -> list[str]:
    lines = [line for words in sentences for line in _wrapped(words, "  - ", "    ")]
    return [head.upper(), *lines] if lines else []


def _files(estimate: Estimate) -> list[str]:
    return ["FILES", *_wrapped(", ".join(estimate.files), "  ", "  ")] if estimate.files else []
