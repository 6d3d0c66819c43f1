"""How sure a cut volume is, from the accuracy of the survey's elevations."""

import math
from typing import Literal, NamedTuple

import numpy as np

from estimate.dig.lines import FloatArray
from terrain.errors import GeometryError

Rule = Literal["fixed floor", "floor follows the ground"]
"""What the floor does when the surveyed elevations change."""


class VolumeSigma(NamedTuple):
    """Standard deviation of a volume: `independent_m3` from errors of single points, `common_m3` from one error
    shared by all elevations, `total_m3` both together [m3], and the rule under which they hold."""

    independent_m3: float
    common_m3: float
    total_m3: float
    rule: Rule


def volume_sigma(weights: FloatArray, sigma: float, bias: float = 0.0, rule: Rule = "fixed floor") -> VolumeSigma:
    """Return the standard deviation of a cut volume with derivative `weights` (n,) m2 to each surveyed elevation.

    `sigma` [m] is the standard deviation of one elevation, errors being independent; `bias` [m] that of an error
    common to all. With a fixed floor (given by elevations that do not come from the survey) sigma_V^2 = sigma^2 sum
    W^2, and a common error gives |bias| times the disturbed area. A floor that follows the surveyed ground at a
    constant cover moves with a common error, which then changes no volume; the independent part is not known
    without the floor's own weights, so the fixed floor's is given as a stand-in.

    Source: propagation of variance through a linear function; to first order, for errors small against the depth.

    Raises:
        GeometryError: sigma or bias is negative or not finite.

    >>> sure = volume_sigma(np.array([3.0, 4.0]), 0.02, bias=0.01)
    >>> round(sure.independent_m3, 9), round(sure.common_m3, 9), sure.rule
    (0.1, 0.07, 'fixed floor')
    """
    for name, value in (("sigma", sigma), ("bias", bias)):
        if not (math.isfinite(value) and value >= 0.0):
            raise GeometryError("volume accuracy", f"{name} {value}", "a number of metres that is not negative")
    independent = sigma * float(np.sqrt(np.square(weights).sum()))
    common = bias * float(weights.sum()) if rule == "fixed floor" else 0.0
    return VolumeSigma(independent, common, math.hypot(independent, common), rule)
