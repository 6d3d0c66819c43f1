"""The exact cut against closed forms of plane geometry, on grounds triangulated finely at random points.

Source: all derived by elementary geometry (areas of plane sections, prisms, pyramids, Pappus' rule); nothing here
comes from the program. A section with floor b, depth d and slopes n (H:V) on ground with cross slope k has the area
n H^2 / (1 - n^2 k^2) - b^2 / 4n with H = d + b / 2n.
"""

from collections.abc import Callable, Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.spatial import Delaunay

from estimate.dig.cut import Cut
from estimate.dig.excavate import excavate, layer_volumes
from estimate.dig.facets import Facets
from estimate.dig.lines import Line, Pit
from estimate.dig.section import Section, Wall

FloatArray = NDArray[np.float64]
Surface = Callable[[FloatArray], FloatArray]
TURNS = [(0.0, 0.0, 0.0), (0.7, 130.0, -45.0), (2.9, -600.0, 350.0)]
NEAR = 1e-12


def flat(points: FloatArray) -> FloatArray:
    return np.zeros(len(points))


def dug(
    paths: Sequence[Sequence[tuple[float, ...]]],
    sections: Sequence[Section],
    surface: Surface = flat,
    turn: tuple[float, float, float] = TURNS[1],
    pits: Sequence[tuple[list[tuple[float, float]], float, Wall]] = (),
    thickness: float | None = None,
) -> tuple[Cut, Facets, FloatArray]:
    """Dig paths (with elevations) out of a surface, all turned about the vertical and shifted together."""
    everything = np.concatenate([np.array(p)[:, :2] for p in paths] + [np.array(c) for c, _, _ in pits])
    low, high = everything.min(axis=0) - 11.0, everything.max(axis=0) + 11.0
    rng = np.random.default_rng(7)
    box = np.array([low, (high[0], low[1]), high, (low[0], high[1])])
    points = np.concatenate([box, rng.uniform(low, high, (1500, 2))])
    triangles = Delaunay(points).simplices.astype(np.int32)
    angle, east, north = turn
    c, s = np.cos(angle), np.sin(angle)

    def moved(plan: FloatArray) -> FloatArray:
        turned = plan @ np.array([[c, s], [-s, c]])
        return np.asarray(turned + np.array([east, north]), dtype=np.float64)

    vertices = np.column_stack([moved(points), surface(points)])
    lines = [
        Line(np.column_stack([moved(np.array(p)[:, :2]), np.array(p)[:, 2]]), section)
        for p, section in zip(paths, sections, strict=True)
    ]
    holes = [Pit(moved(np.array(corners)), floor, wall) for corners, floor, wall in pits]
    cut, facets = excavate(vertices, triangles, lines, holes)
    layers = np.zeros(0) if thickness is None else layer_volumes(vertices, triangles, facets, cut, [thickness])
    return cut, facets, layers


def section_area(b: float, d: float, n: float, k: float) -> float:
    return n * (d + b / (2 * n)) ** 2 / (1 - n * n * k * k) - b * b / (4 * n)


def both(n: float, width: float = 0.6, rise: float = 0.0) -> Section:
    return Section(width, Wall(n, rise), Wall(n, rise))


@pytest.mark.parametrize("turn", TURNS)
def test_cross_slope_straight_run(turn: tuple[float, float, float]) -> None:
    cut, _, _ = dug([[(0, 0, -1.2), (20, 0, -1.2)]], [both(1.0)], lambda p: 0.15 * p[:, 1], turn)
    assert cut.volume_m3 == pytest.approx(44.23580562659847, rel=NEAR)
    assert cut.area_m2 == pytest.approx(61.38107416879796, rel=NEAR)
    assert cut.weights.sum() == pytest.approx(cut.area_m2, rel=NEAR)


@pytest.mark.parametrize("turn", TURNS)
def test_upright_walls_do_not_feel_the_cross_slope(turn: tuple[float, float, float]) -> None:
    cut, _, _ = dug([[(0, 0, -1.2), (20, 0, -1.2)]], [Section(0.6)], lambda p: 0.4 * p[:, 1], turn)
    assert cut.volume_m3 == pytest.approx(14.4, rel=NEAR)
    assert cut.area_m2 == pytest.approx(12.0, rel=NEAR)


