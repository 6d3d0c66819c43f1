"""Watch: how long work tells its progress and learns that it was cancelled; always an argument, never global."""

from typing import Protocol


class Watch(Protocol):
    """What a long step calls now and then; an implementation may show progress and may raise `Cancelled`."""

    def step(self, name: str, done: float, total: float) -> None:
        """Say that `done` of `total` [same unit, any] of the step `name` is finished.

        Raises:
            Cancelled: the user asked to stop.
        """


class SilentWatch:
    """A watch that shows nothing and never cancels.

    >>> SilentWatch().step("reading", 1, 2)
    """

    def step(self, name: str, done: float, total: float) -> None:
        """Do nothing, whatever `done` and `total` [same unit] are."""


SILENT = SilentWatch()
"""The watch to pass where nobody looks."""
