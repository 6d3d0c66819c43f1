"""The 3D scene as arrays: areas and volumes by closed form, edges that meet, elevations that are the estimate's."""

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest

from estimate.record import Estimate, Pit, Wall
from terrain.arrays import Floats
from terrain.ground import Ground, elevation
from terrain.synthetic import hilly_ground, plane_ground
from viewer.picture_sheet import hidden_runs
from viewer.relief import Surface, absolute, crop, inside_rings
from viewer.scene import PIPE, Scene, scene_of
from viewer.scene_file import load_scene, marks_of, save_scene
from viewer.solids import Block, carve, cut_to_box, disc, rim, skirt, walls


def turned(half_length: float, half_width: float, angle: float) -> Block:
    corners = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * (half_length, half_width)
    c, s = math.cos(angle), math.sin(angle)
    return Block(corners @ np.array([[c, s], [-s, c]]))


def plan_area(corners: Floats) -> float:
    a, b = corners[:, 1, :2] - corners[:, 0, :2], corners[:, 2, :2] - corners[:, 0, :2]
    return float(0.5 * np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum())


@pytest.fixture(scope="module")
def scene(estimate: Estimate, ground: Ground) -> Scene:
    return scene_of(estimate, ground)


@pytest.mark.parametrize("angle", [0.0, 0.3, 1.2, math.pi / 2])
def test_block_is_cut_to_its_exact_area(angle: float) -> None:
    ground, block = hilly_ground(1500, 80.0), turned(17.0, 9.0, angle)
    piece = cut_to_box(crop(ground, block.box), block)
    assert plan_area(piece.vertices[piece.triangles]) == pytest.approx(4 * 17.0 * 9.0, rel=1e-9)
    assert piece.vertices[:, 2] == pytest.approx(elevation(ground, piece.vertices[:, :2]), abs=1e-6)
    outer = piece.vertices[rim(piece.triangles)]
    length = float(np.hypot(*(outer[:, 1, :2] - outer[:, 0, :2]).T).sum())
    assert length == pytest.approx(4 * (17.0 + 9.0), rel=1e-6)


def test_triangles_keep_their_turn() -> None:
    ground, block = hilly_ground(900, 80.0), turned(15.0, 8.0, 0.4)
    piece = cut_to_box(crop(ground, block.box), block)
    a, b, c = (piece.vertices[piece.triangles[:, k], :2] for k in range(3))
    assert ((b - a)[:, 0] * (c - a)[:, 1] - (b - a)[:, 1] * (c - a)[:, 0] > 0.0).all()


def test_ground_is_open_over_the_dig_and_nowhere_else() -> None:
    ground, block = hilly_ground(1500, 80.0), turned(17.0, 9.0, 0.2)
    ring = np.array([[-12.0, -0.3], [11.0, -0.2], [11.0, 0.4], [-12.0, 0.5]])
    piece = cut_to_box(crop(ground, block.box), block)
    opened = carve(piece, (ring,), ground)
    hole = 0.5 * abs(float(np.sum(ring[:, 0] * np.roll(ring[:, 1], -1) - np.roll(ring[:, 0], -1) * ring[:, 1])))
    whole = plan_area(piece.vertices[piece.triangles])
    assert plan_area(opened.vertices[opened.triangles]) == pytest.approx(whole - hole, rel=1e-9)
    middle = opened.vertices[opened.triangles, :2].mean(axis=1)
    assert not inside_rings(middle, (ring,)).any()


def test_rings_that_cross_take_whole_triangles_away() -> None:
    ground = hilly_ground(400, 80.0)
    bow = np.array([[-10.0, -5.0], [10.0, 5.0], [10.0, -5.0], [-10.0, 5.0]])
    piece = Surface(ground.vertices, ground.triangles)
    opened = carve(piece, (bow,), ground)
    assert 0 < len(opened.triangles) < len(piece.triangles)


def test_skirt_goes_round_and_down() -> None:
    ground, block = plane_ground(0.1, 0.0, 5.0, side=80.0, step=7.0), turned(10.0, 6.0, 0.0)
    piece = cut_to_box(crop(ground, block.box), block)
    sides = skirt(piece, 0.0)
    area = area_of(sides)
    # mean height 5 all round: the slope gives and takes the same
    assert area == pytest.approx(5.0 * 2 * (20.0 + 12.0), rel=1e-9)


def box_trench(length: float, width: float, depth: float, start: float = 0.0) -> Floats:
    half = width / 2.0
    ring = np.array([[0.0, -half], [length, -half], [length, half], [0.0, half]]) + np.array([start, 0.0])
    floor = np.column_stack([ring, np.full(4, -depth)])
    return floor[[[0, 1, 2], [0, 2, 3]]]


