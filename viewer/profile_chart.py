"""The profile: ground, pipe and trench bottom by station, water at both ends, drains, and a band of numbers."""

import math
from typing import NamedTuple

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch
from matplotlib.text import Text

from estimate.record import Estimate, FullStretch, Structure
from terrain.arrays import Floats
from terrain.units import FT, M
from viewer import board
from viewer.labels import LabelBoard
from viewer.pit_sections import PitSection, pit_sections
from viewer.relief import along, contour_levels
from viewer.words import (
    amount,
    elevation,
    elevation_unit,
    elevation_words,
    number,
    shortened,
    stays_full,
    wrapped,
)

BAND = 1.0
"""The height of the band of numbers under the profile [inches]."""
HEADS = 0.98
"""The width of the headings of that band [inches]."""
EXAGGERATIONS = (1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 80, 100)
"""The vertical exaggerations that may be chosen."""
ABOVE = (90, 60, 120, 30, 150, 0, 180)
"""Where labels of things above the ground may stand [degrees]."""
BELOW = (-90, -60, -120, -30, -150, 0, 180)
"""Where labels of things below the trench may stand [degrees]."""


class Lines(NamedTuple):
    """The profile in the units of the drawing: stations and elevations (n,)."""

    station: Floats
    ground: Floats
    top: Floats
    invert: Floats
    floor: Floats


def draw_profile(figure: Figure, estimate: Estimate) -> LabelBoard:
    """Draw the profile of `estimate` on an empty sheet and return its labels."""
    left, bottom, wide, high = board.DRAWING
    axes = board.plain_axes(figure, (left + HEADS, bottom + BAND, wide - HEADS, high - BAND))
    lines = _lines(estimate)
    exaggeration = _view(axes, estimate, lines)
    _sections(axes, estimate, lines)
    _pits(axes, estimate)
    _ends(axes, estimate)
    _points(axes, estimate)
    band = _band(figure, estimate)
    _key(figure, estimate, exaggeration)
    labels = _labels(figure, axes, estimate, lines)
    labels.texts.extend(band)
    return labels


def _station_unit(estimate: Estimate) -> float:
    return (FT if estimate.units == "US" else M).metres


def _lines(estimate: Estimate) -> Lines:
    """Return the profile's lines in the units of the drawing."""
    profile, level = estimate.profile, elevation_unit(estimate).metres
    heights = (profile.ground_m, profile.top_m, profile.invert_m, profile.floor_m)
    return Lines(profile.station_m / _station_unit(estimate), *(one / level for one in heights))


def _round_stations(estimate: Estimate) -> Floats:
    """Return the stations (n,) [feet or metres] at which the band has numbers: round ones and the last."""
    ends = estimate.profile.station_m[[0, -1]] / _station_unit(estimate)
    levels = contour_levels(float(ends[0]), float(ends[1]), 14)
    room = 0.065 * float(ends[1] - ends[0])
    return np.append(levels[levels < ends[1] - room], ends[1])


def _view(axes: Axes, estimate: Estimate, lines: Lines) -> float:
    """Set the limits so that the greatest round exaggeration holds all elevations, and return it."""
    level = elevation_unit(estimate).metres
    ends = [
        value / level
        for one in estimate.structures
        for value in (one.water_level_m, one.low_level_m, one.winter_level_m, one.end_m, one.port_m)
        if math.isfinite(value)
    ]
    ends += [pit.floor_m / level for pit in estimate.dig.pits]
    low = min([float(lines.floor.min()), *ends])
    high = max([float(lines.ground.max()), *ends])
    length = float(lines.station[-1] - lines.station[0])
    margin = max(0.09 * length, 1.25 * _beyond(estimate), 1e-3)
    across = length + 2.0 * margin
    wide, tall = board.DRAWING[2] - HEADS, board.DRAWING[3] - BAND
    most = 0.66 * tall / max(high - low, 1e-3) * across / wide
    chosen = max((one for one in EXAGGERATIONS if one <= most), default=most)
    height = tall * across / (wide * chosen)
    middle = (low + high) / 2.0 + 0.03 * height
    axes.set_xlim(float(lines.station[0]) - margin, float(lines.station[-1]) + margin)
    axes.set_ylim(middle - height / 2.0, middle + height / 2.0)
    axes.grid(color="#d9d6cf", linewidth=0.5)
    axes.set_axisbelow(True)
    axes.set_ylabel(f"Elevation [{elevation_words(estimate)}]", color=board.INK, size=7.0)
    axes.yaxis.set_label_coords(-0.052, 0.5)
    axes.ticklabel_format(style="plain", useOffset=False)
    stations = _round_stations(estimate)
    axes.set_yticks(contour_levels(*axes.get_ylim(), 12).tolist())
    axes.set_xticks(stations.tolist(), [""] * len(stations))
    return float(chosen)


