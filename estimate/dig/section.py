"""The cross section of a trench: floor width and the two walls, each vertical, sloped or benched."""

import math
from dataclasses import dataclass

from terrain.errors import GeometryError


@dataclass(frozen=True, slots=True)
class Wall:
    """One wall of a trench or pit.

    `slope` is horizontal to vertical [m/m], 0 for a vertical wall. `rise` is the height [m] which stands vertical
    at the foot before the slope begins (a bench); it has no meaning for a vertical wall.

    Raises:
        GeometryError: slope or rise is negative or not finite.

    >>> Wall(slope=1.5, rise=0.5).is_vertical
    False
    """

    slope: float = 0.0
    rise: float = 0.0

    def __post_init__(self) -> None:
        """Check that both numbers have a meaning."""
        for name, value in (("slope", self.slope), ("rise", self.rise)):
            if not (math.isfinite(value) and value >= 0.0):
                raise GeometryError("trench wall", f"{name} {value}", "a number that is not negative")

    @property
    def is_vertical(self) -> bool:
        """Whether the wall stands upright over its whole height."""
        return self.slope == 0.0

    def width(self, height: float) -> float:
        """Return how far [m] the wall lies back from its foot at `height` [m] above the floor.

        >>> Wall(slope=1.5, rise=0.5).width(1.5)
        1.5
        """
        return self.slope * max(0.0, height - self.rise)


UPRIGHT = Wall()
"""A vertical wall."""


@dataclass(frozen=True, slots=True)
class Section:
    """A trench section: floor `width` [m], and the walls left and right of one who walks along the stations.

    Raises:
        GeometryError: the width is not a positive number.

    >>> Section(0.6, Wall(1.0), Wall(1.0)).reversed().width
    0.6
    """

    width: float
    left: Wall = UPRIGHT
    right: Wall = UPRIGHT

    def __post_init__(self) -> None:
        """Check that the floor has a width."""
        if not (math.isfinite(self.width) and self.width > 0.0):
            raise GeometryError("trench section", f"floor width {self.width}", "a positive number of metres")

    @property
    def half_width(self) -> float:
        """Half of the floor width [m]."""
        return 0.5 * self.width

    def area(self, height: float) -> float:
        """Return the area [m2] of the lowest `height` [m] of the section, its top level.

        Source: trapezoids, A = b h + sum of n (h - rise)^2 / 2 over both walls.

        >>> round(Section(0.6, Wall(1.0), Wall(1.0)).area(1.0), 12)
        1.6
        """
        triangles = (0.5 * wall.slope * max(0.0, height - wall.rise) ** 2 for wall in (self.left, self.right))
        return self.width * height + sum(triangles)

    def reversed(self) -> "Section":
        """Return the same section as seen by one who walks the other way."""
        return Section(self.width, self.right, self.left)
