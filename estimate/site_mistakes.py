"""What the checker finds wrong in a site file, said in the words of a user."""

from typing import get_origin

from estimate.site_keys import MEANINGS, choices_of, hint_at, hints_of, keys, plain_hint, quantity_of, table_names
from estimate.site_records import Elevation, SiteFile
from estimate.site_text import KeyPath, nearest
from estimate.site_values import Mistakes, shown, value_at


def path_of(location: tuple[str | int, ...]) -> KeyPath:
    """Return the path of keys in a checker's `location`, without the names of union arms.

    >>> path_of(("lower", "winter_level", "Elevation"))
    ('lower', 'winter_level')
    """
    path: KeyPath = ()
    for part in location:
        above = plain_hint(hint_at(path))
        if isinstance(part, str) and (above is Elevation or not (hints_of(above) or get_origin(above) is dict)):
            break
        path += (part,)
    return path


def explain(kind: str, path: KeyPath, written: dict[str, object], mistakes: Mistakes) -> None:
    """Add one mistake that the checker found at `path` in the words of a user."""
    if not path:
        mistakes.add(
            path, "text that cannot be checked", "plain tables and keys", "look for unusual signs in the text"
        )
        return
    value = value_at(written, path)
    names = list(hints_of(plain_hint(hint_at(path[:-1]) if path[:-1] else SiteFile)))
    if kind == "missing" and isinstance(path[-1], str):
        if not any(bad[:-1] == path[:-1] and nearest(str(bad[-1]), names) == path[-1] for bad in mistakes.found):
            mistakes.add(path, "nothing", _meaning(path), _addition(path, written))
    elif kind == "unexpected_keyword_argument":
        key = str(path[-1])
        mistakes.add(path, f"unknown key {shown(key)}", f"one of {', '.join(names)}", _home_of(key, names))
    else:
        words = choices_of(hint_at(path))
        near = nearest(value, words) if isinstance(value, str) else ""
        remedy = f'did you mean "{near}"?' if near else _type_remedy(path, value)
        mistakes.add(path, shown(value) if kind != "missing" else "one number too few", _wanted(path), remedy)


def _meaning(path: KeyPath) -> str:
    record = plain_hint(hint_at(path[:-1]) if path[:-1] else SiteFile)
    return MEANINGS.get(f"{getattr(record, '__name__', '')}.{path[-1]}", "a value")


def _addition(path: KeyPath, written: dict[str, object]) -> str:
    """Return the words that tell a user to add the key or table at `path`."""
    dotted = ".".join(str(part) for part in path if isinstance(part, str))
    if path[-1] in table_names():
        return f"add the table [{dotted}]"
    words = choices_of(hint_at(path))
    example = {
        "units": '"US"',
        "title": '"..."',
        "name": '"..."',
        "file": '"survey/points.csv"',
        "cover": '"18 in"',
    }
    value = example.get(str(path[-1]), f'"{words[0]}"' if words else "...")
    table = ".".join(str(part) for part in path[:-1] if isinstance(part, str))
    return f"add {path[-1]} = {value}" + (f" under [{table}]" if table else " at the top")


def _home_of(key: str, names: list[str]) -> str:
    """Return what to do about the unknown `key`: the nearest of `names`, or the table it belongs to."""
    near = nearest(key, names)
    homes = [one.path.rpartition(".")[0].replace("[]", "") for one in keys() if one.path.rpartition(".")[2] == key]
    move = f"move it under [{homes[0]}]" if homes and homes[0] else "move it to the top, above the first table"
    if near:
        return f'did you mean "{near}"?' + (f" or else {move}" if homes else "")
    return move if homes else "take the line out, or put # before it"


def _wanted(path: KeyPath) -> str:
    """Return in words what kind of value belongs at `path`."""
    hint = hint_at(path)
    plain, words = plain_hint(hint), choices_of(hint)
    if words and plain is not Elevation:
        return "one of " + ", ".join(f'"{word}"' for word in words)
    mark = quantity_of(hint)
    if mark is not None:
        return f"a {mark.kind}" + (
            f'; a bare number has the unit "{mark.us}" in US jobs, "{mark.si}" in SI jobs' if mark.us else ""
        )
    named = {str: "text in quotes", float: "a number", int: "a whole number", bool: "true or false"}
    if isinstance(plain, type) and plain in named:
        return named[plain]
    if hints_of(plain):
        return "a table"
    lists = {
        "drain": "tables, each headed [[drain]]",
        "valve": "tables, each headed [[valve]]",
        "points": "a list of pairs such as [[1.0, 2.0], [3.0, 4.0]]",
        "curve": "a list of pairs such as [[0, 22], [20, 18]]",
        "fittings": "names and whole numbers",
    }
    return lists.get(str(path[-1]), "a pair such as [1.0, 2.0]")


def _type_remedy(path: KeyPath, value: object) -> str:
    """Return what to do about a value of the wrong type at `path`."""
    plain = plain_hint(hint_at(path))
    if plain is str and isinstance(value, (bool, int, float)):
        return f'put quotes around it: "{shown(value)}"'
    if plain in (float, int) and isinstance(value, str):
        return "write the number alone, without quotes or words"
    if hints_of(plain) and not isinstance(value, dict):
        dotted = ".".join(str(part) for part in path if isinstance(part, str))
        many = isinstance(value, list)
        return f"write one table [{dotted}] with its keys below" + (", not a list" if many else "")
    return "correct the value"