def _beyond(estimate: Estimate) -> float:
    """Return how far pits reach beyond the ends of the line, in the unit of stations."""
    first, last = estimate.profile.station_m[[0, -1]].tolist()
    stations = [station for pit in pit_sections(estimate) for station in pit.stations.tolist()]
    reach = max([0.0, *(first - station for station in stations), *(station - last for station in stations)])
    return float(reach) / _station_unit(estimate)


def _pits(axes: Axes, estimate: Estimate) -> None:
    """Draw floor and walls of each pit in section along the line."""
    unit, level, low = _station_unit(estimate), elevation_unit(estimate).metres, axes.get_ylim()[0]
    for pit in pit_sections(estimate):
        across, up = _pit_line(pit, unit, level)
        axes.fill_between(across, low, up, color=board.EARTH, linewidth=0, zorder=1)
        axes.fill(across, up, color="#f8f4ea", linewidth=0, zorder=1.2)
        axes.plot(across, up, color=board.CUT, linewidth=1.6, solid_joinstyle="miter", zorder=6.4, gid="pit")


def _pit_line(pit: PitSection, unit: float, level: float) -> tuple[Floats, Floats]:
    """Return the stations (4,), rising, and elevations (4,) of a pit in the units of the drawing."""
    turned = slice(None) if pit.stations[0] < pit.stations[-1] else slice(None, None, -1)
    return pit.stations[turned] / unit, pit.elevations[turned] / level


def _sections(axes: Axes, estimate: Estimate, lines: Lines) -> None:
    """Draw the ground in section, the open trench, its bottom, the pipe, and what holds water."""
    low = axes.get_ylim()[0]
    axes.fill_between(lines.station, low, lines.ground, color=board.EARTH, linewidth=0, zorder=1)
    axes.fill_between(lines.station, lines.floor, lines.ground, color="#f8f4ea", linewidth=0, zorder=1.1)
    axes.plot(lines.station, lines.floor, color=board.CUT, linewidth=1.1, linestyle=(0, (6, 2)), zorder=6.5)
    for stretch in estimate.full_stretches:
        station = np.array([stretch.from_m, stretch.to_m])
        inner = estimate.profile.station_m
        station = np.concatenate([station[:1], inner[(inner > station[0]) & (inner < station[1])], station[1:]])
        _full(axes, estimate, station, board.STAYS if stays_full(stretch) else board.WATER)
    axes.fill_between(lines.station, lines.invert, lines.top, facecolor="#dbe7f1", linewidth=0, zorder=5)
    axes.plot(lines.station, lines.invert, color=board.PIPE, linewidth=1.3, zorder=6)
    axes.plot(lines.station, lines.top, color=board.PIPE, linewidth=0.7, zorder=6)
    axes.plot(lines.station, lines.ground, color=board.INK, linewidth=1.7, zorder=7)


