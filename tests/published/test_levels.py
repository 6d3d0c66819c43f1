"""Level books with published answers."""

import math

import pytest

from terrain.errors import SurveyError
from terrain.levels import Reading, allowed_misclosure, check_booked, reduce_book

# R. Rode, "Collimation method to reduce a leveling field book page"; metres; tolerance 0.0005 m.
RODE = [
    Reading("BM1", "BS", 1.216),
    Reading("a", "IS", 0.025),
    Reading("b", "IS", 1.555),
    Reading("t1", "FS", 2.508),
    Reading("t1", "BS", 1.386),
    Reading("c", "IS", 3.625),
    Reading("t2", "FS", 1.196),
    Reading("t2", "BS", 1.235),
    Reading("t3", "FS", 3.566),
    Reading("t3", "BS", 3.655),
    Reading("t4", "FS", 0.506),
    Reading("t4", "BS", 2.126),
    Reading("d", "IS", 2.605),
    Reading("e", "IS", 1.094),
    Reading("t5", "FS", 3.628),
    Reading("t5", "BS", 1.125),
    Reading("f", "IS", 1.394),
    Reading("BM2", "FS", 0.484),
]
RODE_INSTRUMENT = [107.582, 106.460, 106.499, 106.588, 108.208, 105.705]
RODE_REDUCED = [106.366, 107.557, 106.027, 105.074, 102.835, 105.264, 102.933, 106.082, 105.603, 107.114]
RODE_REDUCED += [104.580, 104.311, 105.221]
RODE_ADJUSTED = [106.366, 107.564, 106.034, 105.081, 102.849, 105.278, 102.954, 106.110, 105.638, 107.149]
RODE_ADJUSTED += [104.615, 104.353, 105.263]


def test_rode_heights_of_instrument() -> None:
    assert reduce_book(RODE, 106.366, 105.263).instrument_m == pytest.approx(RODE_INSTRUMENT, abs=5e-4)


def test_rode_reduced_levels() -> None:
    book = reduce_book(RODE, 106.366, 105.263)
    assert [point.reduced_m for point in book.points] == pytest.approx(RODE_REDUCED, abs=5e-4)


def test_rode_sums_and_closing_error() -> None:
    book = reduce_book(RODE, 106.366, 105.263)
    assert (book.backsights_m, book.foresights_m) == pytest.approx((10.743, 11.888), abs=1e-9)
    assert book.sums_m == pytest.approx((-1.145, -1.145, -1.145), abs=1e-9)
    assert book.misclosure_m == pytest.approx(-0.042, abs=5e-4)
    assert book.correction_m == pytest.approx(0.007, abs=5e-4)


def test_rode_adjusted_levels() -> None:
    book = reduce_book(RODE, 106.366, 105.263)
    assert [point.adjusted_m for point in book.points] == pytest.approx(RODE_ADJUSTED, abs=5e-4)


# A published worked page on rise and fall that is wrong: it prints C = 100.415 for 101.305; metres.
WRONG_PAGE = [
    Reading("BM", "BS", 1.855),
    Reading("A", "IS", 2.410),
    Reading("B", "IS", 1.280),
    Reading("CP1", "FS", 0.995),
    Reading("CP1", "BS", 2.165),
    Reading("C", "FS", 1.720),
]


def test_the_right_answer_to_the_wrong_page() -> None:
    book = reduce_book(WRONG_PAGE, 100.0)
    reduced = {point.point: point.reduced_m for point in book.points}
    assert reduced == pytest.approx(
        {"BM": 100.0, "A": 99.445, "B": 100.575, "CP1": 100.860, "C": 101.305}, abs=1e-9
    )
    assert (book.backsights_m, book.foresights_m) == pytest.approx((4.020, 2.715), abs=1e-9)
    assert (book.rises_m, book.falls_m) == pytest.approx((1.860, 0.555), abs=1e-9)
    assert math.isnan(book.misclosure_m)


def test_the_wrong_page_is_flagged() -> None:
    book = reduce_book(WRONG_PAGE, 100.0)
    check_booked(book, {"A": 99.445, "B": 100.575, "CP1": 100.860})
    with pytest.raises(SurveyError, match=r"booked 100\.415 m, but the readings give 101\.305") as caught:
        check_booked(book, {"C": 100.415})
    assert "point C" in caught.value.where


# US orders of accuracy for levelling before 1998: third order 0.05 ft sqrt(mile) = 12 mm sqrt(km).
@pytest.mark.parametrize(("miles", "feet"), [(600 / 5280, 0.017), (0.10, 0.0158), (0.25, 0.025), (1.0, 0.050)])
def test_closing_error_of_third_order(miles: float, feet: float) -> None:
    assert allowed_misclosure(miles * 1609.344) / 0.3048 == pytest.approx(feet, abs=6e-4)