def test_topsoil_measured_vertically() -> None:
    k, t = 0.15, 0.2
    _, _, layers = dug([[(0, 0, -1.2), (20, 0, -1.2)]], [both(1.0)], lambda p: k * p[:, 1], thickness=t)
    deep, shallow = section_area(0.6, 1.2, 1.0, k), section_area(0.6, 1.2 - t, 1.0, k)
    assert layers == pytest.approx([20 * (deep - shallow), 20 * shallow], rel=NEAR)


def test_rock_at_constant_depth() -> None:
    _, _, layers = dug([[(0, 0, -1.2), (20, 0, -1.2)]], [both(0.75)], lambda p: -0.1 * p[:, 1], thickness=0.7)
    assert layers[1] == pytest.approx(20 * section_area(0.6, 0.5, 0.75, 0.1), rel=NEAR)


@pytest.mark.parametrize("turn", TURNS)
def test_level_floor_into_a_rising_ground(turn: tuple[float, float, float]) -> None:
    b, k, length, n = 0.6, 0.1, 12.0, 1.5
    cut, _, _ = dug([[(0, 0, 0), (12, 0, 0)]], [both(n)], lambda p: k * p[:, 0], turn)
    exact = b * k * length**2 / 2 + n * k * k * length**3 / 3
    assert exact == pytest.approx(12.96)
    assert cut.volume_m3 == pytest.approx(exact, rel=NEAR)


def test_falling_floor_is_a_prismoid() -> None:
    """Over 100: depth 2 to 6, b 2, 1:1 is 2533.33; depth 3 to 5, b 1.5, 1.5:1 is 3050 (prismoidal rule)."""
    for b, n, first, last, exact in ((2.0, 1.0, 2.0, 6.0, 7600 / 3), (1.5, 1.5, 3.0, 5.0, 3050.0)):
        cut, _, _ = dug([[(0, 0, -first), (100, 0, -last)]], [both(n, b)])
        assert cut.volume_m3 == pytest.approx(exact, rel=NEAR)


@pytest.mark.parametrize(("n", "exact"), [(0.0, 12.6), (1.0, 33.6)])
@pytest.mark.parametrize("turn", TURNS)
def test_mitred_right_angle(n: float, exact: float, turn: tuple[float, float, float]) -> None:
    cut, _, _ = dug([[(0, 0, -1), (12, 0, -1), (12, 9, -1)]], [both(n)], turn=turn)
    assert cut.volume_m3 == pytest.approx(exact, rel=NEAR)


def mitred(route: FloatArray, b: float, d: float, left: float, right: float) -> float:
    steps = np.diff(route, axis=0)
    heading = np.arctan2(steps[:, 1], steps[:, 0])
    bends = (np.diff(heading) + np.pi) % (2 * np.pi) - np.pi
    w = b / 2
    area = b * d + (left + right) * d * d / 2
    moment = left * d * d / 2 * (w + left * d / 3) - right * d * d / 2 * (w + right * d / 3)
    return float(area * np.hypot(*steps.T).sum() - 2 * moment * np.tan(bends / 2).sum())


def with_floor(route: FloatArray) -> list[tuple[float, ...]]:
    return [(float(e), float(n), -1.1) for e, n in route]


def test_polyline_with_unequal_walls() -> None:
    route = np.array([(10, 20), (25, 22), (32, 35), (28, 48)], float)
    assert mitred(route, 0.6, 1.1, 0.5, 1.5) == pytest.approx(82.50478929255829, rel=1e-14)
    section = Section(0.6, Wall(0.5), Wall(1.5))
    for turn in TURNS:
        cut, _, _ = dug([with_floor(route)], [section], turn=turn)
        assert cut.volume_m3 == pytest.approx(82.50478929255829, rel=NEAR)
        back, _, _ = dug([with_floor(route[::-1])], [section.reversed()], turn=turn)
        assert back.volume_m3 == pytest.approx(82.50478929255829, rel=NEAR)


