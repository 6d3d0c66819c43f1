"""The level book command: a published book comes out as published, and a bad one is told in four parts."""

from pathlib import Path

import pytest

from viewer import command

# R. Rode, Collimation method to reduce a levelling field book page; metres, BM1 106.366, BM2 known 105.263
BOOK = """point,backsight,intermediate,foresight,remark
BM1,1.216,,,
A,,0.025,,
B,,1.555,,
C,1.386,,2.508,turning point
D,,3.625,,
E,1.235,,1.196,
F,3.655,,3.566,
G,2.126,,0.506,
H,,2.605,,
I,,1.094,,
J,1.125,,3.628,
K,,1.394,,
BM2,,,0.484,
"""
CORRECTED = {"A": 107.564, "B": 106.034, "C": 105.081, "F": 102.954, "J": 104.615, "K": 104.353, "BM2": 105.263}


def test_a_published_book(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = tmp_path / "book.csv"
    book.write_text(BOOK, encoding="utf-8")
    words = ["levels", str(book), "--benchmark", "106.366", "--closing", "105.263", "--unit", "m"]
    assert command.main(words) == 0
    told = capsys.readouterr().out
    rows = {line.split()[0]: line.split() for line in told.splitlines()[1:14]}
    for point, elevation in CORRECTED.items():
        assert float(rows[point][3]) == pytest.approx(elevation, abs=0.0006), point
    assert "closing error -0.042, corrected by 0.007" in told
    assert "backsights less foresights -1.145, rises less falls -1.145, last less first -1.145" in told


@pytest.mark.parametrize(
    ("text", "found"),
    [
        (None, "cannot be read"),
        ("", "an empty file"),
        ("point,backsight\nA,1.0\n", "no column intermediate, foresight"),
        ("point,backsight,intermediate,foresight\nA,1.0,,\nB,,,two\n", "'two'"),
        ("point,backsight,intermediate,foresight\nA,,1.0,\nB,,,2\n", "IS after FS"),
    ],
)
def test_a_bad_book(text: str | None, found: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book = tmp_path / "book.csv"
    if text is not None:
        book.write_text(text, encoding="utf-8")
    assert command.main(["levels", str(book)]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert found in told.err
    assert "  expected: " in told.err
    assert "  do: " in told.err
