"""How failures are told on the command line: four parts on stderr, and an exit code; never a traceback."""

import os
import sys
import tempfile
import traceback
from pathlib import Path

from terrain.errors import InputError, MattockError


def tell_error(error: MattockError) -> int:
    """Print the error and its `others` to stderr and return its exit code."""
    if os.environ.get("MATTOCK_DEBUG") == "1":
        traceback.print_exception(error)
    for one in (error, *(error.others if isinstance(error, InputError) else ())):
        print(f"mattock: {one}", file=sys.stderr)
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
