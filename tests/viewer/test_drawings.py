"""The drawings: size, ink, the same bytes twice, no label over another, and a picture however the child fares."""

import dataclasses
import sys
from collections.abc import Callable, Sequence
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure
from PIL import Image

from estimate.record import Estimate
from terrain.errors import StorageError
from terrain.ground import Ground
from viewer.board import drawing_style, new_sheet
from viewer.charts import plan_chart, profile_chart
from viewer.labels import LabelBoard
from viewer.picture import draw_picture
from viewer.picture_sheet import draw_plain
from viewer.plan_chart import draw_plan
from viewer.profile_chart import draw_profile
from viewer.scene import scene_of

Drawing = Callable[[Figure], LabelBoard]
HOSTILE = "Yard $5 & $x^2$ \\frac — Zoë 池 %s {0} <b> " + "long " * 30


def look(path: Path) -> np.ndarray[tuple[int, ...], np.dtype[np.uint8]]:
    with Image.open(path) as picture:
        assert picture.format == "PNG"
        assert picture.size == (1650, 1275)
        assert picture.info["Description"] == "For planning - not a survey"
        return np.asarray(picture.convert("RGB"))


def colours(pixels: np.ndarray[tuple[int, ...], np.dtype[np.uint8]]) -> int:
    return len(np.unique(pixels.astype(np.int64) @ (65536, 256, 1)))


def crowded(estimate: Estimate) -> Estimate:
    """Many drains side by side with long names, and a title that breaks out of every box."""
    drain, profile = estimate.drains[0], estimate.profile
    at = range(2, len(profile.station_m), 9)
    drains = tuple(
        dataclasses.replace(
            drain,
            name=f"drain number {i} by the old apple tree",
            station_m=float(profile.station_m[i]),
            easting_m=float(profile.easting_m[i]),
            northing_m=float(profile.northing_m[i]),
            invert_m=float(profile.invert_m[i]),
        )
        for i in at
    )
    return dataclasses.replace(estimate, title=HOSTILE, drains=drains, full_stretches=estimate.full_stretches[1:])


def overlaps(draw: Drawing) -> list[tuple[str, str]]:
    with drawing_style():
        sheet = new_sheet()
        labels = draw(sheet)
        sheet.canvas.draw()
        renderer = sheet.canvas.get_renderer()  # type: ignore[attr-defined]  # the Agg canvas has one
        boxes = [(text.get_text(), _box(text, renderer)) for text in labels.texts]
        room = sheet.bbox
    assert len(boxes) > 2
    for words, (left, bottom, right, top) in boxes:
        inside = (left > 0, bottom > 0, right < room.x1, top < room.y1)
        assert all(inside), words
    return [(a, b) for (a, one), (b, two) in combinations(boxes, 2) if _meet(one, two)]


def _box(text: object, renderer: object) -> tuple[float, float, float, float]:
    from matplotlib.text import Text

    extent = Text.get_window_extent(text, renderer)  # type: ignore[arg-type]  # the words alone, without the leader
    return extent.x0, extent.y0, extent.x1, extent.y1


def _meet(one: tuple[float, ...], two: tuple[float, ...]) -> bool:
    return one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]


@pytest.mark.parametrize("units", ["US", "SI"])
@pytest.mark.parametrize("many", [False, True])
def test_no_label_covers_another(estimate: Estimate, ground: Ground, units: str, many: bool) -> None:
    one = dataclasses.replace(crowded(estimate) if many else estimate, units=units)
    assert overlaps(lambda sheet: draw_plan(sheet, one, ground)) == []
    assert overlaps(lambda sheet: draw_profile(sheet, one)) == []
    assert overlaps(lambda sheet: draw_plain(sheet, scene_of(one, ground))) == []


def test_charts_have_ink_and_the_same_bytes_twice(estimate: Estimate, ground: Ground, tmp_path: Path) -> None:
    for name in ("one", "two"):
        plan_chart(estimate, ground, tmp_path / f"plan-{name}.png")
        profile_chart(estimate, tmp_path / f"profile-{name}.png")
    for chart in ("plan", "profile"):
        assert (tmp_path / f"{chart}-one.png").read_bytes() == (tmp_path / f"{chart}-two.png").read_bytes()
        pixels = look(tmp_path / f"{chart}-one.png")
        assert 0.005 < (pixels < 100).all(axis=2).mean() < 0.5
        assert colours(pixels) > 50


