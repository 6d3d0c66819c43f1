"""The only file that knows numba: one decorator which compiles a kernel, or leaves it interpreted.

Kernels compile without the interpreter lock (`nogil`) and are cached on disk where a place is writable. With
nothing writable the cache is off, and where numba cannot be imported the same functions run interpreted; both
are told in one line by `state()`, never in silence.
"""

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import ParamSpec, TypeVar, cast

Args = ParamSpec("Args")
Result = TypeVar("Result")

try:
    import numba
except Exception as broken:  # an incompatible numba raises more than ImportError; the kernels still run without it
    numba = None
    REASON = f"numba cannot be used ({type(broken).__name__}); kernels run interpreted and slowly"
else:
    REASON = ""


def _writable(folder: Path) -> bool:
    try:
        folder.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryFile(dir=folder):
            return True
    except OSError:
        return False


def _cache_wanted() -> bool:
    """Return whether compiled code can be kept; numba itself raises at import where it finds no place."""
    named = os.environ.get("NUMBA_CACHE_DIR")
    if named:
        return _writable(Path(named))
    return _writable(Path(__file__).parent / "__pycache__") or _writable(Path.home() / ".cache" / "numba")


CACHED = numba is not None and _cache_wanted()
"""Whether compiled kernels are kept on disk between runs."""


def kernel(function: Callable[Args, Result]) -> Callable[Args, Result]:
    """Return `function` compiled at its first call, or unchanged where numba is not usable.

    >>> @kernel
    ... def double(value: float) -> float:
    ...     return 2.0 * value
    >>> double(1.5)
    3.0
    """
    if numba is None:
        return function
    try:
        compiled = numba.njit(nogil=True, cache=CACHED, error_model="numpy")(function)
    except RuntimeError:  # no file to keep the compiled code beside, as for a function typed at a prompt
        compiled = numba.njit(nogil=True, error_model="numpy")(function)
    return cast("Callable[Args, Result]", compiled)


def state() -> str:
    """Return one line on how kernels run on this machine; empty when compiled and cached."""
    if numba is None:
        return REASON
    if os.environ.get("NUMBA_DISABLE_JIT", "0") not in ("", "0"):
        return "NUMBA_DISABLE_JIT is set; kernels run interpreted and slowly"
    return "" if CACHED else "no writable place for compiled kernels; they compile anew at each run"


def first_run(*folders: Path) -> bool:
    """Return whether no compiled kernel of the packages in `folders` is kept yet, so that this run compiles.

    False where nothing will be compiled. What an older version left counts as kept.

    >>> isinstance(first_run(Path(__file__).parent), bool)
    True
    """
    if state():
        return False
    named = os.environ.get("NUMBA_CACHE_DIR")
    places = (Path(named),) if named else (*folders, Path.home() / ".cache" / "numba")
    pattern = f"*.py{sys.version_info.major}{sys.version_info.minor}*.nbi"
    return not any(True for place in places for _ in place.rglob(pattern))
