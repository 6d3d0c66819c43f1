"""Yards that once gave a wrong figure: a line over itself, sizes written two ways, rates that lack, far pits."""

from pathlib import Path

import pytest

from estimate.plan import load_ground, make_estimate
from estimate.record import Estimate
from estimate.site import open_site
from terrain.errors import InputError

BOOK = """
title = "case book"
date = 2026-01-31
currency = "USD"
region = "none, a test"
[dig]
topsoil = { rate = 10, unit = "m3 bank" }
earth = { rate = 20, unit = "m3 bank" }
[bedding]
sand = { rate = 30, unit = "m3 compacted" }
[fill]
native = { rate = 5, unit = "m3 compacted" }
imported = { rate = 25, unit = "m3 compacted" }
[haul]
surplus = { rate = 100, unit = "load" }
[restoration]
lawn = { rate = 1, unit = "m2" }
[pipe]
"2 in PVC Schedule 40" = { rate = 8, unit = "m" }
[fittings]
"90 elbow" = { rate = 3, unit = "each" }
"90 elbow 2 in" = { rate = 7, unit = "each" }
"22.5 elbow" = { rate = 3, unit = "each" }
"45 elbow" = { rate = 3, unit = "each" }
"""
SITE = """
title = "Case yard"
units = "SI"
[survey]
file = "points.csv"
accuracy = "20 mm"
[route]
points = [[5, 20], [25, 20]]
[lower]
name = "vault"
water_level = 99.5
winter_level = "empty"
[upper]
name = "fall"
water_level = 101.5
winter_level = "empty"
[pipe]
kind = "PVC Schedule 40"
size = "2"
[trench]
cover = "600 mm"
width = "300 mm"
bedding = "100 mm"
[price]
book = "prices.toml"
"""


def estimate(folder: Path, *changes: tuple[str, str], book: str = BOOK) -> Estimate:
    """Return the estimate of a yard that rises 2 in 100 to the east, with lines of its site file changed."""
    rows = ["point,easting (m),northing (m),elevation (m)"]
    rows += [f"{i * 10 + j},{5 * i},{5 * j},{100 + 0.1 * i}" for i in range(9) for j in range(9)]
    text = SITE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    folder.mkdir(exist_ok=True)
    (folder / "points.csv").write_text("\n".join(rows) + "\n")
    (folder / "prices.toml").write_text(book)
    (folder / "site.toml").write_text(text)
    site = open_site(folder)
    return make_estimate(site, load_ground(site))


def test_bedding_lies_once_where_the_line_comes_back(tmp_path: Path) -> None:
    once = estimate(tmp_path)
    back = estimate(tmp_path, ("[25, 20]]", "[25, 20], [5, 20.0]]"))
    assert once.dig.bedding_m3 == pytest.approx(20.0 * 0.3 * 0.1, rel=1e-9)
    assert back.dig.bedding_m3 == pytest.approx(once.dig.bedding_m3, rel=0.02)  # the bend is a floor's width longer


@pytest.mark.parametrize("size", ["2", "2 in", "2.0"])
def test_a_size_is_priced_however_it_is_written(size: str, tmp_path: Path) -> None:
    answer = estimate(tmp_path, ('size = "2"', f'size = "{size}"'), ("[25, 20]]", "[25, 20], [25, 30]]"))
    rates = {line.code: line.rate for line in answer.price.lines}
    assert rates["fittings.90 elbow 2 in"] == 7.0


def test_what_only_one_end_of_the_range_needs_is_not_forgotten(tmp_path: Path) -> None:
    """With little bedding the likely soil is short and nothing is hauled; what shrinks least leaves a surplus."""
    free = BOOK.replace('[haul]\nsurplus = { rate = 100, unit = "load" }\n', "")
    thin = ('bedding = "100 mm"', 'bedding = "40 mm"')
    assert "haul.surplus" not in {line.code for line in estimate(tmp_path, thin).price.lines}
    answer = estimate(tmp_path, thin, book=free)
    assert any("haul" in words for words in answer.price.unpriced)
    assert any(finding.code == "not priced" for finding in answer.findings)


@pytest.mark.parametrize("floor", [-2000.0, 9.85, 1000.0])
def test_a_pit_far_from_the_ground_is_refused(floor: float, tmp_path: Path) -> None:
    pit = f"[lower.pit]\nlength = 1.2\nwidth = 0.9\nfloor = {floor}\n[upper]"
    with pytest.raises(InputError) as refused:
        estimate(tmp_path, ("[upper]", pit))
    assert "lower.pit" in refused.value.where


def test_walls_of_a_narrow_trench_and_a_lifted_pit_are_findings(tmp_path: Path) -> None:
    pit = "[lower.pit]\nlength = 1.2\nwidth = 0.9\nfloor = 101.5\n[upper]"
    answer = estimate(tmp_path, ("[upper]", pit), ('width = "300 mm"', 'width = "50 mm"'))
    codes = {finding.code for finding in answer.findings}
    assert {"pit above its place", "pipe wider than the trench"} <= codes


@pytest.mark.parametrize("interval", ["0.2 m", "500 m"])
def test_intervals_sum_at_any_spacing(interval: str, tmp_path: Path) -> None:
    answer = estimate(tmp_path, ("[price]", f'interval = "{interval}"\n[price]'))
    assert sum(one.bank_m3 for one in answer.dig.intervals) == pytest.approx(answer.dig.bank_m3, rel=1e-12)


@pytest.mark.parametrize("kind", ["sand", "clay", "common earth"])
def test_the_low_price_is_lower_than_the_likely_one(kind: str, tmp_path: Path) -> None:
    """Where soil is short the cheap end shrinks least; where it is over, it swells least."""
    answer = estimate(tmp_path, ("[trench]", f'[soil]\nkind = "{kind}"\n[trench]'))
    assert answer.price.low < answer.price.total < answer.price.high
