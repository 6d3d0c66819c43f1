"""Lays every picture found in the named folders on one sheet: python contact_sheet.py SHEET.png FOLDER..."""

import sys
from pathlib import Path

from PIL import Image, ImageDraw

CELL = (640, 480)
ACROSS = 3
LABEL = 18


def pictures(folders: list[Path]) -> list[tuple[str, Path]]:
    """Return name and path of every picture below the folders."""
    return [
        (f"{folder.name}/{path.relative_to(folder).as_posix()}", path)
        for folder in folders
        for path in sorted(folder.rglob("*.png"))
    ]


def sheet(found: list[tuple[str, Path]]) -> Image.Image:
    """Return one picture with all that were found, each with its name above it."""
    rows = -(-len(found) // ACROSS)
    whole = Image.new("RGB", (ACROSS * CELL[0], rows * (CELL[1] + LABEL)), "white")
    pen = ImageDraw.Draw(whole)
    for number, (name, path) in enumerate(found):
        left, top = number % ACROSS * CELL[0], number // ACROSS * (CELL[1] + LABEL)
        pen.text((left + 4, top + 3), name.encode("ascii", "replace").decode(), fill="black")
        with Image.open(path) as picture:
            small = picture.convert("RGB")
        small.thumbnail((CELL[0] - 8, CELL[1] - 4))
        whole.paste(small, (left + 4, top + LABEL))
    return whole


if __name__ == "__main__":
    there = pictures([Path(name) for name in sys.argv[2:]])
    if not there:
        sys.exit("no pictures found")
    sheet(there).save(sys.argv[1])
    sys.stdout.write(f"{len(there)} pictures on {sys.argv[1]}\n")
