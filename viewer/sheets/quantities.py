"""Quantities and price as CSV: the priced lines, which sum to the total to the cent, and what they come from."""

import math
from decimal import Decimal

from estimate.record import Estimate, PriceLine
from viewer.sheets.table import Cell, csv_text
from viewer.words import SHOWN, cents, in_units, plain

HEADS = ("code", "what", "quantity", "unit", "measure", "rate", "amount", "source figures")
"""The headings of the priced lines."""


def quantities_csv(estimate: Estimate) -> str:
    """Return the priced lines, their total, and the figures they come from as CSV text."""
    price = estimate.price
    rows: list[list[Cell]] = [
        ["Quantities and price", estimate.title],
        ["For planning", "not an offer"],
        [
            "Prices",
            f"{'EXAMPLE PRICES from ' if price.example else ''}{price.book} of {price.book_date}, {price.currency}",
        ],
    ]
    if not estimate.dig.complete:
        rows.append(["Note", "walls leave the survey; every volume is at least what stands here"])
    rows += [[], list(HEADS)]
    rows += [_priced(line) for line in price.lines]
    rows += _totals(estimate)
    rows += [["not priced", one] for one in price.unpriced]
    return csv_text([*rows, [], *_figures(estimate)])


def _priced(line: PriceLine) -> list[Cell]:
    quantity = round(line.quantity, 6)
    amount = str(cents(line.amount)) if math.isfinite(line.amount) else ""
    return [line.code, line.text, quantity, line.unit, line.measure, line.rate, _decimal(amount), line.source]


def _decimal(text: str) -> Cell:
    """Return an amount as a number whose text has its cents, so that it is not taken for a user's words."""
    return _Money(text) if text else ""


class _Money(float):
    """A float that is written with its two decimals."""

    def __repr__(self) -> str:
        return f"{float(self):.2f}"

    __str__ = __repr__


def line_total(estimate: Estimate) -> Decimal:
    """Return the sum of the printed amounts [currency], to the cent."""
    amounts = (cents(line.amount) for line in estimate.price.lines if math.isfinite(line.amount))
    return sum(amounts, Decimal("0.00"))


def _totals(estimate: Estimate) -> list[list[Cell]]:
    """Return total, low and high; a row for rounding stands before where the lines do not sum to the total."""
    price, blank = estimate.price, [""] * 4
    rest = cents(price.total) - line_total(estimate)
    rows: list[list[Cell]] = []
    if rest:
        rows.append(["ROUNDING", "cents lost in the lines", *blank, _Money(rest), ""])
    for code, words, value in (
        ("TOTAL", "sum of the lines", price.total),
        ("LOW", "low end", price.low),
        ("HIGH", "high end", price.high),
    ):
        rows.append([code, words, *blank, _Money(cents(value)), f"price.{code.lower()}"])
    return rows


def _figures(estimate: Estimate) -> list[list[Cell]]:
    """Return the figures behind the quantities: name in estimate.json, value and unit as shown, value in SI."""
    dig, units = estimate.dig, estimate.units
    volumes = {
        "dig.bank_m3": dig.bank_m3,
        "dig.bank_sigma_m3": dig.bank_sigma_m3,
        "dig.loose_m3": dig.loose_m3,
        "dig.layers_m3.topsoil": dig.layers_m3.topsoil,
        "dig.layers_m3.earth": dig.layers_m3.earth,
        "dig.layers_m3.rock": dig.layers_m3.rock,
        "dig.pits_m3": dig.pits_m3,
        "dig.bedding_m3": dig.bedding_m3,
        "dig.pipe_m3": dig.pipe_m3,
        "dig.backfill_m3": dig.backfill_m3,
        "dig.backfill_bank_m3": dig.backfill_bank_m3,
        "dig.surplus_bank_m3": dig.surplus_bank_m3,
        "dig.surplus_loose_m3": dig.surplus_loose_m3,
        "dig.end_area_m3": dig.end_area_m3,
    }
    lengths = {
        "route.plan_length_m": estimate.route.plan_length_m,
        "route.ground_length_m": estimate.route.ground_length_m,
        "route.pipe_length_m": estimate.route.pipe_length_m,
        "dig.deepest_m": dig.deepest_m,
        "dig.tallest_face_m": dig.tallest_face_m,
    }
    rows: list[list[Cell]] = [["figure", "value", "unit", "value in SI", "SI unit"]]
    for kind, figures in (("volume", volumes), ("area", {"dig.area_m2": dig.area_m2}), ("length", lengths)):
        shown, si = SHOWN[units][kind].unit, SHOWN["SI"][kind].unit
        rows += [
            [name, _full(in_units(value, kind, units)), shown, _full(value), si] for name, value in figures.items()
        ]
    rows.append(["dig.loads", dig.loads, "loads", dig.loads, plain(dig.loads_rule)])
    rows.append(["drains", len(estimate.drains), "each", len(estimate.drains), "each"])
    return rows


def _full(value: float) -> Cell:
    return round(value, 9) + 0.0 if math.isfinite(value) else ""
