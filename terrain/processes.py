"""Which process wrote a lock and whether it still runs, told apart from a later one with the same number."""

import os
import platform
from pathlib import Path


def this_process() -> str:
    """Return one line that names this machine and process, to be kept in a lock.

    >>> is_alive(this_process())
    True
    """
    return f"{platform.node() or 'machine'} {os.getpid()} {_started(os.getpid())}"


def is_alive(line: str) -> bool:
    """Return whether the process that `line` names still runs; one on another machine is taken to.

    >>> is_alive("not a lock")
    False
    """
    parts = line.rsplit(" ", 2)
    if len(parts) != 3 or not parts[1].isdigit():
        return False
    if parts[0] != (platform.node() or "machine"):
        return True
    return _runs(int(parts[1])) and parts[2] == _started(int(parts[1]))


def _started(number: int) -> str:
    """Return when process `number` began, as the system tells it, or "-" where it does not."""
    try:
        text = Path(f"/proc/{number}/stat").read_text(encoding="utf-8", errors="replace")
        boot = Path("/proc/sys/kernel/random/boot_id").read_text(encoding="ascii").strip()
    except OSError:
        return "-"
    return f"{boot}:{text.rsplit(')', 1)[-1].split()[19]}"


def _runs(number: int) -> bool:
    """Return whether process `number` runs."""
    if os.name == "nt":  # there, asking with signal 0 would end the process
        return _runs_on_windows(number)
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return False
    except (OSError, OverflowError):
        return True
    return True


def _runs_on_windows(number: int) -> bool:
    import ctypes

    library = getattr(ctypes, "windll", None)
    if library is None:
        return True
    handle = library.kernel32.OpenProcess(0x1000, False, number)  # 0x1000 asks for limited facts only
    if handle:
        library.kernel32.CloseHandle(handle)
    return bool(handle)
