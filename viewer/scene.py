"""The scene: ground, open trench, pipe, water and labels of an estimate as plain arrays; no plotting library.

Everything is in metres from the ground's origin, elevations local and not exaggerated; colours are bytes with the
light already in them, so that any renderer draws the same picture.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from estimate.record import Estimate
from terrain.arrays import Flags, Floats, Indices
from terrain.ground import Ground
from viewer.relief import Surface, absolute, along, crop, hillshade, line_points, vertex_normals
from viewer.solids import Block, carve, cut_to_box, disc, skirt, walls
from viewer.words import amount, elevation, elevation_word, elevation_words, number, shortened, wrapped

Colours = NDArray[np.uint8]
"""Red, green and blue bytes, (n, 3)."""

LOW_LAND, HIGH_LAND = (132, 150, 106), (205, 191, 152)
"""Colours of the lowest and highest ground before the light."""
FLOOR, WALL, SOIL = (120, 84, 52), (150, 109, 70), (176, 150, 118)
"""Colours of trench floor, trench walls and the sides of the block."""
PIPE, POST, SURFACE = (28, 96, 168), (208, 84, 12), (86, 165, 216)
"""Colours of pipe, drain posts and water surfaces."""


@dataclass(frozen=True, slots=True)
class Mesh:
    """Triangles with coloured vertices: `vertices` (n, 3) metres, `triangles` (m, 3), `colours` (n, 3) bytes."""

    name: str
    vertices: Floats
    triangles: Indices
    colours: Colours
    opacity: float = 1.0


@dataclass(frozen=True, slots=True)
class Tube:
    """A round bar along a line: `points` (n, 3) metres, one colour [bytes].

    `radius` [m] is what it is drawn with where all is seen, `true_radius` [m] what it has.
    """

    name: str
    points: Floats
    radius: float
    true_radius: float
    colour: tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Label:
    """Words at a point: easting, northing, elevation [m from the origin]."""

    text: str
    at: tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Look:
    """A way to look at the scene: the point looked at [m], heading and height of the eye [degrees], width seen [m].

    The heading is where the eye looks to, clockwise from north.
    """

    at: tuple[float, float, float]
    heading: float
    height: float
    width: float

    @property
    def axes(self) -> Floats:
        """The directions right, up and away of the picture as unit rows (3, 3)."""
        turn, up = math.radians(self.heading), math.radians(self.height)
        return np.array(
            [
                [math.cos(turn), -math.sin(turn), 0.0],
                [math.sin(turn) * math.sin(up), math.cos(turn) * math.sin(up), math.cos(up)],
                [math.sin(turn) * math.cos(up), math.cos(turn) * math.cos(up), -math.sin(up)],
            ]
        )


@dataclass(frozen=True, slots=True)
class Scene:
    """All that a 3D picture shows, its two looks (the whole and close up) and the exaggeration of heights.

    `north` holds foot and tip [m] of the arrow to the north; `caption` says what the close look shows.
    """

    title: str
    meshes: tuple[Mesh, ...]
    tubes: tuple[Tube, ...]
    labels: tuple[Label, ...]
    whole: Look
    close: Look
    north: tuple[tuple[float, float, float], tuple[float, float, float]]
    exaggeration: float
    remarks: tuple[str, ...]
    example: bool
    caption: str


def scene_of(estimate: Estimate, ground: Ground) -> Scene:
    """Return the scene of `estimate` on `ground`, opened where it is dug.

    The estimate holds the floors and sloped walls; upright walls are added here, from the ground down to the edge
    of what is dug. Where it holds none, the ground stays closed.
    """
    dug = np.array(estimate.dig.surface_m, dtype=np.float64).reshape(-1, 3, 3)
    dug[..., 2] -= absolute(ground)
    block = _block(estimate, ground)
    piece = cut_to_box(crop(ground, block.box), block)
    open_ground = carve(piece, estimate.dig.outline_m, ground) if len(dug) else piece
    exaggeration = _exaggeration(estimate, block)
    base = float(min(piece.vertices[:, 2].min(), dug[..., 2].min() if len(dug) else math.inf))
    base -= 0.035 * block.length / exaggeration
    meshes = [_land(open_ground, exaggeration), _sides(piece, block, base)]
    if len(dug):
        meshes += _trench(dug, walls(dug, ground))
    meshes += _water(estimate, ground, block)
    corners = np.concatenate([mesh.vertices for mesh in meshes])
    whole = _fitted(corners, _heading(block, ground), 56.0, exaggeration)
    close, caption = _close(estimate, ground, whole)
    return Scene(
        title=estimate.title,
        meshes=tuple(mesh for mesh in meshes if len(mesh.triangles)),
        tubes=_tubes(estimate, ground, block, exaggeration),
        labels=_labels(estimate, ground),
        whole=whole,
        close=close,
        north=_north(block, piece),
        exaggeration=exaggeration,
        remarks=_remarks(estimate, exaggeration),
        example=estimate.price.example,
        caption=caption,
    )


def _block(estimate: Estimate, ground: Ground) -> Block:
    """Return the block of ground shown: a rectangle along the line with a margin, within reach of the survey."""
    line = line_points(estimate)
    work = np.concatenate([line, *estimate.dig.outline_m])
    middle = line.mean(axis=0)
    _, _, ways = np.linalg.svd(line - middle, full_matrices=False)
    ahead = ways[0] if len(line) > 1 else np.array([1.0, 0.0])
    ahead = ahead if ahead @ (line[-1] - line[0]) >= 0.0 else -ahead
    aside = np.array([-ahead[1], ahead[0]])
    plan = np.column_stack([(work - middle) @ ahead, (work - middle) @ aside])
    low, high = plan.min(axis=0), plan.max(axis=0)
    size = float((high - low).max())
    margin = np.array([max(0.07 * size, 2.0), max(0.14 * size, 3.0)])
    low, high = low - margin, high + margin
    corners = np.array([[low[0], low[1]], [high[0], low[1]], [high[0], high[1]], [low[0], high[1]]])
    return Block(middle + corners @ np.stack([ahead, aside]))


def _exaggeration(estimate: Estimate, block: Block) -> float:
    """Return how much larger heights are drawn: 1, 1.5, 2 or 3, more on flatter ground."""
    relief = float(np.ptp(estimate.profile.ground_m))
    share = relief / block.length
    return next((times for least, times in ((0.16, 1.0), (0.1, 1.5), (0.05, 2.0)) if share >= least), 3.0)


def _land(piece: Surface, exaggeration: float) -> Mesh:
    """Return the ground, green in the low and tan in the high parts, with the light of the north-west in it."""
    heights = piece.vertices[:, 2]
    share = (heights - heights.min()) / max(float(np.ptp(heights)), 1e-9)
    land = np.array(LOW_LAND) + share[:, None] * (np.array(HIGH_LAND) - np.array(LOW_LAND))
    light = hillshade(vertex_normals(piece, exaggeration))
    shade = np.clip(1.0 + 0.65 * (light - np.median(light)), 0.45, 1.25)
    return Mesh("ground", piece.vertices, piece.triangles, _bytes(land * shade[:, None]))


def _bytes(colours: Floats) -> Colours:
    return np.clip(np.round(colours), 0, 255).astype(np.uint8)


def _one_colour(
    name: str, corners: Floats, colour: tuple[int, int, int], shade: Floats, opacity: float = 1.0
) -> Mesh:
    """Return separate triangles `corners` (n, 3, 3) metres in one colour times `shade` (n,)."""
    colours = np.repeat(np.array(colour)[None] * shade[:, None], 3, axis=0)
    vertices = np.ascontiguousarray(corners.reshape(-1, 3))
    return Mesh(name, vertices, np.arange(len(vertices), dtype=np.int32).reshape(-1, 3), _bytes(colours), opacity)


def _upright_light(corners: Floats) -> Floats:
    """Return a shade (n,) for triangles (n, 3, 3) by the way they face, so that walls differ from each other."""
    face = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.maximum(np.linalg.norm(face, axis=1), 1e-12)
    across = face[:, 0] / length
    up = np.abs(face[:, 2]) / length
    return np.asarray(0.84 + 0.16 * np.abs(across) * (1.0 - up) + 0.1 * up)


def _sides(piece: Surface, block: Block, base: float) -> Mesh:
    """Return the sides of the block of ground, down to `base` [m]."""
    corners = skirt(piece, base)
    return _one_colour("sides", corners, SOIL, _upright_light(corners))


def _trench(dug: Floats, upright: Floats) -> list[Mesh]:
    """Return the floors and sloped walls as dug, and the upright walls."""
    under = dug - np.array([0.0, 0.0, 0.01])  # shows through the hairs between triangles instead of the sky
    return [
        _one_colour("trench below", under, FLOOR, _upright_light(dug)),
        _one_colour("trench", dug, FLOOR, _upright_light(dug)),
        _one_colour("walls", upright, WALL, _upright_light(upright)),
    ]


def _water(estimate: Estimate, ground: Ground, block: Block) -> list[Mesh]:
    """Return a flat disc at the water level of each structure."""
    radius = max(0.02 * block.length, 0.5)
    meshes = []
    for one in estimate.structures:
        east, north = (float(along(estimate, one.station_m, name)[0]) for name in ("easting_m", "northing_m"))
        corners = disc((east, north, one.water_level_m - absolute(ground)), radius)
        meshes.append(_one_colour(f"water {one.end}", corners, SURFACE, np.ones(len(corners)), 0.55))
    return meshes


def _line(estimate: Estimate, ground: Ground, field: str) -> Floats:
    """Return the line at the elevations of a profile `field`, (n, 3) metres, local."""
    heights: Floats = getattr(estimate.profile, field)
    return np.column_stack([line_points(estimate), heights - absolute(ground)])


def _tubes(estimate: Estimate, ground: Ground, block: Block, exaggeration: float) -> tuple[Tube, ...]:
    """Return the pipe with its vertical ends, and a post at each drain; all at least as thick as can be seen."""
    true = estimate.pipe.outside_m / 2.0
    radius = max(true, 0.0012 * block.length)
    axis = _line(estimate, ground, "invert_m")
    axis[:, 2] += estimate.pipe.bore_m / 2.0
    tubes = [Tube("pipe", axis, radius, true, PIPE)]
    for one in estimate.structures:
        foot = axis[int(np.abs(estimate.profile.station_m - one.station_m).argmin())]
        head = np.array([foot[0], foot[1], one.end_m - absolute(ground)])
        if abs(head[2] - foot[2]) > 1e-6:
            tubes.append(Tube(f"upright {one.end}", np.stack([foot, head]), radius, true, PIPE))
    rise = 0.018 * block.length / exaggeration
    for index, drain in enumerate(estimate.drains):
        foot = np.array([drain.easting_m, drain.northing_m, drain.invert_m - absolute(ground)])
        head = foot + np.array([0.0, 0.0, drain.depth_m + rise])
        tubes.append(Tube(f"drain {index + 1}", np.stack([foot, head]), 1.3 * radius, 1.3 * true, POST))
    return tuple(tubes)


def _labels(estimate: Estimate, ground: Ground) -> tuple[Label, ...]:
    """Return few labels: the two structures with their water level, the drains."""
    unit, level = elevation_word(estimate), absolute(ground)
    labels = []
    for one in estimate.structures:
        east, north, surface = (
            float(along(estimate, one.station_m, f"{name}_m")[0]) for name in ("easting", "northing", "ground")
        )
        top = max(one.water_level_m, one.end_m, surface) - level
        words = f"{wrapped(one.name, 24)}\nwater {elevation(one.water_level_m, estimate)} {unit}"
        labels.append(Label(words, (east, north, top)))
    for drain in estimate.drains:
        words = f"{shortened(drain.name or 'Drain', 26)}\ninvert {elevation(drain.invert_m, estimate)} {unit}"
        top = drain.invert_m + drain.depth_m - level
        labels.append(Label(words, (drain.easting_m, drain.northing_m, top)))
    return tuple(labels)


def _north(block: Block, piece: Surface) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Return foot and tip of an arrow to the north in the middle of the block."""
    east, north = block.corners.mean(axis=0).tolist()
    height = float(piece.vertices[:, 2].mean()) if len(piece.vertices) else 0.0
    return (east, north, height), (east, north + 0.05 * block.length, height)


