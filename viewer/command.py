"""The command `mattock`: guards, runs what was typed, and turns every failure into words and an exit code."""

import sys

from terrain.errors import Cancelled, MattockError
from viewer.command_guard import forget_current_folder, one_place
from viewer.command_tell import tell_error, tell_unexpected


def main(arguments: list[str] | None = None) -> int:
    """Run the command line and return its exit code: 0 done, 2 bad input, 3 could not finish, 130 cancelled."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        forget_current_folder()
        one_place()
        from viewer.command_line import run

        run(arguments)
    except MattockError as error:
        return tell_error(error)
    except KeyboardInterrupt:
        return tell_error(Cancelled())
    except BrokenPipeError:
        return 0
    except Exception as error:
        return tell_unexpected(error)
    return 0


if __name__ == "__main__":
    sys.exit(main())
