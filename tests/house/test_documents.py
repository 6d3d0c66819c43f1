"""What the documents say is so: the two commands, the map, every command, option, key and public module."""

import dataclasses
import difflib
import re
import subprocess
import sys
import typing
from collections.abc import Iterator
from pathlib import Path

from estimate import site_records

FIRST = "python3 -m venv .venv && .venv/bin/python -m pip install -e . && .venv/bin/mattock demo demo-yard"
SECOND = 'python3 -m venv .venv && .venv/bin/python -m pip install -e ".[test]" && .venv/bin/pytest'
CAUTIONS = [
    "811",
    "cave",
    "undermin",
    "electric",
    "compressed air",
    "lifting",
    "local code",
    "licensed",
    "planning",
]
WORDS = ["station", "invert", "cover", "fall", "bedding", "bank", "loose", "compacted", "static lift", "spoil"]
FENCE = re.compile(r"^```(\w*)\n(.*?)^```", re.MULTILINE | re.DOTALL)


def page(root: Path, name: str) -> str:
    """Return the text of a document."""
    return (root / name).read_text("utf-8")


def fences(text: str, language: str) -> list[str]:
    """Return the fenced blocks of a language."""
    return [body for found, body in FENCE.findall(text) if found == language]


def test_the_readme_holds_the_two_commands_each_as_one_line(root: Path) -> None:
    lines = [line for body in fences(page(root, "README.md"), "sh") for line in body.splitlines()]
    assert [line for line in lines if line.startswith("python3 -m venv")] == [FIRST, SECOND]


def test_the_readme_begins_with_the_job(root: Path) -> None:
    paragraphs = page(root, "README.md").split("\n\n")
    assert paragraphs[0].startswith("# ")
    for word in ("pond", "stream", "waterfall", "winter", "survey", "trench", "pipe", "price"):
        assert word in paragraphs[1].lower(), word


def test_the_readme_carries_the_cautions(root: Path) -> None:
    text = page(root, "README.md").lower()
    for word in (
        "811",
        "cave",
        "undermin",
        "electric",
        "compressed air",
        "lifting",
        "local code",
        "licensed",
        "planning",
    ):
        assert word in text, word


def test_every_link_to_a_file_leads_somewhere(root: Path, tracked: list[Path]) -> None:
    wrong = []
    for path in (path for path in tracked if path.suffix == ".md"):
        for target in re.findall(r"\]\(([^)#\s]+)", page(root, str(path))):
            if "://" not in target and not (root / path.parent / target).exists():
                wrong.append(f"{path}: {target}")
    assert wrong == []


def test_the_map_of_the_house_is_the_house(root: Path) -> None:
    script = str(root / "tests" / "house" / "imports.py")
    command = [sys.executable, script, "--map"]
    real = subprocess.run(command, capture_output=True, check=True, text=True, encoding="utf-8").stdout
    (drawn,) = fences(page(root, "DEVELOPERS.md"), "house")
    found = difflib.unified_diff(drawn.splitlines(), real.splitlines(), "drawn", "real", lineterm="")
    changes = "\n".join(found)
    assert not changes, f"write it anew: python tests/house/pages.py --write\n{changes}"


def help_of(*names: str) -> str:
    """Return what a command's own help says."""
    command = [sys.executable, "-P", "-c", "import sys; from viewer.command import main; sys.exit(main())"]
    return subprocess.run(
        [*command, *names, "--help"], capture_output=True, check=True, text=True, encoding="utf-8"
    ).stdout


def command_names() -> list[str]:
    """Return the commands which the program's help lists."""
    return re.findall(r"^  ([a-z][\w-]*)\s", help_of().partition("Commands:")[2], re.MULTILINE)


def test_every_command_is_documented_with_its_options(root: Path) -> None:
    text = page(root, "docs/commands.md")
    names = command_names()
    assert {"demo", "estimate", "new", "check"} <= set(names)
    wrong = [name for name in names if f"## mattock {name}" not in text]
    for name in names:
        section = text.partition(f"## mattock {name}\n")[2].partition("\n## ")[0]
        options = set(re.findall(r"--[a-z][\w-]*", help_of(name))) - {"--help"}
        wrong += [f"{name} {option}" for option in sorted(options) if option not in section]
    assert wrong == []


def test_every_command_has_a_sentence_of_help() -> None:
    for name in command_names():
        assert re.search(r"\n\s+[A-Z][^\n]+", help_of(name)), name


def records_in(type_: object) -> Iterator[type]:
    """Yield the records that a field's type holds, whatever wraps them."""
    if dataclasses.is_dataclass(type_) and isinstance(type_, type):
        yield type_
    for inner in typing.get_args(type_):
        yield from records_in(inner)


def keys_of(record: type, seen: frozenset[type] = frozenset()) -> Iterator[tuple[str, str]]:
    """Yield the record's name and each of its keys, then those of the records below it."""
    for name, type_ in typing.get_type_hints(record).items():
        yield record.__name__, name
        for below in records_in(type_):
            if below is not site_records.Elevation and below not in seen:
                yield from keys_of(below, seen | {record})


def test_every_key_of_the_site_file_is_documented(root: Path) -> None:
    told = set(
        re.findall(r"^\| `(?:[\w.\[\]]+\.)?(\w+)(?:\[\])?` \|", page(root, "docs/site-file.md"), re.MULTILINE)
    )
    keys = sorted(set(keys_of(site_records.SiteFile)))
    assert len(keys) > 50
    assert [f"{record}.{key}" for record, key in keys if key not in told] == []
    assert told - {key for _, key in keys} == set()


def test_the_page_of_the_site_file_is_made_from_its_records(root: Path) -> None:
    script = str(root / "tests" / "house" / "pages.py")
    made = subprocess.run(
        [sys.executable, script, "--site"], capture_output=True, check=True, encoding="utf-8"
    ).stdout
    assert page(root, "docs/site-file.md") == made, "write it anew: python tests/house/pages.py --write"


def test_the_changelog_tells_this_version(root: Path) -> None:
    (version,) = re.findall(r'^version = "(.+)"$', page(root, "pyproject.toml"), re.MULTILINE)
    assert f"## [{version}]" in page(root, "CHANGELOG.md")


def test_the_vocabulary_is_written_down(root: Path) -> None:
    text = page(root, "DEVELOPERS.md").lower()
    for word in (
        "station",
        "invert",
        "cover",
        "fall",
        "bedding",
        "bank",
        "loose",
        "compacted",
        "static lift",
        "spoil",
    ):
        assert f"**{word}" in text, word
    for way in ("add a reader", "add a pipe", "add a document", "run the checks"):
        assert way in text, way
