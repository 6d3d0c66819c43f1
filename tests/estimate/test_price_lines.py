"""The priced lines: sums to the cent, measures, waste, what has no rate, the range."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as some

from estimate.dig.loads import truck
from estimate.dig.soil import bedding, soil
from estimate.dig.spoil import Layer, layer_range, spoil, surplus_loads
from estimate.price.book import PriceBook, example_book, parse_book
from estimate.price.priced import priced
from estimate.price.quantities import Quantities, items, quantities_of
from estimate.record import Price
from estimate.tables.measures import FOOT, YARD3
from terrain.errors import InputError

HEAD = 'title = "T"\ndate = 2025-03-01\ncurrency = "USD"\nregion = "R"\n'
BOOK = example_book()
PIPE = "2 in PVC Schedule 40"


def small_book(text: str) -> PriceBook:
    """Return a book of the sections in `text`."""
    return parse_book(HEAD + text, "book.toml")


def whole(earth: float = 20.0, rock: float = 1.0, sigma: float = 0.5) -> list[Quantities]:
    """Return the middle quantities and those at the range's ends: `earth`, `rock` and `sigma` [m3]."""
    layers = [Layer("earth", earth, soil("common earth")), Layer("rock", rock, soil("rock"), reuse=False)]
    material = bedding("sand")
    found = []
    for case in (tuple(layers), *layer_range(layers, sigma, 2.1)):
        balance = spoil(case, pipe_m3=0.1, bedding_m3=2.0, material=material)
        found.append(
            quantities_of(
                case,
                balance,
                surplus_loads(balance, truck("single-axle dump truck")),
                line_length_m=100.0 * FOOT,
                pipe_name=PIPE,
                pipe_length_m=101.3 * FOOT,
                nominal="2",
                fittings={"90 elbow": 5, "exit": 1, "union": 2},
                drains=1,
                restored_m2={"lawn": 55.5},
            )
        )
    return found


def check_sums(price: Price) -> None:
    """Assert that the lines add up to the total, and each is quantity times rate, to the cent."""
    total = sum((Decimal(repr(line.amount)) for line in price.lines), Decimal(0))
    assert total == Decimal(repr(price.total))
    for line in price.lines:
        assert Decimal(repr(line.amount)) == round(Decimal(repr(line.amount)), 2)
        exact = Decimal(repr(line.quantity)) * Decimal(repr(line.rate))
        assert abs(exact - Decimal(repr(line.amount))) <= Decimal("0.005000001")


@given(some.floats(3.0, 900.0), some.floats(0.0, 50.0), some.floats(0.0, 2.0))
def test_lines_sum_to_the_total_and_the_range_holds_it(earth: float, rock: float, sigma: float) -> None:
    middle, *ends = whole(earth, rock, sigma)
    price = priced(middle, BOOK, *ends)
    check_sums(price)
    assert price.low <= price.total <= price.high
    assert price.per_metre == pytest.approx(price.total / (100.0 * FOOT))
    assert price.example
    assert price.unpriced == ()


def test_overhead_profit_and_tax_build_on_each_other() -> None:
    book = small_book(
        '[lump]\nstart = { rate = 1000, unit = "lump" }\n[percent]\noverhead = 10\nprofit = 20\ntax = 5\n'
    )
    price = priced(Quantities(line_length_m=10.0), book)
    assert [line.amount for line in price.lines] == [1000.0, 100.0, 220.0, 66.0]
    assert (price.total, price.low, price.high, price.per_metre) == (1386.0, 1386.0, 1386.0, 138.6)


