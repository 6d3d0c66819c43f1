"""Guards against running code that stands in a site folder, and against a mixed installation."""

import importlib.util
import os
import sys
from pathlib import Path

from terrain.errors import StorageError

PACKAGES = ("terrain", "estimate", "viewer")
"""The packages that must come from one place."""


def home() -> Path:
    """Return the folder that holds the packages of this program."""
    return Path(__file__).resolve().parents[1]


def forget_current_folder() -> None:
    """Take the current folder off the places where modules are found, unless this program itself stands there.

    A file named numpy.py in a site folder must never run, in child processes neither.
    """
    here = os.path.realpath(os.curdir)
    if here != str(home()):
        sys.path[:] = [place for place in sys.path if _elsewhere(place, here)]
        given = os.environ.get("PYTHONPATH", "").split(os.pathsep)
        os.environ["PYTHONPATH"] = os.pathsep.join(place for place in given if _elsewhere(place, here))
    os.environ["PYTHONSAFEPATH"] = "1"


def _elsewhere(place: str, here: str) -> bool:
    return bool(place) and os.path.realpath(place) != here


def one_place() -> None:
    """Check that all packages of this program come from one folder.

    Raises:
        StorageError: one of them is missing or comes from elsewhere.
    """
    for package in PACKAGES:
        found = importlib.util.find_spec(package)
        origin = Path(found.origin).resolve().parents[1] if found is not None and found.origin else None
        if origin != home():
            raise StorageError(
                f"installation of mattock, package {package}",
                f"it comes from {origin or 'nowhere'}",
                f"all packages from {home()}",
                "install mattock in an environment of its own",
            )