@pytest.mark.parametrize(("angle", "exact"), [(90.0, 30.72), (55.0, 30.614028)])
def test_upright_crossing_is_counted_once(angle: float, exact: float) -> None:
    phi = np.radians(angle)
    c, s = 8 * np.cos(phi), 8 * np.sin(phi)
    paths = [[(-10.0, 0.0, -1.0), (10.0, 0.0, -1.0)], [(-c, -s, -1.5), (c, s, -1.5)]]
    cut, _, _ = dug(paths, [Section(0.6), Section(0.8)])
    closed = 0.6 * 20 + 0.8 * 1.5 * 16 - 0.6 * 0.8 / np.sin(phi)
    assert closed == pytest.approx(exact, rel=1e-7)
    assert cut.volume_m3 == pytest.approx(closed, rel=NEAR)


def test_sloped_crossing_is_counted_once() -> None:
    cut, _, _ = dug([[(-10, 0, -1), (10, 0, -1)], [(0, -8, -1), (0, 8, -1)]], [both(1.0), both(1.0)])
    overlap = ((0.6 + 2) ** 3 - 0.6**3) / 6
    assert cut.volume_m3 == pytest.approx(1.6 * 36 - overlap, rel=NEAR)
    assert 1.6 * 36 - overlap == pytest.approx(54.70666667)


def test_tee_measured_from_the_centre_line() -> None:
    cut, _, _ = dug([[(-10, 0, -1), (10, 0, -1)], [(1, 0, -1), (1, 9, -1)]], [Section(0.6), Section(0.5)])
    assert cut.volume_m3 == pytest.approx(16.35, rel=NEAR)


@pytest.mark.parametrize("turn", TURNS)
def test_bench(turn: tuple[float, float, float]) -> None:
    cut, _, _ = dug([[(0, 0, -1), (20, 0, -1)]], [both(1.5, rise=0.5)], turn=turn)
    assert cut.volume_m3 == pytest.approx(19.5, rel=NEAR)
    assert cut.tallest_face_m == pytest.approx(1.0, rel=NEAR)


@pytest.mark.parametrize("chords", [8, 32])
def test_swept_bend_approaches_pappus(chords: int) -> None:
    """N chords of an arc, ends cut square to the chords, fall short of A R theta by theta^2 / 24 N^2."""
    radius, theta = 10.0, np.pi / 2
    angles = np.linspace(0, theta, chords + 1)
    path = [(float(radius * np.cos(a)), float(radius * np.sin(a)), -1.0) for a in angles]
    cut, _, _ = dug([path], [both(1.0)])
    chord = 2 * radius * np.sin(theta / 2 / chords)
    assert cut.volume_m3 == pytest.approx(1.6 * chords * chord, rel=NEAR)
    short = 1 - cut.volume_m3 / (1.6 * radius * theta)
    assert short == pytest.approx(theta**2 / 24 / chords**2, rel=0.01)


def test_pit_is_a_frustum() -> None:
    """Bottom 14 by 6, depth 3, 1:1 walls, mitred corners: 20 by 12 on top, prismoidal volume 468."""
    ring = [(0.0, 0.0), (14.0, 0.0), (14.0, 6.0), (0.0, 6.0)]
    cut, _, _ = dug([[(0, 0, 5.0)]], [Section(0.6)], pits=[(ring, -3.0, Wall(1.0))])
    assert cut.volume_m3 == pytest.approx(468.0, rel=NEAR)
    assert cut.area_m2 == pytest.approx(240.0, rel=NEAR)


def test_hairpin_goes_round_its_end_once() -> None:
    """Straight back on itself: one trench with a square end, two right-angled bends beyond the node."""
    cut, _, _ = dug([[(0, 0, -1), (10, 0, -1), (2, 0, -1)]], [Section(0.6)])
    assert cut.volume_m3 == pytest.approx(6.0 + 2 * 0.3**2, rel=NEAR)


def test_tallest_face_is_uphill() -> None:
    """Floor 18 in, 4.0 ft on the centre line, 1:1, 20 % cross slope: 5.1875 ft uphill."""
    foot = 0.3048
    path = [(0, 0, -4 * foot), (20, 0, -4 * foot)]
    cut, _, _ = dug([path], [both(1.0, 1.5 * foot)], lambda p: 0.2 * p[:, 1])
    assert cut.tallest_face_m / foot == pytest.approx(5.1875, rel=NEAR)
    upright, _, _ = dug([path], [Section(1.5 * foot)], lambda p: 0.2 * p[:, 1])
    assert upright.tallest_face_m / foot == pytest.approx(4.15, rel=NEAR)
