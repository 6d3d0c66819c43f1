"""SurveyPoints: what every reader returns, shots in metres around a local origin with their origin and accuracy."""

import math
from dataclasses import dataclass

import numpy as np

from terrain.arrays import Floats, frozen
from terrain.errors import SurveyError
from terrain.units import LengthUnit


@dataclass(frozen=True, slots=True, eq=False)
class SurveyPoints:
    """The points of one survey and what is known of them.

    `coordinates` (n, 3) metres are easting, northing and elevation less `origin`; `origin` is in the survey's own
    units, `horizontal` for the first two and `vertical` for the third. `accuracy` is the sigma of one elevation
    [m], NaN where unknown. `notes`, `assumptions` and `warnings` are sentences for the user; `codes` is a
    description for each point or empty; `names` are the point numbers of the first of them, as booked, or empty.
    The array is a view that cannot be written.
    """

    coordinates: Floats
    origin: tuple[float, float, float]
    horizontal: LengthUnit
    vertical: LengthUnit
    source: str
    kind: str
    accuracy: float = math.nan
    notes: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "coordinates", frozen(self.coordinates))


def local_origin(coordinates: Floats) -> tuple[float, float, float]:
    """Return a whole-numbered origin near the middle of `coordinates` (n, 3) in any unit.

    >>> local_origin(np.array([[2_400_000.25, 10.0, 99.0], [2_400_010.25, 20.0, 101.5]]))
    (2400005.0, 15.0, 100.0)
    """
    middle = np.floor(0.5 * (coordinates.min(axis=0) + coordinates.max(axis=0)))
    return (float(middle[0]), float(middle[1]), float(middle[2]))


def survey_points(
    coordinates: Floats,
    horizontal: LengthUnit,
    vertical: LengthUnit,
    source: str,
    kind: str,
    accuracy: float = math.nan,
    notes: tuple[str, ...] = (),
    assumptions: tuple[str, ...] = (),
    codes: tuple[str, ...] = (),
    warnings: tuple[str, ...] = (),
) -> SurveyPoints:
    """Return points from `coordinates` (n, 3) in the survey's own units, the origin subtracted before conversion.

    `accuracy` is the sigma of one elevation [m].

    Raises:
        SurveyError: no points, or a coordinate that is not finite.

    >>> from terrain.units import FTUS
    >>> shots = np.array([[2_400_000.0, 0.0, 10.0], [2_400_003.0, 3937.0, 13.0]])
    >>> survey_points(shots, FTUS, FTUS, "yard.csv", "shots").coordinates[1].round(6).tolist()
    [0.609601, 600.1524, 0.609601]
    """
    if len(coordinates) == 0:
        raise SurveyError(source, "no points", "at least three points", "check the file and what is kept of it")
    if not np.isfinite(coordinates).all():
        rows = np.flatnonzero(~np.isfinite(coordinates).all(axis=1))
        raise SurveyError(
            source, f"{len(rows)} points without a finite number, first point {rows[0] + 1}", "numbers"
        )
    origin = local_origin(coordinates)
    local = np.asarray(coordinates, dtype=np.float64) - np.array(origin)
    local *= np.array([horizontal.metres, horizontal.metres, vertical.metres])
    told = (notes, assumptions, codes, warnings)
    return SurveyPoints(local, origin, horizontal, vertical, source, kind, accuracy, *told)
