"""The plan: shaded ground with contours, the route and all that stands on it, to a round scale, north up."""

import math

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.colors import LinearSegmentedColormap
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, PathPatch, Polygon
from matplotlib.path import Path
from matplotlib.tri import Triangulation

from estimate.record import Estimate
from terrain.arrays import Floats
from terrain.ground import Ground
from terrain.units import FT, M
from viewer import board
from viewer.labels import LabelBoard
from viewer.relief import (
    Box,
    Surface,
    absolute,
    along,
    contour_levels,
    crop,
    hillshade,
    line_points,
    vertex_normals,
    work_box,
)
from viewer.solids import rim
from viewer.words import (
    amount,
    elevation,
    elevation_unit,
    elevation_word,
    elevation_words,
    number,
    shortened,
    stays_full,
    wrapped,
)

SCALES = {
    "US": (2, 4, 5, 8, 10, 15, 20, 30, 40, 50, 60, 80, 100, 150, 200, 300, 400, 500, 800, 1000, 2000, 5000),
    "SI": (20, 25, 50, 75, 100, 125, 150, 200, 250, 300, 400, 500, 750, 1000, 1500, 2000, 2500, 5000, 10000, 25000),
}
"""Round scales: feet an inch, or the number of the ratio."""
SHADE = LinearSegmentedColormap.from_list("shade", ["#7f7868", "#d3cab8", "#fbf8f1"])
"""The greys and tans of the shaded ground, dark to light."""


LIGHT_LABELS = 16
"""The most labels on light contours."""


def draw_plan(figure: Figure, estimate: Estimate, ground: Ground) -> LabelBoard:
    """Draw the plan of `estimate` over `ground` on an empty sheet and return its labels."""
    axes = board.plain_axes(figure)
    box, scale = _view(estimate)
    axes.set_xlim(box.west, box.east)
    axes.set_ylim(box.south, box.north)
    _coordinates(axes, ground)
    surface = crop(ground, box)
    step = _relief(axes, surface, estimate, absolute(ground))
    _dig_and_water(axes, estimate)
    _route(axes, estimate)
    _frame(figure, estimate, ground, scale, step)
    return _labels(figure, axes, estimate, surface)


def _view(estimate: Estimate) -> tuple[Box, str]:
    """Return the box that fills the drawing at the largest round scale that holds the work, and its words."""
    work = work_box(estimate)
    wide, high = board.DRAWING[2:]
    least = max((work.east - work.west) / wide, (work.north - work.south) / high)
    if estimate.units == "US":
        feet = next((one for one in SCALES["US"] if one * 0.3048 >= least), math.ceil(least / 0.3048))
        metres, words = feet * 0.3048, f"Scale 1 in = {feet} ft on letter paper"
    else:
        ratio = next((one for one in SCALES["SI"] if one * 0.0254 >= least), math.ceil(least / 0.0254))
        metres, words = ratio * 0.0254, f"Scale 1 : {ratio} on letter paper"
    east, north = (work.west + work.east) / 2.0, (work.south + work.north) / 2.0
    half, tall = metres * wide / 2.0, metres * high / 2.0
    return Box(east - half, north - tall, east + half, north + tall), words


def _coordinates(axes: Axes, ground: Ground) -> None:
    """Mark the edges with round coordinates of the survey."""
    unit = ground.horizontal.metres
    for axis, low, high, origin in (
        (axes.xaxis, *axes.get_xlim(), ground.origin[0]),
        (axes.yaxis, *axes.get_ylim(), ground.origin[1]),
    ):
        levels = contour_levels(low / unit + origin, high / unit + origin, 8)
        inner = 0.03 * (high - low) / unit
        levels = levels[(levels - origin > low / unit + inner) & (levels - origin < high / unit - inner)]
        axis.set_ticks(((levels - origin) * unit).tolist(), [f"{level:,.10g}" for level in levels])
    for text in axes.get_yticklabels():
        text.set(rotation=90, va="center")


