"""Estimate to and from the text of `estimate.json`: names as in the record, SI, NaN written as null."""

import dataclasses
import json
import math
import re
from collections.abc import Mapping
from typing import TypeVar, get_args, get_origin, get_type_hints

import numpy as np

from estimate.record import Estimate
from terrain.errors import InputError

Record = TypeVar("Record")

NUMBERS = re.compile(r"\[\s+((?:[-+.\deE]+|null)(?:,\s+(?:[-+.\deE]+|null))*)\s+\]")
"""A list of numbers over several lines; a line break inside a JSON text is escaped, so no text matches."""

FORMAT = 1
"""The number of the file format; it grows when a name changes its meaning or goes."""


def to_json(estimate: Estimate) -> str:
    """Return the text of `estimate.json`, the same bytes for the same estimate."""
    tree = {"format": FORMAT, **_record(estimate)}
    text = json.dumps(tree, indent=2, ensure_ascii=False, allow_nan=False)
    return NUMBERS.sub(lambda found: "[" + " ".join(found[1].split()) + "]", text) + "\n"


def from_json(text: str, where: str = "estimate.json") -> Estimate:
    """Return the estimate whose text this is.

    Raises:
        InputError: the text is not JSON, is of another format, or lacks a name.
    """
    remedy = "run `mattock estimate` again"
    try:
        tree = json.loads(text)
        if not isinstance(tree, dict) or tree.pop("format", None) != FORMAT:
            raise InputError(where, "a file of another kind or format", f"format {FORMAT}", remedy)
        return _build(tree, Estimate)
    except (ValueError, KeyError, TypeError) as error:
        raise InputError(where, f"{type(error).__name__}: {error}", "an estimate", remedy) from error


def _record(value: object) -> dict[str, object]:
    names = [one.name for one in dataclasses.fields(value)]  # type: ignore[arg-type]  # only records come here
    return {name: _plain(getattr(value, name)) for name in names}


def _plain(value: object) -> object:
    """Return the value as JSON knows it: mappings, lists, text, numbers, null for what is not a number."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return _record(value)
    if isinstance(value, np.ndarray):
        return _plain(value.tolist())
    if isinstance(value, Mapping):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    if isinstance(value, float | np.floating):
        return None if not math.isfinite(value) else float(value)
    if isinstance(value, np.integer):
        return int(value)
    return value


def _build(tree: Mapping[str, object], kind: type[Record]) -> Record:
    hints = get_type_hints(kind)
    names = [one.name for one in dataclasses.fields(kind)]  # type: ignore[arg-type]  # only records come here
    return kind(**{name: _typed(tree[name], hints[name]) for name in names})


def _typed(value: object, kind: object) -> object:
    """Return a JSON value as the record's field wants it; null becomes NaN where a number is meant."""
    origin = get_origin(kind)
    if kind is float:
        return math.nan if value is None else float(value)  # type: ignore[arg-type]  # a wrong type raises TypeError
    if origin is np.ndarray:
        return np.array(value, dtype=np.float64)
    if origin is tuple and isinstance(value, list):
        inner = get_args(kind)
        kinds = (inner[0],) * len(value) if inner[-1] is Ellipsis else inner
        return tuple(_typed(one, its) for one, its in zip(value, kinds, strict=True))
    if isinstance(value, dict):
        return _build(value, kind) if isinstance(kind, type) and dataclasses.is_dataclass(kind) else dict(value)
    return value
