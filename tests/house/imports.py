"""Prints what each module imports, or the map of the house; `--write` puts the map into DEVELOPERS.md."""

import ast
import json
import re
import sys
from pathlib import Path

PACKAGES = ("terrain", "estimate", "viewer", "sample_scans")
ROOT = Path(__file__).resolve().parents[2]
BLOCK = re.compile(r"(?<=```house\n).*?(?=```)", re.DOTALL)


def module_name(path: Path) -> str:
    """Return the dotted name of the module in `path`; a package is named by its folder."""
    parts = list(path.relative_to(ROOT).with_suffix("").parts)
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def module_paths() -> dict[str, Path]:
    """Return every module of the packages by its dotted name."""
    found = (path for package in PACKAGES for path in sorted((ROOT / package).rglob("*.py")))
    return {module_name(path): path for path in found}


def imported_by(path: Path, own: frozenset[str]) -> list[str]:
    """Return all that the module in `path` imports, wherever in the file it stands; own modules in full."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"), str(path))):
        if isinstance(node, ast.Import):
            names.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            whole = "." * node.level + (node.module or "")
            for alias in node.names:
                below = f"{whole}.{alias.name}"
                names.add(below if below in own else whole)
    return sorted(names)


def all_imports() -> dict[str, list[str]]:
    """Return for each module of the packages the names that it imports."""
    paths = module_paths()
    own = frozenset(paths)
    return {name: imported_by(path, own) for name, path in paths.items()}


def room_of(module: str, paths: dict[str, Path]) -> str:
    """Return the folder, as a dotted name, in which `module` stands."""
    return module if paths[module].name == "__init__.py" else module.rpartition(".")[0]


def house_map() -> str:
    """Return one line for each room of the house: the rooms from which its modules import."""
    paths = module_paths()
    rooms: dict[str, set[str]] = {}
    for module, imported in all_imports().items():
        room = room_of(module, paths)
        reached = {room_of(name, paths) for name in imported if name in paths}
        rooms.setdefault(room, set()).update(reached - {room})
    width = max(map(len, rooms))
    lines = (f"{room:<{width}} -> {', '.join(sorted(reached)) or 'nothing'}" for room, reached in rooms.items())
    return "".join(line + "\n" for line in sorted(lines))


def write_map() -> None:
    """Put the map into its fenced block in DEVELOPERS.md."""
    page = ROOT / "DEVELOPERS.md"
    text = page.read_text("utf-8")
    page.write_text(BLOCK.sub(lambda _: house_map(), text, count=1), "utf-8")


if __name__ == "__main__":
    if "--write" in sys.argv:
        write_map()
    elif "--map" in sys.argv:
        sys.stdout.write(house_map())
    else:
        json.dump(all_imports(), sys.stdout)