def _relief(axes: Axes, surface: Surface, estimate: Estimate, level: float) -> float:
    """Shade the ground and draw contours; return the interval in the unit of elevations, 0 on level ground."""
    if len(surface.triangles) == 0:
        return 0.0
    heights = surface.vertices[:, 2]
    light = hillshade(vertex_normals(surface, 2.0))
    middle = float(np.median(light))
    mesh = Triangulation(surface.vertices[:, 0], surface.vertices[:, 1], surface.triangles)
    axes.tripcolor(
        mesh, light, cmap=SHADE, vmin=middle - 0.38, vmax=middle + 0.3, shading="gouraud", zorder=0, rasterized=True
    )
    edge = surface.vertices[rim(surface.triangles), :2]
    axes.add_collection(LineCollection(list(edge), colors=board.QUIET, linewidths=0.9, zorder=2), autolim=False)
    unit = elevation_unit(estimate).metres
    levels = contour_levels(float(heights.min() + level) / unit, float(heights.max() + level) / unit, 20)
    if len(levels) < 2:
        return 0.0
    step = float(levels[1] - levels[0])
    heavy = np.isclose(levels / (5.0 * step), np.round(levels / (5.0 * step)))
    for chosen, width in ((levels[~heavy], 0.45), (levels[heavy], 1.0)):
        if len(chosen):
            # each set by itself, so that its lines can be found again for their labels
            lines = axes.tricontour(
                mesh,
                heights,
                chosen * unit - level,
                colors="#7d6a4f",
                linewidths=width,
                linestyles="solid",
                zorder=1,
            )
            lines.set_gid("heavy" if width == 1.0 else "light")
    return step


def _dig_and_water(axes: Axes, estimate: Estimate) -> None:
    """Draw the disturbed ground, the floors of pits and the stretches that hold water, under the route."""
    if estimate.dig.outline_m:
        rings = [np.concatenate([ring, ring[:1]]) for ring in estimate.dig.outline_m]
        whole = Path.make_compound_path(*(Path(ring, closed=True) for ring in rings))
        axes.add_patch(PathPatch(whole, facecolor="#c9a87c", alpha=0.55, edgecolor="none", zorder=3))
    for ring in estimate.dig.outline_m:
        axes.add_patch(
            Polygon(ring, fill=False, edgecolor=board.CUT, linewidth=0.9, linestyle=(0, (5, 2)), zorder=6)
        )
    for pit in estimate.dig.pits:
        axes.add_patch(Polygon(pit.corners_m, facecolor="#a97f4d", edgecolor=board.CUT, linewidth=1.0, zorder=3.5))
    for stretch in estimate.full_stretches:
        part = part_of_line(estimate, stretch.from_m, stretch.to_m)
        axes.plot(*part.T, color=board.INK, linewidth=7.0, solid_capstyle="butt", zorder=4)
        colour = board.STAYS if stays_full(stretch) else board.WATER
        axes.plot(*part.T, color=colour, linewidth=5.6, solid_capstyle="butt", zorder=4)


def part_of_line(estimate: Estimate, start: float, end: float) -> Floats:
    """Return the line between the stations `start` and `end` [m] in plan, (n, 2) metres from the origin."""
    station = estimate.profile.station_m
    inner = station[(station > start) & (station < end)]
    stations = np.concatenate([[start], inner, [end]])
    east, north = along(estimate, stations, "easting_m"), along(estimate, stations, "northing_m")
    return np.column_stack([east, north])


def _route(axes: Axes, estimate: Estimate) -> None:
    """Draw the route with ticks at round stations, way points, low and high points, drains and structures."""
    axes.plot(*line_points(estimate).T, color=board.PIPE, linewidth=2.0, solid_capstyle="round", zorder=7)
    ticks, _ = _ticks(axes, estimate)
    axes.add_collection(LineCollection(list(ticks), colors=board.PIPE, linewidths=1.0, zorder=7), autolim=False)
    way = estimate.route.points_m
    axes.plot(*way.T, "o", ms=4.2, mfc=board.PAPER, mec=board.PIPE, mew=1.1, zorder=8)
    axes.plot(*estimate.dig.tallest_face_at_m, "x", ms=6.5, mec=board.INK, mew=1.4, zorder=9)
    for points, shape in ((estimate.low_points, "v"), (estimate.high_points, "^")):
        at = [place(estimate, one.station_m) for one in points]
        if at:
            axes.plot(*np.array(at).T, shape, ms=7.0, mfc=board.PAPER, mec=board.INK, mew=1.0, zorder=9)
    for one in estimate.structures:
        axes.plot(
            *place(estimate, one.station_m), "s", ms=10.5, mfc=board.INK, mec=board.PAPER, mew=1.0, zorder=9.5
        )
    for drain in estimate.drains:
        axes.plot(
            drain.easting_m, drain.northing_m, "D", ms=6.0, mfc=board.DRAIN, mec=board.INK, mew=0.8, zorder=10
        )


