"""The sheet around the 3D picture: frame, labels, north arrow, close-up; and the plain picture of last resort."""

from pathlib import Path

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Polygon
from numpy.typing import NDArray

from terrain.arrays import Flags, Floats
from viewer import board
from viewer.labels import LEADER, LabelBoard
from viewer.scene import FLOOR, HIGH_LAND, PIPE, POST, SURFACE, Mesh, Scene
from viewer.scene_file import Views, marks_of

INSET = (2.85, 2.14)
"""Width and height of the close-up on the sheet [inches]."""
LAYERS = ("trench", "walls", "ground", "sides", "water")
"""The order in which the plain picture draws the meshes: what may hide others comes later."""
SEEN = "pipe, seen through the ground"
"""What the dashed line of the wide look is."""
LEAST_RUN = 12
"""A hidden run of pipe shorter than this [pixels] is not drawn."""
ARROW = (0.85, 0.85)
"""Width and height of the room for the arrow to the north [inches]."""


def picture_sheet(scene: Scene, views: Views, path: Path) -> None:
    """Write the sheet with the `views` of `scene` to `path`.

    Raises:
        StorageError: the file cannot be written.
    """
    with board.drawing_style():
        sheet = board.new_sheet()
        draw_picture_sheet(sheet, scene, views)
        board.save(sheet, path)


def draw_picture_sheet(figure: Figure, scene: Scene, views: Views) -> LabelBoard:
    """Draw the views with frame, labels and close-up on an empty sheet and return its labels."""
    axes = board.plain_axes(figure)
    high, wide = views.whole.picture.shape[:2]
    axes.imshow(views.whole.picture, extent=(0, wide, 0, high), interpolation="none", aspect="auto")
    axes.set(xticks=[], yticks=[])
    _frame(figure, scene, scene.remarks)
    labels = LabelBoard(figure, axes)
    drawn = np.asarray((views.whole.picture < 250).any(axis=2), dtype=np.bool_)[::-1].copy()
    corner = _free_corner(drawn, INSET)
    if corner is not None:
        _inset(figure, views, scene.caption, corner)
        labels.keep_box(*_pixels(corner, INSET))
        left, bottom = (round(part * board.DOTS) for part in corner)
        drawn[bottom : bottom + round(INSET[1] * board.DOTS), left : left + round(INSET[0] * board.DOTS)] = True
    hidden = hidden_runs(views.whole.picture, views.whole.pixels[len(scene.labels) + 2 :])
    _overlay(figure, axes, labels, scene, views.whole.pixels, hidden, _free_corner(drawn, ARROW))
    return labels


def _overlay(
    figure: Figure,
    axes: Axes,
    labels: LabelBoard,
    scene: Scene,
    marks: Floats,
    hidden: list[Floats],
    corner: tuple[float, float] | None,
) -> None:
    """Draw what lies over the picture: the pipe where it is hidden, the arrow to the north, the labels.

    `marks` (n, 2) [data] are the places of `marks_of` the scene, `hidden` the runs (n, 2) [data] of pipe that the
    ground hides; the arrow stands in a `corner` [inches].
    """
    count = len(scene.labels)
    pipe = marks[count + 2 :]
    for run in hidden:
        axes.plot(*run.T, color=_share(PIPE), linewidth=0.9, linestyle=(0, (3, 2.5)), zorder=4)
    foot, tip = axes.transData.transform(marks[count : count + 2])
    corner = corner or (0.0, board.DRAWING[3] - ARROW[1])
    _north(figure, tip - foot, corner)
    labels.keep_box(*_pixels(corner, ARROW))
    labels.keep_line(pipe)
    for place in marks[:count]:
        labels.keep_mark(place, 5.0)
    for label, place in zip(scene.labels, marks[:count], strict=True):
        labels.put(label.text, place, 7.2, (90, 60, 120, 30, 150, 0, 180, -90), weight="bold")
    if hidden:
        _pipe_label(labels, max(hidden, key=len))


