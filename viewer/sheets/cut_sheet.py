"""The cut sheet as CSV: at each station ground, trench bottom, top of pipe, depth, heights below a benchmark."""

import math
from collections.abc import Callable

from estimate.record import Estimate
from terrain.units import FT, M
from viewer.sheets.cut_head import benchmark_of, has_slopes, head_rows
from viewer.sheets.cut_rows import Row, cut_rows
from viewer.sheets.table import Cell, csv_text
from viewer.words import elevation_unit, feet_inches, survey_unit


def cut_sheet_csv(estimate: Estimate, benchmark: float | None = None) -> str:
    """Return the cut sheet of `estimate` as CSV text, in the site's units.

    `benchmark` [m, absolute] is the elevation that heights are counted down from; else it is `benchmark_of`.
    """
    level = benchmark_of(estimate) if benchmark is None else benchmark
    given = benchmark is not None or math.isfinite(estimate.ground.benchmark_m)
    columns = columns_of(estimate)
    rows: list[list[Cell]] = [*head_rows(estimate, level, given)]
    rows.append([name for name, _ in columns])
    for row in cut_rows(estimate):
        rows.append([value(row, level, elevation_unit(estimate).metres) for _, value in columns])
    return csv_text(rows)


Column = tuple[str, Callable[[Row, float, float], Cell]]
"""A heading, and what stands under it for a row, a benchmark [m] and the unit of elevations [m]."""


def columns_of(estimate: Estimate) -> list[Column]:
    """Return the columns: plan in the survey's unit, the rest in the site's; the top width where walls slope."""
    columns = _us_columns() if estimate.units == "US" else _si_columns()
    remarks = columns.pop()
    if has_slopes(estimate):
        columns.append(_top_width(estimate.units))
    return [*columns, *_plan_columns(estimate), remarks]


def _us_columns() -> list[Column]:
    """Return the columns in feet to a hundredth, with feet and inches to an eighth beside what is measured down."""
    return [
        ("station ft", lambda row, _, unit: _rounded(row.station / FT.metres, 2)),
        ("ground ft", lambda row, _, unit: _rounded(row.ground / unit, 2)),
        ("trench bottom ft", lambda row, _, unit: _rounded(row.floor / unit, 2)),
        ("top of pipe ft", lambda row, _, unit: _rounded(row.top / unit, 2)),
        ("depth ft", lambda row, _, unit: _rounded(row.depth / FT.metres, 2)),
        ("depth ft-in", lambda row, _, unit: feet_inches(row.depth)),
        ("trench bottom below benchmark ft", lambda row, level, unit: _rounded((level - row.floor) / unit, 2)),
        ("trench bottom below benchmark ft-in", lambda row, level, unit: feet_inches(level - row.floor)),
        ("top of pipe below benchmark ft", lambda row, level, unit: _rounded((level - row.top) / unit, 2)),
        ("top of pipe below benchmark ft-in", lambda row, level, unit: feet_inches(level - row.top)),
        ("remarks", lambda row, _, unit: row.remarks),
    ]


def _si_columns() -> list[Column]:
    """Return the columns in metres to a millimetre."""
    return [
        ("station m", lambda row, _, unit: _rounded(row.station / M.metres, 3)),
        ("ground m", lambda row, _, unit: _rounded(row.ground / unit, 3)),
        ("trench bottom m", lambda row, _, unit: _rounded(row.floor / unit, 3)),
        ("top of pipe m", lambda row, _, unit: _rounded(row.top / unit, 3)),
        ("depth m", lambda row, _, unit: _rounded(row.depth, 3)),
        ("trench bottom below benchmark m", lambda row, level, unit: _rounded((level - row.floor) / unit, 3)),
        ("top of pipe below benchmark m", lambda row, level, unit: _rounded((level - row.top) / unit, 3)),
        ("remarks", lambda row, _, unit: row.remarks),
    ]


def _top_width(units: str) -> Column:
    """Return the column of the trench's width at the surface."""
    if units == "US":
        return "top width ft", lambda row, _, unit: _rounded(row.top_width / FT.metres, 2)
    return "top width m", lambda row, _, unit: _rounded(row.top_width, 3)


def _plan_columns(estimate: Estimate) -> list[Column]:
    """Return the columns of easting and northing as the survey has them."""
    word, metres = survey_unit(estimate)
    decimals = 3 if word == "m" else 2
    east, north, _ = estimate.ground.origin
    return [
        (f"easting {word}", lambda row, _, unit: _rounded(row.easting / metres + east, decimals)),
        (f"northing {word}", lambda row, _, unit: _rounded(row.northing / metres + north, decimals)),
    ]


def _rounded(value: float, decimals: int) -> Cell:
    """Return a number for a cell, empty where there is none; never minus zero."""
    return round(value, decimals) + 0.0 if math.isfinite(value) else ""