def place(estimate: Estimate, station: float) -> tuple[float, float]:
    """Return easting and northing [m from the origin] of the line at `station` [m]."""
    east, north = along(estimate, station, "easting_m")[0], along(estimate, station, "northing_m")[0]
    return float(east), float(north)


def _ticks(axes: Axes, estimate: Estimate) -> tuple[Floats, list[tuple[str, Floats, float]]]:
    """Return ticks across the line (n, 2, 2) metres and, for each one with a number, its words, place and side."""
    unit = (FT if estimate.units == "US" else M).metres
    stations = station_levels(estimate, 16)
    size = (axes.get_xlim()[1] - axes.get_xlim()[0]) * 0.007
    lines, words = [], []
    for value in stations:
        at = np.array(place(estimate, value * unit))
        ahead = np.subtract(place(estimate, value * unit + 0.05), place(estimate, value * unit - 0.05))
        length = float(np.hypot(*ahead))
        if length > 0.0:
            across = np.array([-ahead[1], ahead[0]]) / length
            lines.append([at - size * across, at + size * across])
            words.append((f"{value:g}", at, math.degrees(math.atan2(across[1], across[0]))))
    return np.array(lines).reshape(-1, 2, 2), words


def station_levels(estimate: Estimate, wanted: int) -> Floats:
    """Return about `wanted` round stations (n,) along the line, in feet or metres as the site has it."""
    unit = (FT if estimate.units == "US" else M).metres
    station = estimate.profile.station_m
    return contour_levels(float(station[0]) / unit, float(station[-1]) / unit, wanted)


def _labels(figure: Figure, axes: Axes, estimate: Estimate, surface: Surface) -> LabelBoard:
    """Write the labels: structures, drains, low and high points, stations, contours, in this order of right."""
    labels = LabelBoard(figure, axes)
    _keep_marks(labels, axes, estimate)
    unit = elevation_word(estimate)
    for one in estimate.structures:
        words = f"{wrapped(one.name, 24)}\nwater {elevation(one.water_level_m, estimate)} {unit}"
        labels.put(words, place(estimate, one.station_m), 7.5, weight="bold")
    for drain in estimate.drains:
        words = (
            f"{shortened(drain.name or 'Drain', 26)}, sta {number(drain.station_m, 'length', estimate.units, 1)}"
        )
        words += f"\ninvert {elevation(drain.invert_m, estimate)} {unit}"
        labels.put(words, (drain.easting_m, drain.northing_m), 7.0)
    face = f"tallest face {_face(estimate)}"
    labels.put(face, estimate.dig.tallest_face_at_m, 6.5)
    for points, word in ((estimate.high_points, "high"), (estimate.low_points, "low")):
        for point in points:
            if not any(abs(point.station_m - drain.station_m) < 0.05 for drain in estimate.drains):
                station = number(point.station_m, "length", estimate.units, 1)
                labels.put(f"{word} {station}", place(estimate, point.station_m), 6.5, must=False)
    for words, at, side in _ticks(axes, estimate)[1]:
        labels.put(words, at, 6.5, (side, side + 180.0), must=False, color=board.PIPE)
    _contour_labels(labels, axes, estimate)
    _edge_label(labels, axes, surface)
    return labels


def _face(estimate: Estimate) -> str:
    """Return the height of the tallest face with its unit, as the other documents have it."""
    return amount(estimate.dig.tallest_face_m, "level", estimate.units, 2)


