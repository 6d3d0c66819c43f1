"""Level book and rod readings: elevations from backsights, intermediate sights and foresights, with the checks."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from terrain.arrays import Floats
from terrain.errors import SurveyError

SIGHTS = ("BS", "IS", "FS")
"""Backsight, intermediate sight, foresight: the words for a reading in a level book."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of the book: the point the rod stood on, the kind of sight, the reading [m].

    `line` is the line of the book's file where it stands, 0 where there is none.
    """

    point: str
    sight: Literal["BS", "IS", "FS"]
    reading_m: float
    line: int = 0


@dataclass(frozen=True, slots=True)
class LevelPoint:
    """A reduced point: its set-up (from 1), its elevation as reduced and as adjusted [m].

    `rise_m` [m] is the rise from the point before, negative for a fall.
    """

    point: str
    set_up: int
    reduced_m: float
    adjusted_m: float
    rise_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelBook:
    """A reduced book: points in order, heights of instrument [m], the sums [m] and the closing error [m].

    `misclosure_m` is computed less known at the closing benchmark, NaN where none is known; then nothing is
    adjusted. `correction_m` [m] is what each further set-up adds.
    """

    points: tuple[LevelPoint, ...]
    instrument_m: tuple[float, ...]
    backsights_m: float
    foresights_m: float
    rises_m: float
    falls_m: float
    misclosure_m: float
    correction_m: float

    @property
    def sums_m(self) -> tuple[float, float, float]:
        """The three sums [m] that must agree: backsights less foresights, rises less falls, last less first."""
        sights = self.backsights_m - self.foresights_m
        return sights, self.rises_m - self.falls_m, self.points[-1].reduced_m - self.points[0].reduced_m


def reduce_book(
    readings: Sequence[Reading], benchmark_m: float, closing_m: float = math.nan, tolerance_m: float = 1e-6
) -> LevelBook:
    """Return the elevations of a level book that starts on a benchmark at `benchmark_m` [m].

    Elevations come from the heights of instrument, and again by rise and fall; both must agree, and so must the
    three sums, within `tolerance_m` [m]. With a known `closing_m` [m] the closing error is shared equally over the
    set-ups; an intermediate sight takes the correction of its own set-up.

    Source: surveying handbooks, height of collimation and rise and fall; short sights of like length, so that
    curvature and refraction cancel.

    Raises:
        SurveyError: the sights are not in order, a reading is no number, or the two reductions disagree.

    >>> book = reduce_book([Reading("BM", "BS", 1.2), Reading("A", "IS", 2.0), Reading("B", "FS", 0.7)], 100.0)
    >>> [round(point.reduced_m, 3) for point in book.points]
    [100.0, 99.2, 100.5]
    """
    _check(readings)
    instruments, rows = _by_instrument(readings, benchmark_m)
    rises = _rises(readings)
    misclosure = rows[-1][2] - closing_m
    share = 0.0 if math.isnan(misclosure) else -misclosure / len(instruments)
    points = [LevelPoint(rows[0][0], 1, benchmark_m, benchmark_m, 0.0)]
    for (point, set_up, reduced), rise in zip(rows[1:], rises[1:], strict=True):
        points.append(LevelPoint(point, set_up, reduced, reduced + share * set_up, rise))
    book = LevelBook(
        points=tuple(points),
        instrument_m=tuple(instruments),
        backsights_m=math.fsum(row.reading_m for row in readings if row.sight == "BS"),
        foresights_m=math.fsum(row.reading_m for row in readings if row.sight == "FS"),
        rises_m=math.fsum(rise for rise in rises if rise > 0.0),
        falls_m=-math.fsum(rise for rise in rises if rise < 0.0),
        misclosure_m=misclosure,
        correction_m=share,
    )
    _compare(book, benchmark_m, tolerance_m)
    return book


def check_booked(book: LevelBook, booked: Mapping[str, float], tolerance_m: float = 0.001) -> None:
    """Check elevations `booked` by hand [m], by point, against the reduced `book` within `tolerance_m` [m].

    Raises:
        SurveyError: an elevation does not follow from the readings, or its point is not in the book.

    >>> book = reduce_book([Reading("BM", "BS", 1.0), Reading("A", "FS", 0.4)], 10.0)
    >>> check_booked(book, {"A": 10.6})
    """
    for name in set(booked) - {point.point for point in book.points}:
        raise SurveyError("level book", f"no point {name!r}", "a point of the book", "correct the name")
    for point in book.points:
        value = booked.get(point.point, math.nan)
        if abs(value - point.reduced_m) > tolerance_m:
            raise SurveyError(
                f"level book, point {point.point}",
                f"booked {value:.3f} m, but the readings give {point.reduced_m:.3f} m",
                "backsights less foresights = rises less falls = last less first elevation",
                "check the signs: a smaller reading than the one before is a rise",
            )


def rod_elevations(benchmark_m: float, benchmark_reading_m: float, readings_m: Sequence[float] | Floats) -> Floats:
    """Return the elevations (n,) [m] of rod `readings_m` (n,) [m] from one set-up of a laser or level.

    `benchmark_reading_m` [m] is the reading on the benchmark at `benchmark_m` [m].

    Source: elevation = benchmark + reading on it - reading.

    Raises:
        SurveyError: a reading is no number; its place in the list is named.

    >>> rod_elevations(100.0, 1.5, [1.5, 2.0]).tolist()
    [100.0, 99.5]
    """
    readings = np.asarray(readings_m, dtype=np.float64).reshape(-1)
    instrument = benchmark_m + benchmark_reading_m
    wrong = np.flatnonzero(~np.isfinite(readings))
    if wrong.size or not math.isfinite(instrument):
        place = f"reading {wrong[0] + 1}" if wrong.size else "benchmark"
        raise SurveyError(f"rod readings, {place}", "no number", "a rod reading", "read the rod again")
    return instrument - readings


def grade_rod(instrument_m: float, design_m: float) -> float:
    """Return the rod reading [m] at which a point is at its `design_m` elevation [m] under `instrument_m` [m].

    Source: reading = height of instrument - elevation.

    >>> grade_rod(101.5, 100.25)
    1.25
    """
    return instrument_m - design_m


def allowed_misclosure(circuit_m: float, millimetres_per_root_km: float = 12.0) -> float:
    """Return the closing error [m] that a circuit of `circuit_m` [m] may have.

    `millimetres_per_root_km` is the order's figure [mm per root km]: 12 third order, 24 construction.

    Source: US orders of accuracy for levelling, third order 12 mm sqrt(km).

    >>> round(allowed_misclosure(1000.0), 6)
    0.012
    """
    return millimetres_per_root_km / 1000.0 * math.sqrt(circuit_m / 1000.0)


def _check(readings: Sequence[Reading]) -> None:
    """Refuse a book whose sights do not follow each other as they must."""
    if len(readings) < 2:
        raise SurveyError("level book", f"{len(readings)} readings", "at least two", "add the readings")
    before = "FS"
    for number, row in enumerate(readings, 1):
        where = f"level book{f' line {row.line}' if row.line else ''}, reading {number} on {row.point}"
        if row.sight not in SIGHTS:
            raise SurveyError(where, f"sight {row.sight!r}", "BS, IS or FS", "correct the kind of sight")
        if not math.isfinite(row.reading_m):
            raise SurveyError(where, "no number", "a rod reading", "correct the reading")
        if (row.sight == "BS") != (before == "FS"):
            expected = "a backsight first in each set-up" if before == "FS" else "one backsight in each set-up"
            raise SurveyError(where, f"{row.sight} after {before}", expected, "correct the kind of sight")
        if number > 1 and row.sight == "BS" and row.point != readings[number - 2].point:
            found = f"backsight on {row.point} after a foresight on {readings[number - 2].point}"
            raise SurveyError(where, found, "both on the same turning point", "correct the name")
        before = row.sight
    if before != "FS":
        found, last = f"ends with {before}", readings[-1]
        raise SurveyError(
            f"level book{f' line {last.line}' if last.line else ''}",
            found,
            "a foresight as the last reading",
            "book the last sight as FS",
        )


def _by_instrument(
    readings: Sequence[Reading], benchmark_m: float
) -> tuple[list[float], list[tuple[str, int, float]]]:
    """Return the heights of instrument and each point with its set-up and elevation, turning points once."""
    instruments: list[float] = []
    rows = [(readings[0].point, 1, benchmark_m)]
    for row in readings:
        if row.sight == "BS":
            instruments.append(rows[-1][2] + row.reading_m)
        else:
            rows.append((row.point, len(instruments), instruments[-1] - row.reading_m))
    return instruments, rows


def _rises(readings: Sequence[Reading]) -> list[float]:
    """Return the rise to each point from the one before in its set-up, 0 for the benchmark."""
    rises = [0.0]
    for before, row in pairwise(readings):
        if row.sight != "BS":
            rises.append(before.reading_m - row.reading_m)
    return rises


def _compare(book: LevelBook, benchmark_m: float, tolerance_m: float) -> None:
    """Check the reduction by rise and fall and the three sums against that by height of instrument."""
    by_rise = benchmark_m + np.cumsum([point.rise_m for point in book.points])
    by_instrument = np.array([point.reduced_m for point in book.points])
    sums = book.sums_m
    worst = max(float(np.abs(by_rise - by_instrument).max()), max(sums) - min(sums))
    if not worst <= tolerance_m:
        shown = ", ".join(f"{value:.4f}" for value in sums)
        expected = "backsights less foresights = rises less falls = last less first elevation"
        raise SurveyError("level book", f"sums {shown} m", expected, "check benchmark and readings")
