"""A new site folder: a commented site file, an example survey, example prices and a booking form to print."""

import re
import shutil
import tomllib
from importlib.resources import files
from pathlib import Path
from typing import Literal

from estimate.site_records import SiteFile
from terrain.errors import InputError, StorageError
from terrain.files import new_folder, write_text

MAKES_A_SITE = "site.toml"
"""The file that makes a folder a site."""

_CHOICE = re.compile(r"<<(.*?)\|(.*?)>>")
PARTS = {
    "survey/points.csv": "templates/points.csv",
    "booking_form.txt": "templates/booking_form.txt",
    "prices.toml": "tables/<<example_prices|example_prices_si>>.toml",
    "site.toml": "templates/site.toml",
}
"""Each file of a new site folder with its template in this package; site.toml last, for it makes the site.

Between << and >> stand the words for US and for SI, in the names here as in the texts.
"""

UNITS: tuple[Literal["US"], Literal["SI"]] = ("US", "SI")
"""The systems of units in which a new site can be written."""


def template_text(name: str, units: Literal["US", "SI"]) -> str:
    """Return the text of the file `name` (a key of `PARTS`) of a new site folder in `units`.

    >>> template_text("survey/points.csv", "SI").splitlines()[1]
    '1,300.00,150.00,30.000,EXAMPLE - lower left corner of the yard'
    """
    chosen = r"\1" if units == "US" else r"\2"
    text = files("estimate").joinpath(_CHOICE.sub(chosen, PARTS[name])).read_text(encoding="utf-8")
    return _CHOICE.sub(chosen, text)


def still_example(folder: Path, file: SiteFile) -> bool:
    """Return whether the route and the survey of the site `file` in `folder` are still those of the template.

    Line ends and blanks at the ends of lines do not count; a survey that cannot be read is no example.
    """
    survey = folder / file.survey.file
    for units in UNITS:
        wanted = template_text("survey/points.csv", units)
        found = re.search(r"^points = (\[.*?^\])", template_text("site.toml", units), re.MULTILINE | re.DOTALL)
        route = tuple((float(one[0]), float(one[1])) for one in tomllib.loads(found[0])["points"]) if found else ()
        if file.route.points != route:
            continue
        try:
            given = survey.read_text(encoding="utf-8-sig") if survey.stat().st_size < 2 * len(wanted) else ""
        except (OSError, ValueError):
            return False
        if [line.rstrip() for line in given.splitlines()] == wanted.splitlines():
            return True
    return False


def new_site(folder: Path, units: Literal["US", "SI"] = "US") -> tuple[Path, ...]:
    """Write a new site folder in `units` and return the files written; a folder that is there must be empty.

    Raises:
        InputError: the folder holds something already, or is a file; nothing is written then.
        StorageError: it cannot be looked into or written; nothing is left behind.
    """
    _refuse_filled(folder)
    texts = {name: template_text(name, units) for name in PARTS}
    if folder.is_dir():  # filled where it stands, for somebody may be in it
        try:
            _fill(folder, texts)
        except BaseException:
            _empty(folder)
            raise
    else:
        with new_folder(folder, marker=MAKES_A_SITE) as beside:
            _fill(beside, texts)
    return tuple(folder / name for name in PARTS)


def _refuse_filled(folder: Path) -> None:
    remedy = "name a new folder, or an empty one; nothing was written"
    try:
        inside = sorted(entry.name for entry in folder.iterdir()) if folder.is_dir() else []
        taken = folder.exists() or folder.is_symlink()
    except (OSError, ValueError) as wrong:
        raise StorageError(str(folder), f"cannot be looked into: {wrong}", "a folder", remedy) from wrong
    if taken and not folder.is_dir():
        raise InputError(str(folder), "a file of that name", "a folder", remedy)
    if inside:
        listed = ", ".join(inside[:8]) + (f" and {len(inside) - 8} more" if len(inside) > 8 else "")
        raise InputError(str(folder), f"it holds {listed}", "a new or empty folder", remedy)


def _fill(folder: Path, texts: dict[str, str]) -> None:
    for name, text in texts.items():
        try:
            (folder / name).parent.mkdir(exist_ok=True)
        except OSError as wrong:
            found = f"cannot be written: {wrong.strerror or wrong}"
            raise StorageError(str(folder), found, "a place where you may write", "choose another place") from wrong
        write_text(folder / name, text)


def _empty(folder: Path) -> None:
    """Remove what was written into a folder that was empty before."""
    for name in PARTS:
        (folder / name).unlink(missing_ok=True)
    shutil.rmtree(folder / "survey", ignore_errors=True)
