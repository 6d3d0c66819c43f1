"""The commands that run the whole trip: estimate and demo."""

import shlex
import sys
from pathlib import Path

from terrain.files import recover
from viewer.progress import CommandWatch
from viewer.results import RESULTS, refuse_foreign, write_results


def run_estimate(folder: str, out: str | None, pictures: bool = True) -> None:
    """Estimate the site folder, write its results and print the summary.

    Raises:
        MattockError: what the trip or the writing raises; then the old results are as they were.
    """
    from estimate.site import open_site

    place = Path(folder)
    target = Path(out) if out else place / RESULTS
    with CommandWatch() as watch:
        recover(target)
        site = open_site(place)
        refuse_foreign(target)
        _say_compiling()
        from estimate.plan import load_ground, make_estimate

        ground = load_ground(site, watch)
        estimate = make_estimate(site, ground, watch)
        written = write_results(estimate, ground, target, watch, pictures)
    from viewer.summary import summary

    print(summary(written.estimate, sys.stdout.encoding or "ascii"))
    for note in written.notes:
        print(note)
    print(f"Results in {target}: " + ", ".join(written.names))


def list_demos() -> None:
    """Print the names of the shipped sites and the first words of each."""
    from sample_scans import folder, names

    for name in names():
        title = next(
            (
                line
                for line in (folder(name) / "site.toml").read_text("utf-8").splitlines()
                if line.startswith("title")
            ),
            "",
        )
        words = title.partition("=")[2].strip(' "')
        print(f"{name:16}{words}")


def run_demo(folder: str, site: str, pictures: bool = True) -> None:
    """Copy a shipped site to the folder, run the whole job there, and say where to look next.

    Raises:
        MattockError: as `run_estimate`, or the folder holds something else.
    """
    from viewer.demo import copy_demo

    target = Path(folder)
    copied = copy_demo(site, target)
    if copied.written:
        print(f"Copied {len(copied.written)} files of the sample site {site} to {target}.")
    for name in copied.kept:
        print(f"Kept your own {target / name}.")
    run_estimate(folder, None, pictures)
    print(f"Look at {target / RESULTS}; {target / 'ORIGIN.md'} says where the ground comes from.")
    print(f"Change {target / 'site.toml'} and run: mattock estimate {shlex.quote(folder)}")


def _say_compiling() -> None:
    """Tell on stderr when kernels compile in this run, and when they cannot be compiled or kept."""
    import estimate
    import terrain
    from terrain.compiled import first_run, state

    line = state()
    if line:
        print(line, file=sys.stderr)
    elif first_run(Path(terrain.__file__ or "").parent, Path(estimate.__file__ or "").parent):
        print("First run: compiling the kernels once; later runs are quicker.", file=sys.stderr)
