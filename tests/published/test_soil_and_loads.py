"""Swell, shrinkage, weights and loads with published figures."""

import pytest

from estimate.dig.loads import Truck, full_load_m3, loads_of, truck
from estimate.dig.section import Section
from estimate.dig.soil import own_soil, soil
from estimate.dig.spoil import Layer, spoil, surplus_loads
from estimate.tables import rows
from estimate.tables.measures import FOOT, INCH, POUND_PER_FOOT3, YARD3
from estimate.water.pipe import pipe


# US Army FM 5-434 Table 1-1 (from memory; the sand line as quoted in a Navy manual): bank, loose, compacted.
@pytest.mark.parametrize(
    ("name", "loose", "compacted", "loose_to_compacted"),
    [
        ("sand", 1.11, 0.95, 0.86),
        ("common earth", 1.25, 0.90, 0.72),
        ("clay", 1.43, 0.90, 0.63),
        ("rock", 1.50, 1.30, 0.87),
    ],
)
def test_army_conversion_factors(name: str, loose: float, compacted: float, loose_to_compacted: float) -> None:
    found = soil(name)
    assert (found.loose_per_bank, found.compacted_per_bank) == (loose, compacted)
    assert found.compacted_per_bank / found.loose_per_bank == pytest.approx(loose_to_compacted, abs=0.006)


# Peurifoy, Construction Planning, Equipment and Methods, Table 4-1: representative swell in percent.
@pytest.mark.parametrize(
    ("name", "low", "high"),
    [
        ("sand", 5, 15),
        ("topsoil", 10, 25),
        ("loam", 10, 35),
        ("common earth", 20, 45),
        ("clay", 30, 60),
        ("rock", 50, 80),
    ],
)
def test_swell_ranges(name: str, low: float, high: float) -> None:
    found = soil(name)
    assert (found.loose_low, found.loose_high) == pytest.approx((1.0 + low / 100, 1.0 + high / 100))
    assert found.loose_low <= found.loose_per_bank <= found.loose_high


# An equipment performance handbook's worked examples of swell and load factor.
def test_swell_worked_examples() -> None:
    twenty = own_soil("twenty percent", 1.20, 0.9, 1600.0)
    quarter = own_soil("quarter", 1.25, 0.9, 1600.0)
    assert Layer("earth", 1000.0, twenty).loose_m3 == pytest.approx(1200.0)
    assert Layer("earth", 1308.0, twenty).loose_m3 == pytest.approx(1570.0, abs=0.5)
    assert Layer("earth", 800.0, quarter).loose_m3 == pytest.approx(1000.0)
    assert Layer("earth", 1046.0, quarter).loose_m3 == pytest.approx(1308.0, abs=0.5)


# US Army TM 9-2320-366-10-1 Table 2-15; "max yd3 not overloading" steps by half yards, payload five short tons.
@pytest.mark.parametrize("row", rows("densities"), ids=lambda row: str(row["material"]))
def test_army_truck_loads(row: dict[str, str]) -> None:
    density = float(row["lb_ft3"])
    assert density * 27.0 == pytest.approx(float(row["lb_yd3"]), abs=0.5)
    full = full_load_m3(truck("five-ton army dump truck"), density * POUND_PER_FOOT3) / YARD3
    assert full // 0.5 * 0.5 == float(row["full_load_yd3"])


# Worked by hand from FM 5-434 factors: 100 ft of 2 x 4 ft trench, lowest foot imported, common earth.
EARTH = own_soil("common earth", 1.25, 0.90, 1600.0)
TEN_YARDS = Truck("ten yards", 10.0 * YARD3, float("inf"), "worked example")


def test_spoil_of_a_hundred_feet() -> None:
    cut = Section(2.0).area(4.0) * 100.0 * FOOT**3
    pipe_volume = pipe("Schedule 40", "2").displaced_m3_per_m * 100.0 * FOOT
    lowest = Section(2.0).area(1.0) * 100.0 * FOOT**3
    balance = spoil([Layer("earth", cut, EARTH)], pipe_m3=pipe_volume, bedding_m3=lowest - pipe_volume)
    yards = {
        "cut": (balance.cut_bank_m3, 29.63),
        "heap": (balance.heap_m3, 37.04),
        "backfill": (balance.backfill_compacted_m3, 22.22),
        "native": (balance.backfill_bank_m3, 24.69),
        "surplus": (balance.surplus_bank_m3, 4.94),
        "surplus loose": (balance.surplus_loose_m3, 6.17),
    }
    assert {name: pair[0] / YARD3 for name, pair in yards.items()} == pytest.approx(
        {name: pair[1] for name, pair in yards.items()}, abs=0.0051
    )
    assert surplus_loads(balance, TEN_YARDS).count == 1


def test_loads_if_all_is_hauled() -> None:
    loads = loads_of(37.04 * YARD3, 29.63 * YARD3 * 1600.0, TEN_YARDS)
    assert (loads.count, loads.rule) == (4, "volume")


# Closed form: bedding of 4 x 12 in and the pipe zone to 6 in over the crown, 100 ft of 2 in pipe.
def test_bedding_of_a_hundred_feet() -> None:
    two_inch = pipe("Schedule 40", "2")
    length = 100.0 * FOOT
    displaced = two_inch.displaced_m3_per_m * length
    zone = Section(12 * INCH).area(two_inch.outside_m + 6 * INCH) * length - displaced
    assert Section(12 * INCH).area(4 * INCH) * length / YARD3 == pytest.approx(1.23, abs=0.005)
    assert zone / YARD3 == pytest.approx(2.47, abs=0.005)
    assert displaced / FOOT**3 == pytest.approx(3.08, abs=0.005)
