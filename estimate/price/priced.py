"""The price: each quantity times its rate, to the cent, with overhead, profit, tax and a range."""

from decimal import ROUND_HALF_UP, Decimal

from estimate.price.book import PriceBook
from estimate.price.quantities import Item, Quantities, items
from estimate.price.rates import Rate
from estimate.record import Price, PriceLine

_CENT = Decimal("0.01")


def priced(quantities: Quantities, book: PriceBook, *spread: Quantities) -> Price:
    """Return the price of `quantities` by `book`, with the least and greatest of it and of all `spread`.

    Amounts come from the quantity as printed (two decimals), so that a reader can check every line; overhead is on
    the lines, profit on lines and overhead, tax on all three. What the book has no rate for is listed as unpriced
    and is in no sum. No line length gives 0 per metre.

    Source: usual order of a bid, common practice, no published source.

    >>> from estimate.price.book import example_book
    >>> price = priced(Quantities(line_length_m=10.0, drains=2), example_book())
    >>> round(sum(line.amount for line in price.lines), 2) == price.total
    True
    """
    cases = [_lines(one, book) for one in (quantities, *spread)]
    totals = [_sum(lines) for lines, _ in cases]
    lines, total = cases[0][0], totals[0]
    length = quantities.line_length_m
    return Price(
        total=float(total),
        low=float(min(totals)),
        high=float(max(totals)),
        per_metre=float(total) / length if length > 0.0 else 0.0,
        currency=book.currency,
        book=book.title,
        book_date=book.date,
        example=book.example,
        lines=tuple(lines),
        unpriced=tuple(dict.fromkeys(words for _, missing in cases for words in missing)),
    )


def _lines(quantities: Quantities, book: PriceBook) -> tuple[list[PriceLine], list[str]]:
    """Return all lines, percentages last, and what has no rate."""
    lines: list[PriceLine] = []
    unpriced: list[str] = []
    for item in items(quantities):
        rate = next((book.rates[code] for code in item.codes if code in book.rates), None)
        if rate is None:
            unpriced.append(f"{item.text}: no rate {item.codes[-1]!r} in {book.file}")
        elif item.amounts[rate.kind, rate.measure] > 0.0:
            lines.append(_line(item, rate, book))
    for rate in book.rates.values():
        if rate.kind == "lump":
            text = rate.code.removeprefix("lump.")
            lines.append(_entry(rate.code, text, Decimal(1), rate, "price book"))
    for name, percent in book.percents.items():
        if percent:
            lines.append(_percentage(name, percent, _sum(lines)))
    return lines, unpriced


def _line(item: Item, rate: Rate, book: PriceBook) -> PriceLine:
    """Return one priced line, waste added where the book has any for its section."""
    neat = Decimal(repr(float(item.amounts[rate.kind, rate.measure] / rate.si_per_unit)))
    waste = book.wastes.get(rate.code.partition(".")[0], Decimal(0))
    quantity = (neat * (1 + waste / 100)).quantize(_CENT, ROUND_HALF_UP)
    text = f"{item.text}, {waste.normalize():f} % waste included" if waste else item.text
    return _entry(rate.code, text, quantity, rate, item.source)


def _entry(code: str, text: str, quantity: Decimal, rate: Rate, source: str) -> PriceLine:
    """Return a line of `quantity` in the unit of its `rate`; `source` names the figure it comes from."""
    return PriceLine(
        code=code,
        text=text,
        quantity=float(quantity),
        unit=rate.unit,
        measure=rate.measure,
        rate=float(rate.money),
        amount=float((quantity * rate.money).quantize(_CENT, ROUND_HALF_UP)),
        source=source,
    )


def _percentage(name: str, percent: Decimal, base: Decimal) -> PriceLine:
    """Return the line that adds `percent` [%] of `base` [currency]."""
    return PriceLine(
        code=f"percent.{name}",
        text=f"{name} on {base:,.2f}",
        quantity=float(percent),
        unit="%",
        measure="neat",
        rate=float(base / 100),
        amount=float((base * percent / 100).quantize(_CENT, ROUND_HALF_UP)),
        source="price.lines",
    )


def _sum(lines: list[PriceLine]) -> Decimal:
    """Return the sum of the amounts, exact to the cent."""
    return sum((Decimal(repr(line.amount)) for line in lines), Decimal(0)).quantize(_CENT)
