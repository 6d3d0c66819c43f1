"""The demonstration: a shipped site copied to a folder, and refreshed without touching what the user changed."""

import hashlib
import json
from dataclasses import dataclass
from pathlib import Path

from terrain.errors import InputError
from terrain.files import write_bytes

MANIFEST = ".mattock-demo.json"
"""The file in a demo folder that names the shipped site and the SHA-256 of every file copied."""


@dataclass(frozen=True, slots=True)
class Copied:
    """What a copy did: files written and files kept because the user changed them, by relative name."""

    written: tuple[str, ...]
    kept: tuple[str, ...]


def copy_demo(name: str, target: Path) -> Copied:
    """Copy the shipped site `name` to `target`, keeping files there that the user changed.

    Raises:
        InputError: no such site, or `target` holds something else.
        StorageError: it cannot be written.
    """
    shipped = _shipped(name)
    before = _manifest(target)
    _refuse_foreign(name, target, before, shipped)
    written, kept = [], []
    for relative, content in shipped.items():
        place = target / relative
        there = _sha(place.read_bytes()) if place.is_file() else ""
        if there == _sha(content):
            continue
        if there and there != before.get(relative):
            kept.append(relative)
            continue
        place.parent.mkdir(parents=True, exist_ok=True)
        write_bytes(place, content)
        written.append(relative)
    _write_manifest(name, target, shipped)
    return Copied(tuple(written), tuple(kept))


def _shipped(name: str) -> dict[str, bytes]:
    """Return the files of a shipped site by relative name, `site.toml` first."""
    from sample_scans import folder, names

    if name not in names():
        known = ", ".join(names())
        raise InputError(f"demo site {name!r}", "no such site is shipped", f"one of {known}", "choose one of these")
    source = folder(name)
    files = sorted(
        (path for path in source.rglob("*") if path.is_file()), key=lambda path: (path.name != "site.toml", path)
    )
    return {path.relative_to(source).as_posix(): path.read_bytes() for path in files}


def _manifest(target: Path) -> dict[str, str]:
    """Return SHA-256 by relative name as last copied, and the site's name under an empty key."""
    try:
        tree = json.loads((target / MANIFEST).read_text(encoding="utf-8"))
        return {"": str(tree["site"]), **{str(key): str(value) for key, value in tree["files"].items()}}
    except (OSError, ValueError, KeyError, AttributeError, TypeError):
        return {}


def _write_manifest(name: str, target: Path, shipped: dict[str, bytes]) -> None:
    files = {relative: _sha(content) for relative, content in shipped.items()}
    text = json.dumps({"site": name, "files": files}, indent=2) + "\n"
    place = target / MANIFEST
    if not place.is_file() or place.read_text(encoding="utf-8") != text:
        write_bytes(place, text.encode())


def _refuse_foreign(name: str, target: Path, before: dict[str, str], shipped: dict[str, bytes]) -> None:
    """Raise where `target` is not empty and not a demo folder of this site."""
    if not target.exists() or (target.is_dir() and not any(target.iterdir())) or before.get("") == name:
        return
    site = target / "site.toml"
    if site.is_file() and not before and site.read_bytes() == shipped["site.toml"]:
        return  # a first copy that was cut off
    found = f"the demo site {before['']!r}" if before else "something that the demo did not put there"
    raise InputError(
        f"demo folder {target}", found, f"an empty or new folder, or the demo site {name!r}", "name another folder"
    )


def _sha(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
