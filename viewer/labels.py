"""Placing labels on a drawing so that none covers another, with a thin leader where one had to move away."""

import itertools
import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.text import Annotation, Text

from terrain.arrays import Floats
from viewer.board import INK, PAPER

REACH = (5.0, 9.0, 15.0, 23.0, 33.0, 45.0, 60.0, 78.0, 100.0, 130.0)
"""How far from its place a label may move [points], nearest first."""
DIRECTIONS = (60, 120, 30, 150, 0, 180, -60, -120, -30, -150, 90, -90)
"""The directions in which a label may stand [degrees from the right], best first."""
LEADER = 12.0
"""A label farther away than this [points] has a leader."""
GAP = 2.0
"""The least room between two labels [pixels]."""


class LabelBoard:
    """The labels of one drawing: which boxes [pixels] are taken, which lines are better left open."""

    def __init__(self, figure: Figure, axes: Axes) -> None:
        """Start empty; labels stay inside `axes`."""
        figure.canvas.draw()
        self._figure = figure
        self._axes = axes
        self._renderer = figure.canvas.get_renderer()  # type: ignore[attr-defined]  # the Agg canvas has one
        self._room = axes.get_window_extent(self._renderer)
        self._boxes: list[tuple[float, float, float, float]] = []
        self._written: list[tuple[float, float, float, float]] = []
        self._soft: Floats = np.zeros((0, 2))
        self.texts: list[Text] = []

    def keep_box(self, left: float, bottom: float, right: float, top: float) -> None:
        """Keep labels out of the box from `left`, `bottom` to `right`, `top` [pixels of the sheet]."""
        self._boxes.append((left, bottom, right, top))

    def keep_mark(self, at: Sequence[float] | Floats, radius: float = 5.0) -> None:
        """Keep labels off a mark at `at` [data] of `radius` [points]."""
        across, up = self._axes.transData.transform((at[0], at[1]))
        size = radius * self._figure.dpi / 72.0
        self._boxes.append((across - size, up - size, across + size, up + size))

    def keep_line(self, points: Floats, step: float = 4.0) -> None:
        """Let labels rather not cover a line through `points` (n, 2) [data], sampled every `step` [pixels]."""
        pixels = self._axes.transData.transform(points)
        samples = [pixels[:1]]
        for start, end in itertools.pairwise(pixels):
            count = min(max(int(np.hypot(*(end - start)) / step), 1), 2000)
            samples.append(start + (end - start) * (np.arange(1, count + 1) / count)[:, None])
        self._soft = np.concatenate([self._soft, *samples])

    def put(
        self,
        text: str,
        at: Sequence[float] | Floats,
        size: float = 7.0,
        directions: Sequence[float] = DIRECTIONS,
        must: bool = True,
        centred: bool = False,
        least: float = 0.0,
        **look: object,
    ) -> Text | None:
        """Write `text` near `at` [data] at the first free place; where none is free, not at all.

        Letters have a `size` [points]; the `directions` [degrees] are those it may stand in, best first.

        A label that `must` stand may go far away on a leader; another is left out where the near places are taken.
        One that is `centred` stands on its place or not at all; `least` is how far away it must stand [points].
        """
        wide, high = self._extent(text, size, look)
        anchor = self._axes.transData.transform((at[0], at[1]))
        scale = self._figure.dpi / 72.0
        best: tuple[float, float, tuple[float, float, float, float]] | None = None
        for reach in (0.0,) if centred else [one for one in (REACH if must else REACH[:3]) if one >= least]:
            for rank, direction in enumerate(directions):
                box = _box_at(anchor, wide, high, -1.0 if centred else reach * scale, direction)
                if not self._free(box) or (centred and self._covered(box)):
                    continue
                cost = (
                    40.0 * (self._crossed(anchor, box) if reach > LEADER else 0)
                    + 6.0 * self._covered(box)
                    + 1.0 * reach
                    + 0.35 * rank
                )
                if best is None or cost < best[0]:
                    best = (cost, reach, box)
            if best is not None and best[0] < reach + 8.0:
                break
        return None if best is None else self._write(text, at, best, size, look)

    def _extent(self, text: str, size: float, look: dict[str, object]) -> tuple[float, float]:
        probe = self._figure.text(0.0, 0.0, text, size=size, **look)  # type: ignore[arg-type]  # the look of a text
        extent = probe.get_window_extent(self._renderer)
        probe.remove()
        return extent.width, extent.height

    def _free(self, box: tuple[float, float, float, float]) -> bool:
        left, bottom, right, top = box
        room = self._room
        if left < room.x0 + 3 or right > room.x1 - 3 or bottom < room.y0 + 3 or top > room.y1 - 3:
            return False
        return not any(
            left < other[2] + GAP and right > other[0] - GAP and bottom < other[3] + GAP and top > other[1] - GAP
            for other in self._boxes
        )

    def _crossed(self, anchor: Floats, box: tuple[float, float, float, float]) -> int:
        """Return how many labels a leader from `anchor` [pixels] to the middle of a box would cross."""
        middle = np.array([(box[0] + box[2]) / 2.0, (box[1] + box[3]) / 2.0])
        points = anchor + np.linspace(0.0, 1.0, 40)[:, None] * (middle - anchor)
        return sum(bool(((points > other[:2]) & (points < other[2:])).all(axis=1).any()) for other in self._written)

    def _covered(self, box: tuple[float, float, float, float]) -> int:
        left, bottom, right, top = box
        points = self._soft
        hit = (points[:, 0] > left) & (points[:, 0] < right) & (points[:, 1] > bottom) & (points[:, 1] < top)
        return int(np.count_nonzero(hit))

    def _write(
        self,
        text: str,
        at: Sequence[float] | Floats,
        best: tuple[float, float, tuple[float, float, float, float]],
        size: float,
        look: dict[str, object],
    ) -> Text:
        """Write at the chosen box, draw a leader where it stands away, and take the box."""
        _, reach, (left, bottom, right, top) = best
        scale = self._figure.dpi / 72.0
        across, up = self._axes.transData.transform((at[0], at[1]))
        middle = ((left + right) / 2.0, (bottom + top) / 2.0)
        offset = ((middle[0] - across) / scale, (middle[1] - up) / scale)
        arrow = {"arrowstyle": "-", "linewidth": 0.5, "color": INK, "shrinkA": 0.0, "shrinkB": 2.0}
        written = Annotation(
            text,
            (float(at[0]), float(at[1])),
            offset,
            textcoords="offset points",
            arrowprops=arrow if reach > LEADER else None,
            ha="center",
            va="center",
            size=size,
            zorder=20,
            bbox={"boxstyle": "square,pad=0.12", "facecolor": PAPER, "edgecolor": "none", "alpha": 0.72},
            **look,  # type: ignore[arg-type]  # the look of a text
        )
        self._axes.add_artist(written)
        self._boxes.append((left, bottom, right, top))
        self._written.append((left, bottom, right, top))
        self.texts.append(written)
        return written


def _box_at(
    anchor: Floats, wide: float, high: float, reach: float, direction: float
) -> tuple[float, float, float, float]:
    """Return the box of a label `reach` from `anchor` in a direction [pixels, degrees]; centred where negative."""
    if reach < 0.0:
        return anchor[0] - wide / 2.0, anchor[1] - high / 2.0, anchor[0] + wide / 2.0, anchor[1] + high / 2.0
    across, up = math.cos(math.radians(direction)), math.sin(math.radians(direction))
    middle = (anchor[0] + across * (reach + wide / 2.0), anchor[1] + up * (reach + high / 2.0))
    return middle[0] - wide / 2.0, middle[1] - high / 2.0, middle[0] + wide / 2.0, middle[1] + high / 2.0
