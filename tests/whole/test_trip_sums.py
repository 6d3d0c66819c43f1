"""Sums and identities that every estimate keeps, on both shipped sites, and its way to JSON and back."""

import json
import math

import numpy as np
import pytest

from estimate.plan import load_ground, make_estimate
from estimate.record import Estimate
from estimate.record_json import from_json, to_json
from estimate.site import open_site
from sample_scans import folder, names
from terrain.errors import InputError


@pytest.fixture(scope="module", params=names())
def answer(request: pytest.FixtureRequest) -> Estimate:
    site = open_site(folder(request.param))
    return make_estimate(site, load_ground(site))


def test_what_was_dug_is_filled_again(answer: Estimate) -> None:
    dig = answer.dig
    filled = dig.bedding_m3 + dig.pipe_m3 + dig.structures_m3 + dig.backfill_m3
    assert filled == pytest.approx(dig.bank_m3, rel=1e-12)


def test_layers_and_intervals_sum_to_the_whole(answer: Estimate) -> None:
    dig = answer.dig
    layers = dig.layers_m3
    assert layers.topsoil + layers.earth + layers.rock == pytest.approx(dig.bank_m3, rel=1e-12)
    stretches = math.fsum(interval.bank_m3 for interval in dig.intervals)
    assert stretches + dig.pits_m3 == pytest.approx(dig.bank_m3, rel=1e-12)
    assert dig.intervals[-1].to_m == answer.route.plan_length_m
    assert max(interval.deepest_m for interval in dig.intervals) == dig.deepest_m


def test_bank_is_backfill_and_surplus(answer: Estimate) -> None:
    assert answer.dig.backfill_bank_m3 + answer.dig.surplus_bank_m3 == pytest.approx(answer.dig.bank_m3, rel=1e-12)


def test_head_is_lift_and_losses(answer: Estimate) -> None:
    water = answer.water
    assert water.total_head_m == pytest.approx(
        answer.lift.static_m + water.friction_m + water.fittings_m, abs=1e-12
    )
    level = {one.end: one for one in answer.structures}
    reached = max(level["upper"].water_level_m, level["upper"].end_m)  # a free outfall is lifted to the pipe's end
    assert answer.lift.static_m == pytest.approx(reached - level["lower"].water_level_m, abs=1e-9)


def test_lengths_are_in_order(answer: Estimate) -> None:
    route, profile = answer.route, answer.profile
    assert route.plan_length_m < route.ground_length_m
    along = np.hypot(np.diff(profile.station_m), np.diff(profile.invert_m)).sum()
    vertical = sum(one.vertical_pipe_m for one in answer.structures)
    assert route.pipe_length_m == pytest.approx(along + vertical, rel=1e-12)


def test_water_let_out_and_left_is_the_water_held(answer: Estimate) -> None:
    held = math.fsum(one.held_l for one in answer.full_stretches)
    let_out = math.fsum(one.held_l for one in answer.drains)
    left = math.fsum(one.left_l for one in answer.full_stretches)
    assert let_out + left == pytest.approx(held, rel=1e-9, abs=1e-9)
    assert held <= answer.pipe.inside_l * (1.0 + 1e-9)


def test_price_lines_sum_to_the_cent(answer: Estimate) -> None:
    price = answer.price
    assert round(sum(round(line.amount * 100) for line in price.lines)) == round(price.total * 100)
    assert price.low <= price.total <= price.high
    assert price.example
    assert price.unpriced == ()


def test_json_comes_back_as_it_went(answer: Estimate) -> None:
    text = to_json(answer)
    assert to_json(from_json(text)) == text
    tree = json.loads(text)
    assert tree["dig"]["bank_m3"] == answer.dig.bank_m3
    assert len(tree["profile"]["station_m"]) == len(answer.profile.station_m)


@pytest.mark.parametrize("text", ["", "[]", "{}", '{"format": 1}', '{"format": 99}', '{"format": 1, "title": 3}'])
def test_a_text_that_is_no_estimate_is_refused(text: str) -> None:
    with pytest.raises(InputError) as refused:
        from_json(text)
    assert refused.value.remedy
