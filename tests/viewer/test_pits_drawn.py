"""Pits, ports, drains at structures and the keys of plan and profile."""

import dataclasses

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.text import Text

from estimate.record import Drain, Estimate, Pit, Wall
from terrain.ground import Ground
from viewer import board
from viewer.labels import LabelBoard
from viewer.pit_sections import pit_sections
from viewer.plan_chart import draw_plan
from viewer.profile_chart import draw_profile


def pit_at(estimate: Estimate, end: str, wall: Wall) -> Pit:
    """A pit of 1.2 by 0.8 m square to the leg that ends in it, half a metre below the trench."""
    profile = estimate.profile
    line = np.column_stack([profile.easting_m, profile.northing_m])
    first = end == "lower"
    start, ahead = (line[0], line[1] - line[0]) if first else (line[-1], line[-2] - line[-1])
    ahead = ahead / np.hypot(*ahead)
    aside = np.array([-ahead[1], ahead[0]])
    corners = np.array(
        [start + a * ahead + b * aside for a, b in ((-0.6, -0.4), (0.6, -0.4), (0.6, 0.4), (-0.6, 0.4))]
    )
    floor = float(profile.floor_m[0 if first else -1]) - 0.5
    return Pit(name=end, corners_m=corners, floor_m=floor, deepest_m=1.3, bank_m3=1.0, wall=wall, end=end)


@pytest.fixture
def pitted(estimate: Estimate) -> Estimate:
    pits = (
        pit_at(estimate, "lower", Wall(slope=0.5, rise_m=0.3)),
        pit_at(estimate, "upper", Wall(slope=0.0, rise_m=0.0)),
    )
    return dataclasses.replace(estimate, dig=dataclasses.replace(estimate.dig, pits=pits))


def at_structure(estimate: Estimate) -> Estimate:
    profile = estimate.profile
    drain = Drain(
        station_m=0.0,
        easting_m=float(profile.easting_m[0]),
        northing_m=float(profile.northing_m[0]),
        invert_m=float(profile.invert_m[0]),
        depth_m=0.7,
        held_l=3.0,
        name="Drain 1",
        chosen_by="low point",
    )
    return dataclasses.replace(estimate, drains=(drain,))


def words_of(sheet: Figure) -> list[str]:
    return [text.get_text() for text in sheet.findobj(Text)]


def plan(estimate: Estimate, ground: Ground) -> tuple[Figure, LabelBoard]:
    with board.drawing_style():
        sheet = board.new_sheet()
        labels = draw_plan(sheet, estimate, ground)
        sheet.canvas.draw()
    return sheet, labels


def profile(estimate: Estimate) -> Figure:
    with board.drawing_style():
        sheet = board.new_sheet()
        draw_profile(sheet, estimate)
        sheet.canvas.draw()
    return sheet


def test_sections_of_pits_by_hand(pitted: Estimate) -> None:
    lower, upper = pit_sections(pitted)
    line = pitted.profile
    last, floor = float(line.station_m[-1]), pitted.dig.pits[0].floor_m
    back = 0.5 * (float(line.ground_m[0]) - floor - 0.3)
    assert lower.stations[:3] == pytest.approx([-0.6 - back, -0.6, 0.6])
    bottom = float(np.interp(0.6, line.station_m, line.floor_m))
    assert lower.stations[3] == pytest.approx(0.6 + 0.5 * max(bottom - floor - 0.3, 0.0))
    assert lower.elevations == pytest.approx([line.ground_m[0], floor, floor, bottom])
    assert upper.stations == pytest.approx([last + 0.6, last + 0.6, last - 0.6, last - 0.6])


def test_pits_stand_whole_in_the_profile(pitted: Estimate) -> None:
    axes = profile(pitted).axes[0]
    drawn = [line for line in axes.lines if line.get_gid() == "pit"]
    assert len(drawn) == 2
    for line in drawn:
        data = np.asarray(line.get_xydata())
        for column, (low, high) in enumerate((axes.get_xlim(), axes.get_ylim())):
            assert low < data[:, column].min()
            assert data[:, column].max() < high


