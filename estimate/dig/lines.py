"""What is to be dug, as records: trench lines along a floor centre line, and pits with a level floor."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimate.dig.section import UPRIGHT, Section, Wall
from terrain.errors import GeometryError

FloatArray = NDArray[np.float64]
"""Any array of numbers."""
IntArray = NDArray[np.int64]
"""Any array of whole numbers, such as facet numbers."""
TriangleArray = NDArray[np.int32]
"""Vertex or neighbour numbers of triangles, (t, 3)."""


def _frozen(values: FloatArray, columns: int, where: str) -> FloatArray:
    array = np.array(values, dtype=np.float64)
    if array.ndim != 2 or array.shape[1] != columns or not bool(np.isfinite(array).all()):
        raise GeometryError(where, f"an array of shape {array.shape}", f"finite numbers of shape (n, {columns})")
    array.flags.writeable = False
    return array


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A trench along a line.

    `floor` is the centre line of the trench floor, (n, 3) metres (easting, northing, elevation); between two nodes
    the floor runs straight and falls evenly, and it is level across. Both ends are cut flat and upright.

    Raises:
        GeometryError: the floor is not an (n, 3) array of finite numbers.

    >>> Line(np.array([[0, 0, 9], [20, 0, 9]], float), Section(0.6)).runs
    1
    """

    floor: FloatArray
    section: Section

    def __post_init__(self) -> None:
        """Keep an own copy of the nodes that cannot be written."""
        object.__setattr__(self, "floor", _frozen(self.floor, 3, "trench line"))

    @property
    def runs(self) -> int:
        """Number of runs: straight stretches between neighbouring nodes; a repeated node makes an empty one."""
        return max(0, len(self.floor) - 1)

    @property
    def stations(self) -> FloatArray:
        """Plan distance of each node from the first, (n,) metres."""
        steps = np.hypot(*np.diff(self.floor[:, :2], axis=0).T) if self.runs else np.zeros(0)
        return np.concatenate([np.zeros(min(1, len(self.floor))), np.cumsum(steps)])

    def reversed(self) -> "Line":
        """Return the same trench walked the other way."""
        return Line(self.floor[::-1], self.section.reversed())

    def split_at(self, stations: FloatArray) -> "Line":
        """Return the same trench with further nodes at `stations`, (k,) metres; those beyond the ends are left out.

        The cut does not change by it, so volumes between any stations are sums over whole runs.

        >>> Line(np.array([[0, 0, 9], [20, 0, 8]], float), Section(0.6)).split_at(np.array([5.0])).floor[1].tolist()
        [5.0, 0.0, 8.75]
        """
        own = self.stations
        wanted = np.setdiff1d(np.asarray(stations, dtype=np.float64), own)
        wanted = wanted[(wanted > own[0]) & (wanted < own[-1])] if self.runs else wanted[:0]
        place = np.searchsorted(own, wanted)
        share = ((wanted - own[place - 1]) / (own[place] - own[place - 1]))[:, None]
        nodes = (1.0 - share) * self.floor[place - 1] + share * self.floor[place]
        return Line(np.insert(self.floor, place, nodes, axis=0), self.section)


@dataclass(frozen=True, slots=True, eq=False)
class Pit:
    """A pit: the corners of its level floor, (k, 2) metres, convex and counter-clockwise, and its elevation [m].

    Raises:
        GeometryError: fewer than three corners, or the ring is not convex and counter-clockwise.

    >>> Pit(np.array([[0, 0], [2, 0], [2, 1], [0, 1]], float), 9.0, Wall(1.0)).area
    2.0
    """

    corners: FloatArray
    elevation: float
    wall: Wall = UPRIGHT

    def __post_init__(self) -> None:
        """Drop repeated corners, and check that the ring turns left everywhere and goes round once."""
        corners = _frozen(self.corners, 2, "pit")
        corners = corners[np.hypot(*(corners - np.roll(corners, -1, axis=0)).T) > 1e-9]
        corners.flags.writeable = False
        object.__setattr__(self, "corners", corners)
        edges = np.roll(corners, -1, axis=0) - corners
        following = np.roll(edges, -1, axis=0)
        turns = np.arctan2(
            edges[:, 0] * following[:, 1] - edges[:, 1] * following[:, 0], (edges * following).sum(axis=1)
        )
        if len(corners) < 3 or bool((turns < -1e-9).any()) or abs(turns.sum() - 2.0 * np.pi) > 1e-6:
            raise GeometryError(
                "pit", f"corners {corners.tolist()}", "a convex ring counter-clockwise", "give the corners in order"
            )
        if not np.isfinite(self.elevation):
            raise GeometryError("pit", f"floor elevation {self.elevation}", "a finite number of metres")

    @property
    def area(self) -> float:
        """Area of the floor [m2]."""
        east, north = (self.corners - self.corners[0]).T
        return float(0.5 * (east * np.roll(north, -1) - np.roll(east, -1) * north).sum())
