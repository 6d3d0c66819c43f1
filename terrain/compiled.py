"""The only file that knows numba: one decorator which compiles a kernel, or leaves it interpreted.

Kernels compile without the interpreter lock (`nogil`) and are cached on disk where a place is writable. With
nothing writable the cache is off, and where numba cannot be imported the same functions run interpreted; both
are told in one line by `state()`, never in silence.

A kernel is compiled together with those it calls and with the constants it reads, wherever they stand, while numba
looks only at the file of the kernel itself. So compiled code is kept in a folder named after the text of the whole
package and numba's version: after an update of either nothing of the older one can run.
"""

import hashlib
import os
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from functools import lru_cache
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


def _cache_home() -> Path | None:
    """Return the first writable place for compiled kernels; None where there is none."""
    named = os.environ.get("NUMBA_CACHE_DIR")
    places = [Path(named)] if named else [Path(__file__).parent / "__pycache__", Path.home() / ".cache" / "numba"]
    return next((place for place in places if _writable(place)), None)


HOME = _cache_home() if numba is not None else None
"""The folder below which compiled kernels are kept; None where they are not."""
CACHED = HOME is not None
"""Whether compiled kernels are kept on disk between runs."""
UNUSED = 30 * 86400.0
"""Age [seconds] after which the compiled kernels of another version are removed."""


@lru_cache(maxsize=8)
def text_digest(package: Path) -> str:
    """Return a digest of the text of all modules below the folder `package`, another after any change of them.

    >>> len(text_digest(Path(__file__).parent))
    64
    """
    digest = hashlib.sha256()
    for path in sorted(package.rglob("*.py")):
        digest.update(f"{path.relative_to(package)}\0".encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()


def _place(home: Path, package: Path) -> Path:
    """Return where kernels of the folder `package`, which may use those of this one, are kept."""
    texts = "".join(text_digest(folder) for folder in sorted({Path(__file__).parent, package}))
    texts += str(getattr(numba, "__version__", ""))
    return home / f"mattock-{hashlib.sha256(texts.encode()).hexdigest()[:16]}"


def _package_of(module: str) -> Path:
    """Return the folder of the top package of `module`."""
    file = getattr(sys.modules.get(module.partition(".")[0]), "__file__", None)
    return Path(file).parent if file else Path(__file__).parent


def _tidy(home: Path) -> None:
    """Remove compiled kernels of versions that were not used for long."""
    for path in home.glob("mattock-*"):
        try:
            if time.time() - path.stat().st_mtime > UNUSED:
                shutil.rmtree(path, ignore_errors=True)
        except OSError:
            continue


_LEAN = {"_nrt": False}
_INNER = {"_nrt": False, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}


def kernel(function: Callable[Args, Result]) -> Callable[Args, Result]:
    """Return `function` compiled at its first call, or unchanged where numba is not usable.

    >>> @kernel
    ... def double(value: float) -> float:
    ...     return 2.0 * value
    >>> double(1.5)
    3.0
    """
    return _made(function, {})


def lean_kernel(function: Callable[Args, Result]) -> Callable[Args, Result]:
    """Return a kernel that makes no array of its own and so counts no references to those it is given.

    Counting took two thirds of the time of kernels that hand many arrays to one another.
    """
    return _made(function, _LEAN)


def inner_kernel(function: Callable[Args, Result]) -> Callable[Args, Result]:
    """Return a lean kernel which only other kernels call, so that no way in from Python need be compiled."""
    return _made(function, _INNER)


def _made(function: Callable[Args, Result], options: dict[str, bool]) -> Callable[Args, Result]:
    if numba is None:
        return function
    before = numba.config.CACHE_DIR
    try:
        if HOME is not None:
            numba.config.CACHE_DIR = str(_place(HOME, _package_of(function.__module__)))
        compiled = numba.njit(nogil=True, cache=CACHED, error_model="numpy", **options)(function)
    except (RuntimeError, OSError):  # no file to keep the code beside, as for a function typed at a prompt
        compiled = numba.njit(nogil=True, error_model="numpy", **options)(function)
    except (KeyError, TypeError):  # another numba that does not know an option, which only saves time
        return _made(function, {}) if options else function
    finally:
        numba.config.CACHE_DIR = before
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

    False where nothing will be compiled. What another version left does not count, and if old it is removed.

    >>> isinstance(first_run(Path(__file__).parent), bool)
    True
    """
    if state() or HOME is None:
        return False
    _tidy(HOME)
    pattern = f"*.py{sys.version_info.major}{sys.version_info.minor}*.nbi"
    return not any(True for folder in folders for _ in _place(HOME, folder).rglob(pattern))
