"""A new site folder: it opens clean, names every key, agrees with the schema, and overwrites nothing."""

import csv
import json
import re
import tomllib
from pathlib import Path
from typing import Literal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from estimate.site import open_site, schema
from estimate.site_keys import hint_at, hints_of, keys
from estimate.site_records import SiteFile
from estimate.site_template import PARTS, new_site, template_text
from estimate.site_text import key_lines
from terrain.errors import InputError, StorageError

Units = Literal["US", "SI"]
SYSTEMS: tuple[Units, Units] = ("US", "SI")


def uncommented(text: str) -> str:
    """Return the template with every optional key in use."""
    return re.sub(r'(?m)^#(?=[a-z\["])', "", text)


@pytest.mark.parametrize("units", SYSTEMS)
def test_a_new_site_opens_clean(tmp_path: Path, units: Units) -> None:
    written = new_site(tmp_path / "new yard é", units)
    assert all(path.is_file() for path in written)
    assert {path.relative_to(tmp_path / "new yard é").as_posix() for path in written} == set(PARTS)
    site = open_site(tmp_path / "new yard é")
    assert site.file.units == units
    assert [path.name for path in tmp_path.iterdir()] == ["new yard é"]


@pytest.mark.parametrize(("units", "foreign"), [("US", ("m", "m2", "m3")), ("SI", ("ft", "ft2", "yd3"))])
def test_the_prices_are_in_the_measures_of_the_units(
    tmp_path: Path, units: Units, foreign: tuple[str, ...]
) -> None:
    new_site(tmp_path, units)
    copied = open_site(tmp_path).book
    text = (tmp_path / "site.toml").read_text(encoding="utf-8")
    (tmp_path / "site.toml").write_text(text.replace('book = "prices.toml"', ""), encoding="utf-8")
    shipped = open_site(tmp_path).book  # where no book is named
    for book in (copied, shipped):
        assert book.example
        assert {rate.unit for rate in book.rates.values()}.isdisjoint(foreign)
    assert copied.rates == shipped.rates


@pytest.mark.parametrize("units", SYSTEMS)
def test_every_size_of_the_template_has_its_unit(tmp_path: Path, units: Units) -> None:
    new_site(tmp_path, units)
    texts = (template_text("site.toml", units), uncommented(template_text("site.toml", units)))
    for text in texts:
        (tmp_path / "site.toml").write_text(text, encoding="utf-8")
        as_said = open_site(tmp_path).file
        other = text.replace(f'units = "{units}"', 'units = "US"' if units == "SI" else 'units = "SI"')
        (tmp_path / "site.toml").write_text(other, encoding="utf-8")
        turned = open_site(tmp_path).file
        assert {name: getattr(as_said, name) for name in hints_of(SiteFile) if name != "units"} == {
            name: getattr(turned, name) for name in hints_of(SiteFile) if name != "units"
        }


@pytest.mark.parametrize("units", SYSTEMS)
def test_every_key_stands_in_the_template_and_leaves_nothing_to_default(tmp_path: Path, units: Units) -> None:
    new_site(tmp_path, units)
    text = uncommented(template_text("site.toml", units))
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    left = {path for path in open_site(tmp_path).defaults if not path.endswith(("_wall.rise", "_wall.slope"))}
    assert left == set()
    named = {".".join(str(part) for part in path if isinstance(part, str)) for path in key_lines(text)}
    assert {key.path.replace("[]", "") for key in keys()} <= named


@pytest.mark.parametrize("units", SYSTEMS)
def test_what_the_template_shows_as_default_is_the_default(tmp_path: Path, units: Units) -> None:
    new_site(tmp_path, units)
    shipped = open_site(tmp_path)
    text = uncommented(template_text("site.toml", units))
    (tmp_path / "site.toml").write_text(text, encoding="utf-8")
    used = open_site(tmp_path)
    above = {name: comment for comment, name in re.findall(r"(?m)^# (.*)\n(\w+) =", text)}
    for path in shipped.defaults:
        default, value = (at(site.file, path.split(".")) for site in (shipped, used))
        name = path.rpartition(".")[2]
        if default not in (None, "", (), {}) and "Left out" not in above.get(name, ""):
            assert value == (pytest.approx(default, abs=1e-9) if isinstance(default, float) else default), path