def test_profile_tells_ports_pits_and_the_last_station(pitted: Estimate) -> None:
    words = words_of(profile(pitted))
    joined = " ".join(words)
    lower = pitted.structures[0]
    assert f"port {lower.port_m / 0.3048:.2f}" in joined
    assert f"pit floor {pitted.dig.pits[0].floor_m / 0.3048:.2f}" in joined
    assert f"{pitted.profile.station_m[-1] / 0.3048:.1f}" in words
    assert f"{pitted.profile.ground_m[-1] / 0.3048:.2f}" in words
    assert {"Holds water until drained", "Port in the wall", "Pit, floor and walls"} <= set(words)
    assert "Pipe that stays full in winter" not in words


@pytest.mark.parametrize("units", ["US", "SI"])
def test_numbers_under_the_profile_do_not_touch(pitted: Estimate, units: str) -> None:
    for length in (20.4, 30.48, 33.0, 47.0):
        line = pitted.profile
        scaled = dataclasses.replace(line, station_m=line.station_m * length / line.station_m[-1])
        one = dataclasses.replace(pitted, profile=scaled, units=units)
        with board.drawing_style():
            sheet = board.new_sheet()
            draw_profile(sheet, one)
            renderer = sheet.canvas.get_renderer()  # type: ignore[attr-defined]  # the Agg canvas has one
            centred = [text for text in sheet.texts if text.get_horizontalalignment() == "center"]
            boxes = [text.get_window_extent(renderer) for text in centred]
        for one_box in boxes:
            assert not any(one_box is not two and one_box.overlaps(two) for two in boxes)


def test_a_drain_at_a_structure_is_seen_on_the_plan(pitted: Estimate, ground: Ground) -> None:
    sheet, _ = plan(at_structure(pitted), ground)
    pixels = np.asarray(sheet.canvas.buffer_rgba())[::-1, :, :3].astype(int)  # type: ignore[attr-defined]  # Agg
    at = (pitted.profile.easting_m[0], pitted.profile.northing_m[0])
    across, up = (round(float(value)) for value in sheet.axes[0].transData.transform(at))
    near = pixels[up - 12 : up + 13, across - 12 : across + 13].reshape(-1, 3)
    orange = np.abs(near - [0xC8, 0x50, 0x0A]).max(axis=1) < 12
    assert orange.sum() > 25
    assert (near.max(axis=1) < 60).sum() > 100, "and so is the structure"


def test_no_label_covers_a_pit_on_the_plan(pitted: Estimate, ground: Ground) -> None:
    sheet, labels = plan(pitted, ground)
    renderer = sheet.canvas.get_renderer()  # type: ignore[attr-defined]  # the Agg canvas has one
    for pit in pitted.dig.pits:
        low, high = (sheet.axes[0].transData.transform(end(pit.corners_m, axis=0)) for end in (np.min, np.max))
        for text in labels.texts:
            box = Text.get_window_extent(text, renderer)
            apart = box.x0 > high[0] or box.x1 < low[0] or box.y0 > high[1] or box.y1 < low[1]
            assert apart, text.get_text()


def test_key_and_label_of_the_tallest_face_have_the_unit(estimate: Estimate, ground: Ground) -> None:
    sheet, _ = plan(estimate, ground)
    words = words_of(sheet)
    face = f"{estimate.dig.tallest_face_m / 0.3048:.2f} ft"
    assert f"Tallest face {face}" in words
    assert f"tallest face {face}" in words
    assert "Holds water until drained" in words


def test_light_contours_are_labelled_too(estimate: Estimate, ground: Ground) -> None:
    _, labels = plan(estimate, ground)
    heights = {float(text.get_text()) for text in labels.texts if text.get_fontsize() in (5.6, 6.0)}
    assert len(heights) > 6
    step = min(abs(a - b) for a in heights for b in heights if a != b)
    assert {round(height / step) % 5 == 0 for height in heights} == {True, False}
