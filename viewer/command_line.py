"""The words of the command line: every command, its arguments and its help; the work is done elsewhere."""

import sys

import click

from terrain.errors import Cancelled, InputError

FOLDER = click.argument("folder", type=click.Path())
"""The argument of the commands that work on a site folder."""


@click.group(
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100}, invoke_without_command=True
)
@click.option(
    "--version",
    is_flag=True,
    is_eager=True,
    expose_value=False,
    help="Show the version and exit.",
    callback=lambda *given: _version(*given),
)
@click.pass_context
def program(context: click.Context) -> None:
    """Turn a survey of the ground into a trench, a pipe line and a price.

    Start with `mattock demo`, or with `mattock new my-yard` for a site of your own. It is a planning tool: it never
    calls a trench safe.
    """
    if context.invoked_subcommand is None:
        click.echo(context.get_help())


@program.command()
@FOLDER
@click.option("--units", type=click.Choice(["US", "SI"], case_sensitive=False), default="US", show_default=True)
def new(folder: str, units: str) -> None:
    """Write a commented site folder to fill in."""
    from viewer.command_site import write_new

    write_new(folder, units.upper())


@program.command()
@FOLDER
def check(folder: str) -> None:
    """List all that is wrong in a site folder.

    The survey itself is not read; `mattock ground FOLDER` does that.
    """
    from viewer.command_site import check_folder

    check_folder(folder)


@program.command()
@FOLDER
@click.option("--out", type=click.Path(), default=None, help="Where the results go instead of FOLDER/results.")
@click.option("--no-pictures", is_flag=True, help="Leave out the plan, the profile and the 3D picture.")
def estimate(folder: str, out: str | None, no_pictures: bool) -> None:
    """Work out trench, pipe line and price.

    Reads FOLDER/site.toml and its survey; writes FOLDER/results in one go, so that old results stay until the new
    ones are complete.
    """
    from viewer.command_estimate import run_estimate

    run_estimate(folder, out, pictures=not no_pictures)


@program.command()
@click.argument("folder", type=click.Path(), default="mattock-demo")
@click.option("--site", default="juniper-court", show_default=True, help="Which shipped site to take.")
@click.option("--list", "only_list", is_flag=True, help="List the shipped sites and stop.")
@click.option("--no-pictures", is_flag=True, help="Leave out the plan, the profile and the 3D picture.")
def demo(folder: str, site: str, only_list: bool, no_pictures: bool) -> None:
    """Copy a sample site and run the whole job.

    FOLDER is mattock-demo where none is named. Run again, it runs again and keeps every file that you changed.
    """
    from viewer.command_estimate import list_demos, run_demo

    list_demos() if only_list else run_demo(folder, site, pictures=not no_pictures)


@program.command()
def schema() -> None:
    """Print the JSON Schema of site.toml."""
    from viewer.command_site import print_schema

    print_schema()


@program.command()
@click.argument("survey", type=click.Path())
@click.option("--unit", default="", help="The unit of a survey file that does not say its own: m, ft or ftUS.")
def ground(survey: str, unit: str) -> None:
    """Say what a survey holds.

    SURVEY is a survey file or a site folder.
    """
    from viewer.command_survey import state_ground

    state_ground(survey, unit)


@program.command()
@click.argument("book", type=click.Path())
@click.option("--benchmark", type=float, default=100.0, show_default=True, help="Elevation of the first point.")
@click.option("--closing", type=float, default=None, help="Known elevation of the last point.")
@click.option("--unit", default="ft", show_default=True, help="The unit of bare readings and of elevations.")
@click.option("--circuit", type=float, default=None, help="Length of the circuit, to tell what error is allowed.")
def levels(book: str, benchmark: float, closing: float | None, unit: str, circuit: float | None) -> None:
    """Reduce a level book.

    BOOK is a CSV with the columns point, backsight, intermediate, foresight, remark. A reading may be feet and
    inches, such as 4' 3-7/8". A book that ends on its first point is closed on it.
    """
    from viewer.command_levels import print_book

    print_book(book, benchmark, closing, unit, circuit)


def run(arguments: list[str] | None = None) -> None:
    """Run the command that `arguments` name, those of the process by default.

    Raises:
        InputError: the words typed are not a command.
        MattockError: whatever the command raises.
        BrokenPipeError: nobody reads what the command prints.
    """
    words = sys.argv[1:] if arguments is None else list(arguments)
    try:  # not program.main(), which ends the process with 1 where the reader of a pipe closes it
        with program.make_context("mattock", words) as context:
            program.invoke(context)
    except click.exceptions.Exit:
        return
    except click.Abort as stopped:
        raise Cancelled from stopped
    except click.ClickException as wrong:
        raise wrong_use(wrong) from wrong


def wrong_use(error: click.ClickException) -> InputError:
    """Return a wrong word on the command line as an error in four parts."""
    context = error.ctx if isinstance(error, click.UsageError) else None
    command = context.command_path if context is not None else "mattock"
    usage = context.get_usage().removeprefix("Usage: ") if context is not None else ""
    return InputError(
        f"command line, {command}", error.format_message().rstrip("."), usage, f"see `{command} --help`"
    )


def _version(context: click.Context, parameter: click.Parameter, asked: bool) -> None:
    """Print the version and stop, where it was asked for."""
    if not asked:
        return
    from importlib.metadata import PackageNotFoundError, version

    try:
        click.echo(f"mattock {version('mattock')}")
    except PackageNotFoundError:
        click.echo("mattock, run from its sources without an installation")
    context.exit()
