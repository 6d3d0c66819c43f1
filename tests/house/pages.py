"""Writes the pages that are made from the program: docs/site-file.md, docs/commands.md and the map of the house."""

import re
import subprocess
import sys
from pathlib import Path

from estimate.site_keys import Key, keys

ROOT = Path(__file__).resolve().parents[2]

SITE_HEAD = """# The site file

A site is a folder with a `site.toml` and the survey beside it. `mattock new FOLDER` writes one to fill in, with a
remark at each key; `mattock check FOLDER` lists all that is wrong in it at once.

* Sizes, depths and quantities follow `units`: a bare number has the unit of the column "US" or "SI" below. Text
  carries its own unit: `"24 in"`, `"0.6 m"`, `"5' 7-3/8\\""`.
* Coordinates, stations and elevations are in the survey's own unit and datum, whatever `units` says.
* What a survey file may look like, and which side of a line is left: [surveys.md](surveys.md).
* What you leave out takes its default, and the estimate lists it among its assumptions.
* `lower.pit`, `upper.pit`, walls and other tables may be left out whole; their "needed" keys are then not asked.

| key | what it is | US | SI | default |
| --- | --- | --- | --- | --- |
"""

COMMANDS_HEAD = """# The commands

Exit codes: 0 done, 2 bad input, 3 could not finish, 130 cancelled. A reader that closes its end of a pipe, as
`head` does, is no failure: the code is 0. What is wrong is told in four parts: where, what was found, what was
expected, what to do; of many faults of one kind the first twelve are told and the others counted.
"""


def row(key: Key) -> str:
    """Return the table row of one key."""
    choices = f" ({', '.join(f'`{choice}`' for choice in key.choices)})" if key.choices else ""
    default = "needed" if key.needed else key.default or "-"
    return f"| `{key.path}` | {key.meaning}{choices} | {key.us or '-'} | {key.si or '-'} | {default} |\n"


def site_page() -> str:
    """Return the page of the site file."""
    return SITE_HEAD + "".join(map(row, keys()))


def help_of(*names: str) -> str:
    """Return what the help of the program or of one of its commands says."""
    code = "import sys; sys.argv[0] = 'mattock'; from viewer.command import main; sys.exit(main())"
    command = [sys.executable, "-c", code, *names, "--help"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, check=True, text=True, encoding="utf-8")
    return done.stdout


def commands_page() -> str:
    """Return the page of the commands: what each one's own help says."""
    names = re.findall(r"^  ([a-z][\w-]*)\s", help_of().partition("Commands:")[2], re.MULTILINE)
    parts = [f"\n## mattock {name}\n\n```text\n{help_of(name).strip()}\n```\n" for name in names]
    return COMMANDS_HEAD + "".join(parts)


def write() -> None:
    """Write all pages."""
    (ROOT / "docs").mkdir(exist_ok=True)
    (ROOT / "docs" / "site-file.md").write_text(site_page(), "utf-8")
    (ROOT / "docs" / "commands.md").write_text(commands_page(), "utf-8")
    subprocess.run([sys.executable, str(Path(__file__).with_name("imports.py")), "--write"], check=True)


if __name__ == "__main__":
    if "--write" in sys.argv:
        write()
    elif "--site" in sys.argv:
        sys.stdout.reconfigure(encoding="utf-8")  # type: ignore[union-attr]  # a plain stream here
        sys.stdout.write(site_page())