def hidden_runs(picture: NDArray[np.uint8], pipe: Floats) -> list[Floats]:
    """Return the runs of a pipe (n, 2) [pixels from left and bottom] that a `picture` (h, w, 3) does not show.

    The pipe is seen where the picture has its blue within two pixels. A run is sampled at every pixel.
    """
    high, wide = picture.shape[:2]
    away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(pipe, axis=0).T))])
    steps = np.linspace(0.0, away[-1], max(int(away[-1]), 2))
    points = np.column_stack([np.interp(steps, away, pipe[:, axis]) for axis in (0, 1)])
    colours = picture.astype(np.int64)
    blue = (colours[..., 2] > colours[..., 0] + 50) & (colours[..., 2] > colours[..., 1] + 30)
    across, up = np.round(points).astype(np.int64).T
    seen = np.zeros(len(points), dtype=np.bool_)
    for right in range(-2, 3):
        for down in range(-2, 3):
            rows, columns = np.clip(high - 1 - up + down, 0, high - 1), np.clip(across + right, 0, wide - 1)
            seen |= blue[rows, columns]
    edges = np.flatnonzero(np.diff(np.concatenate([[True], seen, [True]]).astype(np.int64)))
    return [points[a:b] for a, b in edges.reshape(-1, 2).tolist() if b - a >= LEAST_RUN]


def _pipe_label(labels: LabelBoard, run: Floats) -> None:
    """Say on a leader what the dashed line is, below it where there is room; `run` (n, 2) [data]."""
    for share in (0.5, 0.4, 0.6, 0.3, 0.7):
        at = run[int(share * (len(run) - 1))]
        if labels.put(SEEN, at, 6.6, (-90, -60, -120, -30, -150), least=LEADER + 4.0, style="italic"):
            return


def _pixels(corner: tuple[float, float], size: tuple[float, float]) -> tuple[float, float, float, float]:
    """Return a box of the drawing [inches] in pixels of the sheet."""
    left, bottom = board.DRAWING[0] + corner[0], board.DRAWING[1] + corner[1]
    right, top = left + size[0], bottom + size[1]
    return left * board.DOTS, bottom * board.DOTS, right * board.DOTS, top * board.DOTS


def _free_corner(drawn: Flags, size: tuple[float, float]) -> tuple[float, float] | None:
    """Return the corner of the drawing [inches] where a box of a `size` [inches] covers least of what is `drawn`.

    `drawn` (h, w) has its first row at the bottom; none where every corner is mostly covered.
    """
    wide, high = board.DRAWING[2:]
    best: tuple[float, tuple[float, float]] = (0.6, (-1.0, -1.0))
    for left in (wide - size[0], 0.0):
        for bottom in (high - size[1], 0.0):
            rows = slice(round(bottom / high * drawn.shape[0]), round((bottom + size[1]) / high * drawn.shape[0]))
            columns = slice(round(left / wide * drawn.shape[1]), round((left + size[0]) / wide * drawn.shape[1]))
            covered = float(drawn[rows, columns].mean())
            if covered < best[0] - 1e-9:
                best = (covered, (left, bottom))
    return None if best[1][0] < 0.0 else best[1]


def _inset(figure: Figure, views: Views, caption: str, corner: tuple[float, float]) -> None:
    """Put the close-up with its `caption` into a corner of the drawing [inches]."""
    left, bottom = board.DRAWING[0] + corner[0], board.DRAWING[1] + corner[1]
    axes = figure.add_axes(board.on_sheet(left, bottom, *INSET), zorder=5)
    axes.imshow(views.close.picture, interpolation="none", aspect="auto")
    axes.set(xticks=[], yticks=[])
    paper = {"boxstyle": "square,pad=0.25", "facecolor": board.PAPER, "edgecolor": "none", "alpha": 0.85}
    axes.text(0.03, 0.955, caption, transform=axes.transAxes, size=6.8, weight="bold", va="top", bbox=paper)


def _north(figure: Figure, way: Floats, corner: tuple[float, float]) -> None:
    """Draw the arrow to the north, which runs along `way` (2,) pixels in the picture, in a corner [inches]."""
    length = max(float(np.hypot(*way)), 1e-9)
    ahead = way / length * min(max(length / board.DOTS, 0.26), 0.5)
    aside = np.array([-ahead[1], ahead[0]]) * 0.24
    middle = np.array(board.DRAWING[:2]) + corner + np.array(ARROW) / 2.0
    foot = middle - 0.5 * ahead
    for side, face in ((-1.0, board.PAPER), (1.0, board.INK)):
        corners = np.array([foot + ahead, foot + side * aside, foot + 0.22 * ahead]) / (board.WIDE, board.HIGH)
        half = Polygon(corners, facecolor=face, edgecolor=board.INK, linewidth=0.8, zorder=8)
        half.set_transform(figure.transFigure)
        figure.add_artist(half)
    tip = foot + ahead * (1.0 + 0.11 / np.hypot(*ahead))
    board.write(
        figure, float(tip[0]), float(tip[1]), "N", size=9.0, weight="bold", ha="center", va="center", zorder=8
    )


