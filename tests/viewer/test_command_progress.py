"""The command line's watch: silent for short work, lines elsewhere than on a terminal, Ctrl-C at the next step."""

import io
import signal

import pytest

from terrain.errors import Cancelled
from viewer.progress import CommandWatch


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def test_short_work_shows_nothing() -> None:
    stream = io.StringIO()
    with CommandWatch(stream) as watch:
        for done in range(5):
            watch.step("reading", done, 5)
    assert stream.getvalue() == ""


def test_each_step_is_named_once_where_no_terminal_is() -> None:
    stream = io.StringIO()
    with CommandWatch(stream, patience=0.0) as watch:
        for name in ("reading", "drawing"):
            for done in range(3):
                watch.step(name, done, 3)
    assert stream.getvalue() == "reading ...\ndrawing ...\n"


def test_a_bar_is_drawn_on_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    stream = Terminal()
    with CommandWatch(stream, patience=0.0) as watch:
        watch.step("reading", 1, 4)
        watch.step("drawing", 1, 0)
    assert "drawing" in stream.getvalue()


def test_control_c_stops_at_the_next_step_and_is_handed_back() -> None:
    before = signal.getsignal(signal.SIGINT)
    with CommandWatch(io.StringIO()) as watch:
        watch.step("reading", 0, 2)
        signal.raise_signal(signal.SIGINT)
        with pytest.raises(Cancelled, match="reading"):
            watch.step("reading", 1, 2)
    assert signal.getsignal(signal.SIGINT) is before


def test_a_second_control_c_interrupts_at_once() -> None:
    with CommandWatch(io.StringIO()):
        signal.raise_signal(signal.SIGINT)
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