def _full(axes: Axes, estimate: Estimate, station: Floats, colour: str) -> None:
    """Fill the pipe of one stretch that holds water, `station` (n,) metres."""
    across, level = station / _station_unit(estimate), elevation_unit(estimate).metres
    invert, top = along(estimate, station, "invert_m") / level, along(estimate, station, "top_m") / level
    axes.fill_between(across, invert, top, facecolor=colour, linewidth=0, zorder=5.5)


def _ends(axes: Axes, estimate: Estimate) -> None:
    """Draw the vertical pipe and the water levels of the two structures."""
    level = elevation_unit(estimate).metres
    low, high = axes.get_xlim()
    for index, one in enumerate(estimate.structures):
        station = one.station_m / _station_unit(estimate)
        width = 0.0022 * (high - low)
        heights = [one.invert_m / level, one.end_m / level]
        for side in (-width, width):
            axes.plot([station + side] * 2, heights, color=board.PIPE, linewidth=1.0, zorder=8)
        axes.plot(
            [station - 2.2 * width, station + 2.2 * width], [heights[1]] * 2, color=board.PIPE, lw=1.6, zorder=8
        )
        axes.axvline(station, color=board.QUIET, linewidth=0.6, linestyle=(0, (1, 2)), zorder=2)
        axes.plot(station, one.port_m / level, "o", ms=4.6, mfc=board.PAPER, mec=board.PIPE, mew=1.2, zorder=9.5)
        outer = low if index == 0 else high
        for _, value, style in water_levels(one):
            reach = [station + 0.012 * (outer - station), outer - 0.02 * (outer - station)]
            axes.plot(reach, [value / level] * 2, color="#1f6fa8", linewidth=1.5, linestyle=style, zorder=6)
            middle = station + 0.12 * (outer - station)
            axes.plot(
                middle, value / level, marker=_water_sign(), ms=10.0, mfc="w", mec="#1f6fa8", mew=0.9, zorder=6
            )


def _water_sign() -> Floats:
    """Return the draughtsman's sign of a free water surface, a triangle standing on its tip, as a marker (n, 2)."""
    return np.array([[0.0, 0.0], [-1.0, 1.7], [1.0, 1.7], [0.0, 0.0]])


def water_levels(one: Structure) -> list[tuple[str, float, object]]:
    """Return the levels of a structure that differ: word, elevation [m], line style."""
    found: list[tuple[str, float, object]] = [("water level", one.water_level_m, "solid")]
    for word, value, style in (
        ("winter level", one.winter_level_m, (0, (3, 2))),
        ("low level", one.low_level_m, (0, (7, 2, 1, 2))),
    ):
        if math.isfinite(value) and all(abs(value - other) > 0.005 for _, other, _ in found):
            found.append((word, value, style))
    return found


def _points(axes: Axes, estimate: Estimate) -> None:
    """Mark drains, low and high points on the pipe's invert."""
    unit, level = _station_unit(estimate), elevation_unit(estimate).metres
    for points, shape in ((estimate.low_points, "v"), (estimate.high_points, "^")):
        for one in points:
            at = (one.station_m / unit, one.ground_m / level)
            axes.plot(*at, shape, ms=6.5, mfc=board.PAPER, mec=board.INK, mew=1.0, zorder=9)
    for drain in estimate.drains:
        at = (drain.station_m / unit, drain.invert_m / level)
        axes.plot(*at, "D", ms=6.0, mfc=board.DRAIN, mec=board.INK, mew=0.8, zorder=10)