def area_of(triangles: Floats) -> float:
    a, b = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    return 0.5 * float(np.linalg.norm(np.cross(a, b), axis=1).sum())


def test_upright_walls_of_a_box_trench() -> None:
    flat = plane_ground(0.0, 0.0, 0.0, side=80.0, step=9.0)
    dug = box_trench(12.0, 0.6, 1.1)
    upright = walls(dug, flat)
    area = area_of(upright)
    assert area == pytest.approx(2 * (12.0 + 0.6) * 1.1, rel=1e-12)
    assert upright[..., 2].max() == pytest.approx(0.0, abs=1e-12)
    assert upright[..., 2].min() == pytest.approx(-1.1, rel=1e-12)


def test_no_upright_walls_where_the_slope_meets_the_ground() -> None:
    flat = plane_ground(0.0, 0.0, 0.0, side=80.0, step=9.0)
    keel = np.array(
        [[0.0, -1.0, 0.0], [8.0, -1.0, 0.0], [8.0, 0.0, -1.0], [0.0, 0.0, -1.0], [8.0, 1.0, 0.0], [0.0, 1.0, 0.0]]
    )
    dug = keel[[[0, 1, 2], [0, 2, 3], [3, 2, 4], [3, 4, 5]]]
    upright = walls(dug, flat)
    assert (np.ptp(upright[..., 0], axis=1) < 1e-12).all(), "only the two ends stand upright"


def test_a_step_inside_the_dig_gets_a_wall() -> None:
    flat = plane_ground(0.0, 0.0, 0.0, side=80.0, step=9.0)
    upright = walls(np.concatenate([box_trench(4.0, 1.0, 1.0), box_trench(4.0, 1.0, 2.0, 4.0)]), flat)
    step = upright[(np.abs(upright[..., 0] - 4.0) < 1e-9).all(axis=1)]
    assert area_of(step) == pytest.approx(1.0, rel=1e-12)
    assert area_of(upright) == pytest.approx(2 * (4.0 * 1.0 + 4.0 * 2.0) + 1.0 + 2.0 + 1.0, rel=1e-12)


def test_a_step_whose_sides_are_split_at_other_places() -> None:
    flat = plane_ground(0.0, 0.0, 0.0, side=80.0, step=9.0)
    shallow = np.array([[0.0, -0.5, -1.0], [4.0, -0.5, -1.0], [4.0, 0.2, -1.0], [4.0, 0.5, -1.0], [0.0, 0.5, -1.0]])
    fan = shallow[[[0, 1, 2], [0, 2, 3], [0, 3, 4]]]
    upright = walls(np.concatenate([fan, box_trench(4.0, 1.0, 2.0, 4.0)]), flat)
    step = upright[(np.abs(upright[..., 0] - 4.0) < 1e-9).all(axis=1)]
    assert area_of(step) == pytest.approx(1.0, rel=1e-12)


def test_a_wide_pit_at_the_end_of_a_narrow_trench() -> None:
    flat = plane_ground(0.0, 0.0, 0.0, side=80.0, step=9.0)
    upright = walls(np.concatenate([box_trench(6.0, 0.4, 1.0), box_trench(3.0, 2.0, 2.0, 6.0)]), flat)
    across = upright[(np.abs(upright[..., 0] - 6.0) < 1e-9).all(axis=1)]
    # beside the mouth the pit's wall up to the ground, in the mouth only up to the trench's floor
    assert area_of(across) == pytest.approx((2.0 - 0.4) * 2.0 + 0.4 * 1.0, rel=1e-9)
    mouth = across[(np.abs(across[..., 1]) <= 0.2 + 1e-9).all(axis=1)]
    assert mouth[..., 2].max() == pytest.approx(-1.0)


def test_no_wall_inside_one_floor_cut_in_pieces() -> None:
    flat = plane_ground(0.0, 0.0, 0.0, side=80.0, step=9.0)
    whole = np.concatenate([box_trench(4.0, 1.0, 1.0), box_trench(4.0, 1.0, 1.0, 4.0)])
    assert area_of(walls(whole, flat)) == pytest.approx(2 * 8.0 + 2 * 1.0, rel=1e-12)


