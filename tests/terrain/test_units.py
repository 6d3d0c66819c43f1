"""Units at the door: text becomes SI and back, and what cannot be understood is refused."""

import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from terrain.errors import UnitsError
from terrain.units import (
    FT,
    FTUS,
    IN,
    KINDS,
    M,
    feet_and_inches,
    length_unit,
    parse,
    scale_of,
    show,
    shown_unit,
    to_unit,
)

FOOT = 0.3048  # international foot, exact by definition (1959 agreement, NIST SP 811)
GALLON = 231 * 0.0254**3  # US liquid gallon, 231 cubic inches (NIST Handbook 44)
PSI = 0.45359237 * 9.80665 / 0.0254**2  # pound-force per square inch (NIST SP 811)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("24 in", 0.6096),
        ("5' 7-3/8\"", 1.711325),
        ("5 ft 7 3/8 in", 1.711325),
        ("5′ 7⅜″", 1.711325),
        ("5' 7", 5 * FOOT + 7 * 0.0254),
        ("-1' 6\"", -1.5 * FOOT),
        ('7-3/8"', 7.375 * 0.0254),
        ("1½ in", 1.5 * 0.0254),
        ("1,234.5 ft", 1234.5 * FOOT),
        ("12 FT", 12 * FOOT),
        ("3 US survey feet", 3600 / 3937),
        ("2", 2 * FOOT),
        ("1e3 mm", 1.0),
        ("-0.25 m", -0.25),
    ],
)
def test_lengths_as_people_write_them(text: str, metres: float) -> None:
    assert parse(text, "length", "ft") == pytest.approx(metres, rel=1e-15)


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("3,800 gal/h", "flow", 3800 * GALLON / 3600),
        ("3800 gph", "flow", 3800 * GALLON / 3600),
        ("50 GPM", "flow", 50 * GALLON / 60),
        ("50 gal per min", "flow", 50 * GALLON / 60),
        ("2 lps", "flow", 0.002),
        ("2 L/s", "flow", 0.002),
        ("1.5 yd3", "volume", 1.5 * 0.9144**3),
        ("1.5 cu yd", "volume", 1.5 * 0.9144**3),
        ("2 cubic yards", "volume", 2 * 0.9144**3),
        ("3 CY", "volume", 3 * 0.9144**3),
        ("4 sq ft", "area", 4 * FOOT**2),
        ("4 ft²", "area", 4 * FOOT**2),
        ("10 psi", "pressure", 10 * PSI),
        ("4 MPa", "pressure", 4e6),
        ("5 ft/s", "speed", 5 * FOOT),
        ("120 pcf", "density", 120 * 0.45359237 / FOOT**3),
        ("2 tons", "mass", 4000 * 0.45359237),
        ("1/2 hp", "power", 0.5 * 550 * FOOT * 0.45359237 * 9.80665),
        ("50 degF", "temperature", 283.15),
        ("45°", "angle", math.pi / 4),
        ("1/4 in/ft", "ratio", 1 / 48),
        ("2 %", "ratio", 0.02),
        ("1.5:1", "ratio", 1.5),
        ("1:50", "ratio", 0.02),
    ],
)
def test_other_kinds(text: str, kind: str, value: float) -> None:
    assert parse(text, kind, KINDS[kind]) == pytest.approx(value, rel=1e-12)


BAD = [
    "",
    "  ",
    "abc",
    "5 gal",
    "5 smoots",
    "nan",
    "inf",
    "1e999",
    "1/0 in",
    "3 3 ft",
    "1,5 m",
    "--3",
    "1 m99",
    "5 ' x",
]


@pytest.mark.parametrize("text", BAD)
def test_what_is_no_length_is_refused_in_four_parts(text: str) -> None:
    with pytest.raises(UnitsError) as caught:
        parse(text, "length", "ft", "site.toml line 4, route.depth")
    assert caught.value.where == "site.toml line 4, route.depth"
    assert caught.value.found
    assert caught.value.expected
    assert caught.value.remedy


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf, True])
def test_numbers_that_are_none(number: float) -> None:
    with pytest.raises(UnitsError):
        parse(number, "length", "ft")


@given(st.text(max_size=30))
def test_any_text_is_a_finite_length_or_a_units_error(text: str) -> None:
    with contextlib.suppress(UnitsError):
        assert math.isfinite(parse(text, "length", "ft"))


@given(st.floats(-1e9, 1e9), st.sampled_from(["m", "ft", "ftUS", "in", "gal", "gpm", "yd3", "psi", "degF"]))
def test_there_and_back(value: float, unit: str) -> None:
    kind = {"gal": "volume", "gpm": "flow", "yd3": "volume", "psi": "pressure", "degF": "temperature"}
    back = to_unit(parse(value, kind.get(unit, "length"), unit), unit)
    assert back == pytest.approx(value, rel=1e-12, abs=1e-9)


@given(st.floats(-1e4, 1e4))
def test_feet_and_inches_are_read_back_within_half_a_part(value: float) -> None:
    assert parse(feet_and_inches(value), "length", "m") == pytest.approx(value, abs=0.0254 / 16 + 1e-9)


def test_three_feet_are_exactly_0_9144() -> None:
    assert parse(3, "length", "ft") == 0.9144
    assert to_unit(0.9144, "ft") == 3.0


def test_the_two_feet_differ_by_two_parts_in_a_million() -> None:
    # NIST: 1 ft = 0.3048 m, 1 US survey foot = 1200/3937 m
    assert 2_000_000 * (FTUS.metres - FT.metres) == pytest.approx(1.2192, abs=1e-4)


@pytest.mark.parametrize(
    ("word", "unit"), [("Feet", FT), ("US-ft", FTUS), ("metre", M), ("inches", IN), ("us_survey_foot", FTUS)]
)
def test_words_for_units_of_length(word: str, unit: object) -> None:
    assert length_unit(word) == unit


def test_unknown_words_are_refused() -> None:
    with pytest.raises(UnitsError):
        length_unit("cubit")
    with pytest.raises(UnitsError):
        scale_of("cubitt")
    with pytest.raises(UnitsError):
        shown_unit("length", "metric")
    with pytest.raises(UnitsError):
        shown_unit("colour", "US")
    with pytest.raises(UnitsError):
        parse("1 m", "colour", "m")


def test_figures_as_shown() -> None:
    assert show(0.0254, "length_small", "US") == "1.0 in"
    assert show(-1e-9, "length", "SI") == "0.00 m"
    assert show(math.nan, "head", "US") == "–"
    assert show(1000 * 0.9144**3, "volume", "US") == "1,000.0 yd³"
    assert show(1.0, "length", "SI", 0) == "1 m"
