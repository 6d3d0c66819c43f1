"""The summary's part for the crew lead: depths, pits, faces, where common limits are passed, the load."""

import math

import numpy as np

from estimate.price.quantities import NOT_BOUGHT
from estimate.record import Estimate
from terrain.units import FT, M
from viewer.sheets.cut_rows import face_station
from viewer.summary_lines import row
from viewer.words import amount, number

LIMITS = (("4 ft", 1.2192), ("5 ft", 1.524))
"""The depths [m] that common rules name: a way out from the first, protection from the second.

Source: OSHA 29 CFR 1926.651(c)(2) and 1926.652(a)(1).
"""


def crew_lines(estimate: Estimate) -> list[str]:
    """Return depths, pits, faces, width, and where the depths of common rules are passed."""
    dig, units, profile = estimate.dig, estimate.units, estimate.profile
    depth = profile.ground_m - profile.floor_m
    lines = ["FOR THE CREW LEAD"]
    at = number(float(profile.station_m[int(depth.argmax())]), "length", units, 1) if len(depth) else "-"
    lines += row("Deepest, centre line", f"{amount(dig.deepest_m, 'level', units, 2)} (profile: station {at})")
    if dig.pits:
        pits = "; ".join(f"pit, {one.name}: {amount(one.deepest_m, 'level', units, 2)}" for one in dig.pits)
        lines += row("Deepest, pits", pits)
    face = number(face_station(estimate), "length", units, 1)
    lines += row("Tallest face", f"{amount(dig.tallest_face_m, 'level', units, 2)} near station {face}")
    if math.isfinite(dig.width_m):
        lines += row("Trench floor", f"{amount(dig.width_m, 'size', units)} wide")
    for words, limit in LIMITS:
        shown = f"{words} ({limit:.2f} m)" if units == "SI" else words
        lines += row(f"{shown} or deeper", _reached(estimate, limit))
    bought = {name: count for name, count in estimate.pipe.fittings.items() if name not in NOT_BOUGHT}
    fittings = ", ".join(f"{count} x {name}" for name, count in bought.items())
    load = f"{estimate.pipe.sticks} sticks or coils of pipe" + (f"; {fittings}" if fittings else "")
    return [*lines, *row("To load", load)]


def _reached(estimate: Estimate, limit: float) -> str:
    """Return where the dig is `limit` [m] deep or deeper: on the centre line, in pits, at the tallest face."""
    dig, units = estimate.dig, estimate.units
    stretches = [
        f"{number(a, 'length', units, 1)} to {number(b, 'length', units, 1)}"
        for a, b in deep_stretches(estimate, limit)
    ]
    unit = (FT if units == "US" else M).name
    found = [f"stations {', '.join(stretches)} {unit} on the centre line"] if stretches else []
    found += [f"pit, {one.name}" for one in dig.pits if one.deepest_m >= limit - 1e-9]
    if dig.tallest_face_m >= limit - 1e-9:
        found.append("the tallest face")
    if found:
        return "; ".join(found) if stretches else f"not on the centre line, but: {'; '.join(found)}"
    return "nowhere by these figures; soil can cave in at any depth"


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
