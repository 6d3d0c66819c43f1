"""Spoil: the balance holds for any dig; soils, loads and their errors."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as some

from estimate.dig.endarea import average_end_area
from estimate.dig.loads import Truck, loads_of, truck
from estimate.dig.soil import bedding, own_soil, soil
from estimate.dig.spoil import Layer, Spoil, layer_range, spoil, surplus_loads
from estimate.tables import rows
from terrain.errors import GeometryError, InputError

CART = Truck("cart", 2.0, 3000.0, "test")
SOILS = [row["soil"] for row in rows("soils")]
VOLUMES = some.floats(0.0, 500.0)
SHARES = some.floats(0.0, 1.0)


def dig(volumes: tuple[float, float, float], reuse: bool = True) -> list[Layer]:
    """Return topsoil, earth and rock of `volumes` [m3]; rock never goes back."""
    names = (("topsoil", "topsoil", True), ("earth", "common earth", reuse), ("rock", "rock", False))
    return [
        Layer(name, volume, soil(kind), back) for (name, kind, back), volume in zip(names, volumes, strict=True)
    ]


def balance_of(volumes: tuple[float, float, float], bed: float, pipe: float, reuse: bool = True) -> Spoil:
    """Return the balance with shares of the cut [m3/m3] for bedding and for the pipe in what is left."""
    cut = math.fsum(volumes)
    return spoil(
        dig(volumes, reuse), bedding_m3=cut * bed, pipe_m3=cut * (1.0 - bed) * pipe, material=bedding("sand")
    )


@given(some.tuples(VOLUMES, VOLUMES, VOLUMES), SHARES, SHARES, some.booleans())
def test_what_was_dug_is_filled_again(
    volumes: tuple[float, float, float], bed: float, pipe: float, reuse: bool
) -> None:
    found = balance_of(volumes, bed, pipe, reuse)
    filled = found.bedding_m3 + found.pipe_m3 + found.backfill_compacted_m3
    assert filled == pytest.approx(found.cut_bank_m3, rel=1e-9, abs=1e-12)


@given(some.tuples(VOLUMES, VOLUMES, VOLUMES), SHARES, SHARES, some.booleans())
def test_no_soil_is_lost(volumes: tuple[float, float, float], bed: float, pipe: float, reuse: bool) -> None:
    found = balance_of(volumes, bed, pipe, reuse)
    assert found.surplus_bank_m3 + found.backfill_bank_m3 == pytest.approx(found.cut_bank_m3, rel=1e-8, abs=1e-9)
    parts = (*(part.bank_m3 for part in found.surplus), found.imported_fill_m3, found.native_fill_m3)
    assert min(parts) >= -1e-9
    assert found.heap_m3 >= found.cut_bank_m3 >= 0.0


@given(some.tuples(VOLUMES, VOLUMES, VOLUMES), SHARES, SHARES)
def test_native_soil_is_used_before_any_is_bought(
    volumes: tuple[float, float, float], bed: float, pipe: float
) -> None:
    found = balance_of(volumes, bed, pipe)
    fit = sum(part.bank_m3 for part in found.surplus if part.name != "rock")
    assert found.imported_fill_m3 == 0.0 or fit == pytest.approx(0.0, abs=1e-6)


def test_rock_is_hauled_and_fill_is_bought_for_it() -> None:
    found = balance_of((0.0, 0.0, 10.0), 0.0, 0.0)
    assert (found.imported_fill_m3, found.surplus_bank_m3, found.surplus_loose_m3) == (10.0, 10.0, 15.0)


def test_nothing_dug_is_nothing_moved() -> None:
    found = spoil([], pipe_m3=0.0, bedding_m3=0.0)
    assert (found.heap_m3, found.surplus_bank_m3, found.backfill_compacted_m3) == (0.0, 0.0, 0.0)
    assert surplus_loads(found, CART).rule == "none"
    low, *_, high = (spoil(layers, pipe_m3=0.0, bedding_m3=0.0) for layers in layer_range([], 0.0, 0.0))
    assert low.cut_bank_m3 == high.cut_bank_m3 == 0.0


def test_bedding_is_bought_loose() -> None:
    found = spoil(dig((0.0, 10.0, 0.0)), pipe_m3=0.0, bedding_m3=2.0, material=bedding("sand"))
    assert found.bedding_loose_m3 == pytest.approx(2.32)
    assert found.bedding_mass_kg == pytest.approx(2.32 * 100.0 * 16.018463, rel=1e-6)


def test_pipe_and_bedding_must_fit_into_the_cut() -> None:
    with pytest.raises(GeometryError, match="above the ground"):
        spoil(dig((0.0, 1.0, 0.0)), pipe_m3=0.5, bedding_m3=0.6)
    with pytest.raises(InputError, match="zero or more"):
        spoil(dig((0.0, -1.0, 0.0)), pipe_m3=0.0, bedding_m3=0.0)
    with pytest.raises(InputError, match="zero or more"):
        spoil(dig((0.0, 1.0, 0.0)), pipe_m3=math.nan, bedding_m3=0.0)


@given(some.tuples(VOLUMES, VOLUMES, VOLUMES), some.floats(0.0, 50.0), SHARES)
def test_the_range_holds_the_middle(volumes: tuple[float, float, float], sigma: float, bed: float) -> None:
    cut = math.fsum(volumes)
    middle = spoil(dig(volumes), pipe_m3=0.0, bedding_m3=cut * bed)
    layers = layer_range(dig(volumes), sigma, cut * bed)
    ends = [spoil(case, pipe_m3=0.0, bedding_m3=cut * bed) for case in layers]
    for name in ("cut_bank_m3", "loose_m3", "surplus_loose_m3", "imported_fill_m3"):
        values, own = [getattr(end, name) for end in ends], getattr(middle, name)
        rounding = 1e-9 * max(cut, own)
        assert min(values) - rounding <= own <= max(values) + rounding


def test_the_range_refuses_a_sigma_that_is_none() -> None:
    with pytest.raises(InputError, match="sigma"):
        layer_range(dig((0.0, 1.0, 0.0)), math.nan, 0.0)


@pytest.mark.parametrize("factor", [0.59, 1.41, 10.0, -0.1, math.nan])
def test_a_compaction_factor_of_another_convention_is_refused(factor: float) -> None:
    with pytest.raises(InputError, match=r"10 percent shrinkage is 0\.9"):
        own_soil("earth", 1.25, factor, 1600.0)


def test_other_wrong_soils_are_refused() -> None:
    with pytest.raises(InputError, match="bank to loose"):
        own_soil("earth", 0.8, 0.9, 1600.0)
    with pytest.raises(InputError, match="density"):
        own_soil("earth", 1.25, 0.9, 0.0)
    with pytest.raises(InputError) as caught:
        soil("common erth")
    assert caught.value.remedy == 'write "common earth"'


@pytest.mark.parametrize("name", SOILS)
def test_a_range_holds_its_factor(name: str) -> None:
    kind = soil(name)
    loose, compacted = (
        [one.loose_per_bank for one in kind.corners],
        [one.compacted_per_bank for one in kind.corners],
    )
    assert min(loose) <= kind.loose_per_bank <= max(loose)
    assert min(compacted) <= kind.compacted_per_bank <= max(compacted)
    assert kind.loose_density * kind.loose_per_bank == pytest.approx(kind.bank_density)


@pytest.mark.parametrize(
    ("volume", "mass", "count", "rule"),
    [(0.0, 0.0, 0, "none"), (2.0, 2000.0, 1, "volume"), (2.01, 2000.0, 2, "volume"), (2.0, 6100.0, 3, "weight")],
)
def test_loads(volume: float, mass: float, count: int, rule: str) -> None:
    loads = loads_of(volume, mass, CART)
    assert (loads.count, loads.rule) == (count, rule)


def test_loads_are_rounded_up_material_by_material() -> None:
    found = spoil(dig((0.1, 0.1, 0.1), reuse=False), pipe_m3=0.15, bedding_m3=0.15)
    assert surplus_loads(found, CART).count == 3


def test_loads_errors() -> None:
    with pytest.raises(InputError, match="zero or more"):
        loads_of(-1.0, 0.0, CART)
    with pytest.raises(InputError, match="legal payload"):
        Truck("none", 0.0, 1.0, "test")
    with pytest.raises(InputError, match="unknown truck"):
        truck("lorry")


def test_hand_check_errors() -> None:
    with pytest.raises(InputError, match="sort the rows"):
        average_end_area([0.0, 2.0, 1.0], [1.0, 1.0, 1.0])
    with pytest.raises(InputError, match="as many areas"):
        average_end_area([0.0, 2.0], [1.0])
    with pytest.raises(InputError, match="correct the row"):
        average_end_area([0.0, 2.0], [1.0, -1.0])
    assert average_end_area([], []) == 0.0
