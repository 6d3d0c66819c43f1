"""What the user may say to a reader: units, which points to keep, and how a single line is widened."""

import math
from dataclasses import dataclass

from terrain.errors import SurveyError
from terrain.units import LengthUnit

RIBBON_HALF_WIDTH = 3.048
"""How far [m] a single line of stations is carried to each side where nothing is said: 10 ft."""


@dataclass(frozen=True, slots=True)
class ReadOptions:
    """The user's word on a survey; an option left alone lets the file speak.

    `horizontal_unit` and `vertical_unit` win over what the file says. `keep` is "ground" for the points classed as
    ground or "all" for every point but noise. `ribbon_half_width` [m] is how far a single line of stations is
    carried to each side. `accuracy` is the sigma of one elevation [m], NaN where unknown.
    """

    horizontal_unit: LengthUnit | None = None
    vertical_unit: LengthUnit | None = None
    keep: str = "ground"
    ribbon_half_width: float = RIBBON_HALF_WIDTH
    accuracy: float = math.nan

    def __post_init__(self) -> None:
        if self.keep not in ("ground", "all"):
            raise SurveyError("keep", f"{self.keep!r}", '"ground" or "all"', "correct the word")
        if not 0.0 < self.ribbon_half_width < math.inf:
            found = f"{self.ribbon_half_width} m"
            raise SurveyError("ribbon half width", found, "a length above zero", "correct the width")
        if self.accuracy < 0.0 or math.isinf(self.accuracy):
            raise SurveyError("survey accuracy", f"{self.accuracy} m", "a length of zero or more", "correct it")