def _close(estimate: Estimate, ground: Ground, whole: Look) -> tuple[Look, str]:
    """Return the look along the trench at the deepest place of the line away from pits, and its caption."""
    line = _line(estimate, ground, "ground_m")
    depth = estimate.profile.ground_m - estimate.profile.floor_m
    width = estimate.dig.width_m if math.isfinite(estimate.dig.width_m) else 4.0 * estimate.pipe.outside_m
    seen = max(8.0 * width, 2.2 * float(depth.max()), 1.5)
    away = _away_from_pits(estimate, 0.5 * seen)
    at = int(np.where(away, depth, -np.inf).argmax()) if away.any() else int(depth.argmax())
    ahead = line[min(at + 1, len(line) - 1)] - line[max(at - 1, 0)]
    heading = math.degrees(math.atan2(ahead[0], ahead[1]))
    if math.cos(math.radians(heading - whole.heading)) < 0.0:
        heading += 180.0
    east, north, height = line[at].tolist()
    station, units = float(estimate.profile.station_m[at]), estimate.units
    unit = "ft" if units == "US" else "m"
    what = "Line where deepest" + (" away from pits" if estimate.dig.pits and away.any() else "")
    caption = f"{what}, to scale:\nstation {number(station, 'length', units, 1)} {unit}, "
    caption += f"{amount(float(depth[at]), 'level', units, 2)} deep"
    return Look((east, north, height - 0.6 * float(depth[at])), heading + 4.0, 52.0, seen), caption


