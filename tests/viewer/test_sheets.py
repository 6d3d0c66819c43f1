"""Cut sheet and quantities: read back as a spreadsheet would, and compared with the estimate."""

import csv
import dataclasses
import io
from decimal import Decimal

import numpy as np
import pytest

from estimate.record import Estimate
from terrain.units import parse
from viewer.sheets.cut_head import benchmark_of
from viewer.sheets.cut_rows import cut_rows, face_station
from viewer.sheets.cut_sheet import cut_sheet_csv
from viewer.sheets.quantities import line_total, quantities_csv


def read(text: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text)))


def table(rows: list[list[str]], first: str) -> list[dict[str, str]]:
    start = next(i for i, row in enumerate(rows) if row and row[0] == first)
    body = []
    for row in rows[start + 1 :]:
        if not row:
            break
        body.append(dict(zip(rows[start], row, strict=False)))
    return body


def test_cut_sheet_in_feet_is_the_profile(estimate: Estimate) -> None:
    rows = table(read(cut_sheet_csv(estimate)), "station ft")
    profile, foot = estimate.profile, 0.3048
    stations = np.array([float(row["station ft"]) for row in rows])
    for name, field in (("ground ft", "ground_m"), ("trench bottom ft", "floor_m"), ("top of pipe ft", "top_m")):
        shown = np.array([float(row[name]) for row in rows])
        exact = np.interp([one.station for one in cut_rows(estimate)], profile.station_m, getattr(profile, field))
        assert np.abs(shown - exact / foot).max() <= 0.005 + 1e-9
    assert (np.diff(stations) > 0.0).all()


def test_below_benchmark_is_benchmark_less_elevation(estimate: Estimate) -> None:
    level = benchmark_of(estimate)
    assert level >= estimate.profile.ground_m.max()
    assert (level / 0.3048) == pytest.approx(round(level / 0.3048), abs=1e-9)
    for row, exact in zip(table(read(cut_sheet_csv(estimate)), "station ft"), cut_rows(estimate), strict=True):
        down = float(row["trench bottom below benchmark ft"])
        assert down == pytest.approx((level - exact.floor) / 0.3048, abs=0.0051)
        taped = parse(row["top of pipe below benchmark ft-in"], "length", "ft")
        assert taped == pytest.approx(level - exact.top, abs=0.0254 / 16 + 1e-9)
        assert parse(row["depth ft-in"], "length", "ft") == pytest.approx(exact.depth, abs=0.0254 / 16 + 1e-9)


def test_a_given_benchmark_stands_in_the_head(estimate: Estimate) -> None:
    rows = read(cut_sheet_csv(estimate, 320.0 * 0.3048))
    head = next(row for row in rows if row and row[0] == "Benchmark")
    assert head[1:] == ["320.0", "as given"]
    first = table(rows, "station ft")[0]
    assert float(first["trench bottom below benchmark ft"]) == pytest.approx(
        320.0 - estimate.profile.floor_m[0] / 0.3048, abs=0.0051
    )


def test_cut_sheet_in_metres(metric: Estimate) -> None:
    rows = table(read(cut_sheet_csv(metric)), "station m")
    own = ("easting ft", "northing ft")  # the survey's unit, not the site's
    assert all("ft" not in name for name in rows[0] if name not in own)
    assert all(name in rows[0] for name in own)
    for row, exact in zip(rows, cut_rows(metric), strict=True):
        assert float(row["depth m"]) == pytest.approx(exact.depth, abs=0.00051)


def test_every_thing_on_the_line_has_its_row(estimate: Estimate) -> None:
    rows = cut_rows(estimate)
    stations = np.array([row.station for row in rows])
    wanted = [one.station_m for one in estimate.route.bends]
    wanted += [one.station_m for one in estimate.drains] + [one.station_m for one in estimate.structures]
    wanted += [one.from_m for one in estimate.dig.intervals] + [face_station(estimate)]
    assert all(np.abs(stations - station).min() < 0.006 for station in wanted)
    remarks = " ".join(row.remarks for row in rows)
    for words in (
        "bend 54 degrees left",
        "bend 35 degrees right",
        "by the birch",
        "deepest",
        "tallest face",
        "Waterfall",
    ):
        assert words in remarks


