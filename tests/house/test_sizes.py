"""How large a room may be: modules to 400 lines, half of them below 250, functions to 40."""

import ast
import statistics
from collections.abc import Mapping
from pathlib import Path

MODULE = 400
MEDIAN = 250
FUNCTION = 40


def test_no_module_is_longer_than_400_lines(root: Path, python_files: Mapping[str, ast.Module]) -> None:
    lengths = {name: len((root / name).read_text("utf-8").splitlines()) for name in python_files}
    assert {name: length for name, length in lengths.items() if length > MODULE} == {}


def test_half_of_the_modules_are_shorter_than_250_lines(
    root: Path, package_files: Mapping[str, ast.Module]
) -> None:
    lengths = [len((root / name).read_text("utf-8").splitlines()) for name in package_files]
    assert statistics.median(length for length in lengths if length > 1) < MEDIAN


def test_no_function_is_longer_than_40_lines(python_files: Mapping[str, ast.Module]) -> None:
    long = {
        f"{name}:{node.lineno} {node.name}": node.end_lineno - node.lineno + 1
        for name, tree in python_files.items()
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
        and node.end_lineno is not None
        and node.end_lineno - node.lineno + 1 > FUNCTION
    }
    assert long == {}


def test_every_module_begins_with_what_it_is_for(python_files: Mapping[str, ast.Module]) -> None:
    without = [name for name, tree in python_files.items() if not (ast.get_docstring(tree) or "").strip()]
    assert without == []


def test_no_two_modules_begin_with_the_same_words(python_files: Mapping[str, ast.Module]) -> None:
    first: dict[str, str] = {}
    same = []
    for name, tree in python_files.items():
        line = (ast.get_docstring(tree) or name).splitlines()[0]
        if line in first:
            same.append(f"{name} and {first[line]}: {line}")
        first[line] = name
    assert same == []
