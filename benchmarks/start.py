"""How long `mattock --help` takes beside a Python that does nothing."""

import subprocess
import sys

from benchmarks.rows import Row, best_of

AIM = 8.0


def rows(times: int = 7) -> list[Row]:
    """Return the comparison, the best of `times` starts each."""
    program = "import sys; from viewer.command import main; sys.argv = ['mattock', '--help']; sys.exit(main())"

    def start(code: str) -> None:
        subprocess.run([sys.executable, "-c", code], stdout=subprocess.DEVNULL, check=True)

    start(program)
    ours = best_of(lambda: start(program), times)
    other = best_of(lambda: start("pass"), times)
    return [Row("mattock --help", "python -c pass", ours, other, "s", AIM)]
