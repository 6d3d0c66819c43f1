"""The summary: ASCII, eighty wide, its numbers the estimate's, and never a promise of safety."""

import dataclasses
import math
import re

import numpy as np
import pytest

from estimate.record import Estimate, Finding, Pit, Wall
from viewer.summary import summary
from viewer.summary_crew import deep_stretches


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


def with_pit(estimate: Estimate, deep: float, face: float) -> Estimate:
    pit = Pit(
        name="pump vault",
        corners_m=np.zeros((4, 2)),
        floor_m=90.0,
        deepest_m=deep,
        bank_m3=1.0,
        wall=Wall(slope=0.0, rise_m=0.0),
        end="lower",
    )
    dig = dataclasses.replace(estimate.dig, pits=(pit,), tallest_face_m=face)
    return dataclasses.replace(estimate, dig=dig)


def part(text: str, head: str) -> str:
    """One row of the summary with the lines that it is wrapped to, on one line."""
    return " ".join(re.split(rf"^  {head}", text, flags=re.M)[1].split("\n  " + head[0])[0].split())


def test_pits_count_among_the_depths(estimate: Estimate) -> None:
    text = summary(with_pit(estimate, 4.09 * 0.3048, 4.2 * 0.3048))
    assert "pit, pump vault: 4.09 ft" in text
    assert part(text, "4 ft or deeper").startswith("not on the centre line, but: pit, pump vault; the tallest face")
    assert part(text, "5 ft or deeper").startswith("nowhere by these figures")
    assert "pit, pump vault;" not in summary(with_pit(estimate, 3.99 * 0.3048, 3.99 * 0.3048))
    # OSHA 29 CFR 1926.651(c)(2): "4 feet or more", so that four feet exactly count
    assert part(summary(with_pit(estimate, 4 * 0.3048, 0.9)), "4 ft or deeper").startswith("not on the centre line")


def test_imported_fill_has_its_line(estimate: Estimate) -> None:
    assert re.search(r"Fill to bring in +none", summary(estimate))
    dig = dataclasses.replace(estimate.dig, imported_m3=2.0 * 0.9144**3)
    assert re.search(r"Fill to bring in +2\.0 yd3", summary(dataclasses.replace(estimate, dig=dig)))


def test_the_range_of_the_price_tells_what_it_covers(estimate: Estimate) -> None:
    assert "(range: survey and swell only)" in part(summary(estimate), "Price  ")


def test_water_until_drained_is_told_from_water_after_draining(estimate: Estimate) -> None:
    sag, end = estimate.full_stretches
    half = dataclasses.replace(sag, left_l=4.0)
    text = " ".join(summary(dataclasses.replace(estimate, full_stretches=(sag, half, end))).split())
    assert "WATER IN THE LINE IN WINTER" in text
    assert "holds 4.8 gal until drained by Drain 1; then empty" in text
    assert "holds 4.8 gal until drained; 1.1 gal stays full after draining by Drain 1" in text
    assert "stays full: 0.9 gal that no drain lets out" in text


def test_no_zeros_where_no_head_was_computed(estimate: Estimate) -> None:
    water = dataclasses.replace(
        estimate.water, pump="", flow_wanted_lps=math.nan, flow_lps=0.0, velocity_mps=0.0, total_head_m=3.1
    )
    text = summary(dataclasses.replace(estimate, water=water))
    assert "not computed: no pump, no flow wanted" in text
    assert "0.0 gpm" not in text
    assert "Total head  " not in text


def test_findings_begin_with_their_level_the_gravest_first(estimate: Estimate) -> None:
    levels = ("note", "act", "warning")
    found = tuple(Finding(code="some", level=one, where="pipe", reason="why", remedy="") for one in levels)
    text = summary(dataclasses.replace(estimate, findings=found))
    assert re.findall(r"^  - ([A-Z]+): pipe", text, re.M) == ["ACT", "WARNING", "NOTE"]
    assert "FINDINGS: 1 to act on, 1 to be warned of, 1 to note" in text


def test_warnings_are_shown(estimate: Estimate) -> None:
    assert "! None of the 1,364 points lies on the patio." in summary(estimate)
