"""The summary: ASCII, eighty wide, its numbers the estimate's, and never a promise of safety."""

import dataclasses
import math
import re

import numpy as np
import pytest

from estimate.record import Estimate
from viewer.summary import deep_stretches, summary


def test_plain_and_eighty_wide(estimate: Estimate, metric: Estimate) -> None:
    accented = dataclasses.replace(estimate, title="Gärten der Zoë " * 9, files={"estimate.json": "0"})
    for one in (estimate, metric, accented):
        text = summary(one)
        assert text.isascii()
        assert max(len(line) for line in text.splitlines()) <= 80
        assert all(sign == "\n" or sign.isprintable() for sign in text)


def test_titles_keep_their_letters_where_the_terminal_has_them(estimate: Estimate) -> None:
    accented = dataclasses.replace(estimate, title="Zoë")
    assert summary(accented, "utf-8").startswith("Zoë")
    assert summary(accented).startswith("Zoe")


def test_numbers_are_the_estimates(estimate: Estimate) -> None:
    text = summary(estimate)
    assert f"{estimate.dig.bank_m3 / 0.9144**3:,.1f} yd3" in text
    assert f"${estimate.price.total:,.2f}" in text
    assert f"{estimate.route.plan_length_m / 0.3048:.1f} ft" in text
    assert f"{estimate.lift.static_m / 0.3048:.2f} ft" in text
    assert f"{estimate.drains[0].invert_m / 0.3048:.2f}" in text
    assert "EXAMPLE PRICES" in text


def test_metric_summary_has_no_feet_of_its_own(metric: Estimate) -> None:
    figures = summary(metric).split("FINDINGS")[0]
    assert f"{metric.dig.bank_m3:.2f} m3" in figures
    assert not re.search(
        r"\d (ft|yd3|gal|gpm)\b", figures.replace("4 ft (1.22 m)", "").replace("5 ft (1.52 m)", "")
    )


def test_never_calls_a_trench_safe(estimate: Estimate) -> None:
    assert not re.search(r"\b(safe|allowed|no hazard)\b", summary(estimate).lower())


def test_incomplete_is_at_least(estimate: Estimate) -> None:
    open_end = dataclasses.replace(estimate, dig=dataclasses.replace(estimate.dig, complete=False))
    assert "at least" in summary(open_end)


def test_a_yard_with_nothing_found(estimate: Estimate) -> None:
    quiet = dataclasses.replace(
        estimate, findings=(), drains=(), full_stretches=(), low_points=(), high_points=(), warnings=(), cautions=()
    )
    text = summary(quiet)
    for words in ("DRAINS: none", "nothing found", "FINDINGS: none", "competent"):
        assert words in text


def with_depths(estimate: Estimate, station: list[float], depth: list[float]) -> Estimate:
    node, deep = np.array(station), np.array(depth)
    profile = dataclasses.replace(estimate.profile, station_m=node, ground_m=deep, floor_m=np.zeros(len(deep)))
    return dataclasses.replace(estimate, profile=profile)


@pytest.mark.parametrize(
    ("depths", "found"),
    [
        ([0.0, 0.0, 0.0], []),
        ([2.0, 2.0, 2.0], [(0.0, 20.0)]),
        ([0.0, 2.0, 0.0], [(5.0, 15.0)]),
        ([2.0, 0.0, 2.0], [(0.0, 5.0), (15.0, 20.0)]),
        ([0.0, 1.0, 0.0], [(10.0, 10.0)]),
        ([1.0, 1.0, 0.0], [(0.0, 10.0)]),
    ],
)
def test_where_a_depth_is_reached(
    estimate: Estimate, depths: list[float], found: list[tuple[float, float]]
) -> None:
    deep = deep_stretches(with_depths(estimate, [0.0, 10.0, 20.0], depths), 1.0)
    assert np.array(deep) == pytest.approx(np.array(found))


def test_four_feet_exactly_counts(estimate: Estimate) -> None:
    # OSHA 29 CFR 1926.651(c)(2) and 1926.652(a)(1): the limits are "4 feet or more" and "5 feet or more"
    assert deep_stretches(with_depths(estimate, [0.0, 10.0], [4 * 0.3048] * 2), 1.2192) == [(0.0, 10.0)]
    assert deep_stretches(with_depths(estimate, [0.0, 10.0], [3.99 * 0.3048] * 2), 1.2192) == []
    assert deep_stretches(with_depths(estimate, [0.0, 10.0], [5 * 0.3048] * 2), 1.524) == [(0.0, 10.0)]


def test_missing_numbers_are_dashes(estimate: Estimate) -> None:
    bare = dataclasses.replace(
        estimate,
        water=dataclasses.replace(
            estimate.water, flow_lps=math.nan, velocity_mps=math.nan, flow_wanted_lps=math.nan
        ),
        dig=dataclasses.replace(estimate.dig, width_m=math.nan),
        ground=dataclasses.replace(estimate.ground, accuracy_m=math.nan),
    )
    text = summary(bare)
    assert "nan" not in text.lower()
