"""How far one elevation of a survey is commonly off, by kind of survey, where the user gives no figure."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class TypicalAccuracy:
    """The sigma of one elevation [m] for one `kind` of survey, and the source of the figure."""

    kind: str
    sigma: float
    source: str


TYPICAL = (
    TypicalAccuracy("lidar", 0.10, "USGS Lidar Base Specification, quality level 2, bare ground (from memory)"),
    TypicalAccuracy("shots", 0.05 * 0.3048, "laser or level shots on turf, common practice, no published source"),
    TypicalAccuracy("stations", 0.05 * 0.3048, "shots along one line, common practice, no published source"),
    TypicalAccuracy("mesh", 0.16, "phone lidar against control points, Sensors 25(19):6141 (2025)"),
)
"""One figure for each kind of survey that a reader can return."""


def typical_accuracy(kind: str) -> TypicalAccuracy:
    """Return the common accuracy [m] of a `kind` of survey; an unknown kind takes the coarsest of them.

    >>> typical_accuracy("lidar").sigma
    0.1
    """
    coarsest = max(TYPICAL, key=lambda one: one.sigma)
    return next((one for one in TYPICAL if one.kind == kind), coarsest)
