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


LOOP = [("BM", "4.32", "", ""), ("1", "", "5.10", ""), ("TP1", "6.05", "", "2.10"), ("BM", "", "", "8.28")]


def book_of(rows: list[tuple[str, str, str, str]], delimiter: str, comma: bool = False) -> str:
    """Return a level book as text."""
    lines = [("point", "backsight", "intermediate", "foresight"), *rows]
    text = "\n".join(delimiter.join(cells) for cells in lines) + "\n"
    return text.replace(".", ",") if comma else text


def reduced(told: str) -> dict[str, float]:
    """Return the reduced elevation of each point in the printed table."""
    rows = [line.split() for line in told.partition("[ft]")[2].partition("backsights")[0].splitlines()]
    return {row[0]: float(row[2]) for row in rows if row}


@pytest.mark.parametrize(("delimiter", "comma"), [(",", False), (";", False), (";", True), ("\t", True)])
def test_a_book_in_any_dress_reads_the_same(
    delimiter: str, comma: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "book.csv").write_text(book_of(LOOP, delimiter, comma), encoding="utf-8")
    assert command.main(["levels", str(tmp_path / "book.csv")]) == 0
    assert reduced(capsys.readouterr().out) == pytest.approx({"1": 99.22, "TP1": 102.22, "BM": 99.99})


def test_feet_and_inches_are_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = [("BM", "4' 3-7/8\"", "", ""), ("1", "", "5' 1-1/2\"", ""), ("BM", "", "", "4' 3-7/8\"")]
    (tmp_path / "book.csv").write_text(book_of(rows, ";"), encoding="utf-8")
    assert command.main(["levels", str(tmp_path / "book.csv")]) == 0
    told = capsys.readouterr().out
    assert reduced(told)["1"] == pytest.approx(100.0 + (51.875 - 61.5) / 12.0, abs=0.0006)
    assert "closing error 0.000" in told


def test_a_book_that_ends_on_its_first_point_is_closed_on_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "book.csv").write_text(book_of(LOOP, ","), encoding="utf-8")
    assert command.main(["levels", str(tmp_path / "book.csv"), "--benchmark", "50"]) == 0
    told = capsys.readouterr().out
    for words in ("first point, BM", "closing error -0.010", "compare the closing error with your allowance"):
        assert words in told


# Third order: 12 mm by the root of the kilometres; 0.010 ft = 3.05 mm is allowed from 64.5 m = 212 ft on.
@pytest.mark.parametrize(
    ("circuit", "words"), [("200", "WARNING: the closing error is more"), ("225", "is within")]
)
def test_a_closing_error_beyond_the_allowed_is_told(
    circuit: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "book.csv").write_text(book_of(LOOP, ","), encoding="utf-8")
    assert command.main(["levels", str(tmp_path / "book.csv"), "--circuit", circuit]) == 0
    assert words in capsys.readouterr().out


def test_an_open_book_says_so(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "book.csv").write_text(book_of(LOOP[:3], ",").replace("6.05", ""), encoding="utf-8")
    assert command.main(["levels", str(tmp_path / "book.csv")]) == 0
    assert "nothing adjusted" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("rows", "words"),
    [
        ([*LOOP[:2], ("2", "", "benchmark", ""), *LOOP[2:]], "book.csv line 4, intermediate"),
        ([LOOP[0], ("1", "", "", "5.10"), ("2", "", "3.25", "")], "level book line 4, reading 3 on 2"),
        ([LOOP[1], LOOP[0]], "level book line 2, reading 1 on 1"),
        (LOOP[:2], "level book line 3"),
    ],
)
def test_faults_are_told_with_their_line(
    rows: list[tuple[str, str, str, str]], words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "book.csv").write_text(book_of(rows, ","), encoding="utf-8")
    assert command.main(["levels", str(tmp_path / "book.csv")]) == 2
    assert words in capsys.readouterr().err
