"""Box tree: the index of a ground, boxes over runs of its spatially sorted triangles and boxes over those.

A node of the lowest level is the plan bounding box of `FAN` triangles that follow each other; a node of any higher
level is that of `FAN` nodes below. Because triangles are sorted in space, no other structure has to be stored.
"""

from typing import NamedTuple

import numpy as np

from terrain.arrays import Floats, Indices, Longs
from terrain.compiled import inner_kernel, kernel

FAN = 8
"""Triangles or nodes under one node."""
DEEPEST = 16
"""Most levels a tree can have; 8 to the power of 16 triangles do not fit an index."""


class BoxTree(NamedTuple):
    """Boxes (b, 4) metres west, south, east, north; `starts` (levels + 1,) index of each level's first box."""

    boxes: Floats
    starts: Longs


def box_tree(vertices: Floats, triangles: Indices) -> BoxTree:
    """Return the tree over `triangles` (m, 3) of `vertices` (n, 2 or 3) metres.

    >>> tree = box_tree(np.array([[0.0, 0.0], [2.0, 0.0], [0.0, 1.0]]), np.array([[0, 1, 2]], dtype=np.int32))
    >>> tree.boxes.tolist(), tree.starts.tolist()
    ([[0.0, 0.0, 2.0, 1.0]], [0, 1])
    """
    counts = [max(-(-len(triangles) // FAN), 1)]
    while counts[-1] > 1:
        counts.append(-(-counts[-1] // FAN))
    starts = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    boxes = np.empty((int(starts[-1]), 4))
    boxes[:, :2] = np.inf
    boxes[:, 2:] = -np.inf
    fill_boxes(vertices, triangles, boxes, starts)
    return BoxTree(boxes, starts)


@kernel
def fill_boxes(vertices: Floats, triangles: Indices, boxes: Floats, starts: Longs) -> None:
    """Fill `boxes` (b, 4) metres, level by level, from `vertices` (n, 2 or 3) metres and `triangles` (m, 3)."""
    for t in range(triangles.shape[0]):
        box = boxes[t // FAN]
        for k in range(3):
            px = vertices[triangles[t, k], 0]
            py = vertices[triangles[t, k], 1]
            box[0] = min(box[0], px)
            box[1] = min(box[1], py)
            box[2] = max(box[2], px)
            box[3] = max(box[3], py)
    for level in range(1, starts.shape[0] - 1):
        for below in range(starts[level - 1], starts[level]):
            box = boxes[starts[level] + (below - starts[level - 1]) // FAN]
            box[0] = min(box[0], boxes[below, 0])
            box[1] = min(box[1], boxes[below, 1])
            box[2] = max(box[2], boxes[below, 2])
            box[3] = max(box[3], boxes[below, 3])


@kernel
def box_meets(box: Floats, ax: float, ay: float, bx: float, by: float, reach: float) -> bool:
    """Return whether `box` (4,) metres, widened by `reach` [m], may meet the segment a to b [m].

    The segment's own box and its line are tried; a corner of the box on either side of the line means it may.
    """
    if min(ax, bx) > box[2] + reach or max(ax, bx) < box[0] - reach:
        return False
    if min(ay, by) > box[3] + reach or max(ay, by) < box[1] - reach:
        return False
    dx = bx - ax
    dy = by - ay
    middle = dx * (0.5 * (box[1] + box[3]) - ay) - dy * (0.5 * (box[0] + box[2]) - ax)
    half = abs(dx) * (0.5 * (box[3] - box[1]) + reach) + abs(dy) * (0.5 * (box[2] - box[0]) + reach)
    return bool(abs(middle) <= half * (1.0 + 1e-12) + 1e-300)


@inner_kernel
def enter(tree: BoxTree, node: int, level: int, waiting: Longs, height: Longs, size: int) -> int:
    """Put the nodes below `node` of a `level` above 0 on the stack, the first on top, and return its new size.

    The stack is `waiting` (any,) nodes and their `height` (any,) or level, of which `size` are taken.
    """
    first = tree.starts[level - 1] + (node - tree.starts[level]) * FAN
    for child in range(min(first + FAN, tree.starts[level]) - 1, first - 1, -1):
        waiting[size] = child
        height[size] = level - 1
        size += 1
    return size


@kernel
def triangles_near(
    tree: BoxTree, count: int, ax: float, ay: float, bx: float, by: float, reach: float, found: Longs
) -> int:
    """Put into `found` (any,) the triangles of boxes that may meet the segment a to b [m], widened by `reach` [m].

    `count` is how many triangles the ground has. Returns how many were found, which may be more than `found` can
    hold: then call again with a longer array. The triangles come in increasing order.
    """
    waiting = np.empty(DEEPEST * FAN, dtype=np.int64)
    top = tree.starts.shape[0] - 2
    waiting[0] = tree.starts[top]
    height = np.empty(DEEPEST * FAN, dtype=np.int64)
    height[0] = top
    size = 1
    total = 0
    while size > 0:
        size -= 1
        node = waiting[size]
        level = height[size]
        if not box_meets(tree.boxes[node], ax, ay, bx, by, reach):
            continue
        if level > 0:
            size = enter(tree, node, level, waiting, height, size)
            continue
        for t in range(node * FAN, min(node * FAN + FAN, count)):
            if total < found.shape[0]:
                found[total] = t
            total += 1
    return total
