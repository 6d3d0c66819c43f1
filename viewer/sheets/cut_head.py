"""The head of the cut sheet: units, benchmark, pipe, trench, walls, ports, pits and cautions."""

import math

import numpy as np

from estimate.cautions import CAUTIONS
from estimate.record import Estimate, Pit, Structure, Wall
from viewer.sheets.cut_rows import STRAIGHT
from viewer.sheets.table import Cell
from viewer.words import (
    amount,
    elevation,
    elevation_unit,
    elevation_word,
    elevation_words,
    feet_inches,
    survey_unit,
)


def benchmark_of(estimate: Estimate) -> float:
    """Return the elevation [m, absolute] that heights are counted down from: the one the user gave.

    Where none was given it is the highest ground on the route, rounded up to a whole foot or metre, so that all
    lies below it.
    """
    if math.isfinite(estimate.ground.benchmark_m):
        return estimate.ground.benchmark_m
    unit = elevation_unit(estimate).metres
    return math.ceil(float(estimate.profile.ground_m.max()) / unit - 1e-9) * unit


def head_rows(estimate: Estimate, benchmark: float, given: bool) -> list[list[Cell]]:
    """Return the rows above the table; `benchmark` is an elevation [m, absolute], `given` by the user or not."""
    unit = elevation_unit(estimate)
    rule = (
        "as given" if given else "the highest ground on the route rounded up; set your own before reading the rod"
    )
    stations = "ft" if estimate.units == "US" else "m"
    rows: list[list[Cell]] = [
        ["Cut sheet", estimate.title],
        ["For planning", "not a survey and not a certificate of safety"],
        ["Units", f"stations in {stations} along the route in plan; elevations in {elevation_words(estimate)}"],
        ["Datum", f"that of the survey {estimate.ground.source}"],
        ["Coordinates", f"those of the survey, in {survey_unit(estimate)[0]}"],
        ["Benchmark", round(benchmark / unit.metres, 3 if unit.name == "m" else 2), rule],
        ["Between rows", _straight_words(estimate)],
        *_trench_rows(estimate),
    ]
    rows += [[f"Port, {one.name}", _port_words(estimate, one, benchmark)] for one in estimate.structures]
    rows += [[f"Pit, {pit.name}", _pit_words(estimate, pit, benchmark)] for pit in estimate.dig.pits]
    if not estimate.dig.complete:
        rows.append(["Note", "walls leave the survey; depths and faces there are not known"])
    rows += [["Caution", words] for words in estimate.cautions or CAUTIONS]
    return [*rows, []]


def _straight_words(estimate: Estimate) -> str:
    """Return how straight the bottom runs between rows."""
    millimetres = f"{STRAIGHT * 1000.0:.0f} mm"
    near = f"1/2 in ({millimetres})" if estimate.units == "US" else f"{millimetres} (1/2 in)"
    return f"between rows the bottom runs straight, within {near} of the design; so does the top of the pipe"


def _trench_rows(estimate: Estimate) -> list[list[Cell]]:
    """Return the rows on pipe, trench floor, walls, bedding and top width."""
    dig, pipe, units = estimate.dig, estimate.pipe, estimate.units
    rows: list[list[Cell]] = [["Pipe", f"{pipe.name}, outside diameter {_fine(pipe.outside_m, units)}"]]
    if math.isfinite(dig.width_m):
        rows.append(["Trench floor", f"{amount(dig.width_m, 'size', units)} wide"])
    for side, wall in (("left", dig.left_wall), ("right", dig.right_wall)):
        rows.append([f"Wall on the {side}", f"{wall_words(wall, units)} ({side} when facing up the stations)"])
    bed = 'none; the pipe lies on the "trench bottom"'
    if dig.bedding_depth_m > 0.0:
        thick = amount(dig.bedding_depth_m, "size", units)
        bed = f'{thick} thick under the pipe; "trench bottom" is under the bedding'
    rows.append(["Bedding", bed])
    if has_slopes(estimate):
        rows.append(
            ["Top width", "for ground that is level across the trench; on a cross slope the uphill side is wider"]
        )
    return rows


def has_slopes(estimate: Estimate) -> bool:
    """Return whether a wall of the trench slopes, so that it is wider at the top."""
    return max(estimate.dig.left_wall.slope, estimate.dig.right_wall.slope) > 0.0


def _fine(length: float, units: str) -> str:
    """Return a diameter [m] to a thousandth of an inch or a tenth of a millimetre."""
    return amount(length, "size", units, 3 if units == "US" else 1)


def wall_words(wall: Wall, units: str) -> str:
    """Return a wall in words.

    >>> wall_words(Wall(slope=0.0, rise_m=0.0), "US"), wall_words(Wall(slope=0.5, rise_m=0.3048), "US")
    ('vertical', 'slopes 0.5:1 (H:V) above a vertical rise of 12.0 in')
    """
    if wall.slope <= 0.0:
        return "vertical"
    above = f" above a vertical rise of {amount(wall.rise_m, 'size', units)}" if wall.rise_m > 0.0 else ""
    return f"slopes {wall.slope:.3g}:1 (H:V){above}"


def _below(estimate: Estimate, height: float, benchmark: float) -> str:
    """Return an elevation [m, absolute] and how far it is below `benchmark` [m, absolute], in words."""
    unit, word, down = elevation_unit(estimate), elevation_word(estimate), benchmark - height
    side = "below" if down >= 0.0 else "above"
    shown = f"{abs(down) / unit.metres:.{3 if unit.name == 'm' else 2}f} {word}"
    taped = f" ({feet_inches(abs(down))})" if estimate.units == "US" else ""
    return f"elevation {elevation(height, estimate)} {word}, {shown}{taped} {side} benchmark"


def _port_words(estimate: Estimate, one: Structure, benchmark: float) -> str:
    """Return where the pipe passes the wall of a structure and how much stands upright there."""
    words = f"inside bottom of the pipe at the wall {_below(estimate, one.port_m, benchmark)}"
    if one.vertical_pipe_m > 0.0005:
        taped = f" ({feet_inches(one.vertical_pipe_m)})" if estimate.units == "US" else ""
        words += f"; vertical pipe there {amount(one.vertical_pipe_m, 'level', estimate.units)}{taped}"
        return f"{words}, its end at {_below(estimate, one.end_m, benchmark)}"
    return f"{words}; no vertical pipe there"


def _pit_words(estimate: Estimate, pit: Pit, benchmark: float) -> str:
    """Return how large and deep a pit is and how its walls stand, in the site's units."""
    sides = [float(np.hypot(*(pit.corners_m[i] - pit.corners_m[i - 1]))) for i in (1, 2)]
    shown = " by ".join(_taped(side, estimate.units) for side in sides)
    return (
        f"floor {shown} at {_below(estimate, pit.floor_m, benchmark)}; "
        f"{_taped(pit.deepest_m, estimate.units)} deep at the deepest corner; "
        f"walls: {wall_words(pit.wall, estimate.units)}"
    )


def _taped(length: float, units: str) -> str:
    """Return a length [m] with its unit, in feet and inches too."""
    shown = amount(length, "level", units)
    return f"{shown} ({feet_inches(length)})" if units == "US" else shown
