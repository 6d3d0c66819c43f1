"""How failures are told on the command line: four parts on stderr, and an exit code; never a traceback."""

import os
import sys
import tempfile
import traceback
from collections import Counter
from pathlib import Path

from terrain.errors import InputError, MattockError

MOST_OF_A_KIND = 12
"""Most errors that expect the same and ask for the same which are told one by one."""


def tell_error(error: MattockError) -> int:
    """Print the error and its `others` to stderr and return its exit code.

    Of errors that expect the same and ask for the same, `MOST_OF_A_KIND` are told and the others counted.
    """
    if os.environ.get("MATTOCK_DEBUG") == "1":
        traceback.print_exception(error)
    told: Counter[tuple[str, str]] = Counter()
    last: dict[tuple[str, str], str] = {}
    for one in (error, *(error.others if isinstance(error, InputError) else ())):
        kind = (one.expected, one.remedy)
        told[kind] += 1
        if told[kind] <= MOST_OF_A_KIND:
            print(f"mattock: {one}", file=sys.stderr)
        last[kind] = one.where
    for kind, count in told.items():
        if count > MOST_OF_A_KIND:
            more = f"and {count - MOST_OF_A_KIND} more of this kind, the last at {last[kind]}"
            print(f"mattock: {more}; expected {kind[0]}", file=sys.stderr)
    return error.exit_code


def tell_unexpected(error: Exception) -> int:
    """Save the traceback of what should not have happened, say where, and return exit code 3."""
    if os.environ.get("MATTOCK_DEBUG") == "1":
        traceback.print_exception(error)
    text = "".join(traceback.format_exception(error))
    try:
        number, name = tempfile.mkstemp(prefix="mattock-", suffix=".log", text=True)
        os.close(number)
        Path(name).write_text(text, encoding="utf-8")
        kept = f"the log is in {name}"
    except OSError:
        kept = "no log could be written; set MATTOCK_DEBUG=1 and run again to see it"
    print(
        f"mattock: a mistake of this program ({type(error).__name__}): please report it; {kept}",
        file=sys.stderr,
    )
    return 3
