"""Draping a 2 km route on a million points: ours beside a search tree of all edges, its building included."""

import numpy as np
import shapely

from benchmarks.rows import Row, best_of
from terrain.arrays import Floats
from terrain.drape import Drape, drape
from terrain.ground import Ground
from terrain.synthetic import ground_of

POINTS = 1_000_000
SIDE = 1000.0
AIM = 0.15


def rough_ground(count: int) -> Ground:
    """Return a ground of `count` scattered points over a square of side `SIDE` [m]."""
    source = np.random.default_rng(12)
    plan = source.uniform(-0.5 * SIDE, 0.5 * SIDE, (count, 2))
    heights = 3.0 * np.sin(plan[:, 0] / 40.0) + 0.02 * plan[:, 1] + source.normal(0.0, 0.05, count)
    return ground_of(np.column_stack([plan, heights]))


def winding_route(length: float = 2000.0, step: float = 10.0) -> Floats:
    """Return a winding line (k, 2) [m] of about `length` [m] with a bend at each `step` [m]."""
    along = np.arange(0.0, length + step, step)
    angle = 2.0 * np.pi * along / 700.0
    radius = 60.0 + 0.15 * along
    turned = np.cumsum(step / radius)
    return np.stack([radius * np.cos(turned), radius * np.sin(turned + 0.05 * np.sin(angle))], axis=1)


def edges_of(ground: Ground) -> Floats:
    """Return every edge of the `ground` once, as its two ends (k, 2, 3) [m]."""
    corners = ground.triangles
    pairs = np.sort(np.concatenate([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]]), axis=1)
    ends: Floats = ground.vertices[np.unique(pairs, axis=0)]
    return ends


def drape_by_tree(ends: Floats, route: Floats) -> Floats:
    """Return the crossings (n, 3) [m] of `route` (k, 2) [m] with edges by their `ends` (m, 2, 3) [m]."""
    lines = np.asarray(shapely.linestrings(ends[:, :, :2]), dtype=object)
    tree = shapely.STRtree(lines)
    pieces = np.asarray(shapely.linestrings(np.stack([route[:-1], route[1:]], axis=1)), dtype=object)
    piece, edge = tree.query(pieces, predicate="intersects")
    places = shapely.intersection(pieces[piece], lines[edge])
    share = np.asarray(shapely.line_locate_point(lines[edge], shapely.centroid(places), normalized=True))
    found: Floats = ends[edge, 0] + share[:, None] * (ends[edge, 1] - ends[edge, 0])
    return found


def agree(laid: Drape, crossings: Floats) -> bool:
    """Return whether each crossing (n, 3) [m] of the other way lies on the line `laid`."""
    places = np.round(crossings[:, :2], 5)
    nodes = {tuple(place) for place in np.round(laid.points[:, :2], 5).tolist()}
    return sum(tuple(place) in nodes for place in places.tolist()) > 0.95 * len(places)


def rows(count: int = POINTS) -> list[Row]:
    """Return the comparison for a ground of `count` points.

    Raises:
        RuntimeError: the two ways found different crossings.
    """
    ground, route = rough_ground(count), winding_route()
    laid = drape(ground, route)
    if not agree(laid, drape_by_tree(edges_of(ground), route)):
        raise RuntimeError("the two ways of draping disagree")
    ours = best_of(lambda: drape(ground, route))
    ends = edges_of(ground)
    other = best_of(lambda: drape_by_tree(ends, route), 1)
    length = laid.stations[-1]
    name = f"drape a line of {length:,.0f} m on {count:,} points"
    return [Row(name, "shapely.STRtree of all edges, its building included", ours, other, "s", AIM)]