def test_cautions_stand_above_the_table(estimate: Estimate) -> None:
    for one in (estimate, dataclasses.replace(estimate, cautions=())):
        text = cut_sheet_csv(one).split("station ft")[0].lower()
        for words in ("811", "competent person", "2 ft", "not a certificate of safety", "cave"):
            assert words in text
        assert " is safe" not in text


def test_walls_off_the_survey_are_told(estimate: Estimate) -> None:
    open_end = dataclasses.replace(estimate, dig=dataclasses.replace(estimate.dig, complete=False))
    assert "walls leave the survey" in cut_sheet_csv(open_end)
    assert "at least" in quantities_csv(open_end)


def test_lines_sum_to_the_total_to_the_cent(estimate: Estimate) -> None:
    rows = table(read(quantities_csv(estimate)), "code")
    lines = {line.code for line in estimate.price.lines}
    summed = sum((Decimal(row["amount"]) for row in rows if row["code"] in lines), Decimal(0))
    total = next(Decimal(row["amount"]) for row in rows if row["code"] == "TOTAL")
    assert summed == total == line_total(estimate)


def test_a_lost_cent_gets_its_own_row(estimate: Estimate) -> None:
    off = dataclasses.replace(
        estimate, price=dataclasses.replace(estimate.price, total=estimate.price.total + 0.01)
    )
    rows = table(read(quantities_csv(off)), "code")
    plain = [row for row in rows if row["code"] not in ("TOTAL", "LOW", "HIGH", "not priced")]
    assert sum(Decimal(row["amount"]) for row in plain) == Decimal(str(round(off.price.total, 2)))
    assert any(row["code"] == "ROUNDING" for row in rows)


def test_priced_lines_read_back(estimate: Estimate) -> None:
    rows = table(read(quantities_csv(estimate)), "code")
    for line, row in zip(estimate.price.lines, rows, strict=False):
        assert (row["code"], row["unit"], row["measure"]) == (line.code, line.unit, line.measure)
        assert float(row["quantity"]) == pytest.approx(line.quantity, abs=1e-6)
        assert float(row["rate"]) == line.rate
        assert row["source figures"] == line.source


def test_figures_read_back_in_both_units(estimate: Estimate) -> None:
    rows = {row["figure"]: row for row in table(read(quantities_csv(estimate)), "figure")}
    bank = rows["dig.bank_m3"]
    assert float(bank["value in SI"]) == pytest.approx(estimate.dig.bank_m3, rel=1e-8)
    assert float(bank["value"]) * 0.9144**3 == pytest.approx(estimate.dig.bank_m3, rel=1e-8)
    assert (bank["unit"], bank["SI unit"]) == ("yd3", "m3")


@pytest.mark.parametrize(
    "evil", ["=1+1", "+cmd|' /C calc'!A0", "-2+3", "@SUM(A1)", "\t=1", "\r\n=1", " =1", '=a"b,c']
)
def test_no_text_becomes_a_formula(estimate: Estimate, evil: str) -> None:
    hostile = dataclasses.replace(
        estimate,
        title=evil,
        structures=tuple(dataclasses.replace(one, name=evil) for one in estimate.structures),
        drains=tuple(dataclasses.replace(one, name=evil) for one in estimate.drains),
        price=dataclasses.replace(
            estimate.price, lines=tuple(dataclasses.replace(one, text=evil) for one in estimate.price.lines)
        ),
    )
    for text in (cut_sheet_csv(hostile), quantities_csv(hostile)):
        for cell in (cell for row in read(text) for cell in row):
            assert cell[:1] not in ("=", "+", "@", "\t", "\r")
            assert not cell.startswith("-") or cell == "-" or float(cell) <= 0.0


def test_same_text_each_time(estimate: Estimate) -> None:
    assert cut_sheet_csv(estimate) == cut_sheet_csv(estimate)
    assert quantities_csv(estimate) == quantities_csv(estimate)
