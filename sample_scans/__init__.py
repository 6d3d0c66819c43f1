"""Small sites, real and invented, each with its origin, licence and expected answer in `ORIGIN.md`."""

from pathlib import Path

HERE = Path(__file__).resolve().parent
"""The folder in which the sites stand."""


def names() -> tuple[str, ...]:
    """Return the names of the shipped sites in order.

    >>> names()
    ('juniper-court', 'steep-yard')
    """
    return tuple(sorted(path.parent.name for path in HERE.glob("*/site.toml")))


def folder(name: str) -> Path:
    """Return the folder of the site called `name`.

    Raises:
        KeyError: no shipped site has this name.

    >>> folder("steep-yard").name
    'steep-yard'
    """
    if name not in names():
        raise KeyError(name)
    return HERE / name