def _frame(figure: Figure, scene: Scene, remarks: tuple[str, ...]) -> None:
    """Draw frame and key."""
    board.frame_words(figure, scene.title, "3D picture", list(remarks), scene.example)
    handles: list[tuple[Artist, str]] = [
        (Patch(facecolor=_share(HIGH_LAND), edgecolor=board.INK, lw=0.6), "Ground, green low, tan high"),
        (Patch(facecolor=_share(FLOOR), edgecolor=board.INK, lw=0.6), "Open trench and pits"),
        (Line2D([], [], color=_share(PIPE), lw=3.0), "Pipe, dashed: seen through the ground"),
        (Line2D([], [], color=_share(POST), lw=3.0), "Drain, up to the ground"),
        (Patch(facecolor=_share(SURFACE), edgecolor=board.INK, lw=0.6), "Water level at a structure"),
    ]
    board.legend(figure, handles, 2)


def _share(colour: tuple[int, int, int]) -> tuple[float, float, float]:
    """Return a colour of bytes as shares of one."""
    return colour[0] / 255.0, colour[1] / 255.0, colour[2] / 255.0


def plain_sheet(scene: Scene, path: Path) -> None:
    """Write a plain picture of `scene` to `path`, drawn without the 3D library.

    Raises:
        StorageError: the file cannot be written.
    """
    with board.drawing_style():
        sheet = board.new_sheet()
        draw_plain(sheet, scene)
        board.save(sheet, path)


def draw_plain(figure: Figure, scene: Scene) -> LabelBoard:
    """Draw `scene` flat, the far triangles first, from the same eye, on an empty sheet; return its labels."""
    axes = board.plain_axes(figure)
    wide, high = (round(part * board.DOTS) for part in board.DRAWING[2:])
    axes.set(xticks=[], yticks=[], xlim=(0, wide), ylim=(0, high))
    for mesh in sorted(scene.meshes, key=lambda one: LAYERS.index(one.name.split()[0])):
        _add_flat(axes, scene, mesh, (wide, high))
    for tube in scene.tubes:
        if tube.name != "pipe":
            across = _seen(scene, tube.points, (wide, high))[:, :2]
            axes.plot(*across.T, color=_share(tube.colour), linewidth=2.4, zorder=2)
    _frame(figure, scene, (*scene.remarks[:4], "Plain picture: the 3D library cannot run here"))
    labels = LabelBoard(figure, axes)
    marks = _seen(scene, marks_of(scene), (wide, high))[:, :2]
    ground = np.concatenate([_seen(scene, mesh.vertices, (wide, high)) for mesh in scene.meshes])[:, :2]
    drawn = np.histogram2d(ground[:, 1], ground[:, 0], bins=(64, 98), range=((0, high), (0, wide)))[0] > 0
    corner = _free_corner(np.asarray(drawn, dtype=np.bool_), ARROW)
    _overlay(figure, axes, labels, scene, marks, [marks[len(scene.labels) + 2 :]], corner)
    return labels


def _seen(scene: Scene, points: Floats, size: tuple[int, int]) -> Floats:
    """Return where `points` (n, 3) metres are seen in a picture of a size [pixels]: across, up, away (n, 3)."""
    look = scene.whole
    stretch = np.array([1.0, 1.0, scene.exaggeration])
    seen = ((points - np.array(look.at)) * stretch) @ look.axes.T
    scale = size[0] / look.width
    return np.asarray(seen * scale + np.array([size[0] / 2.0, size[1] / 2.0, 0.0]), dtype=np.float64)


def _add_flat(axes: Axes, scene: Scene, mesh: Mesh, size: tuple[int, int]) -> None:
    """Add a mesh as flat triangles, the far ones first; of the block's sides only those that face the eye."""
    corners = _seen(scene, mesh.vertices, size)[mesh.triangles]
    away = corners[:, :, 2].mean(axis=1)
    order = np.argsort(-away, kind="stable")
    if mesh.name == "sides":
        one, two = corners[:, 1, :2] - corners[:, 0, :2], corners[:, 2, :2] - corners[:, 0, :2]
        order = order[(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0])[order] > 0.0]
    colours = mesh.colours[mesh.triangles[order]].mean(axis=1) / 255.0
    edges = colours if mesh.opacity == 1.0 else "none"
    flat = PolyCollection(list(corners[order, :, :2]), facecolors=colours, edgecolors=edges, linewidths=0.25)
    flat.set(alpha=mesh.opacity, zorder=1)
    axes.add_collection(flat, autolim=False)
