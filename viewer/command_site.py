"""The commands about a site folder's words: new, check, schema."""

import json
import shlex
from pathlib import Path

from terrain.files import recover
from viewer.results import RESULTS


def write_new(folder: str, units: str) -> None:
    """Write a commented site folder in "US" or "SI" units and say what to do next.

    Raises:
        InputError: the folder exists and is not empty.
        StorageError: it cannot be written.
    """
    from estimate.site_template import new_site

    new_site(Path(folder), "SI" if units == "SI" else "US")
    print(f"Wrote {folder}. Fill in {Path(folder) / 'site.toml'}, put the survey beside it, then:")
    print(f"  mattock check {shlex.quote(folder)}")
    print(f"  mattock estimate {shlex.quote(folder)}")


def check_folder(folder: str) -> None:
    """Say that the site folder can be read, and list what was left to its default.

    Raises:
        InputError: something in it is wrong; `others` has each mistake.
    """
    from estimate.site import SITE_FILE, check_site

    recover(Path(folder) / RESULTS)
    told = check_site(Path(folder))
    print(f"Nothing wrong in {Path(folder) / SITE_FILE}.")
    for line in told:
        print(f"  {line}")


def print_schema() -> None:
    """Print the JSON Schema of `site.toml`."""
    from estimate.site import schema

    print(json.dumps(schema(), indent=2, ensure_ascii=False))
