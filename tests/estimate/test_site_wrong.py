"""A site folder that is wrong: every mistake is told at once, each with its line and in four parts."""

from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from estimate.site import open_site
from estimate.site_template import template_text
from terrain.errors import InputError, MattockError, UnitsError

Change = Callable[..., Path]
TEMPLATE = template_text("site.toml", "US")


def mistakes(folder: Path) -> tuple[InputError, ...]:
    """Return all that is wrong in a folder."""
    with pytest.raises(InputError) as caught:
        open_site(folder)
    assert caught.value.exit_code == 2
    return caught.value.others


def line_with(folder: Path, piece: str) -> int:
    """Return the line of the site file on which `piece` first stands."""
    lines = (folder / "site.toml").read_text(encoding="utf-8").splitlines()
    return next(number for number, line in enumerate(lines, 1) if piece in line)


WRONG = [
    (
        "unknown key",
        'cover = "18 in"',
        'cover = "18 in"\nwidht = 3',
        "widht",
        "[trench] widht",
        'did you mean "width"',
    ),
    ("misspelt needed key", 'cover = "18 in"', 'covr = "18 in"', "covr", "[trench] covr", 'did you mean "cover"'),
    ("unknown table", "[soil]", "[soill]", "[soill]", "soill", 'did you mean "soil"'),
    ("key of another table", "[soil]", '[soil]\nbedding = "9 in"', '"9 in"', "[soil] bedding", "under [trench]"),
    ("key of nowhere", "[soil]", "[soil]\nqwertzuiop = 1", "qwertz", "[soil] qwertzuiop", "take the line out"),
    ("wrong choice", 'units = "US"', 'units = "USA"', "units =", "units", 'did you mean "US"'),
    ("number for text", 'size = "2"', "size = 2", "size =", "[pipe] size", 'quotes around it: "2"'),
    (
        "text for truth",
        "#check_valve = false",
        'check_valve = "no"',
        "check_valve",
        "[lower] check_valve",
        "correct",
    ),
    ("text in a number", 'cover = "18 in"', 'cover = "deep"', "cover", "[trench] cover", "write a number"),
    ("wrong dimension", 'cover = "18 in"', 'cover = "18 gal"', "cover", "[trench] cover", "unit of that kind"),
    ("unknown unit", 'cover = "18 in"', 'cover = "18 furlogs"', "cover", "[trench] cover", "correct the unit"),
    ("truth for a size", 'cover = "18 in"', "cover = true", "cover", "[trench] cover", "write a number"),
    ("list for a size", 'cover = "18 in"', "cover = [18]", "cover", "[trench] cover", "correct"),
    ("date for a size", 'cover = "18 in"', "cover = 2020-01-01", "cover", "[trench] cover", "quotes"),
    ("not a number", 'cover = "18 in"', "cover = nan", "cover", "[trench] cover", "correct the number"),
    (
        "endless number",
        "[560, 1020]",
        "[inf, 1020]",
        "inf,",
        "[route] points, item 1, number 1",
        "correct the number",
    ),
    (
        "huge number",
        "[560, 1020]",
        "[1" + "0" * 400 + ", 1]",
        "[1000",
        "[route] points, item 1, number 1",
        "correct",
    ),
    ("negative size", 'cover = "18 in"', 'cover = "-18 in"', "cover", "[trench] cover", "correct the number"),
    ("no width", '#width = "12 in"', "width = 0", "width = 0", "[trench] width", "correct the number"),
    (
        "fall in percent",
        '#least_fall = "1/8 in/ft"',
        "least_fall = 1",
        "least_fall =",
        "[trench] least_fall",
        '"1 %"',
    ),
    (
        "negative fall",
        '#least_fall = "1/8 in/ft"',
        "least_fall = -0.01",
        "least_fall =",
        "[trench] least_fall",
        "corr",
    ),
    (
        "boiling",
        '#temperature = "50 degF"',
        'temperature = "250 degF"',
        "temperature",
        "[water] temperature",
        "corr",
    ),
    ("elevation with gallons", '"101.5 ft"', '"101.5 gal"', "water_level", "[lower] water_level", "kind"),
    (
        "elevation as table",
        '"101.5 ft"',
        "{number = 101.5}",
        "water_level",
        "[lower] water_level",
        "write a number",
    ),
    (
        "winter word",
        '#winter_level = "empty"',
        'winter_level = "emty"',
        "winter_l",
        "[lower] winter_level",
        '"empty"',
    ),
    (
        "low above normal",
        '#low_level = "100.8 ft"',
        'low_level = "102 ft"',
        "low_level",
        "[lower] low_level",
        "corr",
    ),
    ("one way point", "  [556, 1060],\n  [560, 1100],\n", "", "points =", "[route] points", "add [easting"),
    ("a point twice", "[556, 1060]", "[560,1020]", "[560,1020]", "[route] points, item 2", "remove one"),
    ("three coordinates", "[556, 1060]", "[556, 1060, 3]", "[556", "[route] points, item 2", "correct"),
    ("one coordinate", "[556, 1060]", "[556]", "[556", "[route] points, item 2, number 2", "correct"),
    (
        "coordinate with unit",
        "[556, 1060]",
        '["556 ft", 1060]',
        "556 ft",
        "[route] points, item 2, number 1",
        "alone",
    ),
    ("unlisted size", 'size = "2"', 'size = "2-3/8"', "size =", "[pipe] size", "choose a listed size"),
    ("unlisted kind", '"PVC Schedule 40"', '"PVC Schedul 40"', "kind =", "[pipe] kind", '"PVC Schedule 40"'),
    ("bore alone", '#bore = "2.05 in"', 'bore = "2.05 in"', "bore =", "[pipe] bore", "add outside"),
    ("curve falls in flow", '"40 gal/min"', '"10 gal/min"', '"10 gal', "[pump] curve, item 3", "sort the pairs"),
    ("curve rises in head", '"15 ft"', '"25 ft"', '"25 ft"', "[pump] curve, item 3", "flow, then head"),
    ("curve without shut-off", '["0 gal/min", "24 ft"]', "[1, 24]", "[1, 24]", "[pump] curve, item 1", "flow 0"),
    (
        "curve of wrong kinds",
        '"20 gal/min", "21 ft"',
        '"21 psi", "21 ft"',
        '["21 psi"',
        "[pump] curve, item 2, number 1",
        "kind",
    ),
    ("unknown soil", '#kind = "common earth"', 'kind = "common erth"', "erth", "[soil] kind", '"common earth"'),
    ("unknown truck", '#truck = "tandem dump truck"', 'truck = "lorry"', "lorry", "[soil] truck", "choose one"),
    (
        "unknown fitting",
        "[water]",
        "[water.fittings]\nelbow90 = 2",
        "elbow90",
        "[water.fittings] elbow90",
        '"90 elbow"',
    ),
    (
        "half a fitting",
        "[water]",
        '[water.fittings]\n"90 elbow" = 1.5',
        "= 1.5",
        "[water.fittings] 90 elbow",
        "correct",
    ),
    (
        "less than no fitting",
        "[water]",
        '[water.fittings]\n"90 elbow" = -1',
        "= -1",
        "[water.fittings] 90",
        "correct",
    ),
    (
        "unit word",
        'horizontal_unit = "ft"',
        'horizontal_unit = "feets"',
        "feets",
        "[survey] horizontal_unit",
        "ftUS",
    ),
    ("no survey", "points.csv", "point.csv", "point.csv", "[survey] file", '"survey/points.csv"'),
    ("no price book", "prices.toml", "price.toml", "price.toml", "[price] book", '"prices.toml"'),
    ("drain beyond the end", "#[[drain]]", "[[drain]]\nstation = 81", "= 81", "[[drain]] 1, station", "correct"),
    ("drain before the start", "#[[drain]]", "[[drain]]\nstation = -1", "= -1", "[[drain]] 1, station", "correct"),
    ("drain as one table", "#[[drain]]", "[drain]\nstation = 1", "[drain]", "[drain]", "correct"),
    ("table as list", "[soil]", "[[soil]]", "[[soil]]", "[soil]", "not a list"),
    (
        "valve of no kind",
        "#[[valve]]",
        "[[valve]]\nstation = 9",
        "[[valve]]",
        "[[valve]] 1, kind",
        'kind = "check"',
    ),
    (
        "depth less than cover",
        '#greatest_depth = "5 ft"',
        "greatest_depth = 1",
        "= 1",
        "[trench] greatest_depth",
        "corr",
    ),
]