def at(record: object, names: list[str]) -> object:
    """Return the value at the names below a record."""
    for name in names:
        record = getattr(record, name)
    return record


@pytest.mark.parametrize("units", SYSTEMS)
def test_the_example_survey_holds_the_route(tmp_path: Path, units: Units) -> None:
    new_site(tmp_path, units)
    rows = list(csv.DictReader((tmp_path / "survey" / "points.csv").read_text(encoding="utf-8").splitlines()))
    assert list(rows[0]) == ["point", "northing", "easting", "elevation", "description"]
    assert all("EXAMPLE" in row["description"] for row in rows)
    corners = [(float(row["easting"]), float(row["northing"])) for row in rows]
    for point in open_site(tmp_path).file.route.points:
        turns = [
            (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0])
            for a, b in zip(corners, corners[1:] + corners[:1], strict=True)
        ]
        assert min(turns) > 0.0  # left of every side: inside the triangle


def test_the_booking_form_fits_one_page() -> None:
    for units in SYSTEMS:
        lines = template_text("booking_form.txt", units).splitlines()
        assert len(lines) <= 60
        assert max(map(len, lines)) <= 80
        assert "<<" not in "".join(lines)


def test_the_booking_form_carries_the_cautions() -> None:
    form = template_text("booking_form.txt", "US").casefold()
    for word in (
        "located before any digging",
        "competent person",
        "spoil",
        "footings",
        "electrical",
        "compressed air",
    ):
        assert word in form
    for word in ("backsight", "benchmark", "winter", "locate ticket", "tapes"):
        assert word in form
    assert " safe" not in form


@pytest.mark.parametrize("name", ["site.toml", "anything.txt", "survey/old.csv"])
def test_nothing_is_overwritten(tmp_path: Path, name: str) -> None:
    (tmp_path / name).parent.mkdir(exist_ok=True)
    (tmp_path / name).write_text("mine", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        new_site(tmp_path)
    assert name.split("/")[0] in caught.value.found
    assert [path for path in tmp_path.rglob("*") if path.is_file()] == [tmp_path / name]
    assert (tmp_path / name).read_text(encoding="utf-8") == "mine"


def test_an_empty_folder_is_filled_and_a_file_refused(tmp_path: Path) -> None:
    (tmp_path / "empty").mkdir()
    before = (tmp_path / "empty").stat().st_ino
    new_site(tmp_path / "empty")
    assert (tmp_path / "empty").stat().st_ino == before  # whoever stands in it still does
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    with pytest.raises(InputError):
        new_site(tmp_path / "file")


@pytest.mark.parametrize("there", [True, False])
def test_a_disk_that_fails_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, there: bool) -> None:
    def broken(path: Path, text: str) -> None:
        if path.name == "prices.toml":
            raise StorageError(str(path), "disk full")
        path.write_text(text, encoding="utf-8")

    monkeypatch.setattr("estimate.site_template.write_text", broken)
    if there:
        (tmp_path / "yard").mkdir()
    with pytest.raises(StorageError):
        new_site(tmp_path / "yard")
    assert [path for path in tmp_path.rglob("*") if path.name != "yard"] == []


