"""The page on survey files: its examples are read as it says, and it names every ending and column."""

import re
from pathlib import Path

import numpy as np

from terrain.build import build_ground
from terrain.readers import SUFFIXES, read_survey
from terrain.readers.table import SYNONYMS
from viewer.command_levels import read_book


def blocks(root: Path, language: str) -> list[str]:
    """Return the fenced blocks of a language on the page."""
    text = (root / "docs" / "surveys.md").read_text("utf-8")
    return re.findall(rf"^```{language}\n(.*?)^```", text, re.MULTILINE | re.DOTALL)


def test_the_examples_are_read_as_told(root: Path, tmp_path: Path) -> None:
    found = []
    for text in blocks(root, "csv"):
        (tmp_path / "survey.csv").write_text(text, encoding="utf-8")
        found.append(build_ground(read_survey(tmp_path / "survey.csv")))
    assert [ground.kind for ground in found] == ["shots", "stations", "stations"]
    assert all(ground.warnings == () for ground in found)
    one, other = (np.unique(ground.vertices.round(9), axis=0) for ground in found[1:])
    np.testing.assert_allclose(one, other, rtol=0.0, atol=1e-8)
    left = one[(one[:, 1] > 0.0) & (abs(one[:, 0] - 20 * 0.3048) < 1e-6)]
    assert round(float(left[0, 2]) / 0.3048 + found[1].origin[2], 6) == 101.5  # the shot booked to the left


def test_the_level_book_is_read(root: Path, tmp_path: Path) -> None:
    (text,) = blocks(root, "text")
    (tmp_path / "book.csv").write_text(text, encoding="utf-8")
    assert [one.sight for one in read_book(tmp_path / "book.csv", "ft")] == ["BS", "IS", "FS"]


def test_every_ending_and_column_is_named(root: Path) -> None:
    text = (root / "docs" / "surveys.md").read_text("utf-8")
    columns = set(SYNONYMS) - {"latitude", "longitude", "right_positive"} | {"offset_right_positive"}
    assert [word for word in (*SUFFIXES, *sorted(columns)) if f"`{word}`" not in text] == []


def test_the_page_is_linked(root: Path) -> None:
    assert "(docs/surveys.md)" in (root / "README.md").read_text("utf-8")
    assert "(surveys.md)" in (root / "docs" / "site-file.md").read_text("utf-8")