def _labels(figure: Figure, axes: Axes, estimate: Estimate, lines: Lines) -> LabelBoard:
    """Write the labels: levels, structures, drains, what holds water, low and high points."""
    labels = LabelBoard(figure, axes)
    unit, level = _station_unit(estimate), elevation_unit(estimate).metres
    for heights in (lines.ground, lines.floor, lines.invert, lines.top):
        labels.keep_line(np.column_stack([lines.station, heights]))
    for drain in estimate.drains:
        labels.keep_mark((drain.station_m / unit, drain.invert_m / level), 4.5)
    for one in (*estimate.low_points, *estimate.high_points):
        labels.keep_mark((one.station_m / unit, one.ground_m / level), 4.5)
    _end_labels(labels, axes, estimate)
    for drain in estimate.drains:
        words = f"{shortened(drain.name or 'Drain', 26)}"
        words += f"\nstation {number(drain.station_m, 'length', estimate.units, 1)}"
        words += f"\ninvert {elevation(drain.invert_m, estimate)}"
        labels.put(words, (drain.station_m / unit, drain.invert_m / level), 6.8, BELOW)
    for stretch in estimate.full_stretches:
        middle = (stretch.from_m + stretch.to_m) / 2.0
        words = _water_words(stretch, estimate.units)
        at = (middle / unit, float(along(estimate, middle, "ground_m")[0]) / level)
        labels.put(words, at, 6.8, ABOVE, must=stretch.held_l >= 0.1, style="italic")
    for points, word, ways in ((estimate.high_points, "high", ABOVE), (estimate.low_points, "low", ABOVE)):
        for one in points:
            if any(abs(one.station_m - drain.station_m) < 0.05 for drain in estimate.drains):
                continue
            words = f"{word} {number(one.station_m, 'length', estimate.units, 1)}"
            labels.put(words, (one.station_m / unit, one.ground_m / level), 6.3, ways, must=False)
    return labels


def _water_words(stretch: FullStretch, units: str) -> str:
    """Return what a stretch holds, until drained or after that."""
    if stays_full(stretch):
        return f"stays full: {stretch.grade}\n{amount(stretch.left_l / 1000.0, 'liquid', units)} after draining"
    return f"holds water until drained:\n{stretch.grade}, {amount(stretch.held_l / 1000.0, 'liquid', units)}"


def _end_labels(labels: LabelBoard, axes: Axes, estimate: Estimate) -> None:
    """Write name and water levels of the two structures at the ends."""
    unit, level = _station_unit(estimate), elevation_unit(estimate).metres
    for index, one in enumerate(estimate.structures):
        outer = axes.get_xlim()[index]
        station = one.station_m / unit
        for _, value, _ in water_levels(one):
            labels.keep_line(np.array([[station, value / level], [outer, value / level]]))
        labels.keep_line(np.array([[station, one.invert_m / level], [station, one.end_m / level]]))
    for pit in pit_sections(estimate):
        labels.keep_line(np.column_stack(_pit_line(pit, unit, level)))
    for index, one in enumerate(estimate.structures):
        toward = (90, 60, 120, 30, 150, 0, -30) if index == 0 else (90, 120, 60, 150, 30, 180, -150)
        top = max(one.end_m, one.water_level_m, float(along(estimate, one.station_m, "ground_m")[0])) / level
        words = [wrapped(one.name, 20)]
        words += [f"{word} {elevation(value, estimate)}" for word, value, _ in water_levels(one)]
        words.append(f"port {elevation(one.port_m, estimate)}")
        words += [
            f"pit floor {elevation(pit.floor_m, estimate)}" for pit in estimate.dig.pits if pit.end == one.end
        ]
        labels.put("\n".join(words), (one.station_m / unit, top), 7.0, toward, weight="bold")


def _band(figure: Figure, estimate: Estimate) -> list[Text]:
    """Write the band of numbers under the profile at round stations; return its texts."""
    left, bottom, wide, _ = board.DRAWING
    axes = figure.axes[0]
    low, high = axes.get_xlim()
    unit = _station_unit(estimate)
    inch = (wide - HEADS) / (high - low)
    rows = ("Station", "Ground", "Top of pipe", "Trench bottom", "Depth")
    step = BAND / len(rows)
    texts = []
    for row, head in enumerate(rows):
        texts.append(board.write(figure, left, bottom + BAND - step * (row + 0.62), head, size=6.8, va="center"))
        figure.add_artist(_line_across(left, wide, bottom + BAND - step * (row + 1) - 0.02))
    for station in _round_stations(estimate):
        if (
            not estimate.profile.station_m[0] / unit - 1e-9
            <= station
            <= estimate.profile.station_m[-1] / unit + 1e-9
        ):
            continue
        place = left + HEADS + (station - low) * inch
        for row, words in enumerate(_column(estimate, station, unit)):
            height = bottom + BAND - step * (row + 0.62)
            look = {"weight": "bold"} if row == 0 else {}
            texts.append(board.write(figure, place, height, words, size=6.6, ha="center", va="center", **look))
    return texts