def test_the_schema_describes_every_key_with_its_bare_unit() -> None:
    whole = schema()
    assert whole["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    text = json.dumps(whole)
    assert '"title"' in text
    for key in keys():
        entry = entry_at(whole, key.path)
        assert isinstance(entry["description"], str)
        assert key.meaning in entry["description"]
        if key.us and key.us != "survey unit":
            assert key.us in entry["description"]
            assert key.si in entry["description"]
        assert "default" not in entry  # an SI default beside a bare unit would mislead


def entry_at(whole: dict[str, object], path: str) -> dict[str, object]:
    """Return the schema of the key at a dotted path."""
    entry = whole
    for part in path.replace("[]", "").split("."):
        properties = followed(whole, entry)["properties"]
        assert isinstance(properties, dict)
        entry = properties[part]
    return entry


def followed(whole: dict[str, object], entry: dict[str, object]) -> dict[str, object]:
    """Return what an entry or its items refer to."""
    inner = entry.get("items", entry)
    assert isinstance(inner, dict)
    definitions = whole["$defs"]
    assert isinstance(definitions, dict)
    if "$ref" in inner:
        found = definitions[str(inner["$ref"]).rpartition("/")[2]]
        assert isinstance(found, dict)
        return found
    return inner


def obeys(whole: dict[str, object], entry: dict[str, object], value: object) -> bool:
    """Return whether `value` obeys `entry`: the few words of JSON Schema that ours uses, written a second time."""
    if "$ref" in entry:
        return obeys(whole, followed(whole, {"$ref": entry["$ref"]}), value)
    if "anyOf" in entry:
        arms = entry["anyOf"]
        assert isinstance(arms, list)
        return any(obeys(whole, arm, value) for arm in arms)
    if "enum" in entry or "const" in entry:
        return value in (entry.get("enum") or [entry["const"]])  # type: ignore[operator]  # a list in our schema
    kind = entry["type"]
    if kind == "object":
        names, needed, more = entry.get("properties", {}), entry.get("required", []), entry["additionalProperties"]
        assert isinstance(names, dict)
        assert isinstance(needed, list)
        return (
            isinstance(value, dict)
            and all(one in value for one in needed)
            and all(
                obeys(whole, names[key], item)
                if key in names
                else isinstance(more, dict) and obeys(whole, more, item)
                for key, item in value.items()
            )
        )
    if kind == "array":
        first = entry.get("prefixItems")
        each = entry.get("items")
        if not isinstance(value, list):
            return False
        if isinstance(first, list):
            return len(value) == len(first) and all(map(lambda one, item: obeys(whole, one, item), first, value))
        return isinstance(each, dict) and all(obeys(whole, each, item) for item in value)
    types = {"string": (str,), "number": (int, float), "integer": (int,), "boolean": (bool,)}[str(kind)]
    return isinstance(value, types) and (kind == "boolean" or not isinstance(value, bool))


@pytest.mark.parametrize("units", SYSTEMS)
def test_the_template_obeys_the_schema(units: Units) -> None:
    whole = schema()
    for text in (template_text("site.toml", units), uncommented(template_text("site.toml", units))):
        tree = tomllib.loads(text)
        assert obeys(whole, whole, tree)
        assert not obeys(whole, whole, {**tree, "surplus": 1})
        assert not obeys(whole, whole, {key: value for key, value in tree.items() if key != "trench"})
        assert not obeys(whole, whole, {**tree, "units": "USA"})


KEY = st.one_of(
    st.text(alphabet="abc-_1", min_size=1, max_size=4), st.text(alphabet='a."\\ é\t#=', max_size=4).map(json.dumps)
)
SIMPLE = st.sampled_from(
    ["1", '"a # [b]"', "'c = {'", "true", '"""x\n] y"""', "'''\n\n'''", "1979-05-27T07:32:00Z"]
)
VALUE = st.recursive(
    SIMPLE,
    lambda inner: st.lists(inner, max_size=3).map(lambda items: "[ # one\n" + ",\n ".join(items) + "]"),
    max_leaves=5,
)


@settings(max_examples=150, deadline=None, derandomize=True)
@given(st.lists(st.tuples(KEY, VALUE), max_size=6, unique_by=lambda pair: pair[0].strip('"')))
def test_key_lines_agree_with_a_count_by_hand(pairs: list[tuple[str, str]]) -> None:
    text, expected = "# start\n", {}
    for index, (key, value) in enumerate(pairs):
        text += f"\n[[part]] # {index}\n"
        expected[json.loads(key) if key.startswith('"') else key, index] = text.count("\n") + 1
        text += f" {key} = {value} # end\n"
    tree = tomllib.loads(text)
    lines = key_lines(text)
    for (name, index), line in expected.items():
        assert name in tree["part"][index]
        assert lines["part", index, name] == line


def test_paths_lead_to_types() -> None:
    assert hint_at(("route", "points", 3, 1)) is float
    assert hint_at(("nothing",)) is None
    assert hint_at(("water", "fittings", "90 elbow")) is int
