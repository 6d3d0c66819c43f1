"""The drawing board: sheet size, style, colours, the frame with its title strip, and a saver without dates."""

import math
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import matplotlib
from matplotlib.artist import Artist
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Polygon, Rectangle
from matplotlib.text import Text

from estimate.record import Estimate
from viewer.words import shortened

if TYPE_CHECKING:
    from matplotlib.axes import Axes

WIDE, HIGH = 11.0, 8.5
"""The sheet [inches]: letter, landscape."""
DOTS = 150
"""Dots an inch of every picture."""
DRAWING = (0.7, 1.66, 9.8, 6.44)
"""Where the drawing stands on the sheet: left, bottom, width, height [inches]."""

INK = "#1b1b1b"
"""The colour of lines and letters."""
QUIET = "#6b675f"
"""The colour of what stands behind: grid, coordinates, notes."""
PAPER = "#ffffff"
"""The colour of the sheet."""
EARTH = "#e7dfd0"
"""The colour of ground in section."""
PIPE = "#0b4f8a"
"""The colour of the pipe and the route."""
WATER = "#56a5d8"
"""The colour of water: levels and what is held until drained."""
STAYS = "#1d3f8f"
"""The colour of water that stays after every drain was opened."""
DRAIN = "#c8500a"
"""The colour of drains."""
CUT = "#8a5a2b"
"""The colour of the dig: outline and trench floor."""

NOTE = "For planning - not a survey"
"""What every drawing says of itself."""

STYLE = {
    "font.family": "DejaVu Sans",
    "font.size": 7.5,
    "text.color": INK,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "axes.linewidth": 0.8,
    "xtick.color": QUIET,
    "ytick.color": QUIET,
    "xtick.labelsize": 6.5,
    "ytick.labelsize": 6.5,
    "hatch.linewidth": 0.6,
    "text.parse_math": False,
    "path.simplify": True,
    "agg.path.chunksize": 20000,
}
"""The style of the drawings, on top of the plotting library's own defaults."""


@contextmanager
def drawing_style() -> Iterator[None]:
    """Draw with our style whatever settings the user's own plots have; missing letters give no warning."""
    with matplotlib.rc_context(), warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=r"Glyph .* missing")
        warnings.filterwarnings("ignore", message=r"Matplotlib currently does not support")
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(STYLE)  # type: ignore[arg-type]  # its keys are names of settings
        yield


def new_sheet() -> Figure:
    """Return an empty sheet of letter paper, landscape."""
    figure = Figure(figsize=(WIDE, HIGH), dpi=DOTS, facecolor=PAPER)
    FigureCanvasAgg(figure)
    return figure


def on_sheet(left: float, bottom: float, width: float, height: float) -> tuple[float, float, float, float]:
    """Return a place from its `left`, `bottom`, `width` and `height` [inches] as shares of the sheet."""
    return left / WIDE, bottom / HIGH, width / WIDE, height / HIGH


def write(figure: Figure, left: float, bottom: float, text: str, **look: object) -> Text:
    """Write `text` at `left` and `bottom` of the sheet [inches] and return it."""
    return figure.text(left / WIDE, bottom / HIGH, text, **look)  # type: ignore[arg-type]  # the look of a text


def frame(figure: Figure, estimate: Estimate, name: str, remarks: list[str]) -> None:
    """Draw the sheet's border and title strip: the site's title, the drawing's `name`, up to five `remarks`."""
    frame_words(figure, estimate.title, name, remarks, estimate.price.example)


def frame_words(figure: Figure, title: str, name: str, remarks: list[str], example: bool) -> None:
    """Draw border and title strip from their words; `example` says that prices are examples."""
    for place, width in (((0.3, 0.3, 10.4, 7.98), 1.2), ((0.3, 0.3, 10.4, 1.06), 0.8)):
        left, bottom, wide, high = on_sheet(*place)
        border = Rectangle((left, bottom), wide, high, fill=False, edgecolor=INK, linewidth=width)
        border.set_transform(figure.transFigure)
        figure.add_artist(border)
    for left in (3.35, 8.05):
        figure.add_artist(_rule(figure, left, 0.3, 1.36))
    write(figure, 0.45, 1.08, name.upper(), size=8.5, weight="bold", color=QUIET)
    _title(figure, title)
    if example:
        write(figure, 3.25, 0.42, "Prices are examples", size=6.5, ha="right", color=QUIET)
    write(figure, 0.45, 0.42, NOTE, size=7.5, style="italic")
    for row, remark in enumerate(remarks[:5]):
        words = write(figure, 8.17, 1.17 - 0.178 * row, shortened(remark, 70), size=6.5, va="center")
        words.set_fontsize(min(6.5, 6.5 * 2.45 / _inches_wide(words)))


