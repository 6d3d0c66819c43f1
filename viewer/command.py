"""The command `mattock`: guards, runs what was typed, and turns every failure into words and an exit code."""

import contextlib
import os
import sys
from collections.abc import Callable
from functools import partial

from terrain.errors import Cancelled, MattockError
from viewer.command_guard import forget_current_folder, one_place
from viewer.command_tell import tell_error, tell_unexpected


def main(arguments: list[str] | None = None) -> int:
    """Run the command line and return its exit code: 0 done, 2 bad input, 3 could not finish, 130 cancelled.

    A reader that closes its end of the pipe, such as `head`, has what it wanted: that is 0 too.
    """
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        forget_current_folder()
        one_place()
        from viewer.command_line import run

        run(arguments)
        sys.stdout.flush()  # here, so that a closed pipe is met before the interpreter ends
    except MattockError as error:
        return _told(error.exit_code, partial(tell_error, error))
    except KeyboardInterrupt:
        return _told(Cancelled.exit_code, partial(tell_error, Cancelled()))
    except BrokenPipeError:
        return _told(0, sys.stderr.flush)
    except Exception as error:
        return _told(MattockError.exit_code, partial(tell_unexpected, error))
    return 0


def _told(code: int, tell: Callable[[], object]) -> int:
    """Tell what there is to tell and return `code`; streams that nobody reads any more are turned to nowhere."""
    with contextlib.suppress(BrokenPipeError):
        tell()
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except BrokenPipeError:
            with contextlib.suppress(OSError, ValueError):
                os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
    return code


if __name__ == "__main__":
    sys.exit(main())
