"""The result folder: every document of one estimate, built beside the old one and swapped in at once."""

import hashlib
import json
import shutil
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from terrain.errors import InputError
from terrain.files import MARKER, new_folder, write_text
from terrain.watch import Watch

if TYPE_CHECKING:
    from estimate.record import Estimate
    from terrain.ground import Ground

RESULTS = "results"
"""The folder of the results inside a site folder, where no other is named."""
ESTIMATE = MARKER
"""The file of all figures; it names every other file with its SHA-256."""
BYTE_ORDER_MARK = "\ufeff"
"""What a table starts with, for spreadsheets take it for UTF-8 only then."""


@dataclass(frozen=True, slots=True)
class Written:
    """What was written: the estimate with the files it names, and notes on pictures and kept files."""

    estimate: "Estimate"
    notes: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """The names of the files, the estimate first."""
        return (ESTIMATE, *self.estimate.files)


def refuse_foreign(folder: Path) -> None:
    """Check that `folder` may be replaced by results: it is new, empty, or holds results.

    Raises:
        InputError: it is a file, a site folder, or holds something else.
    """
    expected = "a new or empty folder, or one that holds older results"
    remedy = "name another folder with --out"
    if folder.exists() and not folder.is_dir():
        raise InputError(f"result folder {folder}", "a file", expected, remedy)
    if (folder / "site.toml").exists():
        raise InputError(f"result folder {folder}", "a site folder", expected, remedy)
    if folder.is_dir() and any(folder.iterdir()) and not (folder / ESTIMATE).is_file():
        raise InputError(f"result folder {folder}", "files that are not results", expected, remedy)


def write_results(
    estimate: "Estimate", ground: "Ground", folder: Path, watch: Watch, pictures: bool = True
) -> Written:
    """Write all documents of `estimate` to `folder`, replacing the older ones at once.

    Files there that this program did not write stay; a document that the user changed stays under another name.

    Raises:
        Cancelled: by `watch`; the older results are as they were.
        StorageError: the folder cannot be written.
    """
    from estimate.record_json import to_json

    with new_folder(folder) as build:
        _write_texts(estimate, build, watch)
        notes = _draw(estimate, ground, build, watch) if pictures else ()
        named = {path.name: _sha(path) for path in sorted(build.iterdir())}
        notes += _carry_over(folder, build, (*named, ESTIMATE))
        complete = replace(estimate, files=named)
        write_text(build / ESTIMATE, to_json(complete))
        watch.step("writing the results", 1, 1)
    return Written(complete, notes)


def _write_texts(estimate: "Estimate", build: Path, watch: Watch) -> None:
    """Write the sheets and the summary into `build`."""
    from viewer.sheets.cut_sheet import cut_sheet_csv
    from viewer.sheets.quantities import quantities_csv
    from viewer.summary import summary

    watch.step("writing the sheets", 0, 3)
    for name, content in (
        ("summary.txt", summary(estimate, "utf-8")),
        ("quantities.csv", quantities_csv(estimate)),
        ("cut_sheet.csv", cut_sheet_csv(estimate)),
    ):
        mark = BYTE_ORDER_MARK if name.endswith(".csv") else ""
        write_text(build / name, mark + content)
    watch.step("writing the sheets", 3, 3)


def _draw(estimate: "Estimate", ground: "Ground", build: Path, watch: Watch) -> tuple[str, ...]:
    """Draw plan, profile and 3D picture into `build` and return what is to be told of them."""
    from viewer.charts import plan_chart, profile_chart
    from viewer.picture import draw_picture
    from viewer.scene import scene_of

    steps: tuple[tuple[str, Callable[[], object]], ...] = (
        ("drawing the plan", lambda: plan_chart(estimate, ground, build / "plan.png")),
        ("drawing the profile", lambda: profile_chart(estimate, build / "profile.png")),
        ("drawing the picture", lambda: draw_picture(scene_of(estimate, ground), build / "picture.png")),
    )
    told: list[str] = []
    for done, (name, draw) in enumerate(steps):
        watch.step(name, done, len(steps))
        note = draw()
        told += [note] if isinstance(note, str) and note else []
    return tuple(told)


def _carry_over(folder: Path, build: Path, names: Iterable[str]) -> tuple[str, ...]:
    """Copy into `build` what a user put into or changed in the older results; return what is to be told of it."""
    if not folder.is_dir():
        return ()
    taken, written = set(names), _named(folder)
    told = []
    for path in sorted(folder.iterdir()):
        if path.name == ESTIMATE or (path.is_file() and written.get(path.name) == _sha(path)):
            continue
        name = path.name
        while name in taken:
            name = f"yours-{name}"
        if path.is_dir():
            shutil.copytree(path, build / name, symlinks=True)
        else:
            shutil.copy2(path, build / name, follow_symlinks=False)
        taken.add(name)
        if name != path.name:
            told.append(f"You had changed {path.name}; your own is kept as {name}.")
    return tuple(told)


def _named(folder: Path) -> dict[str, str]:
    """Return the SHA-256 by file name that the older results tell of themselves."""
    try:
        files = json.loads((folder / ESTIMATE).read_text(encoding="utf-8"))["files"]
        return {str(name): str(digest) for name, digest in files.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def _sha(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