def _edge_label(labels: LabelBoard, axes: Axes, surface: Surface) -> None:
    """Write once where the survey ends, if that is in sight."""
    middles = surface.vertices[rim(surface.triangles), :2].mean(axis=1)
    low, high = (np.array([axes.get_xlim()[k], axes.get_ylim()[k]]) for k in (0, 1))
    inner = middles[((middles > low) & (middles < high)).all(axis=1)]
    for at in inner[:: max(len(inner) // 12, 1)]:
        if labels.put("edge of the survey", at, 6.3, must=False, style="italic", color=board.QUIET):
            return


def _keep_marks(labels: LabelBoard, axes: Axes, estimate: Estimate) -> None:
    """Keep labels off the marks, and rather off the line, the outline and the north arrow."""
    for one in estimate.structures:
        labels.keep_mark(place(estimate, one.station_m), 5.0)
    for drain in estimate.drains:
        labels.keep_mark((drain.easting_m, drain.northing_m), 4.5)
    for point in (*estimate.low_points, *estimate.high_points):
        labels.keep_mark(place(estimate, point.station_m), 4.5)
    labels.keep_mark(estimate.dig.tallest_face_at_m, 4.0)
    for pit in estimate.dig.pits:
        low, high = (axes.transData.transform(end(pit.corners_m, axis=0)) for end in (np.min, np.max))
        labels.keep_box(*low.tolist(), *high.tolist())
    labels.keep_line(line_points(estimate))
    for ring in estimate.dig.outline_m:
        labels.keep_line(np.concatenate([ring, ring[:1]]), 8.0)
    left, bottom = board.DRAWING[:2]
    for across, up, width, tall in (_arrow_place(axes, estimate), _bar_place(axes, estimate)):
        edges = np.array([left + across, bottom + up, left + across + width, bottom + up + tall]) * board.DOTS
        labels.keep_box(*edges.tolist())


def _arrow_place(axes: Axes, estimate: Estimate) -> tuple[float, float, float, float]:
    """Return where the north arrow stands in the drawing: left, bottom, width, height [inches]."""
    _, _, wide, high = board.DRAWING
    return _freer(axes, estimate, (wide - 0.55, high - 0.85, 0.55, 0.85), (0.0, high - 0.85, 0.55, 0.85))


def _bar_place(axes: Axes, estimate: Estimate) -> tuple[float, float, float, float]:
    """Return where the scale bar stands in the drawing: left, bottom, width, height [inches]."""
    wide = board.DRAWING[2]
    return _freer(axes, estimate, (0.0, 0.0, 2.8, 0.42), (wide - 2.8, 0.0, 2.8, 0.42))


def _freer(
    axes: Axes,
    estimate: Estimate,
    first: tuple[float, float, float, float],
    other: tuple[float, float, float, float],
) -> tuple[float, float, float, float]:
    """Return the `first` place in the drawing [inches], or the `other` where the line runs through the first."""
    west, south = axes.get_xlim()[0], axes.get_ylim()[0]
    inch = (axes.get_xlim()[1] - west) / board.DRAWING[2]
    line = part_of_line(estimate, *np.array(estimate.profile.station_m)[[0, -1]].tolist())
    points = (line - (west, south)) / inch
    low, size = np.array(first[:2]) - 0.15, np.array(first[2:]) + 0.3
    return other if bool(((points > low) & (points < low + size)).all(axis=1).any()) else first


def _contour_labels(labels: LabelBoard, axes: Axes, estimate: Estimate) -> None:
    """Write the elevation on heavy contours, then on some light ones, where there is room."""
    level = _level_of(estimate)
    unit = elevation_unit(estimate).metres
    for wanted, size, each, most in (("heavy", 6.0, 2, 40), ("light", 5.6, 1, LIGHT_LABELS)):
        lines = next((one for one in axes.collections if one.get_gid() == wanted), None)
        if lines is None:
            continue
        written = 0
        for height, path in zip(lines.levels, lines.get_paths(), strict=True):  # type: ignore[attr-defined]  # a ContourSet
            words = f"{(height + level) / unit:.10g}"
            polygons = [np.asarray(poly, dtype=np.float64) for poly in path.to_polygons(closed_only=False)]
            spots = [poly for poly in polygons if len(poly) > 4]
            spots.sort(key=lambda poly: -float(np.hypot(*np.diff(poly, axis=0).T).sum()))
            for poly in spots[:each] if written < most else ():
                written += _on_contour(labels, poly, words, size)


def _on_contour(labels: LabelBoard, line: Floats, words: str, size: float) -> bool:
    """Write `words` in letters of a `size` [points] on a contour (n, 2) metres; return whether there was room."""
    away = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    for share in (0.5, 0.3, 0.7, 0.15, 0.85):
        at = np.array([np.interp(share * away[-1], away, line[:, axis]) for axis in (0, 1)])
        if labels.put(words, at, size, (0,), must=False, centred=True, color="#5f4f38"):
            return True
    return False


def _level_of(estimate: Estimate) -> float:
    """Return what [m] makes a local elevation absolute, from the estimate alone."""
    from terrain.units import LENGTH_UNITS

    return estimate.ground.origin[2] * LENGTH_UNITS.get(estimate.ground.vertical_unit, M).metres


def _frame(figure: Figure, estimate: Estimate, ground: Ground, scale: str, step: float) -> None:
    """Draw the frame, the key, the north arrow and the scale bar."""
    unit = elevation_word(estimate)
    contours = (
        f"Contours every {step:g} {unit}, heavy every {5 * step:g} {unit}" if step else "Level ground: no contours"
    )
    steps = "ft" if estimate.units == "US" else "m"
    remarks = [
        scale,
        contours,
        f"Stations in {steps}, elevations in {elevation_words(estimate)}, survey's datum",
        f"Coordinates: survey, {ground.horizontal.name}; {estimate.ground.source}",
        "Dug ground: its outline at the surface, pits with it",
    ]
    board.frame(figure, estimate, "Plan", remarks)
    handles: list[tuple[Artist, str]] = [
        (Line2D([], [], color=board.PIPE, lw=2.0), "Route, stations"),
        (Line2D([], [], color=board.PIPE, marker="o", mfc=board.PAPER, ms=4.2, lw=0), "Way point"),
        (Patch(facecolor="#dcc7a8", edgecolor=board.CUT, ls=(0, (5, 2)), lw=0.9), "Dug ground"),
        (Line2D([], [], color="w", marker="D", mfc=board.DRAIN, mec=board.INK, ms=6, lw=0), "Drain"),
        (Line2D([], [], color="w", marker="v", mfc=board.PAPER, mec=board.INK, ms=7, lw=0), "Low point"),
        (Line2D([], [], color="w", marker="^", mfc=board.PAPER, mec=board.INK, ms=7, lw=0), "High point"),
        (Line2D([], [], color="w", marker="s", mfc=board.INK, mec=board.PAPER, ms=9, lw=0), "Structure"),
        (Patch(facecolor=board.WATER, edgecolor=board.INK, lw=0.8), "Holds water until drained"),
        (Patch(facecolor=board.STAYS, edgecolor=board.INK, lw=0.8), "Stays full after draining"),
        (Line2D([], [], color="#7d6a4f", lw=1.0), "Contour"),
        (Line2D([], [], color=board.INK, marker="x", ms=6.5, mew=1.4, lw=0), f"Tallest face {_face(estimate)}"),
        (Patch(facecolor="#a97f4d", edgecolor=board.CUT, lw=1.0), "Floor of a pit"),
    ]
    board.legend(figure, handles)
    left, bottom, wide, _ = board.DRAWING
    axes = figure.axes[0]
    arrow, bar = _arrow_place(axes, estimate), _bar_place(axes, estimate)
    board.north_arrow(figure, left + arrow[0] + 0.27, bottom + arrow[1] + 0.12)
    metres = (axes.get_xlim()[1] - axes.get_xlim()[0]) / wide
    one = FT if estimate.units == "US" else M
    board.scale_bar(figure, left + bar[0] + 0.2, bottom + 0.12, one.metres / metres, one.name)
