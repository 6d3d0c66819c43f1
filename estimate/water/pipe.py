"""Pipe by the standards' tables or as measured by the user: diameters, rating, volume inside."""

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from estimate.tables import rows, unknown_name
from estimate.tables.measures import FOOT, INCH, PSI
from terrain.errors import InputError

_VULGAR = {"½": " 1/2", "¼": " 1/4", "¾": " 3/4"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Pipe:
    """A pipe as it is bought: outside diameter and minimum wall [m], rating [Pa], stick or coil length [m].

    `rating_pa` is NaN where it is not known. `kind` and `nominal` are the words of its table, `nominal` in inches.
    """

    name: str
    kind: str
    nominal: str
    outside_m: float
    wall_m: float
    rating_pa: float
    stick_m: float
    source: str

    @property
    def bore_m(self) -> float:
        """Inside diameter [m]: outside diameter less two minimum walls; a real pipe is a little narrower."""
        return self.outside_m - 2.0 * self.wall_m

    @property
    def inside_m3_per_m(self) -> float:
        """Volume inside one metre of pipe [m3/m]."""
        return math.pi / 4.0 * self.bore_m**2

    @property
    def displaced_m3_per_m(self) -> float:
        """Volume of soil that one metre of pipe takes the place of [m3/m]."""
        return math.pi / 4.0 * self.outside_m**2


def kinds() -> tuple[str, ...]:
    """Return the kinds of pipe that the table holds, in its order.

    >>> kinds()
    ('PVC Schedule 40', 'PVC Schedule 80', 'PVC SDR 21', 'PVC SDR 26')
    """
    return tuple(dict.fromkeys(row["kind"] for row in rows("pipes")))


def sizes(kind: str) -> tuple[str, ...]:
    """Return the nominal sizes [inches, as text] listed for `kind`.

    Raises:
        InputError: there is no such kind.

    >>> sizes("SDR 26")
    ('1-1/2', '2', '3', '4', '6')
    """
    wanted = _kind_named(kind)
    return tuple(row["nominal_in"] for row in rows("pipes") if row["kind"] == wanted)


def pipe(kind: str, size: str) -> Pipe:
    """Return the pipe of a listed `kind` and nominal `size` such as "2", "2 in", "1-1/2" or "1.5".

    Source: ASTM D1785 (Schedule 40 and 80) and ASTM D2241 (SDR 21 and 26); sizes not in the table are refused.

    Raises:
        InputError: the kind or the size is not in the table; the message names the listed ones.

    >>> sch40 = pipe("Schedule 40", "2 in")
    >>> sch40.name, round(sch40.bore_m / 0.0254, 3)
    ('2 in PVC Schedule 40', 2.067)
    """
    wanted = _kind_named(kind)
    inches = _inches(size)
    for row in rows("pipes"):
        if row["kind"] == wanted and inches > 0 and _inches(row["nominal_in"]) == inches:
            return Pipe(
                name=f"{row['nominal_in']} in {wanted}",
                kind=wanted,
                nominal=row["nominal_in"],
                outside_m=float(row["outside_in"]) * INCH,
                wall_m=float(row["wall_in"]) * INCH,
                rating_pa=float(row["pressure_psi"]) * PSI,
                stick_m=float(row["stick_ft"]) * FOOT,
                source=row["source"],
            )
    raise InputError(
        "pipe size",
        f"{size!r} is not listed for {wanted}",
        "one of " + ", ".join(sizes(wanted)) + " in",
        "choose a listed size, or give the measured bore and outside diameter",
    )


def own_pipe(
    name: str,
    bore_m: float,
    outside_m: float,
    *,
    rating_pa: float = math.nan,
    stick_m: float = 6.096,
    kind: str = "own",
    nominal: str = "",
) -> Pipe:
    """Return a pipe from its measured `bore_m` and `outside_m` [m], rating [Pa] and stick or coil length [m].

    Raises:
        InputError: the bore is not between zero and the outside diameter, or the stick has no length.

    >>> round(own_pipe("hose", 0.0508, 0.0603).wall_m, 5)
    0.00475
    """
    if not 0.0 < bore_m < outside_m or not math.isfinite(outside_m):
        raise InputError(
            f"pipe {name}",
            f"bore {bore_m:g} m, outside diameter {outside_m:g} m",
            "a bore above zero and smaller than the outside diameter",
            "measure both with a caliper and correct them",
        )
    if not stick_m > 0.0 or rating_pa <= 0.0:
        found = f"stick {stick_m:g} m, rating {rating_pa:g} Pa"
        raise InputError(f"pipe {name}", found, "both above zero", "give the length as delivered and the rating")
    wall = (outside_m - bore_m) / 2.0
    return Pipe(
        name=name,
        kind=kind,
        nominal=nominal,
        outside_m=outside_m,
        wall_m=wall,
        rating_pa=rating_pa,
        stick_m=stick_m,
        source="bore and outside diameter given by the user",
    )


def sticks(length_m: float, stick_m: float) -> int:
    """Return how many sticks or coils of `stick_m` [m] make up `length_m` [m]; no length needs none.

    >>> sticks(30.48, 6.096), sticks(0.0, 6.096)
    (5, 0)
    """
    return math.ceil(length_m / stick_m - 1e-9)


def _kind_key(kind: str) -> str:
    """Return `kind` without the differences that do not matter: case, spaces, "PVC", "schedule" or "sch"."""
    folded = kind.casefold().replace("schedule", "sch").replace("pvc", "")
    return re.sub(r"[^a-z0-9]", "", folded)


def _kind_named(kind: str) -> str:
    """Return the table's own word for `kind`."""
    found = {_kind_key(name): name for name in kinds()}
    if _kind_key(kind) not in found:
        raise unknown_name("pipe kind", kind, list(kinds()))
    return found[_kind_key(kind)]


def _inches(size: str) -> Fraction:
    """Return a nominal size in inches; zero for text that is no size."""
    text = size
    for sign, plain in _VULGAR.items():
        text = text.replace(sign, plain)
    text = re.sub(r"(inches|inch|in\.?|\")\s*$", "", text.strip().casefold())
    text = re.sub(r"(?<=\d)\s*-\s*(?=\d)", " ", text)
    if not re.fullmatch(r"[\d./ ]{1,12}", text):
        return Fraction(0)
    try:
        return sum((Fraction(part) for part in text.split()), Fraction(0))
    except (ValueError, ZeroDivisionError):
        return Fraction(0)