@pytest.mark.parametrize("hair", [5e-6, 1.2e-5, 1.6e-5, 2.9e-5, 6e-5, 1e-3])
@pytest.mark.parametrize("tip", [0.05, 0.2, 0.5, 0.999])
def test_a_hair_thin_triangle_at_a_bench_leaves_no_hole_in_its_wall(hair: float, tip: float) -> None:
    flat = plane_ground(0.0, 0.0, 0.0, side=80.0, step=9.0)
    a, b = np.array([0.0, 0.5, -1.0]), np.array([8.0, 0.5, -1.0])
    c = np.array([8.0 * tip, 0.5 - hair, -1.0])
    bench = np.array([[a, b, [8.0, 1.5, -1.0]], [a, [8.0, 1.5, -1.0], [0.0, 1.5, -1.0]], [a, c, b]])
    low = [0.0, 0.0, 1.0]
    start, end = np.array([0.0, -0.5, -2.0]), np.array([8.0, -0.5, -2.0])
    floor = np.array([[start, end, c - low], [start, c - low, a - low], [end, b - low, c - low]])
    dot = np.array([[a, a, b]])  # a triangle without area has an edge without length
    with np.errstate(all="raise"):
        upright = walls(np.concatenate([bench, floor, dot]), flat)
    face = upright[
        (np.abs(upright[..., 1] - 0.5) <= hair + 1e-9).all(axis=1) & (np.ptp(upright[..., 0], axis=1) > 0)
    ]
    for along in np.linspace(0.3, 7.7, 40):
        high = [_height_at(triangle, along) for triangle in face]
        assert min(one[0] for one in high) == pytest.approx(-2.0, abs=1e-6)
        assert max(one[1] for one in high) == pytest.approx(-1.0, abs=1e-6)


def _height_at(triangle: Floats, along: float) -> tuple[float, float]:
    """Lowest and highest elevation of an upright triangle at an easting; where it has none, a point at -1.5."""
    found = []
    for one, two in zip(triangle, np.roll(triangle, -1, axis=0), strict=True):
        if (one[0] - along) * (two[0] - along) < 0.0:
            found.append(one[2] + (along - one[0]) / (two[0] - one[0]) * (two[2] - one[2]))
    return (min(found), max(found)) if found else (-1.5, -1.5)


def test_disc_is_level_and_round() -> None:
    corners = disc((3.0, 4.0, 5.0), 2.0, 200)
    assert np.unique(corners[..., 2]).tolist() == [5.0]
    # area of a regular polygon inscribed in the circle
    assert plan_area(corners) == pytest.approx(0.5 * 200 * 4.0 * math.sin(2 * math.pi / 200), rel=1e-12)


def test_pipe_lies_on_the_invert(scene: Scene, estimate: Estimate, ground: Ground) -> None:
    pipe = next(tube for tube in scene.tubes if tube.name == "pipe")
    profile = estimate.profile
    assert pipe.points[:, 0].tolist() == profile.easting_m.tolist()
    assert pipe.points[:, 2] + absolute(ground) - estimate.pipe.bore_m / 2 == pytest.approx(
        profile.invert_m, abs=1e-9
    )
    assert pipe.true_radius == estimate.pipe.outside_m / 2


def test_posts_and_water_stand_where_the_estimate_has_them(
    scene: Scene, estimate: Estimate, ground: Ground
) -> None:
    for index, drain in enumerate(estimate.drains):
        post = next(tube for tube in scene.tubes if tube.name == f"drain {index + 1}")
        assert post.points[0].tolist() == pytest.approx(
            [drain.easting_m, drain.northing_m, drain.invert_m - absolute(ground)]
        )
        assert post.points[1, 2] > drain.invert_m + drain.depth_m - absolute(ground)
    for one in estimate.structures:
        water = next(mesh for mesh in scene.meshes if mesh.name == f"water {one.end}")
        assert water.vertices[:, 2] == pytest.approx(one.water_level_m - absolute(ground))


def test_trench_is_the_estimates_and_the_ground_ends_at_it(
    scene: Scene, estimate: Estimate, ground: Ground
) -> None:
    meshes = {mesh.name: mesh for mesh in scene.meshes}
    dug = estimate.dig.surface_m.reshape(-1, 3).copy()
    dug[:, 2] -= absolute(ground)
    assert meshes["trench"].vertices == pytest.approx(dug)
    land = meshes["ground"]
    assert land.vertices[:, 2] == pytest.approx(elevation(ground, land.vertices[:, :2]), abs=1e-6)
    assert not inside_rings(land.vertices[land.triangles, :2].mean(axis=1), estimate.dig.outline_m).any()
    assert meshes["walls"].vertices[:, 2].max() > dug[:, 2].max()


def test_meshes_are_whole(scene: Scene) -> None:
    for mesh in scene.meshes:
        assert np.isfinite(mesh.vertices).all()
        assert mesh.triangles.min() >= 0
        assert mesh.triangles.max() < len(mesh.vertices)
        assert mesh.colours.shape == mesh.vertices.shape