def test_each_measure_takes_its_own_quantity() -> None:
    quantities = Quantities(
        line_length_m=1.0,
        dug_m3=(("earth", 10.0 * YARD3, 12.5 * YARD3),),
        surplus_bank_m3=4.0 * YARD3,
        surplus_loose_m3=5.0 * YARD3,
        loads=1,
    )
    for unit, quantity in (("yd3 bank", 10.0), ("yd3 loose", 12.5), ("ft3 bank", 270.0)):
        line = priced(quantities, small_book(f'[dig]\nearth = {{ rate = 1, unit = "{unit}" }}\n')).lines[0]
        assert (line.quantity, line.measure) == (quantity, unit.split()[1])
    for unit, quantity in (("load", 1.0), ("yd3 loose", 5.0), ("yd3 bank", 4.0)):
        line = priced(quantities, small_book(f'[haul]\nsurplus = {{ rate = 1, unit = "{unit}" }}\n')).lines[0]
        assert (line.quantity, line.unit) == (quantity, unit.split()[0])


def test_a_rate_per_metre_and_one_per_foot_give_the_same_money() -> None:
    quantities = Quantities(line_length_m=1.0, pipes_m=((PIPE, 1000.0 * FOOT),))
    by_foot = priced(quantities, small_book(f'[pipe]\n"{PIPE}" = {{ rate = 3.048, unit = "ft" }}\n'))
    by_metre = priced(quantities, small_book(f'[pipe]\n"{PIPE}" = {{ rate = 10, unit = "m" }}\n'))
    assert by_foot.total == by_metre.total == 3048.0


def test_waste_is_bought_and_said() -> None:
    quantities = Quantities(line_length_m=1.0, pipes_m=((PIPE, 100.0 * FOOT),))
    book = small_book(f'[pipe]\n"{PIPE}" = {{ rate = 2, unit = "ft" }}\n[waste]\npipe = 5\n')
    line = priced(quantities, book).lines[0]
    assert (line.quantity, line.amount) == (105.0, 210.0)
    assert "5 % waste included" in line.text


def test_a_size_of_its_own_goes_before_the_general_rate() -> None:
    quantities = Quantities(line_length_m=1.0, nominal="2", fittings=(("90 elbow", 3),))
    general = '[fittings]\n"90 elbow" = { rate = 4, unit = "each" }\n'
    assert priced(quantities, small_book(general)).total == 12.0
    own = general + '"90 elbow 2 in" = { rate = 7, unit = "each" }\n'
    assert priced(quantities, small_book(own)).total == 21.0


def test_what_has_no_rate_does_not_pass_silently() -> None:
    quantities = Quantities(line_length_m=1.0, drains=2, dug_m3=(("earth", 1.0, 1.25),))
    price = priced(quantities, small_book('[drains]\ndrain = { rate = 5, unit = "each" }\n'))
    assert price.total == 10.0
    assert price.unpriced == ("dig earth: no rate 'dig.earth' in book.toml",)


def test_nothing_to_pay_is_no_line_and_no_length_is_no_price_per_metre() -> None:
    price = priced(Quantities(line_length_m=0.0), small_book(""))
    assert (price.total, price.per_metre, price.lines, price.unpriced) == (0.0, 0.0, (), ())


def test_losses_of_head_are_not_bought() -> None:
    assert all("exit" not in item.text for item in items(whole()[0]))


def test_every_line_names_the_figure_it_comes_from() -> None:
    quantities = whole()[0]
    assert all(item.source for item in items(quantities))
    assert all(line.source for line in priced(quantities, BOOK).lines)


def test_hours_are_priced() -> None:
    quantities = Quantities(line_length_m=1.0, labour_h=(("crew", 8.0),), machine_h=(("excavator", 2.5),))
    lines = {line.code: line.amount for line in priced(quantities, BOOK).lines}
    assert (lines["labour.crew"], lines["machine.excavator"]) == (496.0, 237.5)


@pytest.mark.parametrize(
    "wrong",
    [
        {"drains": -1},
        {"bedding_m3": math.nan},
        {"line_length_m": math.inf},
        {"dug_m3": (("earth", -1.0, 0.0),)},
        {"fittings": (("union", -2),)},
    ],
)
def test_an_amount_that_cannot_be_paid_for_is_refused(wrong: dict[str, object]) -> None:
    figures: dict[str, object] = {"line_length_m": 1.0} | wrong
    with pytest.raises(InputError, match="zero or more"):
        Quantities(**figures)  # type: ignore[arg-type]  # wrong figures of any type are meant
