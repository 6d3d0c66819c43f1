"""Fittings that bends and vertical pipe make, counted by hand."""

import itertools
import math

import pytest

from estimate.record import Bend, Structure
from estimate.route.bends import elbows_for, fittings_of, vertical_elbows, with_given
from estimate.water.fittings import fitting_names

ANGLES = {"90 elbow": 90.0, "45 elbow": 45.0, "22.5 elbow": 22.5}


def structure(invert: float, port: float, end: float, check: bool = False) -> Structure:
    return Structure(
        end="lower",
        name="vault",
        station_m=0.0,
        water_level_m=0.0,
        low_level_m=0.0,
        winter_level_m=math.nan,
        port_m=port,
        end_m=end,
        invert_m=invert,
        vertical_pipe_m=abs(end - port) + abs(port - invert),
        check_valve=check,
    )


@pytest.mark.parametrize("turn", [turn * 1.7 - 179.0 for turn in range(211)])
def test_elbows_make_the_nearest_turn_with_the_fewest(turn: float) -> None:
    """By trying every set of up to four elbows."""
    found = elbows_for(turn)
    if abs(turn) <= 5.0:
        assert found == {}
        return
    sets = [one for count in range(1, 5) for one in itertools.combinations_with_replacement(ANGLES.values(), count)]
    miss = min(abs(sum(one) - abs(turn)) for one in sets)
    fewest = min(len(one) for one in sets if abs(sum(one) - abs(turn)) <= miss + 1e-9)
    assert abs(sum(ANGLES[name] * count for name, count in found.items()) - abs(turn)) == pytest.approx(miss)
    assert sum(found.values()) == fewest


def test_vertical_pieces_take_an_elbow_at_each_change() -> None:
    assert vertical_elbows(structure(1.0, 1.0, 1.0)) == 0
    assert vertical_elbows(structure(1.0, 1.0, 0.3)) == 1
    assert vertical_elbows(structure(1.0, 0.5, 0.5)) == 2
    assert vertical_elbows(structure(1.0, 0.5, 1.5)) == 3


def test_all_fittings_together_have_names_of_the_table() -> None:
    bends = [
        Bend(station_m=1.0, turn_deg=88.0),
        Bend(station_m=2.0, turn_deg=-65.0),
        Bend(station_m=3.0, turn_deg=4.0),
    ]
    ends = [structure(1.0, 0.5, 0.2, check=True), structure(1.0, 1.0, 1.0)]
    counted = fittings_of(bends, ends)
    assert counted == {
        "90 elbow": 4,
        "45 elbow": 1,
        "22.5 elbow": 1,
        "swing check": 1,
        "sharp entrance": 1,
        "exit": 1,
    }
    assert set(counted) <= set(fitting_names())


def test_the_user_s_count_of_an_end_fitting_stands_and_other_fittings_add() -> None:
    counted = {"90 elbow": 2, "exit": 1, "swing check": 1}
    assert with_given(counted, {"90 elbow": 1, "swing check": 1, "exit": 2, "tee run": 3}) == {
        "90 elbow": 3,
        "exit": 2,
        "swing check": 1,
        "tee run": 3,
    }