def _column(estimate: Estimate, station: float, unit: float) -> list[str]:
    """Return one column of the band: station, three elevations, depth."""
    ground, top, floor = (
        float(along(estimate, station * unit, f"{name}_m")[0]) for name in ("ground", "top", "floor")
    )
    depth = number(ground - floor, "level", estimate.units, 2)
    whole = abs(station - round(station, 6)) < 1e-9
    return [
        f"{station:g}" if whole else f"{station:.1f}",
        *(elevation(value, estimate) for value in (ground, top, floor)),
        depth,
    ]


def _line_across(left: float, wide: float, height: float) -> Line2D:
    """Return a thin line across the band [inches]."""
    across, up = [left / board.WIDE, (left + wide) / board.WIDE], [height / board.HIGH] * 2
    return Line2D(across, up, color="#c9c5bb", linewidth=0.5)


def _key(figure: Figure, estimate: Estimate, exaggeration: float) -> None:
    """Draw the frame and the key."""
    unit = elevation_words(estimate)
    steps = "ft" if estimate.units == "US" else "m"
    remarks = [
        f"Heights drawn {exaggeration:g} times larger than lengths" if exaggeration != 1.0 else "Heights to scale",
        f"Stations in {steps} along the route in plan",
        f"Elevations in {unit}, datum of the survey",
        f"Pipe: {shortened(estimate.pipe.name, 50)}",
        f"Static lift {amount(estimate.lift.static_m, 'length', estimate.units)}",
    ]
    board.frame(figure, estimate, "Profile", remarks)
    board.legend(figure, _handles())


def _handles() -> list[tuple[Artist, str]]:
    """Return the key: what is drawn and its words."""
    pipe = Patch(facecolor="#dbe7f1", edgecolor=board.PIPE, lw=1.0)
    return [
        (Line2D([], [], color=board.INK, lw=1.7), "Ground"),
        (pipe, "Pipe, invert to top"),
        (Line2D([], [], color=board.CUT, lw=1.2, ls=(0, (6, 2))), "Trench bottom"),
        (Line2D([], [], color="w", marker="D", mfc=board.DRAIN, mec=board.INK, ms=6, lw=0), "Drain"),
        (Line2D([], [], color="w", marker="v", mfc=board.PAPER, mec=board.INK, ms=6.5, lw=0), "Low point"),
        (Line2D([], [], color="w", marker="^", mfc=board.PAPER, mec=board.INK, ms=6.5, lw=0), "High point"),
        (Line2D([], [], color=board.PIPE, marker="o", mfc=board.PAPER, ms=4.6, lw=0), "Port in the wall"),
        (Line2D([], [], color=board.CUT, lw=1.6), "Pit, floor and walls"),
        (Patch(facecolor=board.WATER, edgecolor=board.PIPE, lw=1.0), "Holds water until drained"),
        (Patch(facecolor=board.STAYS, edgecolor=board.PIPE, lw=1.0), "Stays full after draining"),
        (Line2D([], [], color="#1f6fa8", lw=1.5), "Water level"),
        (Line2D([], [], color="#1f6fa8", lw=1.5, ls=(0, (3, 2))), "Winter level"),
        (Line2D([], [], color="#1f6fa8", lw=1.5, ls=(0, (7, 2, 1, 2))), "Low level"),
    ]
