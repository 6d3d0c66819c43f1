"""A watch for the command line: progress for work over a second, and Ctrl-C that stops at the next step."""

import contextlib
import signal
import sys
import time
from types import FrameType, TracebackType
from typing import TYPE_CHECKING, Self, TextIO

from terrain.errors import Cancelled

if TYPE_CHECKING:
    from rich.progress import Progress, TaskID

PATIENCE = 1.0
"""How long [s] work may last before its progress is shown."""


class CommandWatch:
    """Shows progress on `stream` and raises `Cancelled` at the step after Ctrl-C; use it as a context.

    On a terminal a bar is drawn, elsewhere each step is named once on a line. A second Ctrl-C interrupts at once.

    >>> with CommandWatch() as watch:
    ...     watch.step("reading", 1, 2)
    """

    def __init__(self, stream: TextIO | None = None, patience: float = PATIENCE) -> None:
        """Show on `stream`, stderr by default, once the work has lasted `patience` [s]."""
        self._stream = sys.stderr if stream is None else stream
        self._patience = patience
        self._began = time.monotonic()
        self._stopped = False
        self._named: set[str] = set()
        self._bar: Progress | None = None
        self._task: TaskID | None = None
        self._name = ""
        self._previous: object = None

    def __enter__(self) -> Self:
        """Listen to Ctrl-C from here on."""
        with contextlib.suppress(ValueError):  # signals can be caught in the main thread only
            self._previous = signal.signal(signal.SIGINT, self._stop)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Take the bar away and leave Ctrl-C as it was."""
        if self._bar is not None:
            self._bar.stop()
        if self._previous is not None:
            signal.signal(signal.SIGINT, self._previous)  # type: ignore[arg-type]  # what signal() itself returned

    def _stop(self, number: int, frame: FrameType | None) -> None:
        if self._stopped:
            raise KeyboardInterrupt
        self._stopped = True

    def step(self, name: str, done: float, total: float) -> None:
        """Show that `done` of `total` [same unit, any] of the step `name` is finished, once a second has passed.

        Raises:
            Cancelled: Ctrl-C was pressed.
        """
        if self._stopped:
            raise Cancelled(name)
        if time.monotonic() - self._began < self._patience:
            return
        if self._stream.isatty():
            self._draw(name, done, total)
        elif name not in self._named:
            self._named.add(name)
            self._stream.write(f"{name} ...\n")
            self._stream.flush()

    def _draw(self, name: str, done: float, total: float) -> None:
        if self._bar is None:
            from rich.console import Console
            from rich.progress import Progress

            self._bar = Progress(console=Console(file=self._stream), transient=True)
            self._bar.start()
        if self._task is None or name != self._name:
            if self._task is not None:
                self._bar.remove_task(self._task)
            self._task = self._bar.add_task(name, total=total or None)
            self._name = name
        self._bar.update(self._task, completed=done, total=total or None)
