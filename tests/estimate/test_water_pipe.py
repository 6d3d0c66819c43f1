"""Pipes by table and by measure: names, sizes, errors."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as some

from estimate.tables import row_named, rows
from estimate.water.fittings import fitting_loss, fitting_names, k_range, k_sum, rough_turbulent_factor
from estimate.water.pipe import kinds, own_pipe, pipe, sizes, sticks
from terrain.errors import InputError


@pytest.mark.parametrize(
    "kind", ["PVC Schedule 40", "schedule 40", "Sch 40", "sch40", "pvc sch. 40", "SCHEDULE-40"]
)
@pytest.mark.parametrize("size", ["1-1/2", "1 1/2 in", "1½", '1.5"', "1.50 inch"])
def test_usual_spellings_find_the_same_pipe(kind: str, size: str) -> None:
    assert pipe(kind, size) == pipe("PVC Schedule 40", "1-1/2")


def test_every_listed_pipe_is_found_and_sound() -> None:
    every = [pipe(kind, size) for kind in kinds() for size in sizes(kind)]
    assert len(every) == len(rows("pipes"))
    for one in every:
        assert 0.0 < one.bore_m < one.outside_m
        assert one.inside_m3_per_m < one.displaced_m3_per_m
        assert one.rating_pa > 1e6
        assert "ASTM" in one.source


def test_unknown_kind_names_the_nearest_and_all() -> None:
    with pytest.raises(InputError) as caught:
        pipe("Shedule 40", "2")
    assert "PVC Schedule 40" in caught.value.remedy
    assert "PVC SDR 26" in caught.value.expected


@pytest.mark.parametrize("size", ["7", "2-3/4", "two", "", "-2", "1/0", "inf"])
def test_unlisted_size_is_refused_with_the_listed_ones(size: str) -> None:
    with pytest.raises(InputError) as caught:
        pipe("SDR 26", size)
    assert "1-1/2, 2, 3, 4, 6" in caught.value.expected
    assert "measured bore" in caught.value.remedy


def test_own_pipe_keeps_what_was_measured() -> None:
    hose = own_pipe("hose", 0.0500, 0.0603, stick_m=30.48)
    assert hose.bore_m == pytest.approx(0.05, abs=1e-15)
    assert hose.outside_m == 0.0603
    assert math.isnan(hose.rating_pa)


@pytest.mark.parametrize(
    ("bore", "outside"), [(0.06, 0.05), (0.0, 0.05), (-0.01, 0.05), (0.05, 0.05), (math.nan, 0.05)]
)
def test_own_pipe_refuses_impossible_diameters(bore: float, outside: float) -> None:
    with pytest.raises(InputError, match="caliper"):
        own_pipe("hose", bore, outside)


def test_own_pipe_refuses_no_stick_and_no_rating() -> None:
    with pytest.raises(InputError):
        own_pipe("hose", 0.05, 0.06, stick_m=0.0)
    with pytest.raises(InputError):
        own_pipe("hose", 0.05, 0.06, rating_pa=-1.0)


@pytest.mark.parametrize(("length", "count"), [(0.0, 0), (6.0, 1), (6.096, 1), (6.2, 2), (30.48, 5)])
def test_sticks(length: float, count: int) -> None:
    assert sticks(length, 6.096) == count


def test_every_fitting_has_a_loss_in_every_table() -> None:
    for name in fitting_names():
        low, high = k_range(name, 0.0525)
        assert 0.0 < low <= high <= 2.5
        assert fitting_loss(name.upper(), 0.0525).fitting == name


def test_a_fitting_missing_in_one_table_comes_from_another_and_says_so() -> None:
    assert fitting_loss("swing check", 0.0525, "irc").table == "Crane"
    assert fitting_loss("90 elbow", 0.0525, "irc").table == "IRC"
    assert fitting_loss("coupling", 0.0525, "IRC").table == "any"


def test_fitting_errors() -> None:
    with pytest.raises(InputError) as caught:
        fitting_loss("90 elbo", 0.0525)
    assert caught.value.remedy == 'write "90 elbow"'
    with pytest.raises(InputError, match="Crane, IRC, threaded"):
        fitting_loss("90 elbow", 0.0525, "kran")
    with pytest.raises(InputError, match="count of 0 or more"):
        k_sum({"exit": -1}, 0.0525)
    with pytest.raises(InputError, match="bore"):
        rough_turbulent_factor(0.001)


@given(
    some.dictionaries(some.sampled_from(fitting_names()), some.integers(0, 20)), some.sampled_from(fitting_names())
)
def test_one_more_fitting_adds_its_own_k(counts: dict[str, int], name: str) -> None:
    more = {**counts, name: counts.get(name, 0) + 1}
    difference = k_sum(more, 0.0525) - k_sum(counts, 0.0525)
    assert difference == pytest.approx(fitting_loss(name, 0.0525).k, abs=1e-12)


def test_unknown_table_and_row() -> None:
    with pytest.raises(InputError, match="no table 'pipe'"):
        rows("pipe")
    with pytest.raises(InputError) as caught:
        row_named("trucks", "truck", "tandem truck")
    assert "tandem dump truck" in caught.value.remedy
