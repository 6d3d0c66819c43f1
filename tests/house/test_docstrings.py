"""Every public name says what it is; arrays say their shape and unit, floats their unit."""

import ast
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

SHAPE = re.compile(r"\(\s*(?:[\w*+\-]+|\d+\s*\|\s*\d+)(?:\s*,\s*[\w*+\-|]*)+\s*\)")
"""A shape such as (n,), (n, 2), (m, 3) or (k, 2|3)."""

UNIT_WORDS = (
    r"metres?|feet|foot|inch(?:es)?|millimetres?|seconds?|litres?|gallons?|degrees?|radians?|pascals?|percent|psi",
    r"units?|unitless|dimensionless|ratio|fraction|share|count|counts|ind(?:ex|ices)|flags?|currency",
    r"m|m2|m3|m/m|m/s|m3/s|ft|Pa|kPa|lb|kg",
)
UNIT = re.compile(r"\[[^\]\n]+\]|(?<![\w.])(?:" + "|".join(UNIT_WORDS) + r")(?!\w)")
"""A unit in brackets, or a word which names one."""

UNIT_ENDING = re.compile(r"_(?:m|m2|m3|mps|lps|l|pa|deg|k|c|f|sum|total|kg|lb|per_\w+)$")
"""A field's name which itself ends in its unit."""

ARRAY = re.compile(r"\b(?:\w*Array|NDArray|ndarray)\b")
FLOAT = re.compile(r"\bfloat\b")
BARE_ARRAY = re.compile(r"\b(?:Bool|Index|Int)\w*Array\b|NDArray\[np\.(?:bool|u?int)\w*\]")
"""Arrays of flags and indices: a shape, but no unit."""

TYPE_MAKERS = {"TypeVar", "ParamSpec", "NewType", "TypeAliasType"}

Function = ast.FunctionDef | ast.AsyncFunctionDef


@dataclass(frozen=True, slots=True)
class Public:
    """One public name: where it stands, its docstring, and the node that defines it."""

    where: str
    text: str
    node: ast.stmt


def is_public(name: str) -> bool:
    """Return whether a name is meant for others."""
    return not name.startswith("_")


def assigned(node: ast.stmt) -> list[str]:
    """Return the public names which a top-level assignment gives."""
    targets = (
        node.targets if isinstance(node, ast.Assign) else [node.target] if isinstance(node, ast.AnnAssign) else []
    )
    value = node.value if isinstance(node, ast.Assign | ast.AnnAssign) else None
    if isinstance(value, ast.Call) and ast.unparse(value.func).rpartition(".")[2] in TYPE_MAKERS:
        return []
    return [target.id for target in targets if isinstance(target, ast.Name) and is_public(target.id)]


def text_after(body: list[ast.stmt], position: int) -> str:
    """Return the string that stands as documentation below a constant."""
    below = body[position + 1] if position + 1 < len(body) else None
    if isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant) and isinstance(below.value.value, str):
        return below.value.value
    return ""


def public_names(name: str, tree: ast.Module) -> Iterator[Public]:
    """Yield every public constant, function, class and method of a module."""
    for position, node in enumerate(tree.body):
        for constant in assigned(node):
            yield Public(f"{name}:{node.lineno} {constant}", text_after(tree.body, position), node)
        if isinstance(node, Function | ast.ClassDef) and is_public(node.name):
            yield Public(f"{name}:{node.lineno} {node.name}", ast.get_docstring(node) or "", node)
        if isinstance(node, ast.ClassDef) and is_public(node.name):
            for part in node.body:
                if isinstance(part, Function) and is_public(part.name):
                    place = f"{name}:{part.lineno} {node.name}.{part.name}"
                    yield Public(place, ast.get_docstring(part) or "", part)


def everything(files: Mapping[str, ast.Module]) -> list[Public]:
    """Return the public names of all modules."""
    return [public for name, tree in files.items() for public in public_names(name, tree)]


def measured(files: Mapping[str, ast.Module]) -> list[Public]:
    """Return the public names that shapes and units are asked of: a command's words are for who types it."""
    return [public for public in everything(files) if not is_command(public.node)]


def is_command(node: ast.stmt) -> bool:
    """Return whether a function is a command, whose options have their own help."""
    marks = node.decorator_list if isinstance(node, Function) else []
    return any(re.search(r"\.(?:command|group|argument|option)\b", ast.unparse(mark)) for mark in marks)


def parameters(node: Function) -> dict[str, str]:
    """Return the annotated parameters of a function and their types as text."""
    every = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
    return {item.arg: ast.unparse(item.annotation) for item in every if item.annotation}