@pytest.mark.parametrize(
    ("old", "new", "piece", "place", "remedy"), [one[1:] for one in WRONG], ids=[w[0] for w in WRONG]
)
def test_one_mistake_is_told_in_four_parts(
    changed: Change, old: str, new: str, piece: str, place: str, remedy: str
) -> None:
    folder = changed((old, new))
    (told,) = mistakes(folder)
    assert told.where.startswith(f"site.toml line {line_with(folder, piece)}: {place}")
    assert remedy in told.remedy
    assert told.found
    assert told.expected


@pytest.mark.parametrize("table", ["survey", "lower", "upper", "route", "pipe", "trench"])
def test_a_missing_table_is_asked_for(changed: Change, table: str) -> None:
    folder = changed((f"\n[{table}]", "\n[zzz]"))
    told = mistakes(folder)
    assert f"site.toml: [{table}]" in [one.where for one in told]
    assert any(one.remedy == f"add the table [{table}]" for one in told)


@pytest.mark.parametrize(
    ("piece", "place", "remedy"),
    [
        ('title = "Example yard"\n', "site.toml: title", "at the top"),
        ('units = "US"\n', "site.toml: units", 'add units = "US" at the top'),
        ('cover = "18 in"\n', "[trench] cover", 'add cover = "18 in" under [trench]'),
        ('file = "survey/points.csv"\n', "[survey] file", "under [survey]"),
        ('name = "waterfall"\n', "[upper] name", "under [upper]"),
    ],
)
def test_a_missing_key_is_asked_for(changed: Change, piece: str, place: str, remedy: str) -> None:
    (told,) = mistakes(changed((piece, "")))
    assert place in told.where
    assert remedy in told.remedy
    assert told.found == "nothing"


