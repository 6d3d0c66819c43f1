"""Numbers and units on the sheets, against definitions and against the parser of what people type."""

import dataclasses
import math

import numpy as np
import pytest

from estimate.record import Estimate
from terrain.units import parse
from viewer.words import (
    SHOWN,
    amount,
    cents,
    elevation,
    elevation_unit,
    feet_inches,
    in_units,
    money,
    number,
    plain,
    shortened,
)


def test_both_systems_show_every_kind() -> None:
    assert set(SHOWN["US"]) == set(SHOWN["SI"])


@pytest.mark.parametrize(
    ("kind", "si", "us"),
    [
        # exact by definition: foot 0.3048 m, yard 0.9144 m, US gallon 231 cubic inches
        ("length", 0.3048, 1.0),
        ("volume", 0.9144**3, 1.0),
        ("area", 0.3048**2, 1.0),
        ("liquid", 231 * 0.0254**3, 1.0),
        ("flow", 231 * 0.0254**3 / 60.0, 1.0),
        ("speed", 0.3048, 1.0),
        ("size", 0.0254, 1.0),
    ],
)
def test_units_by_definition(kind: str, si: float, us: float) -> None:
    assert in_units(si, kind, "US") == pytest.approx(us, rel=1e-12)


def test_feet_and_inches_read_back_to_an_eighth() -> None:
    lengths = np.random.default_rng(3).uniform(0.0, 20.0, 300)
    for length in [*lengths.tolist(), 0.0, 0.3048, 0.3047, 3.047999]:
        back = parse(feet_inches(length), "length", "ft")
        assert abs(back - length) <= 0.0254 / 16.0 + 1e-12


def test_above_the_benchmark_is_said_in_words_not_by_a_sign() -> None:
    assert feet_inches(-0.1016) == "0' 4\" above"
    assert feet_inches(-0.0001) == "0' 0\""


def test_what_is_not_a_number_is_a_dash() -> None:
    nothing = math.nan
    assert number(nothing, "length", "US") == amount(nothing, "length", "SI") == money(nothing, "USD") == "-"


def test_no_minus_zero() -> None:
    assert number(-1e-9, "length", "US") == "0.0"


def test_cents_half_away_from_zero() -> None:
    assert [str(cents(value)) for value in (2.675, -2.675, 0.005, 1e6)] == ["2.68", "-2.68", "0.01", "1000000.00"]


def test_elevations_keep_the_survey_foot(estimate: Estimate) -> None:
    survey = dataclasses.replace(estimate, ground=dataclasses.replace(estimate.ground, vertical_unit="ftUS"))
    assert elevation_unit(survey).name == "ftUS"
    # 5,000 US survey feet are 5,000.01 international feet
    assert elevation(5000.0 * 1200.0 / 3937.0, survey) == "5000.00"
    assert elevation(5000.0 * 1200.0 / 3937.0, estimate) == "5000.01"
    assert elevation_unit(dataclasses.replace(survey, units="SI")).name == "m"


def test_user_text_loses_controls_and_line_breaks() -> None:
    assert plain("a\x1b[31m\nb\u202ec") == "a[31m bc"
    assert plain("Zoë's pond €", "ascii") == "Zoe's pond ?"
    assert shortened("x" * 100, 20) == "x" * 17 + "..."