def test_the_users_own_plot_settings_do_not_show(estimate: Estimate, tmp_path: Path) -> None:
    import matplotlib

    profile_chart(estimate, tmp_path / "one.png")
    with matplotlib.rc_context({"font.size": 30.0, "lines.linewidth": 9.0}):
        profile_chart(estimate, tmp_path / "two.png")
        assert matplotlib.rcParams["font.size"] == 30.0
    assert (tmp_path / "one.png").read_bytes() == (tmp_path / "two.png").read_bytes()


def test_plan_has_equal_axes_and_a_round_scale(estimate: Estimate, ground: Ground) -> None:
    with drawing_style():
        sheet = new_sheet()
        draw_plan(sheet, estimate, ground)
        axes = sheet.axes[0]
        room = axes.get_window_extent()
        across = (axes.get_xlim()[1] - axes.get_xlim()[0]) / room.width
        up = (axes.get_ylim()[1] - axes.get_ylim()[0]) / room.height
    assert across == pytest.approx(up, rel=1e-9)
    assert across * 150 / 0.3048 == pytest.approx(20.0, rel=1e-9), "1 in = 20 ft at 150 dots an inch"


def test_profile_states_its_exaggeration(estimate: Estimate) -> None:
    with drawing_style():
        sheet = new_sheet()
        draw_profile(sheet, estimate)
        axes = sheet.axes[0]
        room = axes.get_window_extent()
        across = (axes.get_xlim()[1] - axes.get_xlim()[0]) / room.width
        up = (axes.get_ylim()[1] - axes.get_ylim()[0]) / room.height
        words = " ".join(text.get_text() for text in sheet.texts)
    assert f"Heights drawn {across / up:g} times larger than lengths" in words.replace("6.0 ", "6 ")


def test_elevations_are_in_the_surveys_datum(estimate: Estimate) -> None:
    with drawing_style():
        sheet = new_sheet()
        labels = draw_profile(sheet, estimate)
        words = " ".join(text.get_text() for text in labels.texts)
    assert f"invert {estimate.drains[0].invert_m / 0.3048:.2f}" in words
    assert f"water level {estimate.structures[0].water_level_m / 0.3048:.2f}" in words


def test_level_ground_and_one_straight_run(estimate: Estimate, tmp_path: Path) -> None:
    from terrain.synthetic import plane_ground

    flat = plane_ground(0.0, 0.0, 0.0, side=200.0, step=25.0)
    line = estimate.profile
    zero = np.zeros_like(line.ground_m)
    level = dataclasses.replace(line, ground_m=zero, top_m=zero - 0.5, invert_m=zero - 0.55, floor_m=zero - 0.6)
    bare = dataclasses.replace(
        estimate, profile=level, drains=(), full_stretches=(), low_points=(), high_points=(), structures=()
    )
    plan_chart(bare, flat, tmp_path / "plan.png")
    profile_chart(bare, tmp_path / "profile.png")
    look(tmp_path / "plan.png")
    look(tmp_path / "profile.png")


def test_a_folder_that_is_not_there_is_a_storage_error(estimate: Estimate, tmp_path: Path) -> None:
    with pytest.raises(StorageError):
        profile_chart(estimate, tmp_path / "missing" / "profile.png")


def child(code: str) -> Sequence[str]:
    return (sys.executable, "-c", code)


@pytest.mark.parametrize(
    ("command", "told"),
    [
        (child("raise SystemExit('no EGL here')"), "no EGL here"),
        (child("import os, signal; os.kill(os.getpid(), signal.SIGKILL)"), "signal 9"),
        (child("pass"), "it drew nothing"),
        (("/no/such/program",), "FileNotFoundError"),
        (child("import pathlib, sys; pathlib.Path(sys.argv[2]).write_bytes(b'not an archive')"), "cannot be read"),
    ],
)
def test_a_child_that_fails_leaves_a_plain_picture(
    estimate: Estimate, ground: Ground, tmp_path: Path, command: Sequence[str], told: str
) -> None:
    note = draw_picture(scene_of(estimate, ground), tmp_path / "picture.png", command)
    assert told in note
    assert "\n" not in note
    pixels = look(tmp_path / "picture.png")
    assert colours(pixels) > 200


def test_the_usual_child_or_the_plain_picture(estimate: Estimate, ground: Ground, tmp_path: Path) -> None:
    note = draw_picture(scene_of(estimate, ground), tmp_path / "picture.png")
    pixels = look(tmp_path / "picture.png")
    assert colours(pixels) > 200
    assert note == "" or "drawn plainly" in note


def test_only_the_child_knows_the_3d_library(estimate: Estimate, ground: Ground, tmp_path: Path) -> None:
    draw_picture(scene_of(estimate, ground), tmp_path / "picture.png", child("pass"))
    assert "pyvista" not in sys.modules
    assert "matplotlib.pyplot" not in sys.modules