def test_many_mistakes_are_listed_at_once_in_the_order_of_their_lines(changed: Change) -> None:
    folder = changed(
        ('units = "US"', 'units = "metric"'),
        ('water_level = "109.0 ft"', 'water_level = "high"'),
        ("[556, 1060]", '["a", 1060]'),
        ('size = "2"', 'size = "9"'),
        ('"15 ft"', '"25 ft"'),
        ('cover = "18 in"', 'covr = "18 in"\nwidth = "3 psi"\nbedding = -1'),
        ("points.csv", "point.csv"),
        ('#kind = "common earth"', 'kind = "mud"'),
        ("#[[drain]]\n#station = 20", "[[drain]]\nstation = 20\n[[drain]]\nstation = [1]"),
    )
    pieces = [
        "units =",
        '"high"',
        '"a", 1060',
        'size = "9"',
        '"25 ft"',
        "covr",
        "3 psi",
        "bedding = -1",
        "point.csv",
    ]
    pieces += ['"mud"', "station = [1]"]
    told = mistakes(folder)
    assert [int(one.where.split()[2].rstrip(":")) for one in told] == [line_with(folder, piece) for piece in pieces]
    assert isinstance(told[6], UnitsError)


def test_the_summary_names_the_file_and_the_count(changed: Change) -> None:
    folder = changed(('units = "US"', 'units = "metric"'), ('size = "2"', 'size = "9"'))
    with pytest.raises(InputError, match=r"site\.toml\n  found:    2 mistakes"):
        open_site(folder)


