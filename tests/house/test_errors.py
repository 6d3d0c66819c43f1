"""The tree of errors: drawn as it is, each one raised somewhere, and none defined elsewhere."""

import ast
import inspect
import re
from collections.abc import Mapping

from terrain import errors

LIMB = re.compile(r"^(?P<lead>[│ ├└─]*)(?P<name>[A-Z]\w+)(?P<text>.*)$")


def classes() -> dict[str, type[Exception]]:
    """Return every error class by name."""
    found = {
        name: kind for name, kind in inspect.getmembers(errors, inspect.isclass) if issubclass(kind, Exception)
    }
    return {name: kind for name, kind in found.items() if kind.__module__ == errors.__name__}


def drawn() -> dict[str, tuple[str, str]]:
    """Return each name of the drawn tree with the name it hangs from and its words."""
    above: list[tuple[int, str]] = []
    tree: dict[str, tuple[str, str]] = {}
    for line in (errors.__doc__ or "").partition("::")[2].splitlines():
        limb = LIMB.match(line)
        if not limb or not (limb["lead"] or limb["name"] == "MattockError"):
            continue
        depth = len(limb["lead"])
        above = [(deep, name) for deep, name in above if deep < depth]
        tree[limb["name"]] = (above[-1][1] if above else "Exception", limb["text"].strip())
        above.append((depth, limb["name"]))
    return tree


def test_the_drawn_tree_is_the_real_one() -> None:
    real = {name: kind.__bases__[0].__name__ for name, kind in classes().items()}
    assert {name: parent for name, (parent, _) in drawn().items()} == real


def test_each_error_is_told_in_words_with_its_exit_code() -> None:
    for name, (_, text) in drawn().items():
        assert name == "MattockError" or len(text.split()) > 3, name
        told = re.search(r"\(exit (\d+)\)", text)
        assert told is None or int(told[1]) == vars(classes()[name]).get("exit_code", 3), name


def raised(tree: ast.Module) -> set[str]:
    """Return the names of what a module raises or hands back to be raised."""
    calls = (node for node in ast.walk(tree) if isinstance(node, ast.Call))
    return {ast.unparse(call.func).rpartition(".")[2] for call in calls}


def test_each_error_is_raised_somewhere(package_files: Mapping[str, ast.Module]) -> None:
    calls: set[str] = set()
    for name, tree in package_files.items():
        if name != "terrain/errors.py":
            calls |= raised(tree)
    leaves = {name for name in classes() if name != "MattockError"}
    assert leaves - calls == set()


def test_no_error_is_defined_elsewhere(package_files: Mapping[str, ast.Module]) -> None:
    wrong = [
        f"{name}:{node.lineno} {node.name}"
        for name, tree in package_files.items()
        if name != "terrain/errors.py"
        for node in ast.walk(tree)
        if isinstance(node, ast.ClassDef)
        and any(re.search(r"(?:Error|Exception|Cancelled)$", ast.unparse(base)) for base in node.bases)
    ]
    assert wrong == []


def test_nothing_is_swallowed_bare(package_files: Mapping[str, ast.Module]) -> None:
    wrong = [
        f"{name}:{node.lineno}"
        for name, tree in package_files.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.ExceptHandler) and node.type is None
    ]
    assert wrong == []
