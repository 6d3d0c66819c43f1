"""Water lying in a round pipe: area of a filled circle, and the volume in straight pieces of pipe."""

import numpy as np

from terrain.arrays import Floats

_FLAT = 1e-6
"""Change of depth along a piece, in radii, below which the depth in its middle stands for all of it."""


def filled_area(depth: Floats, bore: float) -> Floats:
    """Return the area (...) [m2] of a circle of diameter `bore` [m] filled to `depth` (...) metres.

    Source: circular segment, r^2 acos u - (r - depth) sqrt(2 r depth - depth^2) with u = 1 - depth / r.

    >>> filled_area(np.array([-1.0, 0.5, 2.0]), 1.0).round(6).tolist()
    [0.0, 0.392699, 0.785398]
    """
    radius = 0.5 * bore
    u = 1.0 - np.clip(depth, 0.0, bore) / radius
    return np.asarray(radius**2 * (np.arccos(u) - u * np.sqrt(1.0 - u * u)), dtype=np.float64)


def filled_area_integral(depth: Floats, bore: float) -> Floats:
    """Return the integral (...) [m3] of `filled_area` up to `depth` (...) metres, which may pass the bore.

    Source: with u = 1 - depth / r it is r^3 (sqrt(1 - u^2) - u acos u - (1 - u^2)^1.5 / 3) up to the bore, and
    grows by the full area from there on.

    >>> filled_area_integral(np.array([0.0, 2.0, 3.0]), 2.0).round(6).tolist()
    [0.0, 3.141593, 6.283185]
    """
    radius = 0.5 * bore
    u = 1.0 - np.clip(depth, 0.0, bore) / radius
    root = np.sqrt(1.0 - u * u)
    curved = radius**3 * (root - u * np.arccos(u) - root**3 / 3.0)
    return np.asarray(curved + np.pi * radius**2 * np.maximum(depth - bore, 0.0), dtype=np.float64)


def water_in_pieces(distance: Floats, invert: Floats, level: Floats, bore: float) -> Floats:
    """Return the water (n - 1,) [m3] in the straight pieces of pipe of `bore` [m] between nodes, exactly.

    `distance` (n,) metres in plan, not decreasing, and `invert` (n,) metres are the nodes; equal distances make a
    vertical piece. `level` (n - 1,) metres is the water surface in each piece, infinite where it is full. Ends of
    pieces are cut square to the pipe, so a full piece holds its area times its length in space.
    Source: a cut square to a pipe at the angle a is filled to t = (level - invert) / cos a, and along the pipe
    dt = tan a dl, so the volume is the integral of the filled area between the depths at the ends, over tan a.

    >>> invert = np.array([0.0, 0.0, 2.0])
    >>> water_in_pieces(np.array([0.0, 1.0, 1.0]), invert, np.array([9.0, 1.0]), 2.0).round(6).tolist()
    [3.141593, 3.141593]
    """
    run, rise = np.diff(distance), np.diff(invert)
    length = np.hypot(run, rise)
    full = 0.25 * np.pi * bore**2
    low, high = np.minimum(invert[:-1], invert[1:]), np.maximum(invert[:-1], invert[1:])
    known = np.maximum(np.where(level == np.inf, high + 2.0 * bore, level), low - bore)
    upright = run <= 1e-9 * np.abs(rise)
    cosine = np.where(upright, 1.0, run / np.where(length > 0.0, length, 1.0))
    first, last = (known - invert[:-1]) / cosine, (known - invert[1:]) / cosine
    change = np.abs(first - last)
    flat = change <= _FLAT * bore
    between = np.abs(filled_area_integral(first, bore) - filled_area_integral(last, bore))
    sloping = between / np.where(flat, 1.0, change) * length
    level_piece = filled_area(0.5 * (first + last), bore) * length
    standing = full * np.clip(known - low, 0.0, np.abs(rise))
    partly = np.where(upright, standing, np.where(flat, level_piece, sloping))
    return np.asarray(np.where(level == np.inf, full * length, partly), dtype=np.float64)