@pytest.mark.parametrize(
    ("content", "found"),
    [
        (b"", "an empty file"),
        (b"  \n\n", "an empty file"),
        (b'title = "a\nunits = 1\n', "cannot be understood"),
        (b"[trench\n", "cannot be understood"),
        (b"a = 1\na = 2\n", "already exists"),
        (b"[a]\nb = 1\n[a.b]\nc = 1\n", "already exists"),
        (b'title = "\xe9t\xe9"\n', "byte 10 is not UTF-8 text"),
        ('title = "a"'.encode("utf-16"), "is not UTF-8 text"),
        (b"a = " + b"[" * 3000 + b"]" * 3000, "nested"),
        (b"#" * 5_000_000, "a very large file"),
    ],
)
def test_a_file_that_is_no_site_file(yard: Path, content: bytes, found: str) -> None:
    (yard / "site.toml").write_bytes(content)
    with pytest.raises(InputError) as caught:
        open_site(yard)
    assert found in caught.value.found
    assert caught.value.expected
    assert caught.value.remedy


def test_a_syntax_mistake_names_its_line(yard: Path) -> None:
    (yard / "site.toml").write_text('title = "a"\nunits = "US"\n[trench]\ncover = = 3\n', encoding="utf-8")
    with pytest.raises(InputError, match="line 4"):
        open_site(yard)


def test_a_folder_that_is_no_site(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such folder"):
        open_site(tmp_path / "nothing")
    with pytest.raises(InputError, match=r"no site\.toml"):
        open_site(tmp_path)
    (tmp_path / "file").write_text("a", encoding="utf-8")
    with pytest.raises(InputError, match="a file, not a folder"):
        open_site(tmp_path / "file")
    (tmp_path / "site.toml").mkdir()
    with pytest.raises(InputError, match=r"no site\.toml"):
        open_site(tmp_path)


LIVELY = st.text(alphabet="[]{}=.,\"'#\n\r\t \\-+_eabtrue0129nfTZ:é\x00\ud7ff", max_size=60)


@settings(
    max_examples=300, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(text=LIVELY)
@example(text='"" = 1\n"\\u0007" = 1')
@example(text="a = " + "{b = " * 40 + "1" + "}" * 40)
@example(text=".".join("a" * 400) + " = 1")
@example(text='lower = [1]\nupper = ""\nroute = {points = {a = 1}}\ndrain = [1, {}, [2]]\nwater = {fittings = 1}')
@example(text='survey.file = "\\u0000"\nprice.book = "."\ntrench = 1e999\npipe = 1979-05-27T07:32:00Z')
@example(text="route.points = [[true, false], {a = 1}, 3, [], [[[1]]]]\npump.curve = [[[1, 2]], 1, {}]")
@example(text="units = 9" + "9" * 5000)
def test_no_text_brings_a_foreign_error(yard: Path, text: str) -> None:
    (yard / "site.toml").write_bytes(text.encode("utf-8", "surrogatepass"))
    with pytest.raises(MattockError) as caught:
        open_site(yard)
    assert str(caught.value)


@settings(
    max_examples=150, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(start=st.integers(0, len(TEMPLATE)), length=st.integers(0, 40), put=LIVELY.map(lambda text: text[:8]))
def test_no_damage_to_a_site_file_brings_a_foreign_error(yard: Path, start: int, length: int, put: str) -> None:
    text = TEMPLATE[:start] + put + TEMPLATE[start + length :]
    (yard / "site.toml").write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        open_site(yard)
    except MattockError as error:
        for one in error.others if isinstance(error, InputError) else ():
            assert one.where.startswith("site.toml")
            assert one.found
