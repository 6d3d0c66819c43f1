"""The cut sheet as CSV: at each station ground, trench bottom, top of pipe, depth, heights below a benchmark."""

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from estimate.cautions import CAUTIONS
from estimate.record import Estimate, Pit
from terrain.units import FT, M, show
from viewer.relief import along
from viewer.sheets.table import Cell, csv_text
from viewer.words import elevation_unit, elevation_words, feet_inches, number

SAME = 0.005
"""Stations nearer to each other than this [m] share a row."""


class Row(NamedTuple):
    """One row: station [m] and absolute elevations [m], depth [m], remarks."""

    station: float
    ground: float
    floor: float
    top: float
    depth: float
    remarks: str


def benchmark_of(estimate: Estimate) -> float:
    """Return the elevation [m, absolute] that heights are counted down from where the user names none.

    It is the highest ground on the route, rounded up to a whole foot or metre, so that all lies below it.
    """
    unit = elevation_unit(estimate).metres
    return math.ceil(float(estimate.profile.ground_m.max()) / unit - 1e-9) * unit


def cut_rows(estimate: Estimate) -> tuple[Row, ...]:
    """Return the rows of the cut sheet: every interval, bend, drain, structure, low and high point, in order."""
    remarks: dict[float, list[str]] = {}
    for station, words in sorted(_places(estimate), key=lambda place: place[0]):
        near = next((one for one in remarks if abs(one - station) < SAME), station)
        remarks.setdefault(near, []).extend([words] if words else [])
    stations = np.array(sorted(remarks))
    heights = [along(estimate, stations, field) for field in ("ground_m", "floor_m", "top_m")]
    rows = []
    for i, station in enumerate(stations.tolist()):
        ground, floor, top = (float(one[i]) for one in heights)
        rows.append(Row(station, ground, floor, top, ground - floor, "; ".join(remarks[station])))
    return tuple(rows)


def _places(estimate: Estimate) -> list[tuple[float, str]]:
    """Return the stations [m] that get a row, each with its remark or an empty one."""
    units, profile = estimate.units, estimate.profile
    places = [(one.from_m, "") for one in estimate.dig.intervals]
    places += [(float(profile.station_m[0]), ""), (float(profile.station_m[-1]), "")]
    places += [(one.station_m, one.name) for one in estimate.structures]
    for bend in estimate.route.bends:
        side = "left" if bend.turn_deg > 0.0 else "right"
        places.append((bend.station_m, f"bend {abs(bend.turn_deg):.0f} degrees {side}"))
    for drain in estimate.drains:
        places.append((drain.station_m, drain.name or "drain"))
    places += [(one.station_m, "low point") for one in estimate.low_points]
    places += [(one.station_m, "high point") for one in estimate.high_points]
    depth = profile.ground_m - profile.floor_m
    if len(depth):
        places.append((float(profile.station_m[int(depth.argmax())]), "deepest on the centre line"))
    face = number(estimate.dig.tallest_face_m, "level", units, 2)
    unit = "ft" if units == "US" else "m"
    places.append((face_station(estimate), f"tallest face {face} {unit} near here"))
    first, last = float(profile.station_m[0]), float(profile.station_m[-1])
    return [(min(max(station, first), last), words) for station, words in places]


def face_station(estimate: Estimate) -> float:
    """Return the station [m] of the line nearest to the tallest face."""
    line = np.column_stack([estimate.profile.easting_m, estimate.profile.northing_m])
    start, way = line[:-1], np.diff(line, axis=0)
    if len(way) == 0:
        return float(estimate.profile.station_m[0])
    offset = np.array(estimate.dig.tallest_face_at_m) - start
    square = np.maximum((way * way).sum(axis=1), 1e-300)
    share = np.clip((offset * way).sum(axis=1) / square, 0.0, 1.0)
    gap = np.hypot(*(offset - share[:, None] * way).T)
    near = int(np.argmin(np.nan_to_num(gap, nan=np.inf)))
    station = estimate.profile.station_m
    return float(
        station[near] + (share[near] if math.isfinite(share[near]) else 0.0) * (station[near + 1] - station[near])
    )


def cut_sheet_csv(estimate: Estimate, benchmark: float | None = None) -> str:
    """Return the cut sheet of `estimate` as CSV text, in the site's units.

    `benchmark` [m, absolute] is the elevation that heights are counted down from; else it is `benchmark_of`.
    """
    level = benchmark_of(estimate) if benchmark is None else benchmark
    columns = _us_columns() if estimate.units == "US" else _si_columns()
    rows: list[list[Cell]] = [*_head(estimate, level, given=benchmark is not None)]
    rows.append([name for name, _ in columns])
    for row in cut_rows(estimate):
        rows.append([value(row, level, elevation_unit(estimate).metres) for _, value in columns])
    return csv_text(rows)


_Column = tuple[str, Callable[[Row, float, float], Cell]]


def _us_columns() -> list[_Column]:
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


def _si_columns() -> list[_Column]:
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


def _rounded(value: float, decimals: int) -> Cell:
    """Return a number for a cell, empty where there is none; never minus zero."""
    return round(value, decimals) + 0.0 if math.isfinite(value) else ""


def _head(estimate: Estimate, benchmark: float, given: bool) -> list[list[Cell]]:
    """Return the rows above the table: title, units, datum, benchmark, cautions."""
    unit = elevation_unit(estimate)
    decimals = 3 if unit.name == "m" else 2
    rule = (
        "as given" if given else "the highest ground on the route rounded up; set your own before reading the rod"
    )
    stations = "ft" if estimate.units == "US" else "m"
    rows: list[list[Cell]] = [
        ["Cut sheet", estimate.title],
        ["For planning", "not a survey and not a certificate of safety"],
        ["Units", f"stations in {stations} along the route in plan; elevations in {elevation_words(estimate)}"],
        ["Datum", f"that of the survey {estimate.ground.source}"],
        ["Benchmark", _rounded(benchmark / unit.metres, decimals), rule],
    ]
    if math.isfinite(estimate.dig.width_m):
        width = number(estimate.dig.width_m, "size", estimate.units)
        rows.append(["Trench floor", f"{width} {'in' if estimate.units == 'US' else 'mm'} wide"])
    rows += [[f"Pit, {pit.name}", _pit_words(estimate, pit, benchmark)] for pit in estimate.dig.pits]
    if not estimate.dig.complete:
        rows.append(["Note", "walls leave the survey; depths and faces there are not known"])
    rows += [["Caution", words] for words in estimate.cautions or CAUTIONS]
    return [*rows, []]


def _pit_words(estimate: Estimate, pit: Pit, benchmark: float) -> str:
    """Return how large and deep a pit is, in the site's units; `benchmark` is an elevation [m, absolute]."""
    unit = elevation_unit(estimate)
    sides = [
        show(float(np.hypot(*(pit.corners_m[i] - pit.corners_m[i - 1]))), "length", estimate.units) for i in (1, 2)
    ]
    decimals = 3 if unit.name == "m" else 2
    floor, below = pit.floor_m / unit.metres, (benchmark - pit.floor_m) / unit.metres
    return (
        f"floor {sides[0]} by {sides[1]} at elevation {floor:.{decimals}f}, {below:.{decimals}f} below benchmark; "
        f"{show(pit.deepest_m, 'length', estimate.units)} deep at the deepest corner"
    )