def test_everything_is_in_the_picture(scene: Scene) -> None:
    stretch = np.array([1.0, 1.0, scene.exaggeration])
    seen = ((marks_of(scene) - np.array(scene.whole.at)) * stretch) @ scene.whole.axes.T
    assert np.abs(seen[:, 0]).max() < scene.whole.width / 2
    assert scene.whole.axes @ scene.whole.axes.T == pytest.approx(np.eye(3), abs=1e-12)


def with_pit_at(estimate: Estimate, node: int) -> Estimate:
    """A pit about a node of the line, and the line deepest there."""
    line = estimate.profile
    middle = np.array([line.easting_m[node], line.northing_m[node]])
    corners = middle + np.array([[-0.6, -0.6], [0.6, -0.6], [0.6, 0.6], [-0.6, 0.6]])
    floor = line.floor_m.copy()
    floor[node] -= 1.0
    pit = Pit(
        name="pump vault",
        corners_m=corners,
        floor_m=float(floor[node]) - 0.5,
        deepest_m=2.5,
        bank_m3=1.0,
        wall=Wall(slope=0.5, rise_m=0.0),
        end="lower",
    )
    return dataclasses.replace(
        estimate,
        profile=dataclasses.replace(line, floor_m=floor),
        dig=dataclasses.replace(estimate.dig, pits=(pit,)),
    )


def test_close_look_shows_the_line_away_from_pits(estimate: Estimate, ground: Ground) -> None:
    for node in (0, 3):
        one = with_pit_at(estimate, node)
        scene, line = scene_of(one, ground), one.profile
        gap = np.hypot(line.easting_m - scene.close.at[0], line.northing_m - scene.close.at[1])
        at = int(gap.argmin())
        assert gap[at] < 1e-9
        pit = np.array([line.easting_m[node], line.northing_m[node]])
        away = np.hypot(line.easting_m - pit[0], line.northing_m - pit[1])
        assert away[at] > 0.6 + 0.5 * 2.5 + scene.close.width / 2
        depth = line.ground_m - line.floor_m
        assert depth[at] == pytest.approx(depth[away >= away[at]].max(), abs=0.05)
        for words in (
            "away from pits",
            f"station {line.station_m[at] / 0.3048:.1f} ft",
            f"{depth[at] / 0.3048:.2f} ft deep",
        ):
            assert words in scene.caption


def test_close_look_without_pits_is_the_deepest_place(scene: Scene, estimate: Estimate) -> None:
    assert f"{estimate.dig.deepest_m / 0.3048:.2f} ft deep" in scene.caption
    assert "pits" not in scene.caption


def test_only_hidden_pipe_is_dashed() -> None:
    picture = np.full((100, 200, 3), 160, dtype=np.uint8)
    picture[59:62, 80:120] = PIPE  # row 60 from the top is row 39 from the bottom
    runs = hidden_runs(picture, np.array([[10.0, 39.0], [190.0, 39.0]]))
    assert len(runs) == 2
    assert runs[0][:, 0].max() == pytest.approx(78.0, abs=2.0)
    assert runs[1][:, 0].min() == pytest.approx(121.0, abs=2.0)
    assert hidden_runs(picture, np.array([[85.0, 39.0], [115.0, 39.0]])) == []


def test_without_a_dug_surface_the_ground_stays_closed(estimate: Estimate, ground: Ground) -> None:
    bare = dataclasses.replace(estimate, dig=dataclasses.replace(estimate.dig, surface_m=np.zeros((0, 3, 3))))
    names = [mesh.name for mesh in scene_of(bare, ground).meshes]
    assert "trench" not in names
    assert "ground" in names


def test_scene_file_gives_the_same_scene(scene: Scene, tmp_path: Path) -> None:
    save_scene(scene, tmp_path / "scene.npz")
    back = load_scene(tmp_path / "scene.npz")
    assert dataclasses.replace(back, meshes=(), tubes=()) == dataclasses.replace(scene, meshes=(), tubes=())
    for one, two in zip(scene.meshes, back.meshes, strict=True):
        assert (one.name, one.opacity) == (two.name, two.opacity)
        assert all(
            np.array_equal(a, b)
            for a, b in ((one.vertices, two.vertices), (one.triangles, two.triangles), (one.colours, two.colours))
        )
    for pipe, twin in zip(scene.tubes, back.tubes, strict=True):
        assert dataclasses.replace(pipe, points=twin.points) == twin
        assert np.array_equal(pipe.points, twin.points)
