"""Level books: laws of the reduction, order of sights, errors; rod readings from one set-up."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as some

from terrain.errors import SurveyError
from terrain.levels import (
    Reading,
    allowed_misclosure,
    check_booked,
    grade_rod,
    reduce_book,
    rod_elevations,
)

STAFF = some.floats(-1.0, 5.0)
SET_UPS = some.lists(some.tuples(STAFF, some.lists(STAFF, max_size=3), STAFF), min_size=1, max_size=8)


def book_of(set_ups: list[tuple[float, list[float], float]]) -> list[Reading]:
    """Return the readings of a book: backsight, intermediate sights, foresight [m] of each set-up."""
    readings = []
    for number, (back, middle, fore) in enumerate(set_ups):
        readings.append(Reading(f"T{number}", "BS", back))
        readings += [Reading(f"P{number}.{k}", "IS", value) for k, value in enumerate(middle)]
        readings.append(Reading(f"T{number + 1}", "FS", fore))
    return readings


@given(SET_UPS, some.floats(-100.0, 3000.0))
def test_the_three_sums_agree(set_ups: list[tuple[float, list[float], float]], benchmark: float) -> None:
    book = reduce_book(book_of(set_ups), benchmark)
    assert max(book.sums_m) - min(book.sums_m) < 1e-9
    assert len(book.instrument_m) == len(set_ups)
    assert [point.adjusted_m for point in book.points] == [point.reduced_m for point in book.points]


@given(SET_UPS, some.floats(-0.1, 0.1))
def test_the_adjusted_book_closes(set_ups: list[tuple[float, list[float], float]], error: float) -> None:
    closing = reduce_book(book_of(set_ups), 100.0).points[-1].reduced_m - error
    book = reduce_book(book_of(set_ups), 100.0, closing)
    assert book.misclosure_m == pytest.approx(error, abs=1e-9)
    assert book.points[-1].adjusted_m == pytest.approx(closing, abs=1e-9)
    assert book.points[0].adjusted_m == 100.0
    for point in book.points[1:]:
        share = -error * point.set_up / len(set_ups)
        assert point.adjusted_m - point.reduced_m == pytest.approx(share, abs=1e-9)


@given(SET_UPS, some.floats(-50.0, 50.0))
def test_a_higher_benchmark_lifts_all(set_ups: list[tuple[float, list[float], float]], by: float) -> None:
    low = [point.reduced_m for point in reduce_book(book_of(set_ups), 100.0).points]
    high = [point.reduced_m for point in reduce_book(book_of(set_ups), 100.0 + by).points]
    assert high == pytest.approx([value + by for value in low], abs=1e-9)


@given(some.lists(some.floats(90.0, 110.0), min_size=3, max_size=9))
def test_readings_made_from_known_heights_give_them_back(heights: list[float]) -> None:
    sights = [("BS" if k == 0 else "FS" if k == len(heights) - 1 else "IS") for k in range(len(heights))]
    readings = [
        Reading(str(k), "BS" if sight == "BS" else "FS" if sight == "FS" else "IS", 120.0 - height)
        for k, (sight, height) in enumerate(zip(sights, heights, strict=True))
    ]
    book = reduce_book(readings, heights[0])
    assert [point.reduced_m for point in book.points] == pytest.approx(heights, abs=1e-9)
    assert rod_elevations(heights[0], 120.0 - heights[0], [120.0 - h for h in heights]) == pytest.approx(heights)


GOOD = [Reading("BM", "BS", 1.0), Reading("A", "IS", 1.2), Reading("T", "FS", 0.4)]


@pytest.mark.parametrize(
    ("readings", "words"),
    [
        ([], "at least two"),
        (GOOD[:1], "at least two"),
        (GOOD[1:], "a backsight first"),
        (GOOD[:2], "a foresight as the last"),
        ([*GOOD, Reading("A", "IS", 1.0), Reading("B", "FS", 1.0)], "a backsight first"),
        ([*GOOD[:1], Reading("BM", "BS", 1.0), GOOD[2]], "one backsight"),
        ([*GOOD, Reading("U", "BS", 1.0), Reading("B", "FS", 1.0)], "both on the same turning point"),
        ([GOOD[0], Reading("A", "IS", math.nan), GOOD[2]], "reading 2 on A"),
        ([*GOOD, Reading("T", "BS", 1.0)], "a foresight as the last"),
    ],
)
def test_a_book_out_of_order_is_refused(readings: list[Reading], words: str) -> None:
    with pytest.raises(SurveyError, match=words):
        reduce_book(readings, 100.0)


def test_an_unknown_sight_is_refused() -> None:
    wrong = Reading("A", "XX", 1.0)  # type: ignore[arg-type]  # a word that the type forbids is meant
    with pytest.raises(SurveyError, match="BS, IS or FS"):
        reduce_book([GOOD[0], wrong, GOOD[2]], 100.0)


def test_a_benchmark_that_is_no_number_is_refused() -> None:
    with pytest.raises(SurveyError, match="check benchmark"):
        reduce_book(GOOD, math.nan)


def test_booked_elevations_are_compared_by_point() -> None:
    book = reduce_book(GOOD, 100.0)
    check_booked(book, {})
    check_booked(book, {"T": 100.6004})
    with pytest.raises(SurveyError, match="point T"):
        check_booked(book, {"T": 100.602})
    with pytest.raises(SurveyError, match="no point 'Q'"):
        check_booked(book, {"Q": 1.0})


def test_rod_readings_from_one_set_up() -> None:
    assert rod_elevations(100.0, 4.2, np.array([4.2, 3.0, 5.5])) == pytest.approx([100.0, 101.2, 98.7])
    assert rod_elevations(100.0, 4.2, []).shape == (0,)
    with pytest.raises(SurveyError, match="reading 2"):
        rod_elevations(100.0, 4.2, [1.0, math.inf])
    with pytest.raises(SurveyError, match="benchmark"):
        rod_elevations(math.nan, 4.2, [1.0])


def test_grade_rod_reads_back() -> None:
    assert rod_elevations(100.0, 1.5, [grade_rod(101.5, 98.75)]).tolist() == [98.75]


def test_twice_the_circuit_allows_root_two() -> None:
    assert allowed_misclosure(800.0) == pytest.approx(allowed_misclosure(400.0) * math.sqrt(2.0))