def _inches_wide(text: Text) -> float:
    """Return how wide a text is on the sheet [inches]."""
    return max(float(text.get_window_extent().width) / DOTS, 1e-6)


def _title(figure: Figure, words: str) -> None:
    """Write the site's title in the strip, smaller where it is long."""
    title = shortened(words, 72)
    size = 13.0
    text = write(figure, 0.45, 0.76, title, size=size, weight="bold", va="center")
    width = _inches_wide(text)
    if width > 2.7:
        text.set_fontsize(max(size * 2.7 / width, 5.5))
        if size * 2.7 / width < 6.5:
            half = title.rfind(" ", 0, len(title) // 2 + 6)
            text.set_text(title if half < 0 else title[:half] + "\n" + title[half + 1 :])
            text.set_fontsize(min(8.0, max(5.0, 1.7 * size * 2.7 / width)))


def _rule(figure: Figure, left: float, bottom: float, top: float) -> "matplotlib.lines.Line2D":
    """Return an upright line on the sheet [inches]."""
    from matplotlib.lines import Line2D

    return Line2D(
        [left / WIDE] * 2, [bottom / HIGH, top / HIGH], color=INK, linewidth=0.8, transform=figure.transFigure
    )


def legend(figure: Figure, handles: list[tuple[Artist, str]], columns: int = 3) -> None:
    """Draw the key in the middle of the title strip: handles and their words."""
    axes = figure.add_axes(on_sheet(3.4, 0.32, 4.62, 1.02))
    rows = math.ceil(len(handles) / columns)
    axes.set_axis_off()
    axes.legend(
        [one for one, _ in handles],
        [word for _, word in handles],
        loc="center",
        ncols=columns,
        frameon=False,
        fontsize=6.5,
        handlelength=2.6,
        columnspacing=1.3,
        labelspacing=0.6 if rows <= 4 else 0.25,
        borderaxespad=0.0,
    )


def scale_bar(figure: Figure, left: float, bottom: float, unit_inches: float, unit: str, most: float = 2.2) -> None:
    """Draw a bar of five parts at `left` and `bottom` [inches], where one `unit` is `unit_inches` on the sheet.

    It is at most `most` inches long.
    """
    step = _bar_step(most / unit_inches / 5.0)
    for part in range(5):
        place, bottom_, wide, high = on_sheet(left + part * step * unit_inches, bottom, step * unit_inches, 0.06)
        face = INK if part % 2 == 0 else PAPER
        box = Rectangle((place, bottom_), wide, high, facecolor=face, edgecolor=INK, linewidth=0.7)
        box.set_transform(figure.transFigure)
        figure.add_artist(box)
    for part in (0, 1, 3, 5):
        words = f"{part * step:g}" + (f" {unit}" if part == 5 else "")
        write(figure, left + part * step * unit_inches, bottom + 0.1, words, size=6.5, ha="center")


def _bar_step(most: float) -> float:
    """Return the greatest round number not above `most`."""
    decade = 10.0 ** math.floor(math.log10(most))
    return max(step * decade for step in (1.0, 2.0, 5.0) if step * decade <= most * (1.0 + 1e-9))


def plain_axes(figure: Figure, place: tuple[float, float, float, float] = DRAWING) -> "Axes":
    """Return axes at a `place` on the sheet [inches] with quiet ticks."""
    axes = figure.add_axes(on_sheet(*place))
    axes.tick_params(length=3.0, width=0.6, pad=2.0)
    return axes


def save(figure: Figure, path: Path) -> None:
    """Write the sheet as PNG to `path`, the same bytes for the same drawing.

    Raises:
        StorageError: the file cannot be written.
    """
    from terrain.errors import StorageError

    try:
        figure.savefig(path, format="png", dpi=DOTS, metadata={"Software": "mattock", "Description": NOTE})
    except OSError as error:
        raise StorageError(str(path), f"the picture could not be written: {error}") from error


def north_arrow(figure: Figure, across: float, bottom: float, high: float = 0.5) -> None:
    """Draw an arrow to the north, `high` inches tall, its foot at `across` and `bottom` [inches]."""
    for side, face in ((-1.0, PAPER), (1.0, INK)):
        corners = [(across, bottom + high), (across + side * 0.11, bottom), (across, bottom + 0.1)]
        half = Polygon(
            [(place / WIDE, height / HIGH) for place, height in corners],
            facecolor=face,
            edgecolor=INK,
            linewidth=0.8,
        )
        half.set_transform(figure.transFigure)
        half.set_zorder(30)
        figure.add_artist(half)
    write(figure, across, bottom + high + 0.03, "N", size=9.0, weight="bold", ha="center")
