"""The words of the trade, one meaning each; and the words and places that belong nowhere in the tree."""

import ast
import re
from collections.abc import Iterator, Mapping
from pathlib import Path

AXES = {"x", "y", "z"}

EMPTY_WORDS = {"utils", "util", "manager", "data", "info", "helper", "helpers", "misc", "common", "stuff"}

TEXT_ENDINGS = {".py", ".md", ".toml", ".csv", ".txt", ".cfg", ".json", ".yml", ".yaml", ".js", ".css", ".html", ""}

NOWHERE = [
    ("a place on one machine", r"(?<![\w.])/(?:wo" + r"rk|ro" + r"ot|home|Users|opt)/"),
    ("a place on one machine", r"(?<![\w.])/tm" + r"p/\w"),
    ("a registry's host", r"py" + r"pi\.org|python" + r"hosted|registry\.npm" + r"js|deb\.deb" + r"ian\.org"),
    ("how the work was done", r"(?i)\bses" + r"sions?\b|\btrans" + r"cripts?\b|\bsub" + r"agents?\b"),
    ("how the work was done", r"(?i)\banth" + r"ropic\b|\bclau" + r"de\b|\blanguage mo" + r"dels?\b|\bllms?\b"),
    (
        "a paper outside the tree",
        r"\b(?:DES" + r"IGN|ST" + r"YLE|RU" + r"LES|CONT" + r"RACTS)\.md|checks\." + r"md",
    ),
    ("a paper outside the tree", r"\bshared/" + r"(?:data|hooks)|\.\./sha" + r"red"),
]
"""What no file may say: what it would be, and the pattern that finds it."""

ALLOWED = re.compile(r'scope="session"')
"""Pytest's own word for one run of the tests."""


def words(name: str) -> set[str]:
    """Return the lower-case words of a name in snake or camel case."""
    return {part.lower() for part in re.findall(r"[A-Z]?[a-z0-9]+|[A-Z]+(?![a-z])", name)}


def defined(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Yield the line and name of every class and function of a module."""
    for node in ast.walk(tree):
        if isinstance(node, ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef):
            yield node.lineno, node.name


def in_kernel(tree: ast.Module) -> set[ast.AST]:
    """Return all nodes inside functions that are compiled, where plain coordinates are meant."""
    compiled = [
        node
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef) and any("kernel" in ast.unparse(item) for item in node.decorator_list)
    ]
    return {inner for node in compiled for inner in ast.walk(node)}


def axis_names(tree: ast.Module) -> Iterator[tuple[int, str]]:
    """Yield where x, y or z is a parameter, a variable or an attribute of our own."""
    spared = in_kernel(tree)
    for node in ast.walk(tree):
        if node in spared:
            continue
        if isinstance(node, ast.arg) and node.arg in AXES:
            yield node.lineno, node.arg
        elif isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store) and node.id in AXES:
            yield node.lineno, node.id
        elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store) and node.attr in AXES:
            yield node.lineno, node.attr


def test_no_axis_letters_as_names(python_files: Mapping[str, ast.Module]) -> None:
    trees = {name: tree for name, tree in python_files.items() if not name.startswith("tests")}
    wrong = [f"{name}:{line} {axis}" for name, tree in trees.items() for line, axis in axis_names(tree)]
    assert wrong == []


def test_no_empty_words_as_names(python_files: Mapping[str, ast.Module]) -> None:
    names = [(name, 1, part) for name in python_files for part in Path(name).with_suffix("").parts]
    names += [(name, line, word) for name, tree in python_files.items() for line, word in defined(tree)]
    assert sorted({f"{name}:{line} {word}" for name, line, word in names if words(word) & EMPTY_WORDS}) == []


def texts(root: Path, tracked: list[Path]) -> Iterator[tuple[Path, int, str]]:
    """Yield path, number and text of every line of every text file of the tree."""
    for path in tracked:
        if path.suffix.lower() in TEXT_ENDINGS:
            for number, line in enumerate((root / path).read_text("utf-8").splitlines(), 1):
                yield path, number, ALLOWED.sub("", line)


def test_nothing_says_what_belongs_nowhere(root: Path, tracked: list[Path]) -> None:
    wrong = [
        f"{path}:{number} {what}: {found.group(0)}"
        for path, number, line in texts(root, tracked)
        for what, pattern in NOWHERE
        for found in re.finditer(pattern, line)
    ]
    assert wrong == []


def test_published_checks_name_no_web_page(root: Path, tracked: list[Path]) -> None:
    wrong = [
        f"{path}:{number}"
        for path, number, line in texts(root, tracked)
        if path.parts[:2] == ("tests", "published") and re.search(r"https?:|www\.", line)
    ]
    assert wrong == []


def test_no_document_calls_a_trench_safe(root: Path, tracked: list[Path]) -> None:
    promise = re.compile(
        r"(?i)\b(?:trench|pit|dig|wall)(?:es|s)? (?:is|are|will be|stays?) safe\b|\bsafe to enter\b"
    )
    wrong = [f"{path}:{number}" for path, number, line in texts(root, tracked) if promise.search(line)]
    assert [place for place in wrong if not place.startswith("tests/")] == []


def test_the_rules_can_fail() -> None:
    tree = ast.parse("def move_data(x: int) -> None:\n    thing.y = x\n    z = 1")
    assert sorted(axis for _, axis in axis_names(tree)) == ["x", "y", "z"]
    assert words("move_data") & EMPTY_WORDS
    assert words("PointManager") & EMPTY_WORDS
    assert not words("metadata") & EMPTY_WORDS
    assert re.search(NOWHERE[0][1], "see /wo" + "rk/main")
