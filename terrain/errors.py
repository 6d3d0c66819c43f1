"""Every error this program raises, as one tree ordered by cause.

::

    MattockError
    ├── InputError          what the user gave cannot be read or would give a false number (exit 2)
    │   ├── UnitsError      a unit is missing, unknown, contradicted, or of the wrong kind
    │   ├── SurveyError     a survey file is damaged, empty, in degrees, or holds too few points
    │   └── GeometryError   a route, trench or triangulation that has no meaning on this ground
    ├── StorageError        a file or folder cannot be read, written, locked or swapped (exit 3)
    └── Cancelled           the user stopped the work (exit 130)

Each error speaks in four parts: where, what was found, what was expected, what to do. An `InputError`
may carry several `others`, so that a check lists all that is wrong at once.
"""

from collections.abc import Sequence


class MattockError(Exception):
    """Base of all errors of this program: where, found, expected and remedy, each a plain sentence part."""

    exit_code = 3

    def __init__(self, where: str, found: str, expected: str = "", remedy: str = "") -> None:
        """Keep the four parts; `expected` and `remedy` may be empty where there is nothing to add."""
        super().__init__(where, found, expected, remedy)
        self.where = where
        self.found = found
        self.expected = expected
        self.remedy = remedy

    def __str__(self) -> str:
        """Return the parts on lines of their own.

        >>> print(SurveyError("yard.csv line 3", "elevation 'abc'", "a number", "correct the cell"))
        yard.csv line 3
          found:    elevation 'abc'
          expected: a number
          do:       correct the cell
        """
        lines = [self.where, f"  found:    {self.found}"]
        if self.expected:
            lines.append(f"  expected: {self.expected}")
        if self.remedy:
            lines.append(f"  do:       {self.remedy}")
        return "\n".join(lines)


class InputError(MattockError):
    """What the user gave cannot be read or would give a false number."""

    exit_code = 2

    def __init__(
        self,
        where: str,
        found: str,
        expected: str = "",
        remedy: str = "",
        others: Sequence["InputError"] = (),
    ) -> None:
        """Keep the four parts and any further errors found in the same pass."""
        super().__init__(where, found, expected, remedy)
        self.others = tuple(others)


class UnitsError(InputError):
    """A unit is missing, unknown, contradicted, or of the wrong kind."""


class SurveyError(InputError):
    """A survey file is damaged, empty, in degrees, or holds too few points."""


class GeometryError(InputError):
    """A route, trench or triangulation that has no meaning on this ground."""


class StorageError(MattockError):
    """A file or folder cannot be read, written, locked or swapped."""


class Cancelled(MattockError):  # noqa: N818  # it is a wish of the user, not a fault
    """The user stopped the work; nothing half done is left behind."""

    exit_code = 130

    def __init__(self, where: str = "cancelled", found: str = "stopped by the user") -> None:
        """Keep the step at which the work was stopped."""
        super().__init__(where, found)
