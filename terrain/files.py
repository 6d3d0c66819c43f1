"""The only writer of files: whole or not at all, folders swapped in when they are complete, one run at a time.

A folder is built beside its target, flushed, and swapped in by two renames: the old one aside, the new one to its
place. Whatever moment a crash picks, `recover` finishes or undoes the swap; a lock keeps two runs from mixing.
"""

import os
import shutil
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple

from terrain.errors import StorageError
from terrain.processes import is_alive, this_process

MARKER = "estimate.json"
"""The file by which a folder of results is known as ours."""
FRESH = 10.0
"""Age [seconds] up to which a lock without its full line is taken to be just being written."""


class Places(NamedTuple):
    """The four names of one folder of results: target, being built, put aside, and lock."""

    target: Path
    building: Path
    aside: Path
    lock: Path


def places_of(target: Path) -> Places:
    """Return the names that belong to the folder `target`, all in its parent folder."""
    whole = target.resolve()
    parts = (whole.with_name(f".{whole.name}.{what}") for what in ("new", "old", "lock"))
    return Places(whole, *parts)


def write_bytes(path: Path, content: bytes) -> None:
    """Write `content` to `path` whole or not at all, flushed to the disk.

    Raises:
        StorageError: the file cannot be written; what stood there before is untouched.
    """
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with part.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    except OSError as broken:
        _drop(part)
        raise _storage(path, broken, "a file that can be written") from broken
    except BaseException:
        _drop(part)
        raise


def write_text(path: Path, text: str) -> None:
    """Write `text` as UTF-8 with plain line ends to `path`, whole or not at all.

    Raises:
        StorageError: the file cannot be written; what stood there before is untouched.
    """
    write_bytes(path, text.encode("utf-8"))


@contextmanager
def locked(target: Path) -> Iterator[None]:
    """Hold the lock of the folder `target` for the time of the block.

    Raises:
        StorageError: another run holds it, or it cannot be written.
    """
    lock = places_of(target).lock
    _take(lock, again=True)
    try:
        yield
    finally:
        _drop(lock)


def _take(lock: Path, again: bool) -> None:
    try:
        lock.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(lock, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o644)
    except FileExistsError as held:
        if again and not _held(lock):
            _bury(lock)
            _take(lock, again=False)
            return
        found = "another run is writing there"
        remedy = f"wait until it ends; if there is none, delete {lock.name}"
        raise StorageError(str(lock.parent), found, "one run at a time", remedy) from held
    except OSError as broken:
        raise _storage(lock.parent, broken, "a folder that can be written") from broken
    with os.fdopen(handle, "w", encoding="utf-8") as file:
        file.write(this_process() + "\n")


def _held(lock: Path) -> bool:
    """Return whether the process that wrote `lock` still runs; a half-written one counts as held while fresh."""
    try:
        text = lock.read_text(encoding="utf-8")
        return is_alive(text.rstrip("\n")) if text.endswith("\n") else time.time() - lock.stat().st_mtime < FRESH
    except FileNotFoundError:
        return False
    except (OSError, UnicodeDecodeError):
        return True


def _bury(lock: Path) -> None:
    """Remove a lock whose process ended, but not one that another run has just put in its place."""
    grave = lock.with_name(f"{lock.name}.{os.getpid()}")
    try:
        lock.rename(grave)
        if _held(grave):
            grave.rename(lock)
    except FileNotFoundError:
        return
    except OSError as broken:
        raise _storage(lock.parent, broken, "a folder that can be written") from broken
    finally:
        _drop(grave)


@contextmanager
def new_folder(target: Path, marker: str = MARKER) -> Iterator[Path]:
    """Give a fresh folder to fill; when the block ends well it takes the place of `target`, otherwise it vanishes.

    `target` is replaced only if it is absent, empty, or holds a file called `marker`.

    Raises:
        StorageError: the folder is not ours to replace, another run is writing it, or the disk refuses.
    """
    places = places_of(target)
    with locked(target):
        _guarded(places, settle)
        _check_ours(places.target, marker)
        try:
            _guarded(places, _begin)
            yield places.building
            _guarded(places, _swap)
        except BaseException:
            _guarded(places, settle)
            raise


def recover(target: Path) -> bool:
    """Finish or undo a swap of `target` that was cut short; return whether there was something to do.

    Raises:
        StorageError: the disk refuses, or another run is writing there.
    """
    places = places_of(target)
    if not places.building.exists() and not places.aside.exists():
        return False
    with locked(target):
        _guarded(places, settle)
    return True


def settle(places: Places) -> None:
    """Bring the four places to rest: a complete new folder goes in, an old one comes back, remains are removed."""
    if places.aside.exists() and not places.target.exists():
        source = places.building if places.building.exists() else places.aside
        source.rename(places.target)
    for remains in (places.building, places.aside):
        if remains.exists():
            shutil.rmtree(remains)


def _begin(places: Places) -> None:
    places.building.mkdir(parents=True)


def _swap(places: Places) -> None:
    """Flush the new folder and put it in the place of the old one."""
    for folder, _, names in os.walk(places.building):
        for name in names:
            _flush(Path(folder) / name)
        _flush(Path(folder))
    if places.target.exists():
        places.target.rename(places.aside)
    places.building.rename(places.target)
    _flush(places.target.parent)
    if places.aside.exists():
        shutil.rmtree(places.aside)


def _check_ours(target: Path, marker: str) -> None:
    try:
        if not target.exists():
            return
        ours = target.is_dir() and ((target / marker).exists() or not any(target.iterdir()))
    except OSError as broken:
        raise _storage(target, broken, "a folder that can be read") from broken
    if not ours:
        found = "a folder with other files" if target.is_dir() else "a file"
        raise StorageError(str(target), found, f"an empty folder or one with {marker}", "choose another folder")


def _flush(path: Path) -> None:
    """Flush a file or folder to the disk; where folders cannot be opened, the system flushes them itself."""
    try:
        handle = os.open(path, os.O_RDONLY)
    except PermissionError:
        return
    try:
        os.fsync(handle)
    except OSError:
        if path.is_file() and os.name != "nt":
            raise
    finally:
        os.close(handle)


def _guarded(places: Places, action: Callable[[Places], None]) -> None:
    try:
        action(places)
    except OSError as broken:
        raise _storage(places.target, broken, "a folder that can be written") from broken


def _drop(path: Path) -> None:
    try:
        path.unlink(missing_ok=True)
    except OSError:
        return


def _storage(path: Path, broken: OSError, expected: str) -> StorageError:
    found = broken.strerror or str(broken)
    return StorageError(str(path), found, expected, "check the free space and the permissions")