def _away_from_pits(estimate: Estimate, room: float) -> Flags:
    """Return which nodes of the line (n,) are farther than `room` [m] from every pit, its walls included."""
    points = line_points(estimate)
    away = np.ones(len(points), dtype=np.bool_)
    for pit in estimate.dig.pits:
        middle = pit.corners_m.mean(axis=0)
        reach = float(np.hypot(*(pit.corners_m - middle).T).max())
        reach += pit.wall.slope * max(pit.deepest_m - pit.wall.rise_m, 0.0)
        away &= np.hypot(*(points - middle).T) > reach + room
    return away


def _fitted(corners: Floats, heading: float, height: float, exaggeration: float) -> Look:
    """Return the look from a heading and height [degrees] that shows `corners` (n, 3) metres and little more."""
    axes = Look((0.0, 0.0, 0.0), heading, height, 1.0).axes
    seen = (corners * (1.0, 1.0, exaggeration)) @ axes.T
    at = ((seen.min(axis=0) + seen.max(axis=0)) / 2.0) @ axes
    size = np.ptp(seen, axis=0)
    width = 1.05 * max(float(size[0]), 1.52 * float(size[1]))
    return Look((float(at[0]), float(at[1]), float(at[2]) / exaggeration), heading, height, width)


def _heading(block: Block, ground: Ground) -> float:
    """Return the heading [degrees] across the block for which the ground rises away from the eye."""
    ahead = block.corners[1] - block.corners[0]
    aside = np.array([-ahead[1], ahead[0]]) / np.hypot(*ahead)
    near = crop(ground, block.box).vertices
    offset = near[:, :2] - block.corners.mean(axis=0)
    tilt = np.linalg.lstsq(np.column_stack([offset, np.ones(len(near))]), near[:, 2], rcond=None)[0]
    if tilt[:2] @ aside < 0.0:
        aside = -aside
    return math.degrees(math.atan2(aside[0], aside[1])) + 14.0


def _remarks(estimate: Estimate, exaggeration: float) -> tuple[str, ...]:
    """Return what the title strip says."""
    heights = (
        f"Heights drawn {exaggeration:g} times larger than lengths" if exaggeration != 1.0 else "Heights to scale"
    )
    return (
        heights,
        "The pipe may be drawn thicker than it is",
        f"Elevations in {elevation_words(estimate)}, datum of the survey",
        f"Deepest {amount(estimate.dig.deepest_m, 'level', estimate.units, 2)} on the centre line",
        f"Tallest face {amount(estimate.dig.tallest_face_m, 'level', estimate.units, 2)}",
    )
