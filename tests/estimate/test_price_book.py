"""The price book: units and measures, all errors at once, each naming file and key."""

from decimal import Decimal
from pathlib import Path

import pytest

from estimate.price.book import example_book, parse_book, read_book
from estimate.tables import rows
from estimate.tables.measures import FOOT, YARD3
from estimate.water.fittings import fitting_names
from estimate.water.pipe import kinds, pipe, sizes
from terrain.errors import InputError, StorageError

HEAD = 'title = "T"\ndate = 2025-03-01\ncurrency = "USD"\nregion = "R"\n'


def wrong(text: str) -> InputError:
    """Return the error which `text` after a right head raises."""
    with pytest.raises(InputError) as caught:
        parse_book(HEAD + text, "book.toml")
    return caught.value


def test_a_small_book_is_read() -> None:
    book = parse_book(
        HEAD + '[dig]\nearth = { rate = 12.5, unit = "yd3 bank" }\n[percent]\ntax = 7.25\n', "book.toml"
    )
    rate = book.rates["dig.earth"]
    assert (rate.money, rate.unit, rate.measure, rate.si_per_unit) == (Decimal("12.5"), "yd3", "bank", YARD3)
    assert (book.date, book.currency, book.example) == ("2025-03-01", "USD", False)
    assert book.percents == {"overhead": 0, "profit": 0, "tax": Decimal("7.25")}


def test_the_example_book_prices_every_table() -> None:
    book = example_book()
    assert book.example
    wanted = {f"pipe.{pipe(kind, size).name}" for kind in kinds() for size in sizes(kind)}
    wanted |= {f"bedding.{row['material']}" for row in rows("bedding")}
    bought = set(fitting_names()) - {"exit", "sharp entrance", "projecting entrance"}
    wanted |= {f"fittings.{name}" for name in bought}
    assert wanted <= set(book.rates)
    assert {"dig.topsoil", "dig.earth", "dig.rock", "haul.surplus", "drains.drain"} <= set(book.rates)
    assert book.rates["pipe.2 in PVC Schedule 40"].si_per_unit == FOOT
    assert all(rate.money > 0 for rate in book.rates.values())


def test_both_example_books_price_the_same_things_at_like_rates() -> None:
    american, metric = example_book("US"), example_book("SI")
    assert metric.example
    assert list(metric.rates) == list(american.rates)
    assert (metric.percents, metric.wastes) == (american.percents, american.wastes)
    for code, rate in metric.rates.items():
        other = american.rates[code]
        assert (rate.kind, rate.measure) == (other.kind, other.measure), code
        assert not rate.unit.startswith(("ft", "yd")), code
        per_si, others_per_si = (float(one.money) / one.si_per_unit for one in (rate, other))
        assert per_si == pytest.approx(others_per_si, rel=0.05), code  # rounded to prices that look like prices


@pytest.mark.parametrize(
    ("text", "where", "words"),
    [
        ("[digs]\n", "book.toml digs", 'write "dig"'),
        ('[dig]\nearth = { rate = -1, unit = "yd3 bank" }\n', "[dig] earth", "rate -1"),
        ('[dig]\nearth = { rate = "12", unit = "yd3 bank" }\n', "[dig] earth", "rate '12'"),
        ('[dig]\nearth = { rate = nan, unit = "yd3 bank" }\n', "[dig] earth", "0 or more"),
        ('[dig]\nearth = { rate = true, unit = "yd3 bank" }\n', "[dig] earth", "0 or more"),
        ('[dig]\nearth = { rate = 12, unit = "yd3" }\n', "[dig] earth", "say bank, loose or compacted"),
        ('[dig]\nearth = { rate = 12, unit = "yd3 compacted" }\n', "[dig] earth", "yd3 bank"),
        ('[dig]\nearth = { rate = 12, unit = "ft" }\n', "[dig] earth", "yd3 bank"),
        ('[dig]\nearth = { rate = 12, unit = "yrd3 bank" }\n', "[dig] earth", 'write "yd3"'),
        ('[dig]\nearth = { rate = 12, unit = "" }\n', "[dig] earth", "unknown unit"),
        ("[dig]\nearth = 12\n", "[dig] earth", "write rate and unit"),
        ('[dig]\nearth = { rate = 12, unit = "yd3 bank", note = 1 }\n', "[dig] earth", "nothing else"),
        ('[fill]\nnative = { rate = 1, unit = "yd3 bank" }\n', "[fill] native", "yd3 compacted"),
        ('[pipe]\n"2 in" = { rate = 1, unit = "each" }\n', "[pipe] 2 in", "ft"),
        ("[percent]\nprofits = 1\n", "[percent] profits", 'write "profit"'),
        ("[percent]\nprofit = 120\n", "[percent] profit", "0 to 100"),
        ('[waste]\npipe = "5"\n', "[waste] pipe", "0 to 100"),
    ],
)
def test_what_is_wrong_is_named(text: str, where: str, words: str) -> None:
    error = wrong(text)
    assert error.where.startswith("book.toml")
    assert where in error.where
    assert words in str(error)
    assert all((error.found, error.expected, error.remedy))


@pytest.mark.parametrize("text", ["dig = 3\n", "percent = 3\n", "waste = 3\n", 'example = "yes"\n'])
def test_what_is_no_section_is_named(text: str) -> None:
    assert wrong(text).where.startswith("book.toml")


def test_all_errors_come_at_once() -> None:
    with pytest.raises(InputError) as caught:
        parse_book('date = "2025"\nregion = ""\n[dig]\nearth = 1\nrock = 2\n[percent]\ntax = -1\n', "book.toml")
    every = [caught.value, *caught.value.others]
    places = " | ".join(error.where for error in every)
    assert len(every) == 7
    for key in ("title", "date", "currency", "region", "[dig] earth", "[dig] rock", "[percent] tax"):
        assert key in places


def test_what_is_no_toml_is_named_with_its_line() -> None:
    assert "line 5" in wrong("[dig\n").found


def test_files_that_are_not_there_or_not_text(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        read_book(tmp_path / "book.toml")
    (tmp_path / "book.toml").write_bytes(b"title = '\xff\xfe'")
    with pytest.raises(InputError, match="UTF-8"):
        read_book(tmp_path / "book.toml")
    with pytest.raises(StorageError, match="cannot be read"):
        read_book(tmp_path)


def test_a_book_with_a_byte_order_mark_is_read(tmp_path: Path) -> None:
    (tmp_path / "book.toml").write_bytes(b"\xef\xbb\xbf" + HEAD.encode())
    assert read_book(tmp_path / "book.toml").title == "T"