def types_of(node: Function) -> dict[str, str]:
    """Return the types of parameters and of what is returned."""
    return parameters(node) | ({"return": ast.unparse(node.returns)} if node.returns else {})


def fields(node: ast.ClassDef) -> dict[str, str]:
    """Return the annotated fields of a record and their types as text."""
    lines = [part for part in node.body if isinstance(part, ast.AnnAssign) and isinstance(part.target, ast.Name)]
    return {ast.unparse(part.target): ast.unparse(part.annotation) for part in lines}


def unnamed(public: Public, kind: re.Pattern[str]) -> list[str]:
    """Return the parameters of a kind which the docstring does not mention by name."""
    if not isinstance(public.node, Function):
        return []
    wanted = [name for name, type_ in parameters(public.node).items() if kind.search(type_)]
    wanted = [name for name in wanted if kind is ARRAY or not UNIT_ENDING.search(name)]
    if any("kernel" in ast.unparse(item) for item in public.node.decorator_list):
        wanted = [name for name in wanted if len(name) > 2]  # ax, ay and their like
    return [name for name in wanted if not re.search(rf"(?<!\w){re.escape(name)}(?!\w)", public.text)]


def test_every_public_name_has_a_docstring(package_files: Mapping[str, ast.Module]) -> None:
    assert [public.where for public in everything(package_files) if not public.text.strip()] == []


def test_a_docstring_begins_with_one_sentence(package_files: Mapping[str, ast.Module]) -> None:
    wrong = []
    for public in everything(package_files):
        first = public.text.strip().split("\n\n")[0].strip()
        if public.text.strip() and not re.search(r"[.:!?;)]$|\.\s", first):
            wrong.append(f"{public.where}: {first.splitlines()[0]}")
    assert wrong == []


def arrays_without_shape(public: Public) -> bool:
    """Return whether a public function or record has arrays and tells no shape."""
    if isinstance(public.node, Function):
        types = types_of(public.node)
    elif isinstance(public.node, ast.ClassDef):
        types = fields(public.node)
    else:
        return False
    return any(ARRAY.search(type_) for type_ in types.values()) and not SHAPE.search(public.text)


def test_arrays_say_their_shape(package_files: Mapping[str, ast.Module]) -> None:
    assert [public.where for public in measured(package_files) if arrays_without_shape(public)] == []


def numbers_without_unit(public: Public) -> bool:
    """Return whether a public function or record has floats or arrays of them and names no unit."""
    if isinstance(public.node, Function):
        types = types_of(public.node)
    elif isinstance(public.node, ast.ClassDef):
        types = {name: type_ for name, type_ in fields(public.node).items() if not UNIT_ENDING.search(name)}
    else:
        return False
    floats = [t for t in types.values() if FLOAT.search(t) or (ARRAY.search(t) and not BARE_ARRAY.search(t))]
    return bool(floats) and not UNIT.search(SHAPE.sub("", public.text))


def test_floats_and_arrays_say_their_unit(package_files: Mapping[str, ast.Module]) -> None:
    assert [public.where for public in measured(package_files) if numbers_without_unit(public)] == []


def test_array_parameters_are_named_in_the_docstring(package_files: Mapping[str, ast.Module]) -> None:
    found = {public.where: unnamed(public, ARRAY) for public in measured(package_files)}
    assert {where: names for where, names in found.items() if names} == {}


def test_float_parameters_are_named_in_the_docstring(package_files: Mapping[str, ast.Module]) -> None:
    found = {public.where: unnamed(public, FLOAT) for public in measured(package_files)}
    assert {where: names for where, names in found.items() if names} == {}


POOR = '''
def deep(ground: FloatArray, cover: float) -> float:
    """Return how deep it is."""
'''
GOOD = '''
def deep(ground: FloatArray, cover: float) -> float:
    """Return the depth [m] below `ground`, an (n, 3) array [m], for a `cover` [m]."""
'''


def only(source: str) -> Public:
    """Return the one public name of a module's text."""
    return next(public_names("example", ast.parse(source)))


def test_the_rules_tell_poor_from_good() -> None:
    assert arrays_without_shape(only(POOR))
    assert numbers_without_unit(only(POOR))
    assert unnamed(only(POOR), ARRAY) == ["ground"]
    assert unnamed(only(POOR), FLOAT) == ["cover"]
    assert not arrays_without_shape(only(GOOD))
    assert not numbers_without_unit(only(GOOD))
    assert unnamed(only(GOOD), ARRAY) == unnamed(only(GOOD), FLOAT) == []
